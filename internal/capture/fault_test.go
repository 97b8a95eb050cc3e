package capture_test

import (
	"context"
	"errors"
	"slices"
	"sync"
	"syscall"
	"testing"
	"time"

	"runnel/internal/capture"
	"runnel/internal/capture/rig"
	"runnel/internal/capture/sources"
	"runnel/job"
)

// within is how soon a fault must be named.
const within = 2 * time.Second

// A bench is a rig in this process under a session, and what the session told.
type bench struct {
	session *capture.Session
	rig     *rig.Source
	clock   capture.Clock

	mu     sync.Mutex
	faults []capture.Fault
}

func (b *bench) told(f capture.Fault) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.faults = append(b.faults, f)
}

// has reports whether a fault was told, begun or ended.
func (b *bench) has(k capture.Kind, ended bool) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.ContainsFunc(b.faults, func(f capture.Fault) bool { return f.Kind == k && f.Until.IsZero() == !ended })
}

func (b *bench) all() []capture.Fault {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.faults)
}

func rigCard(t *testing.T, options string) job.Bench {
	t.Helper()
	card, err := job.LoadBench("rig.toml", []byte(rigText(options)))
	if err != nil {
		t.Fatal(err)
	}
	return card
}

// start runs a rig under a session and waits until it is known to be sound.
func start(t *testing.T, change func(*capture.Config)) *bench {
	t.Helper()
	b := &bench{clock: capture.NewClock(time.Now)}
	card := rigCard(t, "seed=5")
	srcs, err := sources.Open(card, b.clock)
	if err != nil {
		t.Fatal(err)
	}
	b.rig = srcs[0].(*rig.Source)
	cfg := capture.Config{Bench: card, Sources: srcs, Clock: b.clock, Told: b.told}
	if change != nil {
		change(&cfg)
	}
	if b.session, err = capture.Start(t.Context(), cfg); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = b.session.Stop() })
	time.Sleep(2 * time.Second)
	if f := b.all(); len(f) > 0 && change == nil {
		t.Fatalf("a sound rig has faults: %+v", f)
	}
	return b
}

// named waits for a fault and says how long it took.
func (b *bench) named(t *testing.T, k capture.Kind, ended bool, limit time.Duration) {
	t.Helper()
	from := b.clock.Mono()
	for b.clock.Mono()-from < limit+3*time.Second {
		if b.has(k, ended) {
			if took := b.clock.Mono() - from; took > limit {
				t.Errorf("%s (ended: %v) took %v to be named", k, ended, took)
			}
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatalf("%s (ended: %v) was not named in %v: %+v", k, ended, limit+3*time.Second, b.all())
}

// Every fault that a rig can have is named within two seconds, and told again when it is over.
func TestRigFaultsAreNamed(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		command string
		want    capture.Kind
	}{
		{"fault unplug", capture.Unplugged},
		{"fault silent", capture.Unplugged},
		{"fault freeze", capture.Frozen},
		{"fault spike", capture.Spikes},
		{"fault clip", capture.OutOfRange},
		{"fault clock", capture.ClockStep},
		{"fault rate", capture.WrongRate},
		{"fault garble", capture.Unreadable},
		{"fault sag", capture.NotHeld},
	} {
		t.Run(c.command, func(t *testing.T) {
			t.Parallel()
			b := start(t, nil)
			b.session.Hold(b.rig.Truth().Pressure, 0.02)
			if _, err := b.rig.Do(c.command); err != nil {
				t.Fatal(err)
			}
			b.named(t, c.want, false, within)
			if _, err := b.rig.Do("well"); err != nil {
				t.Fatal(err)
			}
			b.named(t, c.want, true, 8*time.Second)
		})
	}
}

// A full disk is named, the samples wait, and all of them are kept when there is room again.
func TestDiskFull(t *testing.T) {
	t.Parallel()
	var mu sync.Mutex
	full, kept := true, 0
	b := start(t, func(c *capture.Config) {
		c.Keep = func(_ context.Context, chunks []capture.Chunk) error {
			mu.Lock()
			defer mu.Unlock()
			if full {
				return &diskError{}
			}
			for _, k := range chunks {
				kept += len(k.Times)
			}
			return nil
		}
	})
	b.named(t, capture.DiskFull, false, within)
	mu.Lock()
	full = false
	mu.Unlock()
	b.named(t, capture.DiskFull, true, 4*time.Second)
	st := b.session.State()
	if err := b.session.Stop(); err != nil {
		t.Fatal(err)
	}
	if int64(kept) < st.Channels[0].Samples {
		t.Errorf("kept %d samples of %d", kept, st.Channels[0].Samples)
	}
}

type diskError struct{}

func (*diskError) Error() string { return "write: " + syscall.ENOSPC.Error() }
func (*diskError) Unwrap() error { return syscall.ENOSPC }

// A pipe is a source that a test feeds.
type pipe struct {
	about capture.Description
	in    chan capture.Batch
	fail  chan error
}

func (p *pipe) Describe() capture.Description { return p.about }

func (p *pipe) Run(ctx context.Context, emit func(capture.Batch)) error {
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case err := <-p.fail:
			return err
		case b := <-p.in:
			emit(b)
		}
	}
}

