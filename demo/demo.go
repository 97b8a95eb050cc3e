// Package demo holds the demo job folders: an invented shop and invented jobs, marked as invented, with traces made by
// the seeded simulation of a bench in demo/gen.
package demo

import (
	"embed"
	"io/fs"

	"runnel/job"
)

// FS is the job folder.
//
//go:generate go run ./gen
//go:embed job.toml bench.toml sittings traces sections
var FS embed.FS

//go:embed earlier
var earlier embed.FS

// Earlier is the folder of the job of the winter before, flowed on the same bench: its sittings give the check plate a history.
func Earlier() fs.FS {
	sub, err := fs.Sub(earlier, "earlier")
	if err != nil {
		panic(err) // the name is valid
	}
	return sub
}

// Job returns the demo job.
func Job() (job.Job, error) { return job.Load(FS) }
