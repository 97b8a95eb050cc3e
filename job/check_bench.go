package job

import (
	"fmt"
	"slices"
	"strings"

	"runnel/unit"
)

func (c *checker) bench() {
	b := &c.job.Bench
	c.ratio(benchFile, "setup_repeat", b.SetupRepeat)
	c.ratio(benchFile, "leak_limit", b.LeakLimit)
	c.notNegative(benchFile, "air_age", "air age", b.AirAge)
	for i := range b.Meters {
		c.meter(i)
	}
	for i := range b.Sensors {
		c.sensor(i)
	}
	for i := range b.Calibrations {
		c.curve(i)
	}
	p := b.CheckPlate
	c.notNegative(benchFile, "check_plate.effective_area", "effective area", p.EffectiveArea)
	c.ratio(benchFile, "check_plate.u", p.U)
	c.ratio(benchFile, "check_plate.limit", p.Limit)
}

// A want is a field a kind of meter cannot do without.
type want struct {
	key     string
	missing bool
	write   string
}

// wants lists what each kind of meter needs.
func (m *Meter) wants() []want {
	bore := want{"bore", m.Bore == 0, `bore = "60 mm"`}
	pipe := want{"pipe", m.Pipe == 0, `pipe = "100 mm"`}
	switch m.Kind {
	case "orifice_pipe":
		return []want{pipe, bore, {"taps", m.Taps == "", `taps = "corner", "flange" or "d-d2"`}}
	case "orifice_chamber", "nozzle_critical":
		return []want{bore}
	case "nozzle_isa1932", "nozzle_long_radius", "nozzle_venturi", "venturi_machined", "venturi_cast", "venturi_welded":
		return []want{pipe, bore}
	case "laminar":
		return []want{{"laminar", m.Laminar == 0, `laminar = "200 cfm"`}, {"laminar_at", m.LaminarAt == 0, `laminar_at = "2 kPa"`}}
	case "plate_percent":
		return []want{{"full_scale", m.FullScale == 0, `full_scale = "300 cfm"`}, {"full_scale_at", m.FullScaleAt == 0, `full_scale_at = "28 inH2O"`}}
	case "table":
		return []want{{"table", len(m.Table) < 2, `at least two points {reading = 1.0, mass_flow = "10 g/s"}`}}
	default:
		return nil
	}
}

func (c *checker) meter(i int) {
	m, at := &c.job.Bench.Meters[i], fmt.Sprintf("meters[%d]", i)
	for _, w := range m.wants() {
		if w.missing {
			c.add(benchFile, at+"."+w.key, fmt.Sprintf("key %q is missing for a meter of kind %q", w.key, m.Kind), "write "+w.write)
		}
	}
	for _, l := range []struct {
		key string
		x   float64
	}{{"pipe", m.Pipe}, {"bore", m.Bore}, {"full_scale", m.FullScale}, {"full_scale_at", m.FullScaleAt}, {"laminar", m.Laminar}, {"laminar_at", m.LaminarAt}} {
		c.notNegative(benchFile, at+"."+l.key, l.key, l.x)
	}
	if m.Pipe > 0 && m.Bore >= m.Pipe {
		c.add(benchFile, at+".bore", fmt.Sprintf("bore of %.6g mm is not smaller than the pipe of %.6g mm", 1e3*m.Bore, 1e3*m.Pipe), "write a bore smaller than the pipe")
	}
	for _, u := range []struct {
		key string
		x   float64
	}{{"u_coefficient", m.UCoefficient}, {"u_pipe", m.UPipe}, {"u_bore", m.UBore}} {
		c.ratio(benchFile, at+"."+u.key, u.x)
	}
	if m.Coefficient < 0 || m.Coefficient > 1.2 {
		c.add(benchFile, at+".coefficient", fmt.Sprintf("coefficient %.6g cannot be", m.Coefficient), "write a discharge coefficient, such as 0.6")
	}
	for k := 1; k < len(m.Table); k++ {
		if m.Table[k].Reading <= m.Table[k-1].Reading || m.Table[k].MassFlow <= m.Table[k-1].MassFlow {
			c.add(benchFile, fmt.Sprintf("%s.table[%d].reading", at, k), "the point does not lie above the one before it", "write the points in order; reading and mass flow rise together")
		}
	}
}

