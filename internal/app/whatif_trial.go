package app

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"strings"
	"sync"

	"runnel/assess"
	"runnel/engine"
	"runnel/internal/fault"
	"runnel/job"
)

// ErrSuperseded means that a newer question about the same engine was asked before this one was answered.
var ErrSuperseded = errors.New("a newer change was asked for in the meantime")

// trials holds the engines that changes are being tried on, each tied to its readings and warm.
type trials struct {
	ctx    context.Context //nolint:containedctx // the life of the App, for work that outlives a request
	cancel context.CancelFunc
	all    sync.WaitGroup

	mu   sync.Mutex
	held recents[*trial]
}

// trialsHeld is how many engines are kept: a porter tries changes on one, before and after. Each takes some megabytes.
const trialsHeld = 4

func newTrials() *trials {
	ctx, cancel := context.WithCancel(context.Background())
	return &trials{ctx: ctx, cancel: cancel, held: newRecents[*trial](trialsHeld)}
}

func (ts *trials) close() {
	ts.cancel()
	ts.all.Wait()
}

// A trial is one engine that changes are tried on.
type trial struct {
	ready   chan struct{} // closed when tied or err is there
	tied    assess.Tied
	err     error
	answers slot
	cycles  slot

	// Of whoever holds the slot of answers:
	coarse, fine engine.Warm
	base         []engine.Point // the engine as it is, coarsely
	done         string         // question that last is the answer to
	last         []assess.Point
}

// get returns the trial of a job's state, and ties it in the background when it is new.
func (ts *trials) get(j job.Job, facts, state string) *trial {
	key := facts + "/" + state
	ts.mu.Lock()
	defer ts.mu.Unlock()
	if t, ok := ts.held.get(key); ok && !t.broken() {
		return t
	}
	t := &trial{ready: make(chan struct{}), answers: newSlot(), cycles: newSlot()}
	ts.held.put(key, t)
	if ts.ctx.Err() != nil {
		t.err = ts.ctx.Err()
		close(t.ready)
		return t
	}
	ts.all.Go(func() {
		defer close(t.ready)
		t.tied, t.err = tieState(ts.ctx, j, state)
	})
	return t
}

func tieState(ctx context.Context, j job.Job, state string) (tied assess.Tied, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = &panicError{value: p, stack: debug.Stack()}
		}
	}()
	both, err := assess.Ties(ctx, j, nil)
	if err != nil {
		return assess.Tied{}, err
	}
	for _, t := range both {
		if t.State == state {
			return t, nil
		}
	}
	return assess.Tied{}, fault.Errorf(fault.Invalid, "state %q: write before or after", state)
}

// broken reports whether tying failed, so that it is tried again.
func (t *trial) broken() bool {
	select {
	case <-t.ready:
		return t.err != nil
	default:
		return false
	}
}

// prepared waits until the engine is tied.
func (t *trial) prepared(ctx context.Context) error {
	select {
	case <-t.ready:
		return t.err
	case <-ctx.Done():
		return ctx.Err()
	}
}

// A slot lets one piece of work run at a time; newer work stops older.
type slot struct {
	turn chan struct{}
	mu   *sync.Mutex
	stop *context.CancelCauseFunc
}

func newSlot() slot {
	return slot{turn: make(chan struct{}, 1), mu: &sync.Mutex{}, stop: new(context.CancelCauseFunc)}
}

// run does work once what ran before has stopped. It returns ErrSuperseded when newer work came.
func (s slot) run(ctx context.Context, work func(context.Context) error) (err error) {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	s.mu.Lock()
	if *s.stop != nil {
		(*s.stop)(ErrSuperseded)
	}
	*s.stop = cancel
	s.mu.Unlock()
	select {
	case s.turn <- struct{}{}:
		defer func() { <-s.turn }()
	case <-ctx.Done():
		return stopped(ctx)
	}
	defer func() {
		if p := recover(); p != nil {
			err = &panicError{value: p, stack: debug.Stack()}
		}
	}()
	if err = work(ctx); err != nil && ctx.Err() != nil {
		return stopped(ctx)
	}
	return err
}

func stopped(ctx context.Context) error {
	if errors.Is(context.Cause(ctx), ErrSuperseded) {
		return fault.As(fault.Conflict, ErrSuperseded)
	}
	return ctx.Err()
}

// trialOf returns the trial of a job's state and its pull.
func (a *App) trialOf(ctx context.Context, id, state string) (*trial, []assess.Point, error) {
	as, err := a.Assessment(ctx, id)
	switch {
	case err != nil:
		return nil, nil, err
	case as.Job.Engine == nil:
		return nil, nil, fault.As(fault.Invalid, assess.ErrNoEngine)
	case state != "before" && state != "after":
		return nil, nil, fault.Errorf(fault.Invalid, "state %q: write before or after", state)
	case as.Assessment.Pull == nil:
		return nil, nil, fault.Errorf(fault.Conflict, "the pull of job %q is not there yet", id)
	}
	old := as.Assessment.Pull.After
	if state == "before" {
		old = as.Assessment.Pull.Before
	}
	if len(old) == 0 {
		return nil, nil, fault.Errorf(fault.Conflict, "the pull of job %q has no speeds", id)
	}
	return a.trials.get(withoutSections(as.Job), as.facts, state), append([]assess.Point{}, old...), nil
}

func questionKey(sets []assess.Set) string {
	var b strings.Builder
	for _, s := range sets {
		fmt.Fprintf(&b, "%s=%x;", s.Setting.Name, s.To)
	}
	return b.String()
}
