package bench

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"runnel/gas"
	"runnel/job"
	"runnel/measure"
	"runnel/meter"
)

// A taking is a trace, or two typed numbers, turned into the flow through the meter, before leakage.
type taking struct {
	gauge    gauge
	room     room
	at       conditions
	op       operatingPoint
	mass     float64 // mean of the flow of the samples [kg/s]
	joint    measure.Joint
	flow     measure.Settled // of the mass flow [kg/s]
	drop     measure.Settled // of the test pressure [Pa]
	together float64         // correlation of the two means [-]
	typed    bool
	readZero drift           // of the meter's channel
	dropZero drift           // of the test pressure's channel
	runUp    []measure.Fault // what was left out before the trace was judged
	marks    []string
	warnings []gas.Warning
}

// channelFlow names the derived channel.
const channelFlow = "mass flow"

// take turns the trace of a reading, or its typed pressures, into flow through the meter.
func (s *Sitting) take(r job.Reading, rig job.RigCard, traces map[string]job.Trace) (taking, error) {
	g, err := s.setup.gauge(rig.Meter)
	if err != nil {
		return taking{}, err
	}
	t := taking{gauge: g, room: s.airAt(r.At), warnings: slices.Clone(g.warnings)}
	t.at = conditions{air: t.room.air, out: rig.Direction == "out"}
	if r.Trace == "" {
		return t, t.byHand(s, r)
	}
	trace, ok := traces[r.Trace]
	if !ok {
		return taking{}, fmt.Errorf("trace %q is not in the job", r.Trace)
	}
	if err := t.settle(s, r, trace); err != nil {
		return taking{}, fmt.Errorf("trace %q: %w", r.Trace, err)
	}
	t.warnings = append(t.warnings, t.room.warnings...)
	return t, nil
}

// byHand takes what was typed: the test pressure, and the meter's pressure difference or its percent scale. They are what the sensors
// show, and are corrected as a trace of them is, unless the reading says that they are corrected already.
func (t *taking) byHand(s *Sitting, r job.Reading) error {
	t.typed = true
	t.at.reading, t.at.drop = r.MeterDP, r.TestPressure
	switch t.gauge.meter.Reads() {
	case meter.Difference:
		if r.MeterDP == 0 && r.Scale != 0 {
			return fmt.Errorf("a meter of kind %s has no percent scale: type its pressure difference, meter_dp", t.gauge.meter.Kind())
		}
	case meter.Scale:
		if r.Scale == 0 {
			return fmt.Errorf("a meter of kind %s is read on its percent scale, not as a pressure: type scale, as \"72 %%\", or give a trace of it", t.gauge.meter.Kind())
		}
		t.at.reading = r.Scale
	case meter.Signal:
		return fmt.Errorf("a meter of kind %s is not read by eye: give a trace of its reading", t.gauge.meter.Kind())
	}
	if r.Typed != typedCorrected {
		t.at.reading, t.readZero = t.asShown(s, t.gauge.role(), t.at.reading, r)
		t.at.drop, t.dropZero = t.asShown(s, "test_dp", t.at.drop, r)
	}
	var err error
	if t.op, err = t.gauge.point(t.at); err != nil {
		return err
	}
	t.mass = t.op.flow.Mass
	t.warnings = append(t.warnings, t.room.warnings...)
	return nil
}

// typedCorrected is what a reading says whose typed numbers are corrected already.
const typedCorrected = "corrected"

// asShown corrects a number [SI] typed as the sensor of a role shows it: by its calibration, the fluid of its column and its zero. On a
// bench without such a sensor it stays.
func (t *taking) asShown(s *Sitting, role string, shown float64, r job.Reading) (float64, drift) {
	x, ok := s.setup.sensor(role)
	if !ok {
		return shown, drift{}
	}
	c := column{sensor: x, zero: s.zeroAt(x.card.Channel, r.At)}
	t.zeroMarks(c)
	return x.correct(shown) - c.zero.value, c.zero
}

// A column is one corrected channel of a trace.
type column struct {
	sensor    sensor
	values    []float64 // corrected, zero taken off [SI]
	zero      drift
	low, high float64 // ends of the range, corrected likewise [SI]
}

