package app

import (
	"context"
	"fmt"
	"runtime/debug"
	"sync"
)

// A Phase is how far the pull of a job is.
type Phase string

// The phases of a pull.
const (
	NoEngine Phase = "no engine" // the job has no engine card: there is nothing to compute
	Waiting  Phase = "waiting"   // another job is being computed
	Running  Phase = "running"
	Done     Phase = "done"
	Failed   Phase = "failed"
)

// A Progress is the state of a computation in the background.
type Progress struct {
	Phase Phase  `json:"phase"`
	Stage string `json:"stage"` // what is being computed, in words
	Done  int    `json:"done"`  // steps of the stage
	Total int    `json:"total"` // 0: not known
	Error string `json:"error,omitempty"`
}

// Percent is how much of the stage is done.
func (p Progress) Percent() int {
	if p.Total <= 0 {
		return 0
	}
	return min(100*p.Done/p.Total, 100)
}

// Over reports whether nothing more will come.
func (p Progress) Over() bool { return p.Phase == Done || p.Phase == Failed || p.Phase == NoEngine }

// solving computes in the background: one computation for the same facts however many ask, one at a time because each uses every
// core. Nothing of it is needed after a restart: whoever asks starts it again.
type solving struct {
	ctx    context.Context
	cancel context.CancelFunc
	all    sync.WaitGroup
	turn   chan struct{}

	mu    sync.Mutex
	runs  map[string]*run   // by the facts they follow from
	facts map[string]string // of a job's files that were asked for, by their hash
}

// A run is one computation.
type run struct {
	cancel   context.CancelFunc
	progress Progress
	changed  chan struct{} // closed at each change and made anew
}

func newSolving() *solving {
	ctx, cancel := context.WithCancel(context.Background())
	return &solving{ctx: ctx, cancel: cancel, turn: make(chan struct{}, 1), runs: map[string]*run{}, facts: map[string]string{}}
}

func (s *solving) close() {
	s.mu.Lock()
	s.cancel() // under the lock: nothing is begun after it
	s.mu.Unlock()
	s.all.Wait()
}

// aside runs something short beside what is asked for.
func (s *solving) aside(work func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.ctx.Err() == nil {
		s.all.Go(work)
	}
}

// start begins work for the files of a hash unless it is under way for the same facts or its result is there. A failed one is begun again
// only when retry is set.
func (s *solving) start(hash, facts string, retry bool, there func() bool, work func(context.Context, func(string, int, int)) error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.facts[hash] = facts
	r, ok := s.runs[facts]
	if s.ctx.Err() != nil || ok && (!r.progress.Over() || r.progress.Phase == Failed && !retry) || there() {
		return
	}
	ctx, cancel := context.WithCancel(s.ctx)
	r = &run{cancel: cancel, progress: Progress{Phase: Waiting, Stage: "waiting for its turn"}, changed: make(chan struct{})}
	s.runs[facts] = r
	s.all.Go(func() {
		defer cancel()
		select {
		case s.turn <- struct{}{}:
			defer func() { <-s.turn }()
		case <-ctx.Done():
			s.drop(facts, r)
			return
		}
		s.set(r, Progress{Phase: Running, Stage: "starting"})
		err := guarded(ctx, work, func(stage string, done, total int) {
			s.set(r, Progress{Phase: Running, Stage: stage, Done: done, Total: total})
		})
		switch {
		case ctx.Err() != nil:
			s.drop(facts, r)
		case err != nil:
			s.set(r, Progress{Phase: Failed, Error: err.Error()})
		default:
			s.set(r, Progress{Phase: Done})
		}
	})
}

// guarded turns a panic of a computation into an error, so that one job cannot take the others down.
func guarded(ctx context.Context, work func(context.Context, func(string, int, int)) error, tell func(string, int, int)) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = &panicError{value: p, stack: debug.Stack()}
		}
	}()
	return work(ctx, tell)
}

// A panicError is a programmer's fault found while computing.
type panicError struct {
	value any
	stack []byte
}

func (e *panicError) Error() string { return fmt.Sprintf("the computation broke off: %v", e.value) }

func (s *solving) set(r *run, p Progress) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if r.progress.Over() {
		return
	}
	r.progress = p
	close(r.changed)
	r.changed = make(chan struct{})
}

// drop forgets a run that was stopped, so that it can be started again, and lets its watchers go.
func (s *solving) drop(facts string, r *run) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.runs[facts] == r {
		delete(s.runs, facts)
	}
	r.progress = Progress{Phase: Failed, Error: "stopped"}
	close(r.changed)
	r.changed = make(chan struct{})
}

// stop ends the run that the files of a hash asked for, unless it is of the facts to be kept.
func (s *solving) stop(hash, keep string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	facts, ok := s.facts[hash]
	if r := s.runs[facts]; ok && facts != keep && r != nil && !r.progress.Over() {
		r.cancel()
	}
}

// at returns where the run is that the files of a hash asked for, and a channel that is closed when that changes; ok is false when there is no run.
func (s *solving) at(hash string) (p Progress, changed <-chan struct{}, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	r, ok := s.runs[s.facts[hash]]
	if !ok {
		return Progress{}, nil, false
	}
	return r.progress, r.changed, true
}
