package app

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"runnel/internal/fault"
	"runnel/internal/store"
	"runnel/job"
)

// Limits of a job folder, so that a wrong folder is refused before it fills the disk.
const (
	maxFiles  = 5000
	maxFile   = 64 << 20  // bytes of one file
	maxScan   = 256 << 20 // bytes of one mesh or picture that comes with it: two million triangles are 100 MB
	maxFolder = 512 << 20 // bytes of all files
)

// An Imported says what an import did.
type Imported struct {
	ID       string
	Title    string
	Outcome  string // "new", "changed", "unchanged" or "brought back"
	Revision int    // counts from 1
}

// ImportFolder validates a job folder and keeps it. When anything is wrong with it nothing is kept, and the error
// carries job.Problems with the place of each. The folder may lie one or more levels down in fsys.
func (a *App) ImportFolder(ctx context.Context, fsys fs.FS) (Imported, error) {
	files, err := gather(fsys)
	if err != nil {
		return Imported{}, err
	}
	files, scans, err := partScans(files)
	if err == nil {
		err = a.placeScans(ctx, files, scans)
	}
	if err != nil {
		return Imported{}, err
	}
	out, err := a.keep(ctx, files, "")
	if err != nil {
		return out, err
	}
	return out, a.keepScans(ctx, out.ID, scans)
}

// ImportZip imports a job folder packed as a zip.
func (a *App) ImportZip(ctx context.Context, r io.ReaderAt, size int64) (Imported, error) {
	z, err := zip.NewReader(r, size)
	if err != nil {
		return Imported{}, fault.Errorf(fault.Invalid, "this is not a zip that can be read: %w", err)
	}
	return a.ImportFolder(ctx, z)
}

// ImportPath imports a folder or a zip of this machine by its path.
func (a *App) ImportPath(ctx context.Context, name string) (Imported, error) {
	name = filepath.Clean(strings.TrimSpace(name))
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return Imported{}, fault.Errorf(fault.Invalid, "there is nothing at %q: write the path of a job folder or of its zip", name)
	case err != nil:
		return Imported{}, fault.As(fault.Invalid, err)
	case info.IsDir():
		return a.importDir(ctx, name)
	case info.Size() > maxFolder:
		return Imported{}, fault.Errorf(fault.Invalid, "%q is larger than %d MB", name, maxFolder>>20)
	}
	data, err := os.ReadFile(name)
	if err != nil {
		return Imported{}, fault.As(fault.Invalid, err)
	}
	return a.ImportZip(ctx, bytes.NewReader(data), int64(len(data)))
}

// importDir imports the job folder at dir or below it.
func (a *App) importDir(ctx context.Context, dir string) (Imported, error) {
	root, err := openFolder(dir)
	if err != nil {
		return Imported{}, fault.As(fault.Invalid, err)
	}
	defer func() { _ = root.Close() }() // it was only read
	at, err := findRoot(root)
	if err != nil {
		return Imported{}, err
	}
	if at == "." {
		return a.ImportFolder(ctx, root)
	}
	return a.importDir(ctx, filepath.Join(dir, filepath.FromSlash(at))) // links may not lead out of the job's own folder
}

// keep validates and stores; why stands in the log of changes.
func (a *App) keep(ctx context.Context, files store.Files, why string) (Imported, error) {
	files, words, err := a.madeWhole(ctx, files)
	if err != nil {
		return Imported{}, err
	}
	if why = strings.TrimSpace(why); why != "" && words != "" {
		why += "; "
	}
	j, shop, err := a.readFolder(ctx, files)
	if err != nil {
		return Imported{}, fmt.Errorf("job folder: %w", err)
	}
	before, err := a.store.Job(ctx, j.ID)
	if err != nil && fault.KindOf(err) != fault.NotFound {
		return Imported{}, err
	}
	out, rev, err := a.store.Put(ctx, cardFacts(j), files, store.By{Who: a.who, Why: why + words})
	if err != nil {
		return Imported{}, fmt.Errorf("keeping job %q: %w", j.ID, err)
	}
	a.shelve(before.Hash, files.Hash(), shop, j)
	a.log.Info("imported", "job", j.ID, "outcome", outcomeWords[out], "revision", rev)
	return Imported{ID: j.ID, Title: j.Title, Outcome: outcomeWords[out], Revision: rev}, nil
}

var outcomeWords = map[store.Outcome]string{
	store.Unchanged: "unchanged", store.Created: "new", store.Revised: "changed", store.Revived: "brought back",
}

