package demo_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"runnel/assess"
	"runnel/demo"
	"runnel/job"
)

// demoReadings is what follows from the readings of the demo job, without the pull.
func demoReadings(t *testing.T) assess.Assessment {
	t.Helper()
	j, err := demo.Job()
	if err != nil {
		t.Fatal(err)
	}
	a, err := assess.Readings(j)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func dirFS(dir string) fs.FS { return os.DirFS(dir) }

func writeTo(t *testing.T, dir string, j job.Job) {
	t.Helper()
	err := job.Write(j, func(name string, data []byte) error {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		return os.WriteFile(path, data, 0o644)
	})
	if err != nil {
		t.Fatal(err)
	}
}
