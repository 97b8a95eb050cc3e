package app

import (
	"testing"
	"testing/fstest"

	"runnel/internal/store"
)

// The contract of a file system, as the standard library checks it.
func TestMemoryIsAFileSystem(t *testing.T) {
	m := memory{store.Files{"job.toml": []byte("a"), "traces/r1.csv": []byte("bb"), "traces/deep/x.csv": nil, "b.txt": []byte("c")}}
	if err := fstest.TestFS(m, "job.toml", "traces/r1.csv", "traces/deep/x.csv", "b.txt"); err != nil {
		t.Error(err)
	}
	if err := fstest.TestFS(memory{store.Files{}}); err != nil {
		t.Error(err)
	}
}
