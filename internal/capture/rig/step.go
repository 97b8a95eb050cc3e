package rig

import (
	"math"

	"runnel/unit"
)

// Channels of a rig, in the order of a sample's values.
var channels = [...]string{"meter_dp", "test_dp", "air_pressure", "air_temp", "air_rh"}

// The units of the channels, in the same order.
var units = [...]string{"Pa", "inH2O", "Pa", "°C", "%"}

// A Sample is what the sensors of a rig show at one instant.
type Sample struct {
	Time   float64   // by the rig's own clock [s]
	Values []float64 // meter_dp [Pa], test_dp [inH2O], air_pressure [Pa], air_temp [°C], air_rh [%]
}

// Step lets dt [s] pass and returns what the sensors show then; ok is false when the fault "rate" or "unplug" swallows the
// sample.
func (r *Rig) Step(dt float64) (s Sample, ok bool, err error) {
	r.time += dt
	r.clock += dt
	if err := r.move(dt); err != nil {
		return Sample{}, false, err
	}
	s = Sample{Time: r.clock, Values: r.sensors(dt)}
	r.corrupt(&s)
	n := int64(math.Round(r.time / dt))
	if r.flt["unplug"] || (r.flt["rate"] && n%2 == 0) {
		return s, false, nil
	}
	return s, true, nil
}

// move lets the blower, the valve and the air in the piece go on.
func (r *Rig) move(dt float64) error {
	if r.stopped {
		r.drop, r.diff = 0, 0
		return nil
	}
	want, err := r.wantedValve()
	if err != nil {
		return err
	}
	r.valve += (want - r.valve) * -math.Expm1(-dt/valveLag)
	speed := 1.0
	if r.flt["sag"] {
		speed -= sag
	}
	r.speed += (speed - r.speed) * -math.Expm1(-dt/spinUp)
	area, now := r.open(), r.speed
	if !r.opt.Steady {
		area *= 1 + r.turb.next(dt, r.rand.NormFloat64())
		now *= 1 + r.wave.next(dt, r.rand.NormFloat64())
	}
	b, err := r.settle(area, now, math.Exp(r.valve))
	r.drop, r.diff = b.drop, b.diff
	return err
}

// sensors turns what is true into what is shown.
func (r *Rig) sensors(dt float64) []float64 {
	m, d := r.hoses[0].follow(r.diff, dt), r.hoses[1].follow(r.drop, dt)
	inches := unit.Pressure.In(d, "inH2O")
	room := []float64{r.opt.Air.Pressure, unit.Temperature.In(r.opt.Air.Temperature, "°C"), 100 * r.opt.Air.Humidity}
	if r.opt.Steady {
		return append([]float64{m, inches}, room...)
	}
	m = m*r.truth.MeterGain + r.truth.MeterZero + driftPerS*r.time + meterNoise*r.rand.NormFloat64()
	d = d*r.truth.TestGain + r.truth.TestZero + testNoise*r.rand.NormFloat64()
	return []float64{
		step(m, meterStep), step(unit.Pressure.In(d, "inH2O"), testStep),
		step(room[0]+4*r.rand.NormFloat64(), 1), step(room[1]+0.03*r.rand.NormFloat64(), 0.01), step(room[2]+0.1*r.rand.NormFloat64(), 0.1),
	}
}

func step(x, by float64) float64 {
	n := math.Round(1 / by)
	if n >= 1 {
		return math.Round(x*n) / n
	}
	return math.Round(x/by) * by
}

// corrupt lets the sensors fail in the ways that were asked for.
func (r *Rig) corrupt(s *Sample) {
	if r.flt["freeze"] {
		if r.frozen == nil {
			r.frozen = append([]float64(nil), s.Values[:2]...)
		}
		copy(s.Values, r.frozen)
	} else {
		r.frozen = nil
	}
	if r.flt["spike"] {
		if r.spikeIn--; r.spikeIn <= 0 {
			s.Values[0] = math.Min(s.Values[0]*1.4+200, meterHigh*0.98)
			r.spikeIn = max(6, int(r.opt.Rate/3))
		}
	}
	if r.flt["clip"] {
		s.Values[0] = meterHigh
	}
}