// gather reads the folder that holds job.toml. A link to a file or a folder of it is followed; those that cannot be are job.Problems,
// because what is kept is the whole folder.
func gather(fsys fs.FS) (store.Files, error) {
	root, err := findRoot(fsys)
	if err != nil {
		return nil, err
	}
	sub, err := fs.Sub(fsys, root)
	if err != nil {
		return nil, fault.As(fault.Invalid, err)
	}
	g := gathering{fsys: sub, files: store.Files{}}
	if err := fs.WalkDir(sub, ".", g.visit); err != nil {
		return nil, fault.As(fault.Invalid, fmt.Errorf("reading the folder: %w", err))
	}
	if len(g.problems) > 0 {
		return nil, fault.As(fault.Invalid, fmt.Errorf("job folder: %w", g.problems))
	}
	return g.files, nil
}

// A gathering is a folder as it is being read.
type gathering struct {
	fsys     fs.FS
	files    store.Files
	total    int    // bytes of all files
	behind   string // link whose folder is being read; in it a link to a folder is not followed, as it may lead in a circle
	problems job.Problems
}

func (g *gathering) visit(name string, d fs.DirEntry, err error) error {
	if err != nil {
		return err
	}
	if name != "." && litter(d.Name()) {
		if d.IsDir() {
			return fs.SkipDir
		}
		return nil
	}
	switch {
	case d.Type().IsRegular():
		return g.take(name)
	case d.Type()&fs.ModeSymlink != 0:
		return g.follow(name)
	}
	return nil
}

// follow takes what a link leads to.
func (g *gathering) follow(name string) error {
	info, err := fs.Stat(g.fsys, name)
	switch {
	case errors.Is(err, job.ErrOutside):
		g.problems = append(g.problems, job.Outside(name))
	case errors.Is(err, fs.ErrNotExist): // it leads to nothing: missing, if the job asks for it
	case err != nil:
		return err
	case info.Mode()&fs.ModeSymlink != 0: // a zip does not follow the links in it
		g.problems = append(g.problems, job.Problem{File: name, Found: "is a link, which leads nowhere from inside a zip", Write: "put what the link leads to in its place"})
	case info.Mode().IsRegular():
		return g.take(name)
	case info.IsDir() && g.behind == "":
		g.behind = name
		defer func() { g.behind = "" }()
		return fs.WalkDir(g.fsys, name, g.visit)
	}
	return nil
}

// take reads a file.
func (g *gathering) take(name string) error {
	data, err := readLimited(g.fsys, name)
	if err != nil {
		return err
	}
	g.files[name] = data
	if g.total += len(data); g.total > maxFolder || len(g.files) > maxFiles {
		return fault.Errorf(fault.Invalid, "this folder holds more than %d files or %d MB: is it a job folder?", maxFiles, maxFolder>>20)
	}
	return nil
}

func readLimited(fsys fs.FS, name string) (data []byte, err error) {
	f, err := fsys.Open(name)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	limit := maxFile
	if strings.HasPrefix(name, scansFolder) {
		limit = maxScan
	}
	data, err = io.ReadAll(io.LimitReader(f, int64(limit)+1))
	if err == nil && len(data) > limit {
		err = fault.Errorf(fault.Invalid, "%s is larger than %d MB", name, limit>>20)
	}
	return data, err
}

// litter reports whether a name is left by an operating system or an editor and is no part of the folder.
func litter(name string) bool {
	return strings.HasPrefix(name, ".") || name == "__MACOSX" || name == "Thumbs.db" || name == "desktop.ini" || strings.HasSuffix(name, "~")
}

// findRoot finds the folder that holds job.toml: the one nearest the top, and only one.
func findRoot(fsys fs.FS) (string, error) {
	level, seen := []string{"."}, 0
	for range 4 {
		var found, next []string
		for _, dir := range level {
			list, err := fs.ReadDir(fsys, dir)
			if err != nil {
				return "", fault.As(fault.Invalid, fmt.Errorf("reading the folder: %w", err))
			}
			for _, e := range list {
				switch {
				case litter(e.Name()):
				case e.IsDir():
					next = append(next, path.Join(dir, e.Name()))
				case e.Name() == "job.toml":
					found = append(found, dir)
				}
			}
		}
		switch len(found) {
		case 0:
		case 1:
			return found[0], nil
		default:
			return "", fault.Errorf(fault.Invalid, "there are several job folders here (%s): open one at a time", strings.Join(found, ", "))
		}
		if seen += len(next); seen > maxFiles {
			break
		}
		level = next
	}
	return "", fault.Errorf(fault.Invalid, "there is no job.toml here: open the folder that holds job.toml, bench.toml, sittings and traces")
}
