package demo_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"runnel/job"
)

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
