package rig

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"runnel/internal/capture"
	"runnel/internal/fault"
	"runnel/unit"
)

// Kind is how an address begins: "rig:?piece=930mm2&seed=1#meter_dp".
const Kind = "rig"

// A Source is a rig in this process. It takes the commands of a rig.
type Source struct {
	about capture.Description
	clock capture.Clock
	rate  float64
	place []int // of the channels among those of the rig
	scale []capture.Scale

	mu  sync.Mutex
	rig *Rig
}

// Open makes a rig as a source. Options of the line: piece (an area), pressure, seed, hz (20).
func Open(g capture.Group, clock capture.Clock) (*Source, error) {
	port, taps, err := g.Options([]string{"piece", "pressure", "seed", "hz"}, nil)
	if err != nil {
		return nil, err
	}
	o := Options{Seed: uint64(port.Int("seed", 1, 0, 1<<31)), Rate: port.Number("hz", 20, 0.1, 5000)} //nolint:gosec // not negative
	if o.Area, err = unit.Area.Parse(port.Text("piece", "930 mm2")); err != nil {
		return nil, g.Fault(0, err)
	}
	if o.Pressure, err = unit.Pressure.Parse(port.Text("pressure", "28 inH2O")); err != nil {
		return nil, g.Fault(0, err)
	}
	if err := port.Err(); err != nil {
		return nil, g.Fault(0, err)
	}
	r, err := New(o)
	if err != nil {
		return nil, g.Fault(0, err)
	}
	s := &Source{about: capture.Description{Kind: Kind, Place: g.Place, Channels: g.Channels(), Rate: o.Rate}, clock: clock, rig: r, rate: o.Rate}
	for i, t := range g.Taps {
		name := t.Address.Field
		if name == "" {
			name = t.Sensor.Channel
		}
		k := slices.Index(channels[:], name)
		if k < 0 {
			return nil, g.Fault(i, fmt.Errorf("a rig has no channel %q: it has %s", name, strings.Join(channels[:], ", ")))
		}
		scale, err := t.Scale(taps[i], units[k])
		if err != nil {
			return nil, g.Fault(i, err)
		}
		s.place, s.scale = append(s.place, k), append(s.scale, scale)
	}
	return s, nil
}

// Describe says what is simulated.
func (s *Source) Describe() capture.Description { return s.about }

// Do carries out a command of a rig.
func (s *Source) Do(line string) (string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.rig.Do(line)
}

// Truth returns what the rig has on it.
func (s *Source) Truth() Truth {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.rig.Truth()
}

// Run lets time pass in the rig until the context ends, or the fault "unplug" is asked for.
func (s *Source) Run(ctx context.Context, emit func(capture.Batch)) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	period := time.Duration(float64(time.Second) / s.rate)
	tick := time.NewTicker(max(period, 5*time.Millisecond))
	defer tick.Stop()
	last := s.clock.Mono()
	var device capture.DeviceClock
	for {
		b, err := s.until(&last, period, &device)
		if err != nil {
			return err
		}
		if len(b.Times) > 0 || b.Lost > 0 {
			emit(b)
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-tick.C:
		}
	}
}

// until steps the rig up to now.
func (s *Source) until(last *time.Duration, period time.Duration, device *capture.DeviceClock) (capture.Batch, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	b := capture.Batch{Channels: s.about.Channels, Values: make([][]float64, len(s.place))}
	now := s.clock.Mono()
	if now-*last > 2*time.Second {
		*last = now - 2*time.Second // asleep for long: a gap
	}
	for now-*last >= period {
		*last += period
		sample, ok, err := s.rig.Step(period.Seconds())
		if err != nil {
			return b, fault.As(fault.Internal, err)
		}
		if s.rig.Failing("unplug") {
			return b, fault.Errorf(fault.Device, "rig: %w: %w", capture.ErrUnplugged, errors.New("it was told to be"))
		}
		if !ok || s.rig.Failing("silent") {
			continue
		}
		if s.rig.Failing("garble") {
			b.Lost++
			continue
		}
		if _, step := device.At(time.Duration(sample.Time*float64(time.Second)), *last); step != 0 {
			b.Step = step
		}
		b.Times = append(b.Times, *last)
		for i, k := range s.place {
			b.Values[i] = append(b.Values[i], s.scale[i].Of(sample.Values[k]))
		}
	}
	b.Wall = s.clock.Wall()
	return b, nil
}
