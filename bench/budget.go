package bench

import (
	"math"
	"strings"

	"runnel/job"
	"runnel/measure"
	"runnel/meter"
)

// A knob is one input of a reading: its budget line and what turning it does.
type knob struct {
	line measure.Line
	turn func(m *model, x float64)
}

// A model is a reading as a function of its inputs.
type model struct {
	gauge *gauge
	at    conditions
	scale float64                       // flow of the samples over the flow of their mean, times what the knobs do [-]
	leak  float64                       // leakage [kg/s]
	coef  [job.MostCoefficients]float64 // of the calibration by known plates, if there is one [SI]
}

// area returns the effective area [m²], or NaN where there is none.
func (m *model) area() float64 {
	o, err := m.gauge.bare(m.at)
	if err != nil {
		return math.NaN()
	}
	net := o.flow.Mass*m.scale - m.leak
	if k := m.gauge.plates; k != nil {
		net *= k.factor(&m.coef, net/o.room.Density)
	}
	a, err := o.piece.EffectiveArea(net)
	if err != nil {
		return math.NaN()
	}
	return a
}

// areaOf returns the effective area [m²] as a function of the knobs. It is for one goroutine.
func (t *taking) areaOf(knobs []knob, leak float64) func(x []float64) float64 {
	base := model{gauge: &t.gauge, at: t.at, scale: t.mass / t.op.flow.Mass, leak: leak}
	if k := t.gauge.plates; k != nil {
		base.coef = k.coef
	}
	var m model // outside the function: it allocates nothing
	return func(x []float64) float64 {
		m = base
		for i := range knobs {
			knobs[i].turn(&m, x[i])
		}
		return m.area()
	}
}

// budget fills in the uncertainty budget of the effective area, by first-order propagation through the whole correction.
func (s *Sitting) budget(out *Reading, t *taking, r job.Reading, uLeak float64) error {
	knobs, together := s.knobs(t, r, out, uLeak)
	lines := make([]measure.Line, len(knobs))
	for i, k := range knobs {
		lines[i] = k.line
	}
	b, err := measure.ComputeWith(t.areaOf(knobs, out.Leak), nil, lines, together)
	if err != nil {
		return err
	}
	b.Quantity, b.Unit = "effective area of "+out.ID, "m²"
	if out.Expanded, err = b.Expanded(0.95); err != nil {
		return err
	}
	out.Budget, out.URel = b, b.Relative()
	settling := b
	settling.Lines, settling.Correlation = b.Lines[:0:0], nil
	if !t.typed {
		settling.Lines, settling.Correlation = b.Lines[:2], b.Correlation
		out.USettling = settling.Relative()
	}
	return nil
}

// ownPrefix begins the key of a line that is one reading's own: it cancels in the ratio of a reading with itself, and the
// scatter of repeats shows it.
const ownPrefix = "reading/"

// isOwn reports whether a line is one reading's own.
func isOwn(l measure.Line) bool { return l.Key == "" || strings.HasPrefix(l.Key, ownPrefix) }

// knobs lists the inputs of a reading, of which leakage and the state of the bench are known. The two settling lines of a trace come first.
func (s *Sitting) knobs(t *taking, r job.Reading, out *Reading, uLeak float64) ([]knob, []measure.Pair) {
	var k []knob
	var together []measure.Pair
	own := ownPrefix + r.ID + "/"
	if t.typed {
		u := or(r.UByEye, defaultUByEye)
		k = append(k, factor("reading by eye", own+"eye", measure.TypeB, u, 0))
	} else {
		k = append(k, factor("settling of the flow", own+"flow", measure.TypeA, t.flow.U/t.flow.Mean, t.flow.Dof))
		drop := t.at.drop
		k = append(k, knob{
			measure.Line{Quantity: "settling of the test pressure", Key: own + "drop", Unit: "Pa", Kind: measure.TypeA, Distribution: measure.StudentT, Estimate: drop, U: t.drop.U, Dof: t.drop.Dof},
			func(m *model, x float64) { m.at.drop += x - drop },
		})
		if t.together != 0 {
			together = []measure.Pair{{I: 0, J: 1, R: t.together}}
		}
	}
	k = append(k, s.meterKnobs(t)...)
	k = append(k, t.gauge.plates.knobs(t.mass-out.Leak, t.op.room.Density)...)
	k = append(k, s.sensorKnobs(t)...)
	k = append(k, s.roomKnobs(t)...)
	shape := measure.Normal
	if s.Leakage.Seen == 0 {
		shape = measure.Rectangular // between its bounds, either way
	}
	k = append(k, knob{
		measure.Line{Quantity: "leakage", Key: "leakage/" + s.card.ID, Unit: "kg/s", Kind: measure.TypeB, Distribution: shape, Estimate: out.Leak, U: uLeak, Dof: s.leakDof()},
		func(m *model, x float64) { m.leak = x },
	})
	k = append(k, s.stabilityKnobs(out.Bench)...)
	if u := s.setup.card.SetupRepeat; u > 0 {
		k = append(k, factor("setting up anew", own+"setup", measure.TypeB, u, math.Inf(1)))
	}
	return k, together
}

