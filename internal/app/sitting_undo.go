package app

import (
	"bytes"
	"context"
	"fmt"
	"slices"

	"runnel/internal/fault"
	"runnel/internal/store"
	"runnel/job"
)

// undoneWord is the reason of a reading that was undone.
const undoneWord = "undone"

// Undo takes the last change to a sitting back: its records become what they were in the revision before. Readings that came
// with the change stay and no longer count. It is a change itself, so that undoing it brings the records back.
func (a *App) Undo(ctx context.Context, ref SittingRef) error {
	_, err := a.edit(ctx, edit{job: ref.Job, what: fmt.Sprintf("sitting %s: last change undone", ref.Sitting), do: func(j job.Job, files store.Files) (store.Files, error) {
		now, err := sittingOf(j, ref.Sitting)
		if err != nil {
			return nil, err
		}
		if ref.Tag != "" && ref.Tag != tagOf(files[now.File]) {
			return nil, fault.Errorf(fault.Conflict, "sitting %q was changed in the meantime: look at what it says now, then undo again", ref.Sitting)
		}
		was, err := a.before(ctx, j.ID, now, files)
		if err != nil {
			return nil, err
		}
		out := was
		out.File = now.File
		for _, r := range now.Readings {
			if !slices.ContainsFunc(was.Readings, func(o job.Reading) bool { return o.ID == r.ID }) {
				if r.Void == "" {
					r.Void = undoneWord
				}
				out.Readings = append(out.Readings, r)
			}
		}
		return sittingFiles(out, nil, files)
	}})
	return err
}

// before returns a sitting as it was before its last change.
func (a *App) before(ctx context.Context, id string, now job.Sitting, files store.Files) (job.Sitting, error) {
	none := fault.Errorf(fault.Conflict, "there is nothing to undo in sitting %q", now.ID)
	revs, err := a.store.Revisions(ctx, id)
	if err != nil {
		return job.Sitting{}, err
	}
	for _, r := range revs {
		old, err := a.store.Files(ctx, id, r.Number)
		if err != nil {
			return job.Sitting{}, err
		}
		if bytes.Equal(old[now.File], files[now.File]) {
			continue
		}
		if old[now.File] == nil {
			return job.Sitting{}, none
		}
		j, _, err := a.readFolder(ctx, old)
		if err != nil {
			return job.Sitting{}, fmt.Errorf("revision %d as it was kept: %w", r.Number, err)
		}
		return sittingOf(j, now.ID)
	}
	return job.Sitting{}, none
}