// column finds the channel of a role in a trace and corrects it; differences also lose their zero.
func (s *Sitting) column(role string, trace job.Trace, r job.Reading) (column, bool) {
	x, ok := s.setup.sensor(role)
	if !ok {
		return column{}, false
	}
	ch, ok := trace.Channel(x.card.Channel)
	if !ok {
		return column{}, false
	}
	c := column{sensor: x, values: make([]float64, len(ch.Values))}
	if role == "meter_dp" || role == "test_dp" || role == "meter_reading" {
		c.zero = s.zeroAt(x.card.Channel, r.At)
	}
	for i, v := range ch.Values {
		c.values[i] = x.correct(v) - c.zero.value
	}
	if lo, hi := x.span(); hi > lo {
		c.low, c.high = lo-c.zero.value, hi-c.zero.value
	}
	return c, true
}

// settle corrects the channels, finds the joint steady part of meter and test pressure, and averages the flow over it.
func (t *taking) settle(s *Sitting, r job.Reading, trace job.Trace) error {
	read, ok := s.column(t.gauge.role(), trace, r)
	if !ok {
		return fmt.Errorf("it has no channel of role %s, which meter %q needs", t.gauge.role(), t.gauge.card.ID)
	}
	drop, ok := s.column("test_dp", trace, r)
	if !ok {
		return errors.New("it has no channel of role test_dp")
	}
	t.readZero, t.dropZero = read.zero, drop.zero
	t.zeroMarks(read, drop)
	for _, w := range measure.TraceLimits(trace.Time) {
		t.warnings = append(t.warnings, gas.Warning(w))
	}
	rough, start, err := steadyPart(trace.Time, read.channel(read.sensor.card.Channel), drop.channel(drop.sensor.card.Channel))
	if err != nil {
		if start > 0 {
			err = fmt.Errorf("its last %d samples: %w", len(trace.Time)-start, err)
		}
		return err
	}
	trace, read = after(trace, start), read.from(start)
	t.started(trace, start)
	if err := t.roomFromTrace(s, trace, r, rough.Index); err != nil {
		return err
	}
	t.at.drop, t.at.reading = rough.Channels[1].Mean, t.shown(read, rough.Channels[0].Mean)
	if t.op, err = t.gauge.point(t.at); err != nil {
		return err
	}
	return t.average(rough, read)
}

// steadyPart finds the joint steady part of a trace. Where the whole trace has none, the run-up of the blower is taken to
// hide it, and the trace without its first quarter, then without its first half, is judged. start is the first sample that
// was judged. When nothing is steady the numbers are those of the second half.
func steadyPart(time []float64, channels ...measure.Channel) (j measure.Joint, start int, err error) {
	for _, start = range []int{0, len(time) / 4, len(time) / 2} {
		late := slices.Clone(channels)
		for i := range late {
			late[i].X = late[i].X[start:]
		}
		if j, err = measure.SettleJoint(time[start:], late, measure.SettleOptions{}); err == nil && j.Steady {
			return j, start, nil
		}
	}
	if err != nil && !errors.Is(err, measure.ErrFrozen) && !errors.Is(err, measure.ErrClipped) {
		start = 0 // half of a short trace may be too little
		j, err = measure.SettleJoint(time, channels, measure.SettleOptions{})
	}
	return j, start, err
}

// after returns a trace without its first samples.
func after(t job.Trace, start int) job.Trace {
	out := job.Trace{Time: t.Time[start:], Channels: slices.Clone(t.Channels)}
	for i := range out.Channels {
		out.Channels[i].Values = out.Channels[i].Values[start:]
	}
	return out
}

// from returns a column without its first samples.
func (c column) from(start int) column {
	c.values = c.values[start:]
	return c
}

// started notes what was left out at the start of a trace.
func (t *taking) started(rest job.Trace, start int) {
	if start > 0 && len(rest.Time) > 0 {
		t.runUp = []measure.Fault{{Kind: measure.FaultMoving, To: rest.Time[0], Count: start}}
	}
}

// average takes the mean of the flow of the samples over the steady part that was found.
func (t *taking) average(steady measure.Joint, read column) error {
	x := read.values
	if t.gauge.meter.Reads() == meter.Signal {
		x = make([]float64, len(read.values))
		for i, v := range read.values {
			x[i] = t.shown(read, v)
		}
	}
	mass, reason := t.gauge.flows(t.op.before, x)
	j, err := steady.With(measure.Channel{Name: channelFlow, X: mass, Rests: true})
	if err != nil {
		if reason != nil {
			return reason
		}
		return err
	}
	t.joint, t.flow, t.drop, t.together = j, j.Channels[2], j.Channels[1], j.Correlation[2][1]
	t.mass = t.flow.Mean
	if reason != nil && t.flow.N < j.Channels[0].N {
		t.marks = append(t.marks, reason.Error())
	}
	t.faultMarks()
	return nil
}

