package job

import (
	"fmt"
	"math"
	"strconv"

	"runnel/unit"
)

// A size is a value of an engine card with the range that any engine Runnel is meant for lies in. The ranges are wide
// on purpose: common practice, no source. They catch a slip of a unit or of a decimal point, not an unusual engine.
type size struct {
	key  string
	dim  unit.Dimension
	as   string  // unit it is shown in
	x    float64 // [SI unit of dim]; 0 is not given
	low  float64 // [SI unit of dim]
	high float64 // [SI unit of dim]
}

// sizes checks that the values of an engine card are those of an engine.
func (c *checker) sizes(file string, e *Engine) {
	length := func(key string, x, low, high float64) size { return size{key, unit.Length, "mm", x, low, high} }
	kelvin := func(key string, x float64) size { return size{key, unit.Temperature, "°C", x, 200, 1600} }
	in, out := &e.Inlet, &e.Outlet
	for _, s := range []size{
		length("bore", max(0, e.Bore), 0.01, 1), length("stroke", max(0, e.Stroke), 0.01, 2.5), length("rod", e.Rod, 0.01, 5),
		{"red_line", unit.Rotation, "rpm", e.RedLine, 1, 500},
		length("cam.intake.peak_lift", e.Cam.Intake.PeakLift, 0, 0.1), length("cam.exhaust.peak_lift", e.Cam.Exhaust.PeakLift, 0, 0.1),
		length("intake_valve.head", e.Intake.Head, 0.003, 0.5), length("exhaust_valve.head", e.Exhaust.Head, 0.003, 0.5),
		length("inlet.runner_length", in.RunnerLength, 0, 10), length("inlet.runner_entry", in.RunnerEntry, 0.003, 1),
		length("inlet.runner_exit", in.RunnerExit, 0.003, 1), length("inlet.port_length", in.PortLength, 0, 2),
		length("inlet.port_bore", in.PortBore, 0.003, 1), length("inlet.throttle_bore", in.ThrottleBore, 0.003, 1),
		length("inlet.duct_length", in.DuctLength, 0, 20), length("inlet.duct_bore", in.DuctBore, 0.003, 1),
		{"inlet.plenum_volume", unit.Volume, "L", in.PlenumVolume, 0, 1},
		kelvin("inlet.wall_temp", in.WallTemp), kelvin("inlet.port_temp", in.PortTemp),
		length("outlet.port_length", out.PortLength, 0, 2), length("outlet.port_bore", out.PortBore, 0.003, 1),
		length("outlet.primary_length", out.PrimaryLength, 0, 20), length("outlet.primary_bore", out.PrimaryBore, 0.003, 1),
		length("outlet.collector_length", out.CollectorLength, 0, 20), length("outlet.collector_bore", out.CollectorBore, 0.003, 1),
		kelvin("outlet.wall_temp", out.WallTemp),
	} {
		c.size(file, s)
	}
	c.plain(file, "engine.compression_ratio", max(1, e.CompressionRatio), 1, 40)
	c.plain(file, "engine.fuel.lambda", e.Fuel.Lambda, 0.4, 3)
	c.processes(file, e)
}

// degree is one degree of crank angle [rad].
const degree = math.Pi / 180

// processes checks what is typed of burn, heat and friction: numbers by which an engine would make work of nothing, or burn at the wrong
// end of the stroke. The ranges are wide on purpose: common practice, no source.
func (c *checker) processes(file string, e *Engine) {
	b, f := e.Burn, e.Friction
	for _, s := range []size{
		{"burn.start", unit.Angle, "°", b.Start, -60 * degree, 120 * degree},
		{"burn.ca50", unit.Angle, "°", b.CA50, -30 * degree, 90 * degree},
		{"burn.duration", unit.Angle, "°", b.Duration, 5 * degree, 150 * degree},
		{"friction.a", unit.Pressure, "bar", f.A, 0, 5e5},
		{"outlet.back_pressure", unit.Pressure, "kPa", e.Outlet.BackPressure, -50e3, 100e3},
		{"inlet.roughness", unit.Length, "mm", e.Inlet.Roughness, 0, 5e-3},
	} {
		c.within(file, s)
	}
	c.plain(file, "engine.burn.shape", b.Shape, 0.3, 10)
	c.plain(file, "engine.heat.multiplier", e.Heat.Multiplier, 0, 10)
	c.plain(file, "engine.friction.b", f.B, 0, 0.1)
	c.plain(file, "engine.friction.c", f.C, 0, 1e5)
	c.plain(file, "engine.friction.d", f.D, 0, 1e4)
	c.plain(file, "engine.inlet.entry_loss", e.Inlet.EntryLoss, 0, 100)
	c.plain(file, "engine.inlet.friction", e.Inlet.Friction, 0, 1)
	c.ratio(file, "engine.burn.complete", b.Complete)
	c.ratio(file, "engine.fuel.evaporated", e.Fuel.Evaporated)
	c.ratio(file, "engine.fuel.heat_from_walls", e.Fuel.FromWalls)
}

func (c *checker) size(file string, s size) {
	key := "engine." + s.key
	if s.x < 0 {
		c.add(file, key, last(key)+" is negative", "write a value above zero")
		return
	}
	c.within(file, s)
}

// within checks a value that may have a sign.
func (c *checker) within(file string, s size) {
	key := "engine." + s.key
	if s.x == 0 || (s.x >= s.low && s.x <= s.high) {
		return
	}
	show := func(x float64) string { return strconv.FormatFloat(s.dim.In(x, s.as), 'g', 6, 64) + " " + s.as }
	c.add(file, key, fmt.Sprintf("%s of %s is that of no engine", last(key), show(s.x)), fmt.Sprintf("write between %s and %s", show(s.low), show(s.high)))
}

// plain checks a number without a unit: 0, which is not given, or between low and high.
func (c *checker) plain(file, key string, x, low, high float64) {
	if x == 0 || (x >= low && x <= high) {
		return
	}
	c.add(file, key, fmt.Sprintf("%s of %.6g is that of no engine", last(key), x), fmt.Sprintf("write between %g and %g", low, high))
}
