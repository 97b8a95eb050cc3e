package app

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"runnel/assess"
	"runnel/internal/fault"
	"runnel/job"
)

// LoadFolder reads and checks a job folder of this machine; nothing is kept. The error carries job.Problems.
func LoadFolder(dir string) (job.Job, error) {
	st, err := os.Stat(dir)
	if err != nil {
		return job.Job{}, fault.As(fault.NotFound, err)
	}
	if !st.IsDir() {
		return job.Job{}, fault.Errorf(fault.Invalid, "%s is a file: name the folder that holds job.toml", dir)
	}
	root, err := openFolder(dir)
	if err != nil {
		return job.Job{}, fault.As(fault.Invalid, err)
	}
	defer func() { _ = root.Close() }() // it was only read
	return load(root)
}

// A folder is a directory of this machine of which nothing outside can be read, whatever its links say.
type folder struct{ root *os.Root }

func openFolder(dir string) (folder, error) {
	r, err := os.OpenRoot(dir)
	return folder{r}, err
}

// Close gives the folder back.
func (f folder) Close() error { return f.root.Close() }

// Open opens a file of the folder. A name that leads out of it, or by an absolute link, is job.ErrOutside.
func (f folder) Open(name string) (fs.File, error) {
	file, err := f.root.FS().Open(name)
	if err == nil {
		return file, nil
	}
	// The operating system has a number for whatever it refuses; what it has none for, the root has refused.
	if _, ok := errors.AsType[syscall.Errno](err); !ok && !errors.Is(err, fs.ErrNotExist) && !errors.Is(err, fs.ErrInvalid) && !errors.Is(err, fs.ErrClosed) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: job.ErrOutside}
	}
	return nil, err
}

func load(fsys fs.FS) (job.Job, error) {
	j, err := job.Load(fsys)
	if err != nil {
		return job.Job{}, fault.As(fault.Invalid, err)
	}
	return j, nil
}

// SolveJob returns the whole assessment of a job that is at hand. progress may be nil.
func SolveJob(ctx context.Context, j job.Job, progress assess.Progress) (assess.Assessment, error) {
	a, err := assess.Solve(ctx, j, progress)
	if err != nil && ctx.Err() == nil {
		return a, fault.As(fault.Invalid, err)
	}
	return a, err
}

// WriteHandovers writes the handover of a job in every form into the folder dir, which is made when it is missing, and
// returns the names of the files. An existing file of the same name is replaced only once the new one is complete.
func WriteHandovers(j job.Job, as assess.Assessment, p Print, dir string) ([]string, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fault.As(fault.Invalid, err)
	}
	var names []string
	for _, f := range []struct{ kind, paper, name string }{
		{"pdf", "a4", "handover-a4.pdf"}, {"pdf", "letter", "handover-letter.pdf"}, {"html", "a4", "handover.html"}, {"json", "", "assessment.json"},
	} {
		var b bytes.Buffer
		if err := WriteHandover(j, as, Print{Kind: f.kind, Paper: f.paper, System: p.System}, &b); err != nil {
			return names, err
		}
		name := filepath.Join(dir, j.ID+"-"+f.name)
		if err := replace(name, b.Bytes()); err != nil {
			return names, fault.As(fault.Invalid, fmt.Errorf("writing %s: %w", name, err))
		}
		names = append(names, name)
	}
	return names, nil
}

// replace writes a file beside name and then renames it.
func replace(name string, data []byte) error {
	tmp, err := os.CreateTemp(filepath.Dir(name), ".handover-*")
	if err != nil {
		return err
	}
	_, err = tmp.Write(data)
	if e := tmp.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Chmod(tmp.Name(), 0o644)
	}
	if err == nil {
		err = os.Rename(tmp.Name(), name)
	}
	if err != nil {
		_ = os.Remove(tmp.Name())
	}
	return err
}