// channel is the column as measure reads it.
func (c column) channel(name string) measure.Channel {
	return measure.Channel{Name: name, X: c.values, Low: c.low, High: c.high}
}

// shown returns what the meter takes for a corrected value: for a transfer curve, the number in the sensor's own unit.
func (t *taking) shown(c column, si float64) float64 {
	if t.gauge.meter.Reads() == meter.Signal {
		return c.sensor.unit.FromSI(si)
	}
	return si
}

// zeroMarks notes zeros that were not recorded, or only once.
func (t *taking) zeroMarks(columns ...column) {
	for _, c := range columns {
		switch c.zero.known {
		case 0:
			t.marks = append(t.marks, "the zero of "+c.sensor.card.Channel+" was not recorded")
		case 1:
			t.warnings = append(t.warnings, gas.Warning{Limit: "zero of " + c.sensor.card.Channel + ": recorded before and after; records", Got: 1})
		}
		if c.sensor.assumed {
			t.warnings = append(t.warnings, gas.Warning{Limit: "sensor " + c.sensor.card.Channel + ": its uncertainty is stated; relative standard uncertainty taken", Got: c.sensor.u})
		}
	}
}

// staleOf returns the warnings of a stale air record for the roles that still come from it.
func staleOf(warnings []gas.Warning, roles []string) []gas.Warning {
	if len(roles) == 0 {
		return nil // all of the room was measured as the reading was taken
	}
	names := map[string]string{"air_pressure": "pressure", "air_temp": "temperature", "air_rh": "humidity"}
	out := slices.Clone(warnings)
	for i := range out {
		if len(roles) < len(names) {
			of := make([]string, 0, len(roles))
			for _, r := range roles {
				of = append(of, names[r])
			}
			out[i].Limit += " for " + strings.Join(of, " and ") + ", which the trace does not tell"
		}
	}
	return out
}

// roomFromTrace lets the trace's own air sensors speak for the room where there are any, and reads the temperature at the
// meter; all averaged over the steady samples. A stale record stays a warning for what still comes from it.
func (t *taking) roomFromTrace(s *Sitting, trace job.Trace, r job.Reading, steady []int) error {
	stale := []string{"air_pressure", "air_temp", "air_rh"}
	for _, f := range []struct {
		role string
		to   *float64
		u    *float64
	}{
		{"air_pressure", &t.room.air.Pressure, &t.room.uP},
		{"air_temp", &t.room.air.Temperature, &t.room.uT},
		{"air_rh", &t.room.air.Humidity, &t.room.uH},
		{"meter_temp", &t.at.meterTemp, nil},
	} {
		c, ok := s.column(f.role, trace, r)
		if !ok {
			continue
		}
		sum, n := 0.0, 0
		for _, i := range steady {
			if v := c.values[i]; !math.IsNaN(v) {
				sum, n = sum+v, n+1
			}
		}
		if n == 0 {
			t.warnings = append(t.warnings, gas.Warning{Limit: "channel " + c.sensor.card.Channel + ": samples in the steady part; the sitting's own record stands in", Got: 0})
			continue
		}
		*f.to = sum / float64(n)
		if f.u != nil {
			*f.u = c.sensor.uOf(*f.to)
			stale = slices.DeleteFunc(stale, func(role string) bool { return role == f.role })
		}
	}
	t.room.warnings = staleOf(t.room.warnings, stale)
	t.at.air = t.room.air
	_, err := t.at.air.Properties()
	return err
}

// faultMarks marks what is wrong with the sensors of a reading that is used all the same.
func (t *taking) faultMarks() {
	if !t.joint.Steady {
		t.marks = append(t.marks, "no steady part was found: the numbers are those of the last usable samples")
	}
	for _, f := range measure.Gathered(t.faults()) {
		if f.Kind == measure.FaultFrozen || f.Kind == measure.FaultClipped || f.Kind == measure.FaultClockStep {
			t.marks = append(t.marks, f.Words())
		}
	}
}

// faults lists what is wrong with the clock and the two sensors that decide, in order of time.
func (t *taking) faults() []measure.Fault {
	all := slices.Concat(t.runUp, t.joint.Faults)
	for _, c := range t.joint.Channels {
		if c.Name != channelFlow {
			all = append(all, c.Faults...)
		}
	}
	slices.SortStableFunc(all, func(a, b measure.Fault) int {
		switch {
		case a.From < b.From:
			return -1
		case a.From > b.From:
			return 1
		}
		return 0
	})
	return all
}
