package app

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"runtime/debug"

	"runnel/assess"
	"runnel/internal/fault"
	"runnel/internal/store"
	"runnel/job"
)

// What is kept of an assessment, as the options of its key.
const (
	optWhole = "whole"
	optCard  = "card"
)

// An Assessed is a job with what follows from it so far.
type Assessed struct {
	Job        job.Job
	Assessment assess.Assessment // Pull is nil until Progress.Phase is Done
	Progress   Progress          // of the pull
	Revision   int               // of the job's folder
	Hash       string            // of the job's files

	facts string // what the pull follows from
}

// Assessment returns a job with its assessment: readings, verdicts, match and restriction at once, the pull when it is
// there. When it is not, its computation is started in the background; Watch follows it.
func (a *App) Assessment(ctx context.Context, id string) (Assessed, error) {
	b, row, err := a.open(ctx, id)
	if err != nil {
		return Assessed{}, err
	}
	out := Assessed{Job: b.job, Revision: row.Revision, Hash: row.Hash, facts: b.facts()}
	if whole, ok, err := a.whole(ctx, b); err != nil {
		return Assessed{}, err
	} else if ok {
		out.Assessment, out.Progress = whole, Progress{Phase: Done}
		if b.job.Engine == nil {
			out.Progress.Phase = NoEngine
		}
		return out, nil
	}
	if out.Assessment, err = a.readings(b); err != nil {
		return Assessed{}, err
	}
	if b.job.Engine == nil {
		out.Progress = Progress{Phase: NoEngine}
		return out, nil
	}
	a.begin(b, false)
	out.Progress = a.progress(b)
	if out.Progress.Phase == Done { // it became ready between the two looks
		if whole, ok := b.known(); ok {
			out.Assessment = whole
		}
	}
	return out, nil
}

// Solved waits for the whole assessment of a job.
func (a *App) Solved(ctx context.Context, id string) (Assessed, error) {
	out, err := a.settled(ctx, id)
	if err == nil && out.Progress.Phase == Failed {
		err = fmt.Errorf("job %q: the pull: %s", id, out.Progress.Error)
	}
	return out, err
}

// settled waits until nothing more will come, be it that the pull failed.
func (a *App) settled(ctx context.Context, id string) (Assessed, error) {
	for {
		out, err := a.Assessment(ctx, id)
		if err != nil || out.Progress.Over() {
			return out, err
		}
		p, changed, ok := a.solving.at(out.Hash)
		if !ok || p.Over() {
			continue
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return Assessed{}, ctx.Err()
		}
	}
}

// Watch returns where the pull of a job is, and a channel that is closed when that changes (nil when it will not).
func (a *App) Watch(ctx context.Context, id string) (Progress, <-chan struct{}, error) {
	row, err := a.store.Job(ctx, id)
	if err != nil {
		return Progress{}, nil, err
	}
	if p, changed, ok := a.solving.at(row.Hash); ok {
		return p, changed, nil
	}
	out, err := a.Assessment(ctx, id)
	if err != nil || out.Progress.Over() {
		return out.Progress, nil, err
	}
	p, changed, ok := a.solving.at(row.Hash)
	if !ok {
		return Progress{Phase: Failed, Error: "stopped"}, nil, nil
	}
	return p, changed, nil
}

// Retry computes a pull again that failed.
func (a *App) Retry(ctx context.Context, id string) error {
	b, _, err := a.open(ctx, id)
	if err != nil {
		return err
	}
	if b.job.Engine == nil {
		return fault.Errorf(fault.Invalid, "job %q has no engine card, so there is no pull to compute", id)
	}
	a.begin(b, true)
	return nil
}

// open returns the book of a job, reading its folder when it is not on the shelf.
func (a *App) open(ctx context.Context, id string) (*book, store.Job, error) {
	row, err := a.store.Job(ctx, id)
	if err != nil {
		return nil, store.Job{}, err
	}
	if b, ok := a.held(ctx, row.Hash); ok {
		return b, row, nil
	}
	files, err := a.store.Files(ctx, id, row.Revision)
	if err != nil {
		return nil, store.Job{}, err
	}
	j, shop, err := a.readFolder(ctx, files)
	if err != nil {
		return nil, store.Job{}, fmt.Errorf("job %q as it was kept: %w", id, err)
	}
	return a.loaded.put(row.Hash, shop, j), row, nil
}

// held returns a book from the shelf, provided the shop's bench card is still the one it was read with.
func (a *App) held(ctx context.Context, hash string) (*book, bool) {
	b, ok := a.loaded.get(hash)
	if !ok || b.shop != "" && b.shop != a.shopTag(ctx) {
		return nil, false
	}
	return b, true
}

// readings is the quick part.
func (a *App) readings(b *book) (assess.Assessment, error) {
	b.once.Do(func() {
		defer func() {
			if p := recover(); p != nil {
				b.err = &panicError{value: p, stack: debug.Stack()}
			}
		}()
		b.readings, b.err = a.past.of(b, a.compute.Readings)
	})
	if broken, ok := errors.AsType[*panicError](b.err); ok {
		a.log.Error("readings", "job", b.job.ID, "panic", broken.value, "stack", string(broken.stack))
	}
	if b.err != nil {
		return assess.Assessment{}, fmt.Errorf("job %q: %w", b.job.ID, b.err)
	}
	return b.readings, nil
}

// whole returns the kept assessment.
func (a *App) whole(ctx context.Context, b *book) (assess.Assessment, bool, error) {
	if w, ok := b.known(); ok {
		return w, true, nil
	}
	data, ok, err := a.store.Assessment(ctx, key(b.facts(), optWhole))
	if err != nil || !ok {
		return assess.Assessment{}, false, err
	}
	var w assess.Assessment
	if err := json.Unmarshal(data, &w); err != nil {
		a.log.Warn("a kept assessment cannot be read and is computed again", "job", b.job.ID, "error", err)
		return assess.Assessment{}, false, nil
	}
	b.learn(w)
	return w, true, nil
}

func key(hash, options string) store.Key {
	return store.Key{Hash: hash, Version: assess.Version, Options: options}
}

// begin starts the whole computation in the background: one for all states of a job that differ in their stations only.
func (a *App) begin(b *book, retry bool) {
	there := func() bool { _, ok, err := a.whole(a.solving.ctx, b); return ok && err == nil } // another state's may have ended just now
	a.solving.start(b.hash, b.facts(), retry, there, func(ctx context.Context, tell func(string, int, int)) error {
		from := a.now()
		bare, facts := b.bare()
		w, err := a.compute.Solve(ctx, bare, tell)
		if err != nil {
			a.log.Error("pull", "job", b.job.ID, "error", err)
			return err
		}
		data, err := json.Marshal(w)
		if err != nil {
			return fmt.Errorf("writing the assessment: %w", err)
		}
		if err := a.store.KeepAssessment(ctx, key(facts, optWhole), data); err != nil {
			a.log.Error("keeping the assessment", "job", b.job.ID, "error", err) // it is there until the restart
		}
		b.learn(w) // last: who sees the pull may rely on its being kept
		a.log.Info("solved", "job", b.job.ID, "took", a.now().Sub(from).String())
		return nil
	})
}

func (a *App) progress(b *book) Progress {
	if p, _, ok := a.solving.at(b.hash); ok {
		return p
	}
	return Progress{Phase: Failed, Error: "stopped"}
}
