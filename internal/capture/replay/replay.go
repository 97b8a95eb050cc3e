package replay

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"slices"
	"time"

	"runnel/internal/capture"
	"runnel/job"
)

// Kind is how an address begins.
const Kind = "replay"

// step is how finely a trace is played: samples that fall into one step come in one batch.
const step = 10 * time.Millisecond

type source struct {
	about  capture.Description
	clock  capture.Clock
	times  []time.Duration // from the first sample on, at the speed of the replay
	values [][]float64     // of the channels, in the unit of their sensors
	period time.Duration
	loop   bool
}

// Open reads the trace, so that a fault in it is named at once.
func Open(g capture.Group, clock capture.Clock) (capture.Source, error) {
	port, taps, err := g.Options([]string{"speed", "loop"}, nil)
	if err != nil {
		return nil, err
	}
	speed := port.Number("speed", 1, 0.001, 10000)
	s := &source{about: capture.Description{Kind: Kind, Place: g.Place, Channels: g.Channels()}, clock: clock, loop: port.OneOf("loop", "no", "yes") == "yes"}
	if err := port.Err(); err != nil {
		return nil, g.Fault(0, err)
	}
	f, err := os.Open(g.Place)
	if err != nil {
		return nil, g.Fault(0, err)
	}
	defer func() { _ = f.Close() }() // it was only read
	trace, err := job.ReadTrace(g.Place, f)
	if err != nil {
		return nil, g.Fault(0, err)
	}
	for i, t := range g.Taps {
		v, err := column(trace, t, taps[i])
		if err != nil {
			return nil, g.Fault(i, err)
		}
		s.values = append(s.values, v)
	}
	if err := s.pace(trace.Time, speed); err != nil {
		return nil, g.Fault(0, err)
	}
	return s, nil
}

// column returns the samples of one sensor in its own unit.
func column(trace job.Trace, t capture.Tap, o *capture.Options) ([]float64, error) {
	name := t.Address.Field
	if name == "" {
		name = t.Sensor.Channel
	}
	ch, ok := trace.Channel(name)
	if !ok {
		var names []string
		for _, c := range trace.Channels {
			names = append(names, c.Name)
		}
		return nil, fmt.Errorf("the trace has no channel %q: it has %q", name, names)
	}
	to, d, err := capture.UnitOf(t.Sensor)
	if err != nil {
		return nil, err
	}
	if _, ok := d.Lookup(ch.Unit); !ok && ch.Unit != "" {
		return nil, fmt.Errorf("channel %q of the trace is in %s, which is no unit of %s", name, ch.Unit, d.Name)
	}
	scale, err := t.Scale(o, "")
	if err != nil {
		return nil, err
	}
	out := make([]float64, len(ch.Values))
	for i, v := range ch.Values {
		out[i] = scale.Of(to.FromSI(v))
	}
	return out, nil
}

// pace sets the times out. A clock that steps back is played as no time at all: what it means is for the settling to say.
func (s *source) pace(times []float64, speed float64) error {
	if len(times) < 2 {
		return errors.New("a trace of one sample cannot be played")
	}
	gaps := make([]float64, 0, len(times))
	s.times = make([]time.Duration, len(times))
	for i, t := range times {
		if i > 0 {
			gaps = append(gaps, max(0, t-times[i-1]))
			s.times[i] = s.times[i-1] + time.Duration(max(0, t-times[i-1])/speed*float64(time.Second))
		}
	}
	slices.Sort(gaps)
	usual := gaps[len(gaps)/2]
	if usual <= 0 {
		return errors.New("the times of the trace do not rise")
	}
	s.period = time.Duration(usual / speed * float64(time.Second))
	s.about.Rate = math.Round(speed/usual*1e6) / 1e6
	return nil
}

// Describe says what is played.
func (s *source) Describe() capture.Description { return s.about }

// Run plays the trace to its end; with a loop, until the context ends.
func (s *source) Run(ctx context.Context, emit func(capture.Batch)) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	tick := time.NewTicker(min(max(s.period, time.Millisecond), step))
	defer tick.Stop()
	start, next := s.clock.Mono(), 0
	for {
		due := s.clock.Mono() - start
		end := next
		for end < len(s.times) && s.times[end] <= due {
			end++
		}
		if end > next {
			s.emit(emit, start, next, end)
			next = end
		}
		if next == len(s.times) {
			if !s.loop {
				return nil
			}
			start, next = start+s.times[len(s.times)-1]+s.period, 0
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-tick.C:
		}
	}
}

func (s *source) emit(emit func(capture.Batch), start time.Duration, from, to int) {
	b := capture.Batch{Channels: s.about.Channels, Times: make([]time.Duration, to-from), Values: make([][]float64, len(s.values)), Wall: s.clock.Wall()}
	for i := range b.Times {
		b.Times[i] = start + s.times[from+i]
	}
	for i, v := range s.values {
		b.Values[i] = slices.Clone(v[from:to])
	}
	emit(b)
}
