package app

import (
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"
	"time"

	"runnel/internal/store"
)

// memory shows a stored folder as a file system.
type memory struct{ files store.Files }

var (
	_ fs.ReadFileFS = memory{}
	_ fs.ReadDirFS  = memory{}
)

// Open opens a file or a folder.
func (m memory) Open(name string) (fs.File, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
	}
	if data, ok := m.files[name]; ok {
		return &memFile{entry: entry{name: path.Base(name), size: int64(len(data))}, rest: data}, nil
	}
	list := m.list(name)
	if list == nil && name != "." {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return &memFolder{entry: entry{name: path.Base(name), folder: true}, rest: list}, nil
}

// ReadFile returns a copy of a file.
func (m memory) ReadFile(name string) ([]byte, error) {
	data, ok := m.files[name]
	if !ok {
		return nil, &fs.PathError{Op: "read", Path: name, Err: fs.ErrNotExist}
	}
	return slices.Clone(data), nil
}

// ReadDir lists a folder in name order.
func (m memory) ReadDir(name string) ([]fs.DirEntry, error) {
	if list := m.list(name); list != nil || name == "." {
		return list, nil
	}
	return nil, &fs.PathError{Op: "readdir", Path: name, Err: fs.ErrNotExist}
}

func (m memory) list(name string) []fs.DirEntry {
	prefix := name + "/"
	if name == "." {
		prefix = ""
	}
	found := map[string]entry{}
	for full, data := range m.files {
		rest, ok := strings.CutPrefix(full, prefix)
		if !ok {
			continue
		}
		first, _, deeper := strings.Cut(rest, "/")
		found[first] = entry{name: first, folder: deeper, size: int64(len(data))}
	}
	var list []fs.DirEntry
	for _, e := range found {
		list = append(list, e)
	}
	slices.SortFunc(list, func(a, b fs.DirEntry) int { return strings.Compare(a.Name(), b.Name()) })
	return list
}

// An entry is a file or folder as it is listed.
type entry struct {
	name   string
	folder bool
	size   int64
}

func (e entry) Name() string               { return e.name }
func (e entry) IsDir() bool                { return e.folder }
func (e entry) Type() fs.FileMode          { return e.Mode().Type() }
func (e entry) Info() (fs.FileInfo, error) { return e, nil }
func (e entry) ModTime() time.Time         { return time.Time{} }
func (e entry) Sys() any                   { return nil }

func (e entry) Size() int64 {
	if e.folder {
		return 0
	}
	return e.size
}

func (e entry) Mode() fs.FileMode {
	if e.folder {
		return fs.ModeDir | 0o555
	}
	return 0o444
}

type memFile struct {
	entry
	rest []byte
}

func (f *memFile) Stat() (fs.FileInfo, error) { return f.entry, nil }
func (f *memFile) Close() error               { return nil }

func (f *memFile) Read(b []byte) (int, error) {
	if len(f.rest) == 0 && len(b) > 0 {
		return 0, io.EOF
	}
	n := copy(b, f.rest)
	f.rest = f.rest[n:]
	return n, nil
}

type memFolder struct {
	entry
	rest []fs.DirEntry
}

func (f *memFolder) Stat() (fs.FileInfo, error) { return f.entry, nil }
func (f *memFolder) Close() error               { return nil }

func (f *memFolder) Read([]byte) (int, error) {
	return 0, &fs.PathError{Op: "read", Path: f.name, Err: fs.ErrInvalid}
}

func (f *memFolder) ReadDir(n int) ([]fs.DirEntry, error) {
	if n <= 0 || n > len(f.rest) {
		if n > 0 && len(f.rest) == 0 {
			return nil, io.EOF
		}
		n = len(f.rest)
	}
	out := f.rest[:n]
	f.rest = f.rest[n:]
	return out, nil
}
