package app

import (
	"archive/zip"
	"context"
	"fmt"
	"io"
	"maps"
	"path"
	"slices"
	"strings"
	"time"

	"runnel/internal/fault"
	"runnel/internal/store"
)

// A Revision is one state of a job's folder.
type Revision struct {
	Number     int
	ImportedAt time.Time
}

// A Change is one line of a job's log.
type Change struct {
	At   time.Time
	Who  string
	What string
	Why  string
}

// History returns the states a job's folder has been in and what was done to it, the newest first.
func (a *App) History(ctx context.Context, id string) ([]Revision, []Change, error) {
	if _, err := a.store.Job(ctx, id); err != nil {
		return nil, nil, err
	}
	kept, err := a.store.Revisions(ctx, id)
	if err != nil {
		return nil, nil, err
	}
	log, err := a.store.Changes(ctx, id)
	if err != nil {
		return nil, nil, err
	}
	revs, changes := make([]Revision, len(kept)), make([]Change, len(log))
	for i, r := range kept {
		revs[i] = Revision{Number: r.Number, ImportedAt: r.ImportedAt}
	}
	for i, c := range log {
		changes[i] = Change{At: c.At, Who: c.Who, What: c.What, Why: c.Why}
	}
	return revs, changes, nil
}

// Delete hides a job, with a reason; Restore undoes it.
func (a *App) Delete(ctx context.Context, id, why string) error {
	row, err := a.store.Job(ctx, id)
	if err != nil {
		return err
	}
	if err := a.store.Delete(ctx, id, store.By{Who: a.who, Why: strings.TrimSpace(why)}); err != nil {
		return err
	}
	a.solving.stop(row.Hash, "")
	return nil
}

// Restore brings a deleted job back.
func (a *App) Restore(ctx context.Context, id string) error {
	return a.store.Restore(ctx, id, store.By{Who: a.who})
}

// GoBack makes an earlier state of a job's folder the present one. It becomes a new revision: nothing is lost.
func (a *App) GoBack(ctx context.Context, id string, revision int) (Imported, error) {
	if _, err := a.store.Job(ctx, id); err != nil {
		return Imported{}, err
	}
	files, err := a.store.Files(ctx, id, revision)
	if err != nil {
		return Imported{}, err
	}
	return a.keep(ctx, files, fmt.Sprintf("back to revision %d", revision))
}

// ExportZip writes the folder of a job, as it was imported, as a zip with one folder in it. Revision 0 is the newest.
// The same folder gives the same bytes. A job that uses the shop's bench card gets a copy of it, so that its folder is whole.
// Meshes, pictures and probe readings that passages were made from lie in a folder of their own, scans.
func (a *App) ExportZip(ctx context.Context, id string, revision int, w io.Writer) error {
	return a.export(ctx, id, revision, true, w)
}

// ExportFacts is ExportZip without meshes, pictures and probe readings.
func (a *App) ExportFacts(ctx context.Context, id string, revision int, w io.Writer) error {
	return a.export(ctx, id, revision, false, w)
}

func (a *App) export(ctx context.Context, id string, revision int, scans bool, w io.Writer) error {
	row, err := a.store.Job(ctx, id)
	if err != nil {
		return err
	}
	if revision == 0 {
		revision = row.Revision
	}
	if revision < 0 {
		return fault.Errorf(fault.NotFound, "job %q has no revision %d", id, revision)
	}
	files, err := a.store.Files(ctx, id, revision)
	if err != nil {
		return err
	}
	if _, own := files[benchFile]; !own {
		card, _, err := a.copyOfShop(ctx, "the folder was exported")
		if err != nil {
			return err
		}
		files = maps.Clone(files)
		files[benchFile] = card
	}
	z := zip.NewWriter(w)
	for _, name := range slices.Sorted(maps.Keys(files)) {
		if err := zipped(z, path.Join(id, name), files[name]); err != nil {
			return err
		}
	}
	if scans {
		if err := a.zipScans(ctx, id, z); err != nil {
			return err
		}
	}
	return z.Close()
}

// zipped writes a file into a zip; the same file gives the same bytes.
func zipped(z *zip.Writer, name string, data []byte) error {
	f, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: zipTime})
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	return err
}

// zipTime stands for every file's time: a job folder does not carry one.
var zipTime = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)
