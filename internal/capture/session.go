package capture

import (
	"context"
	"fmt"
	"math"
	"sync"
	"time"

	"runnel/internal/fault"
	"runnel/job"
)

// Pace of a session.
const (
	frameEvery = 50 * time.Millisecond
	keepEvery  = 500 * time.Millisecond
)

// DefaultHistory is how far back a session can cut a trace when nothing else is said.
const DefaultHistory = 10 * time.Minute

// A Config is what a session is started with.
type Config struct {
	Bench   job.Bench
	Sources []Source // as sources.Open makes them
	Clock   Clock    // the one the sources were made with

	// Keep writes what came in, every half second, from one goroutine; it returns when it is on disk. An error is named as a
	// fault and the same chunks come again. Nil: nothing is kept.
	Keep func(context.Context, []Chunk) error
	// Watch is handed twenty frames a second from one goroutine. It must not block. May be nil.
	Watch func(Frame)
	// Told is handed every fault as it begins and again as it ends, from one goroutine. It must not block. May be nil.
	Told func(Fault)
	// History is how far back a trace can be cut; 0 means DefaultHistory.
	History time.Duration
}

// A Session is a bench that is being read. All methods may be called from any goroutine.
type Session struct {
	cfg    Config
	keeper *keeper
	cancel context.CancelFunc
	done   sync.WaitGroup

	mu       sync.Mutex
	channels []*channel
	byName   map[string]*channel
	lines    []*line
	faults   *faultLog
	seq      uint64
	hold     hold
	wallLess time.Duration // wall clock less monotonic, as last seen
	wallAny  bool
}

// A line is a source with what is known of it.
type line struct {
	src     Source
	about   Description
	name    string
	down    error // why it is lost; nil while it runs
	lost    int   // lines that could not be read, not told yet
	history history
}

// hold is the watch over the test pressure.
type hold struct {
	target, band float64
	mean         float64
	last         time.Duration
	any          bool
	outside      time.Duration // since when; 0: within
}

// Start begins to read a bench. It returns at once: devices that are not there are named as faults and tried again until
// Stop. An error means that the card itself cannot be.
func Start(ctx context.Context, cfg Config) (*Session, error) {
	if cfg.History == 0 {
		cfg.History = DefaultHistory
	}
	s := &Session{cfg: cfg, byName: map[string]*channel{}, faults: newFaultLog()}
	for _, card := range cfg.Bench.Sensors {
		u, _, err := UnitOf(card)
		if err != nil {
			return nil, fault.Errorf(fault.Invalid, "sensor %q: %w", card.Channel, err)
		}
		if card.Source == "" || s.byName[card.Channel] != nil {
			continue
		}
		c := &channel{sensor: card, unit: u, owner: -1, signs: signsOf(card)}
		c.signs.started = cfg.Clock.Mono()
		s.channels = append(s.channels, c)
		s.byName[card.Channel] = c
	}
	for i, src := range cfg.Sources {
		d := src.Describe()
		s.lines = append(s.lines, &line{src: src, about: d, name: d.Name()})
		for _, name := range d.Channels {
			if c := s.byName[name]; c != nil && c.owner < 0 {
				c.owner = i
				c.signs.atRest = d.AtRest
				if rate := max(d.Rate, rateOf(c.sensor)); rate > 0 {
					c.signs.rate, c.signs.declared = rate, true
				}
			}
		}
	}
	s.keeper = newKeeper(cfg.Keep)
	ctx, s.cancel = context.WithCancel(ctx)
	for i := range s.lines {
		s.done.Go(func() {
			supervise(ctx, s.lines[i].src, func(b Batch) { s.take(i, b) }, func(err error) { s.lose(i, err) })
		})
	}
	s.done.Go(func() { s.tick(ctx) })
	return s, nil
}

// signsOf sets up the life signs of a sensor.
func signsOf(c job.Sensor) signs {
	g := signs{low: math.NaN(), high: math.NaN()}
	if c.Low != nil && c.High != nil {
		g.low, g.high = *c.Low, *c.High
	}
	switch c.Role {
	case "air_pressure", "air_temp", "air_rh", "meter_temp":
		g.rests = true // the room may stand still
	}
	return g
}

// Stop ends the session: all sources are closed and what has come is kept. It returns the last error of keeping.
func (s *Session) Stop() error {
	s.cancel()
	s.done.Wait()
	return s.flush(context.Background())
}

// take receives a batch of a source.
func (s *Session) take(i int, b Batch) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now, l := s.cfg.Clock.Mono(), s.lines[i]
	l.down = nil
	l.lost += b.Lost
	if b.Step != 0 {
		s.raise(ClockStep, "", l.name, fmt.Sprintf("the clock of the device jumped by %.2f s: samples are timed by this machine from here on", b.Step.Seconds()))
	}
	if b.Lost > 0 {
		s.raise(Unreadable, "", l.name, fmt.Sprintf("%d lines or messages could not be read: check baud rate, pattern and checksum", l.lost))
	}
	if len(b.Times) == 0 {
		return
	}
	own := b
	for k, name := range b.Channels {
		c := s.byName[name]
		if c == nil || c.owner != i {
			own = own.without(name)
			s.raise(TwoSources, name, l.name, "a second source sends on this channel; its samples are left out: take one of the two off")
			continue
		}
		c.add(b.Times, b.Values[k])
	}
	if len(own.Channels) == 0 {
		return
	}
	s.watchHold(own, now)
	l.history.add(own, now-s.cfg.History)
	s.keeper.add(l.name, own)
}