func (c *checker) sensor(i int) {
	s, at := &c.job.Bench.Sensors[i], fmt.Sprintf("sensors[%d]", i)
	if s.Unit != "" && len(dimensionsOf(s.Unit)) == 0 {
		c.add(benchFile, at+".unit", fmt.Sprintf("unit %q is not known", clip(s.Unit)), `write a unit such as "Pa", "inH2O", "°C", "%" or "V"`)
	}
	if s.Low != nil && s.High != nil && *s.Low >= *s.High {
		c.add(benchFile, at+".low", fmt.Sprintf("low %g is not below high %g", *s.Low, *s.High), "write the ends of the range in order")
	}
	if s.U == "" || (s.Unit != "" && len(dimensionsOf(s.Unit)) == 0) {
		return
	}
	if err := c.uncertainty(s); err != nil {
		c.add(benchFile, at+".u", "u: "+err.Error(), `write it like "0.5 Pa" or "0.25 %"`)
	}
}

// uncertainty checks that the standard uncertainty of a sensor is a share of the value or has a unit that fits the sensor.
func (c *checker) uncertainty(s *Sensor) error {
	if v, err := unit.Ratio.Parse(s.U); err == nil && strings.Contains(s.U, "%") {
		if v < 0 {
			return fmt.Errorf("%q is negative", s.U)
		}
		if v > 1 {
			return fmt.Errorf("%q is more than the whole value", s.U)
		}
		return nil
	}
	dims := dimensionsOf(s.Unit)
	if s.Unit == "" {
		dims = unit.All()
	}
	for _, d := range dims {
		if d.Name == unit.Temperature.Name {
			d = unit.TemperatureSpan
		}
		if v, err := d.Parse(s.U); err == nil {
			if v < 0 {
				return fmt.Errorf("%q is negative", s.U)
			}
			return nil
		}
	}
	if s.Unit != "" {
		return fmt.Errorf("%q does not fit a sensor in %s", clip(s.U), s.Unit)
	}
	return fmt.Errorf("%q is not a number with a unit", clip(s.U))
}

// dimensionsOf lists the dimensions that have the named unit.
func dimensionsOf(name string) []unit.Dimension {
	var out []unit.Dimension
	for _, d := range unit.All() {
		if _, ok := d.Lookup(name); ok && name != "" {
			out = append(out, d)
		}
	}
	return out
}

func (c *checker) sitting(s *Sitting) {
	for i, a := range s.Air {
		at := fmt.Sprintf("air[%d]", i)
		c.airPressure(s.File, at+".pressure", a.Pressure, false)
		c.airTemperature(s.File, at+".temp", a.Temperature, false)
		c.ratio(s.File, at+".rh", a.Humidity)
		c.notNegative(s.File, at+".u_pressure", "u_pressure", a.UPressure)
		c.notNegative(s.File, at+".u_temp", "u_temp", a.UTemp)
		c.ratio(s.File, at+".u_rh", a.UHumidity)
	}
	for i, z := range s.Zero {
		c.zero(s, z, fmt.Sprintf("zero[%d].value", i))
	}
	for i, l := range s.Leakage {
		at := fmt.Sprintf("leakage[%d]", i)
		if l.Trace == "" {
			c.testPressure(s.File, at+".test_pressure", l.TestPressure, false)
		}
		c.notNegative(s.File, at+".flow", "leakage", l.Flow)
		c.notNegative(s.File, at+".u_flow", "u_flow", l.UFlow)
		if l.Trace != "" && l.Flow != 0 {
			c.add(s.File, at+".flow", "the leakage is given both as a trace and typed", "leave one of the two out")
		}
	}
	for i, p := range s.Checks {
		at := fmt.Sprintf("check[%d]", i)
		if (p.Trace == "") == (p.EffectiveArea == 0) {
			c.add(s.File, at+".trace", "the check-plate flow wants either a trace or an effective area", `write trace = "traces/check.csv" or effective_area = "600 mm²"`)
		}
		c.notNegative(s.File, at+".effective_area", "effective area", p.EffectiveArea)
		c.ratio(s.File, at+".u_by_eye", p.UByEye)
	}
	for i := range s.Readings {
		c.reading(s, i)
	}
}

func (c *checker) zero(s *Sitting, z ZeroRecord, key string) {
	d, _, err := quantityOf(z.Value)
	if err != nil {
		c.add(s.File, key, "value: "+err.Error(), `write it like "1.2 Pa"`)
		return
	}
	i := slices.IndexFunc(c.job.Bench.Sensors, func(x Sensor) bool { return x.Channel == z.Channel })
	if i < 0 || c.job.Bench.Sensors[i].Unit == "" {
		return
	}
	fits := dimensionsOf(c.job.Bench.Sensors[i].Unit)
	if len(fits) > 0 && !slices.ContainsFunc(fits, func(x unit.Dimension) bool { _, err := x.Parse(z.Value); return err == nil }) {
		c.add(s.File, key, fmt.Sprintf("value: %s %q does not fit a sensor in %s", d.Name, z.Value, c.job.Bench.Sensors[i].Unit), "write it in "+c.job.Bench.Sensors[i].Unit)
	}
}

