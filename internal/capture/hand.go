package capture

import (
	"context"
	"fmt"
	"sync"
	"time"

	"runnel/internal/fault"
	"runnel/unit"
)

// KindHand is how the address of a sensor begins that somebody reads by eye: "hand:".
const KindHand = "hand"

// A Hand is the source of values that are typed. Silence is no fault of it, and a value holds until the next.
type Hand struct {
	about Description
	clock Clock
	taps  []Tap

	mu    sync.Mutex
	emit  func(Batch)
	typed []Batch // before Run
}

// NewHand makes the source of the sensors that are read by eye.
func NewHand(g Group, clock Clock) (*Hand, error) {
	if _, _, err := g.Options(nil, nil); err != nil {
		return nil, err
	}
	return &Hand{about: Description{Kind: KindHand, Channels: g.Channels(), AtRest: true}, clock: clock, taps: g.Taps}, nil
}

// Describe says what is typed.
func (h *Hand) Describe() Description { return h.about }

// Run passes on what is typed until the context ends.
func (h *Hand) Run(ctx context.Context, emit func(Batch)) error {
	h.mu.Lock()
	if ctx.Err() == nil {
		for _, b := range h.typed {
			emit(b)
		}
		h.typed = nil
	}
	h.emit = emit
	h.mu.Unlock()
	<-ctx.Done()
	h.mu.Lock()
	h.emit = nil
	h.mu.Unlock()
	return ctx.Err()
}

// Type takes a value for a channel, with its unit: "1.2 kPa". A bare number is in the unit of the sensor.
func (h *Hand) Type(channel, value string) error {
	for _, t := range h.taps {
		if t.Sensor.Channel != channel {
			continue
		}
		u, d, err := UnitOf(t.Sensor)
		if err != nil {
			return fault.As(fault.Invalid, err)
		}
		si, err := d.Parse(value)
		if err != nil {
			bare, err2 := unit.Ratio.Parse(value)
			if err2 != nil || u.Name == "" {
				return fault.As(fault.Invalid, err)
			}
			si = u.ToSI(bare)
		}
		h.put(channel, u.FromSI(si))
		return nil
	}
	return fault.Errorf(fault.NotFound, "channel %q is not typed by hand", channel)
}

func (h *Hand) put(channel string, v float64) {
	h.mu.Lock()
	defer h.mu.Unlock()
	b := Batch{Channels: []string{channel}, Times: []time.Duration{h.clock.Mono()}, Wall: h.clock.Wall(), Values: [][]float64{{v}}}
	if h.emit == nil {
		h.typed = append(h.typed, b)
		return
	}
	h.emit(b)
}

// Type passes a typed value on to the source that reads the channel by eye.
func (s *Session) Type(channel, value string) error {
	for _, l := range s.lines {
		if h, ok := l.src.(*Hand); ok {
			return h.Type(channel, value)
		}
	}
	return fault.As(fault.NotFound, fmt.Errorf("channel %q is not typed by hand: this bench has no source \"hand:\"", channel))
}
