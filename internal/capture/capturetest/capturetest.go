package capturetest

import (
	"context"
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"runnel/internal/capture"
	"runnel/internal/fault"
)

// A Subject is a source at test and the device behind it.
type Subject struct {
	Source capture.Source
	Clock  capture.Clock // the one the source was made with

	// Want says whether a sample can be right; nil: any finite number.
	Want func(channel string, value float64) bool
	// Unplug takes the device away, so that Run must end by itself; Plug brings it back. Nil where there is no device, as
	// for a recorded trace.
	Unplug, Plug func()
	// Ends is true of a source that comes to an end by itself.
	Ends bool
	// Samples is how many samples of every channel must come; 0 means 5.
	Samples int
}

const (
	patience = 10 * time.Second // for samples to come, on a busy machine
	prompt   = time.Second      // to end after the context has
)

// Run checks the contract. make is called once for each part of the check.
func Run(t *testing.T, makeSubject func(t *testing.T) Subject) {
	t.Helper()
	t.Run("describes itself", func(t *testing.T) { describes(t, makeSubject(t)) })
	t.Run("yields samples", func(t *testing.T) { yields(t, makeSubject(t)) })
	t.Run("ends with its context", func(t *testing.T) { endsPromptly(t, makeSubject(t)) })
	t.Run("runs again", func(t *testing.T) { runsAgain(t, makeSubject(t)) })
	t.Run("says when the device is lost", func(t *testing.T) { losesDevice(t, makeSubject(t)) })
	t.Run("refuses an ended context", func(t *testing.T) { refuses(t, makeSubject(t)) })
}

func describes(t *testing.T, s Subject) {
	d := s.Source.Describe()
	if d.Kind == "" || len(d.Channels) == 0 {
		t.Errorf("description %+v has no kind or no channel", d)
	}
	if d.Name() != s.Source.Describe().Name() {
		t.Error("two descriptions differ")
	}
}

// A gatherer receives batches and checks what must hold of each.
type gatherer struct {
	t       *testing.T
	s       Subject
	over    bool
	last    time.Duration
	enough  func()
	samples map[string]int
}

func gather(t *testing.T, s Subject, enough func()) *gatherer {
	return &gatherer{t: t, s: s, last: math.MinInt64, enough: enough, samples: map[string]int{}}
}

func (g *gatherer) emit(b capture.Batch) {
	if g.over {
		g.t.Error("a batch after the end of Run")
		return
	}
	if len(b.Values) != len(b.Channels) {
		g.t.Errorf("%d columns for %d channels", len(b.Values), len(b.Channels))
		return
	}
	if len(b.Times) == 0 && b.Lost == 0 && b.Step == 0 {
		g.t.Error("a batch that says nothing")
	}
	if len(b.Times) > 0 && b.Wall.IsZero() {
		g.t.Error("a batch without a wall clock")
	}
	now := g.s.Clock.Mono()
	for _, at := range b.Times {
		if at < g.last {
			g.t.Errorf("time falls from %v to %v", g.last, at)
		}
		if at > now+time.Millisecond {
			g.t.Errorf("a sample from the future: %v at %v", at, now)
		}
		g.last = at
	}
	for i, name := range b.Channels {
		g.column(name, b.Values[i], len(b.Times))
	}
	if g.full() && g.enough != nil {
		g.enough()
	}
}

func (g *gatherer) column(name string, values []float64, n int) {
	if !slices.Contains(g.s.Source.Describe().Channels, name) {
		g.t.Errorf("channel %q is not in the description", name)
	}
	if len(values) != n {
		g.t.Errorf("channel %s has %d samples for %d times", name, len(values), n)
	}
	for _, v := range values {
		if math.IsNaN(v) {
			continue
		}
		g.samples[name]++
		if math.IsInf(v, 0) || (g.s.Want != nil && !g.s.Want(name, v)) {
			g.t.Errorf("channel %s has a sample %v that cannot be", name, v)
		}
	}
}

func (g *gatherer) full() bool {
	for _, name := range g.s.Source.Describe().Channels {
		if g.samples[name] < max(g.s.Samples, 5) {
			return false
		}
	}
	return true
}

// run runs the source until it has yielded enough and then cancels.
func run(t *testing.T, s Subject) error {
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	g := gather(t, s, cancel)
	err := s.Source.Run(ctx, g.emit)
	g.over = true
	if !g.full() {
		t.Fatalf("not enough samples came: %v, Run ended with %v", g.samples, err)
	}
	return err
}

func yields(t *testing.T, s Subject) {
	err := run(t, s)
	if err != nil && !errors.Is(err, context.Canceled) {
		t.Errorf("Run ended with %v", err)
	}
	if err == nil && !s.Ends {
		t.Error("Run came to an end with nil, as if nothing more would come")
	}
}

func endsPromptly(t *testing.T, s Subject) {
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	first := make(chan struct{}, 1)
	done := make(chan error, 1)
	go func() {
		done <- s.Source.Run(ctx, func(capture.Batch) {
			select {
			case first <- struct{}{}:
			default:
			}
		})
	}()
	select {
	case <-first:
	case <-time.After(patience):
		t.Fatal("nothing came")
	}
	cancel()
	select {
	case err := <-done:
		if !errors.Is(err, context.Canceled) && (err != nil || !s.Ends) {
			t.Errorf("Run ended with %v, not with the error of its context", err)
		}
	case <-time.After(prompt):
		t.Fatalf("Run did not end within %v of its context", prompt)
	}
}

func runsAgain(t *testing.T, s Subject) {
	for range 2 {
		if err := run(t, s); err != nil && !errors.Is(err, context.Canceled) {
			t.Fatalf("Run ended with %v", err)
		}
	}
}

func losesDevice(t *testing.T, s Subject) {
	if s.Unplug == nil {
		t.Skip("there is no device to lose")
	}
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	came := false
	g := gather(t, s, func() {
		if !came {
			came = true
			s.Unplug()
		}
	})
	err := s.Source.Run(ctx, g.emit)
	g.over = true
	if !came {
		t.Fatalf("nothing came: %v", err)
	}
	if ctx.Err() != nil {
		t.Fatal("Run did not end when the device was taken away")
	}
	lost(t, err)
	lost(t, s.Source.Run(ctx, func(capture.Batch) { t.Error("a batch without a device") }))
	s.Plug()
	if err := run(t, s); err != nil && !errors.Is(err, context.Canceled) {
		t.Errorf("after the device came back Run ended with %v", err)
	}
}

func lost(t *testing.T, err error) {
	t.Helper()
	if fault.KindOf(err) != fault.Device {
		t.Errorf("error %v is not of kind Device", err)
	}
	if !errors.Is(err, capture.ErrUnplugged) && !errors.Is(err, capture.ErrBroker) {
		t.Errorf("error %v does not say that the device is gone", err)
	}
}

func refuses(t *testing.T, s Subject) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	start := s.Clock.Mono()
	if err := s.Source.Run(ctx, func(capture.Batch) {}); err == nil && !s.Ends {
		t.Error("Run with an ended context returned nil")
	}
	if took := s.Clock.Mono() - start; took > prompt {
		t.Errorf("Run with an ended context took %v", took)
	}
}