func (c *checker) reading(s *Sitting, i int) {
	r, at := &s.Readings[i], fmt.Sprintf("readings[%d]", i)
	rig, round := c.rigCard(r.Rig), c.round(r.Round)
	if rig != nil && round != nil && rig.Piece != round.Piece {
		c.add(s.File, at+".round", fmt.Sprintf("round %q is of piece %q, rig card %q of piece %q", r.Round, round.Piece, r.Rig, rig.Piece), "name a round and a rig card of one piece")
	}
	if rig != nil {
		c.opening(s, r, rig, at)
	}
	c.notNegative(s.File, at+".lift", "lift", r.Lift)
	c.ratio(s.File, at+".u_by_eye", r.UByEye)
	switch typed := r.MeterDP != 0 || r.TestPressure != 0 || r.Scale != 0; {
	case r.Trace != "" && typed:
		c.add(s.File, at+".trace", "the reading is given both as a trace and typed", "leave the trace, or what was typed, out")
	case r.Trace == "" && !typed && r.Void == "":
		c.add(s.File, at+".trace", fmt.Sprintf("reading %q has neither a trace nor typed pressures", r.ID), `write trace = "traces/`+r.ID+`.csv", or `+c.shows(rig)+` and test_pressure`)
	case r.Trace == "" && typed:
		c.typed(s, r, rig, at)
	}
}

// shows names the key of what the meter of a rig card shows.
func (c *checker) shows(rig *RigCard) string {
	if rig != nil && c.job.Bench.OnPercentScale(*rig) {
		return "scale"
	}
	return "meter_dp"
}

// typed checks a reading by hand: what the meter shows, and the test pressure.
func (c *checker) typed(s *Sitting, r *Reading, rig *RigCard, at string) {
	percent := c.shows(rig) == "scale"
	switch {
	case percent && r.MeterDP != 0:
		c.add(s.File, at+".meter_dp", fmt.Sprintf("the meter of rig card %q is read on a percent scale, not as a pressure", r.Rig), `write what the scale shows, as scale = "72 %"`)
	case !percent && r.Scale != 0:
		c.add(s.File, at+".scale", fmt.Sprintf("the meter of rig card %q has no percent scale", r.Rig), `write its pressure difference, as meter_dp = "1.9 kPa"`)
	case percent && r.Scale == 0:
		c.add(s.File, at+".scale", "what the percent scale shows is missing", `write it, as scale = "72 %"`)
	case percent && r.Scale < 0:
		c.add(s.File, at+".scale", fmt.Sprintf("a scale of %.6g %% is not above zero", 100*r.Scale), `write what the scale shows, as scale = "72 %"`)
	case percent && r.Scale > 1.2:
		c.add(s.File, at+".scale", fmt.Sprintf("a scale of %.6g %% is beyond its end", 100*r.Scale), `write it in per cent of the full flow, as scale = "72 %"`)
	case !percent && r.MeterDP <= 0:
		c.add(s.File, at+".meter_dp", fmt.Sprintf("meter pressure difference of %.6g Pa is not above zero", r.MeterDP), "write it without its sign; swap the taps in the rig card if the flow is reversed")
	}
	c.testPressure(s.File, at+".test_pressure", r.TestPressure, false)
}

func (c *checker) opening(s *Sitting, r *Reading, rig *RigCard, at string) {
	p := c.pieceOf(rig.Piece)
	if p == nil {
		return
	}
	if r.Opening != "" && len(p.Openings) > 0 && !slices.Contains(p.Openings, r.Opening) {
		c.add(s.File, at+".opening", fmt.Sprintf("opening %q is none of piece %q", clip(r.Opening), p.ID), "write "+choices(p.Openings))
	}
	if r.Lift > 0 && p.Kind != "head" {
		c.add(s.File, at+".lift", fmt.Sprintf("a lift is given, but piece %q is a %s", p.ID, p.Kind), "leave the lift out")
	}
}

// sameTrace finds readings that share a trace: counted as repeats they would be one reading.
func (c *checker) sameTrace() {
	first := map[string]spot{}
	for si := range c.job.Sittings {
		s := &c.job.Sittings[si]
		for i, r := range s.Readings {
			if r.Trace == "" {
				continue
			}
			at := spot{s.File, fmt.Sprintf("readings[%d].trace", i)}
			if was, twice := first[r.Trace]; twice {
				c.add(at.file, at.key, fmt.Sprintf("trace %q belongs to another reading already, at %s", r.Trace, c.show(was)), "give every reading its own trace")
				continue
			}
			first[r.Trace] = at
		}
	}
}
