// Package demo holds the demo job folder: an invented shop and an invented job, marked as invented, with traces made by
// the seeded simulation of a bench in demo/gen.
package demo

import (
	"embed"

	"runnel/job"
)

// FS is the job folder.
//
//go:generate go run ./gen
//go:embed job.toml bench.toml sittings traces sections
var FS embed.FS

// Job returns the demo job.
func Job() (job.Job, error) { return job.Load(FS) }
