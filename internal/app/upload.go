package app

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"io/fs"
	"path"
	"strings"

	"runnel/internal/fault"
	"runnel/internal/store"
)

// An Upload is a folder or a zip as it arrives file by file.
type Upload struct {
	files store.Files
	total int
}

// NewUpload returns an empty upload.
func NewUpload() *Upload { return &Upload{files: store.Files{}} }

// Empty reports whether nothing has arrived.
func (u *Upload) Empty() bool { return len(u.files) == 0 }

// Add takes one file. Its name may hold folders; a name that leads out of them is refused.
func (u *Upload) Add(name string, r io.Reader) error {
	clean := path.Clean(strings.ReplaceAll(name, `\`, "/"))
	clean = strings.TrimPrefix(clean, "/")
	if !fs.ValidPath(clean) || clean == "." {
		return fault.Errorf(fault.Invalid, "%q is no name of a file in a folder", name)
	}
	limit := min(maxFolder-u.total, maxFolder)
	data, err := io.ReadAll(io.LimitReader(r, int64(limit)+1))
	if err != nil {
		return fault.As(fault.Invalid, fmt.Errorf("%s did not arrive whole: %w", clean, err))
	}
	if len(data) > limit || len(u.files) >= maxFiles {
		return fault.Errorf(fault.Invalid, "that is more than %d files or %d MB: is it a job folder?", maxFiles, maxFolder>>20)
	}
	u.total += len(data)
	u.files[clean] = data
	return nil
}

// ImportUpload imports what arrived: a zip when it is the only file, else a folder.
func (a *App) ImportUpload(ctx context.Context, u *Upload) (Imported, error) {
	if u.Empty() {
		return Imported{}, fault.Errorf(fault.Invalid, "nothing arrived: choose a job folder or its zip")
	}
	if len(u.files) == 1 {
		for name, data := range u.files {
			if strings.EqualFold(path.Ext(name), ".zip") {
				return a.ImportZip(ctx, bytes.NewReader(data), int64(len(data)))
			}
		}
	}
	return a.ImportFolder(ctx, memory{u.files})
}