func newPipe(place string, channels ...string) *pipe {
	return &pipe{about: capture.Description{Kind: "pipe", Place: place, Channels: channels}, in: make(chan capture.Batch, 16), fail: make(chan error, 1)}
}

// A second source on a channel is named and its samples are left out.
func TestTwoSources(t *testing.T) {
	t.Parallel()
	first, second := newPipe("a", "meter_dp"), newPipe("b", "meter_dp")
	clock := capture.NewClock(time.Now)
	b := &bench{clock: clock}
	s, err := capture.Start(t.Context(), capture.Config{Bench: rigCard(t, ""), Sources: []capture.Source{first, second}, Clock: clock, Told: b.told})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Stop() }()
	for i := range 20 {
		at := []time.Duration{clock.Mono()}
		first.in <- capture.Batch{Channels: []string{"meter_dp"}, Times: at, Wall: clock.Wall(), Values: [][]float64{{1000 + float64(i%3)}}}
		second.in <- capture.Batch{Channels: []string{"meter_dp"}, Times: at, Wall: clock.Wall(), Values: [][]float64{{7}}}
		time.Sleep(20 * time.Millisecond)
	}
	b.named(t, capture.TwoSources, false, within)
	tr, err := s.Trace(0, clock.Mono())
	if err != nil {
		t.Fatal(err)
	}
	if len(tr.Time) != 20 {
		t.Errorf("%d samples in the trace, wanted those of the first source, 20", len(tr.Time))
	}
	for _, v := range tr.Channels[0].Values {
		if v < 1000 {
			t.Fatalf("a sample %v of the second source is in the trace", v)
		}
	}
}

// The end of a source is named by its error.
func TestEndsAreNamed(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		err  error
		want capture.Kind
	}{
		{capture.ErrUnplugged, capture.Unplugged},
		{capture.ErrBroker, capture.BrokerGone},
		{capture.ErrTaken, capture.TwoSources},
		{capture.ErrNotAnswered, capture.NotAnswered},
		{errors.New("anything"), capture.Unplugged},
	} {
		t.Run(c.err.Error(), func(t *testing.T) {
			t.Parallel()
			p, clock := newPipe("a", "meter_dp"), capture.NewClock(time.Now)
			b := &bench{clock: clock}
			s, err := capture.Start(t.Context(), capture.Config{Bench: rigCard(t, ""), Sources: []capture.Source{p}, Clock: clock, Told: b.told})
			if err != nil {
				t.Fatal(err)
			}
			defer func() { _ = s.Stop() }()
			p.fail <- c.err
			b.named(t, c.want, false, within)
		})
	}
}

// A step of the wall clock is named; the monotonic one does not step.
func TestWallClockSteps(t *testing.T) {
	t.Parallel()
	var mu sync.Mutex
	var off time.Duration
	clock := capture.NewClock(time.Now)
	stepped := capture.Clock{Mono: clock.Mono, Wall: func() time.Time {
		mu.Lock()
		defer mu.Unlock()
		return clock.Wall().Add(off)
	}}
	b := &bench{clock: clock}
	s, err := capture.Start(t.Context(), capture.Config{Bench: rigCard(t, ""), Sources: []capture.Source{newPipe("a", "meter_dp")}, Clock: stepped, Told: b.told})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Stop() }()
	time.Sleep(200 * time.Millisecond)
	mu.Lock()
	off = -time.Hour
	mu.Unlock()
	b.named(t, capture.ClockStep, false, within)
}

// A sensor that never says anything is named.
func TestNeverPlugged(t *testing.T) {
	t.Parallel()
	p, clock := newPipe("a", "meter_dp"), capture.NewClock(time.Now)
	b := &bench{clock: clock}
	s, err := capture.Start(t.Context(), capture.Config{Bench: rigCard(t, ""), Sources: []capture.Source{p}, Clock: clock, Told: b.told})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Stop() }()
	b.named(t, capture.Unplugged, false, within)
}

func rigText(options string) string { return rig.Card(rig.OwnSources(options)) }

// The rate that is said for one sensor holds for it alone.
func TestDeclaredRate(t *testing.T) {
	t.Parallel()
	card := job.Bench{ID: "b", Sensors: []job.Sensor{
		{Channel: "meter_dp", Role: "meter_dp", Unit: "Pa", Source: "mqtt://h:1/a"},
		{Channel: "air_temp", Role: "air_temp", Unit: "K", Source: "mqtt://h:1/b?rate=2"},
	}}
	p, clock := newPipe("a", "meter_dp", "air_temp"), capture.NewClock(time.Now)
	s, err := capture.Start(t.Context(), capture.Config{Bench: card, Sources: []capture.Source{p}, Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Stop() }()
	st := s.State()
	if st.Channels[0].Want != 0 || st.Channels[1].Want != 2 {
		t.Errorf("rates wanted: %g and %g Hz, said: none and 2 Hz", st.Channels[0].Want, st.Channels[1].Want)
	}
}
