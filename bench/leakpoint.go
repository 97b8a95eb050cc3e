package bench

import (
	"math"

	"runnel/job"
	"runnel/meter"
)

// leakPoint turns a leakage of a sitting's card into a point with its own uncertainty, and returns the relative standard
// uncertainty that it shares with the other points by the same meter [-].
//
// A point by a trace wavers as the trace does; a typed one is as sure as its card says, else, when that names the meter it was read
// with, as the meter's sensor allows. Near
// zero the flow goes with the root of the pressure difference, so that a sensor's small uncertainty hides a flow that is not
// small: what it hides is worked out through the meter.
func (s *Sitting) leakPoint(l job.LeakPoint, traces map[string]job.Trace) (p LeakPoint, common float64, err error) {
	if l.Trace != "" {
		t, err := s.take(job.Reading{At: l.At, Trace: l.Trace}, job.RigCard{Meter: l.Meter}, traces)
		if err != nil {
			return LeakPoint{}, 0, err
		}
		s.Notes = append(s.Notes, t.warnings...)
		p = LeakPoint{TestPressure: t.at.drop, Flow: max(0, t.mass) / t.op.room.Density}
		ux := math.Hypot(t.joint.Channels[0].U, s.restU(&t.gauge, t.readZero))
		p.U = math.Max(t.flow.U, t.gauge.hidden(t.op.before, t.at.reading, ux)) / t.op.room.Density
		return p, s.sharedU(&t.gauge, t.op.flow), nil
	}
	p = LeakPoint{TestPressure: l.TestPressure, Flow: l.Flow, U: l.UFlow}
	if l.Meter == "" || !(l.TestPressure > 0) {
		return p, 0, nil // it does not say by which meter: what is typed has to do
	}
	g, err := s.setup.gauge(l.Meter)
	if err != nil {
		return LeakPoint{}, 0, err
	}
	at := l.At
	if at.IsZero() {
		at = s.card.At
	}
	o, ok := g.showing(conditions{air: s.airAt(at).air, drop: l.TestPressure}, l.Flow)
	if !ok {
		return p, 0, nil
	}
	if p.U == 0 {
		zero := drift{}
		if x, found := s.setup.sensor(g.role()); found {
			zero = s.zeroAt(x.card.Channel, at)
		}
		p.U = g.hidden(o.before, o.reading, s.restU(&g, zero)) / o.room.Density
	}
	return p, s.sharedU(&g, o.flow), nil
}

// role is that of the channel that shows what the meter reads.
func (g *gauge) role() string {
	if g.meter.Reads() == meter.Difference {
		return "meter_dp"
	}
	return "meter_reading"
}

// restU returns the standard uncertainty that the meter's channel has at rest, in the unit of the meter's reading: of its sensor,
// where that is stated as a quantity, and of its zero.
func (s *Sitting) restU(g *gauge, zero drift) float64 {
	x, ok := s.setup.sensor(g.role())
	if !ok {
		return zero.u
	}
	u := zero.u
	if !x.relative {
		u = math.Hypot(u, x.u)
	}
	if g.meter.Reads() == meter.Signal {
		u /= x.unit.Factor // the meter takes the number in the sensor's own unit
	}
	return u
}

// sharedU returns the relative standard uncertainty of a flow that belongs to the meter and to the scale of its sensor [-].
func (s *Sitting) sharedU(g *gauge, f meter.Flow) float64 {
	u := f.URel
	if x, ok := s.setup.sensor(g.role()); ok && x.relative {
		exponent := 1.0
		if g.meter.Reads() == meter.Difference {
			exponent = 0.5 // the flow goes with the root of a pressure difference
		}
		u = math.Hypot(u, exponent*x.u)
	}
	return u
}

// hidden returns the standard uncertainty of the mass flow [kg/s] at a reading that is uncertain by ux, both in the unit of the
// meter's reading: half the flow between its ends, a reading below zero being a flow the other way. 0 when the meter cannot tell.
func (g *gauge) hidden(up meter.Upstream, reading, ux float64) float64 {
	if ux == 0 {
		return 0
	}
	flow := func(x float64) float64 {
		f, err := g.meter.Bare(up, math.Abs(x))
		if err != nil {
			return math.NaN()
		}
		return math.Copysign(f.Mass, x)
	}
	if u := (flow(reading+ux) - flow(reading-ux)) / 2; u > 0 {
		return u
	}
	return 0
}

// A shown is an operating point with what the meter shows there.
type shown struct {
	operatingPoint

	reading float64 // [unit of the meter's reading]
}

// showing finds what the meter shows when a volume flow at the room's air passes it [m³/s]. ok is false when the meter cannot
// show it.
func (g *gauge) showing(c conditions, flow float64) (shown, bool) {
	power := 1.0
	switch g.meter.Reads() {
	case meter.Difference:
		power, c.reading = 2, c.drop/10
	case meter.Scale:
		c.reading = 0.1
	case meter.Signal:
		return shown{}, false
	}
	if flow == 0 {
		c.reading = 0
		o, err := g.point(c)
		return shown{o, 0}, err == nil
	}
	const rounds = 40
	for range rounds {
		o, err := g.point(c)
		if err != nil || !(o.flow.Mass > 0) {
			return shown{}, false
		}
		k := flow * o.room.Density / o.flow.Mass
		if math.Abs(k-1) < 1e-6 {
			return shown{o, c.reading}, true
		}
		c.reading *= math.Pow(k, power)
	}
	return shown{}, false
}