func (s *Sitting) leakDof() float64 {
	if s.Leakage.Points == 0 || s.Leakage.Dof <= 0 {
		return math.Inf(1)
	}
	return s.Leakage.Dof
}

// factor is an input that multiplies the flow and is 1.
func factor(quantity, key string, kind measure.Kind, u, dof float64) knob {
	if dof <= 0 {
		dof = math.Inf(1)
	}
	shape := measure.Normal
	if kind == measure.TypeA {
		shape = measure.StudentT // JCGM 101:2008, 6.4.9.2
	}
	return knob{
		measure.Line{Quantity: quantity, Key: key, Unit: "1", Kind: kind, Distribution: shape, Estimate: 1, U: u, Dof: dof},
		func(m *model, x float64) { m.scale *= x },
	}
}

// meterKnobs are the parts of the meter's own uncertainty, but for those that a calibration by known plates has measured. They
// belong to the meter: two readings by one meter share them.
func (s *Sitting) meterKnobs(t *taking) []knob {
	names := map[string]string{
		"C": "discharge coefficient", "eps": "expansibility", "D": "pipe diameter", "d": "bore", "calibration": "calibration of the meter",
	}
	var k []knob
	for _, p := range t.op.flow.Parts {
		if p.URel == 0 || t.gauge.plates.covers(p.Name) {
			continue
		}
		f := factor(names[p.Name]+" of "+t.gauge.card.ID, "meter/"+t.gauge.card.ID+"/"+p.Name, measure.TypeB, p.URel, math.Inf(1))
		f.turn = func(m *model, x float64) { m.scale *= math.Pow(x, p.Sensitivity) }
		k = append(k, f)
	}
	return k
}

// sensorKnobs are the calibrations and zeros of the channels that make the flow.
func (s *Sitting) sensorKnobs(t *taking) []knob {
	var k []knob
	role := t.gauge.role()
	for _, f := range []struct {
		role string
		zero drift
		turn func(m *model, dx float64)
		at   float64
	}{
		{role, t.readZero, func(m *model, dx float64) { m.at.reading += dx }, t.at.reading},
		{"test_dp", t.dropZero, func(m *model, dx float64) { m.at.drop += dx }, t.at.drop},
	} {
		x, ok := s.setup.sensor(f.role)
		if !ok {
			continue // typed pressures on a bench without sensors
		}
		name, turn := "calibration of "+x.card.Channel, f.turn
		if f.role == "meter_reading" && t.gauge.meter.Reads() == meter.Signal {
			// The meter takes the number in the sensor's own unit, and the lines are in SI.
			turn = func(m *model, dx float64) { f.turn(m, dx/x.unit.Factor) }
		}
		if x.relative {
			v := f.at
			c := factor(name, "sensor/"+x.card.Channel, measure.TypeB, x.u, math.Inf(1))
			c.turn = func(m *model, y float64) { f.turn(m, v*(y-1)) } // v is in the meter's unit already
			k = append(k, c)
		} else if x.u > 0 {
			k = append(k, knob{
				measure.Line{Quantity: name, Key: "sensor/" + x.card.Channel, Unit: x.dimension.SI().Name, Kind: measure.TypeB, Distribution: measure.Normal, U: x.u, Dof: math.Inf(1)},
				turn,
			})
		}
		if f.zero.u > 0 {
			value := f.zero.value
			k = append(k, knob{s.zeroLine(x, f.zero), func(m *model, y float64) { turn(m, value-y) }})
		}
	}
	return k
}

// roomKnobs are the room's air, and the temperature at the meter where it has its own sensor. One barometer, thermometer and
// hygrometer serve all sittings.
func (s *Sitting) roomKnobs(t *taking) []knob {
	line := func(quantity, key, unit string, estimate, u float64) measure.Line {
		return measure.Line{Quantity: quantity, Key: key, Unit: unit, Kind: measure.TypeB, Distribution: measure.Normal, Estimate: estimate, U: u, Dof: math.Inf(1)}
	}
	a := t.at.air
	k := []knob{
		{line("pressure of the room", "air/pressure", "Pa", a.Pressure, t.room.uP), func(m *model, x float64) { m.at.air.Pressure = x }},
		{line("temperature of the room", "air/temperature", "K", a.Temperature, t.room.uT), func(m *model, x float64) { m.at.air.Temperature = x }},
		{line("humidity of the room", "air/humidity", "1", a.Humidity, t.room.uH), func(m *model, x float64) { m.at.air.Humidity = min(1, max(0, x)) }},
	}
	if x, ok := s.setup.sensor("meter_temp"); ok && t.at.meterTemp > 0 {
		k = append(k, knob{
			line("temperature at the meter", "sensor/"+x.card.Channel, "K", t.at.meterTemp, x.uOf(t.at.meterTemp)),
			func(m *model, v float64) { m.at.meterTemp = v },
		})
	}
	return k
}