// without returns the batch less one channel.
func (b Batch) without(name string) Batch {
	out := Batch{Times: b.Times, Wall: b.Wall}
	for i, c := range b.Channels {
		if c != name {
			out.Channels, out.Values = append(out.Channels, c), append(out.Values, b.Values[i])
		}
	}
	return out
}

// lose notes that a source has ended with an error.
func (s *Session) lose(i int, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.lines[i].down = err
	s.raise(kindOf(err), "", s.lines[i].name, err.Error())
}

// raise must be called with the lock held.
func (s *Session) raise(k Kind, channel, source, text string) {
	s.faults.raise(faultKey{k, channel, source}, text, s.cfg.Clock.Mono(), s.cfg.Clock.Wall())
}

// tick closes a frame twenty times a second and keeps what came twice a second.
func (s *Session) tick(ctx context.Context) {
	t := time.NewTicker(frameEvery)
	defer t.Stop()
	keep := time.NewTicker(keepEvery)
	defer keep.Stop()
	var writing sync.WaitGroup
	defer writing.Wait()
	for {
		select {
		case <-ctx.Done():
			return
		case <-keep.C:
			if s.keeper.free() { // a slow disk does not hold up the needle, and is not asked twice
				writing.Go(func() { _ = s.flush(ctx) }) // the error is a fault
			}
		case <-t.C:
			f, news := s.frame()
			if s.cfg.Watch != nil {
				s.cfg.Watch(f)
			}
			if s.cfg.Told != nil {
				for _, n := range news {
					s.cfg.Told(n)
				}
			}
		}
	}
}

// frame looks at every channel and closes the frame.
func (s *Session) frame() (Frame, []Fault) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now, wall := s.cfg.Clock.Mono(), s.cfg.Clock.Wall()
	s.lookAtClock(now, wall)
	s.lookAtLines(now)
	s.lookAtHold(now)
	if kind, text := s.keeper.trouble(); text != "" {
		s.raise(kind, "", "", text)
	}
	s.faults.settle(now, wall)
	s.seq++
	f := Frame{Seq: s.seq, Time: now.Seconds(), At: wall, Needles: make([]Needle, len(s.channels)), Faults: s.faults.lasting(), Held: s.held()}
	for i, c := range s.channels {
		f.Needles[i] = c.needle(now)
	}
	return f, s.faults.told()
}

// lookAtClock names a step of the wall clock against the monotonic one.
func (s *Session) lookAtClock(now time.Duration, wall time.Time) {
	less := wall.Sub(time.Unix(0, 0)) - now
	if step := less - s.wallLess; s.wallAny && (step > clockStepLimit || step < -clockStepLimit) {
		s.raise(ClockStep, "", "", fmt.Sprintf("the clock of this machine jumped by %.1f s: samples keep their spacing; check the times of day in the record", step.Seconds()))
	}
	s.wallLess, s.wallAny = less, true
}

// lookAtLines asks every channel for its life signs. Channels that fall silent together are one fault of their source.
func (s *Session) lookAtLines(now time.Duration) {
	for i, l := range s.lines {
		if l.down != nil {
			s.raise(kindOf(l.down), "", l.name, l.down.Error())
			l.lost = 0
			continue
		}
		wrong := map[string]map[Kind]string{}
		silent, all, text := 0, 0, ""
		for _, c := range s.channels {
			if c.owner != i {
				continue
			}
			w := c.signs.check(now)
			wrong[c.sensor.Channel] = w
			all++
			if t, ok := w[Unplugged]; ok {
				silent, text = silent+1, t
			}
		}
		if silent == all && silent > 1 {
			s.raise(Unplugged, "", l.name, text)
			continue
		}
		for name, w := range wrong {
			for kind, text := range w {
				s.raise(kind, name, l.name, text)
			}
		}
	}
}

// State returns the session as it is now.
func (s *Session) State() State {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.cfg.Clock.Mono()
	st := State{Time: now.Seconds(), At: s.cfg.Clock.Wall(), Faults: s.faults.lasting(), Backlog: s.keeper.waiting()}
	for _, c := range s.channels {
		g := c.sign(now)
		if c.owner >= 0 {
			g.Source = s.lines[c.owner].name
		}
		for _, f := range st.Faults {
			if f.Channel == c.sensor.Channel || (f.Channel == "" && f.Source != "" && f.Source == g.Source) {
				g.Faults = append(g.Faults, f.Kind)
			}
		}
		st.Channels = append(st.Channels, g)
	}
	return st
}
