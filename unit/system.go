package unit

import "fmt"

// A System is the set of units a person reads in.
type System int

// The unit systems.
const (
	Metric System = iota // mm, kPa, L/s, kW, N·m
	US                   // in, inH2O, cfm, hp, lbf·ft
)

// ParseSystem reads "metric" or "us".
func ParseSystem(s string) (System, error) {
	switch s {
	case "metric":
		return Metric, nil
	case "us":
		return US, nil
	}
	return Metric, fmt.Errorf("unit system %q is not known: write \"us\" or \"metric\"", s)
}

func (s System) String() string {
	if s == US {
		return "us"
	}
	return "metric"
}

// A Style is how a quantity is shown in a system: its unit and its decimals.
type Style struct {
	Dimension Dimension // what it is
	Unit      string    // unit it is shown in
	Decimals  int       // figures after the point
}

// Show writes the SI value si.
func (s Style) Show(si float64) string { return s.Dimension.Format(si, s.Unit, s.Decimals) }

// Value returns the SI value si in the style's unit.
func (s Style) Value(si float64) float64 { return s.Dimension.In(si, s.Unit) }

func (s System) pick(d Dimension, us string, usDec int, metric string, metricDec int) Style {
	if s == US {
		return Style{d, us, usDec}
	}
	return Style{d, metric, metricDec}
}

// Flow is how a bench flow is shown.
func (s System) Flow() Style { return s.pick(VolumeFlow, "cfm", 1, "L/s", 2) }

// TestPressure is how the pressure drop across a piece is shown.
func (s System) TestPressure() Style { return s.pick(Pressure, "inH2O", 2, "kPa", 3) }

// Barometer is how an absolute air pressure is shown.
func (s System) Barometer() Style { return s.pick(Pressure, "inHg", 2, "hPa", 1) }

// Length is how a dimension of a part is shown.
func (s System) Length() Style { return s.pick(Length, "in", 3, "mm", 1) }

// Area is how a section or an effective area is shown.
func (s System) Area() Style { return s.pick(Area, "in²", 3, "mm²", 1) }

// Volume is how a volume is shown.
func (s System) Volume() Style { return s.pick(Volume, "in³", 1, "L", 2) }

// Temperature is how a temperature is shown.
func (s System) Temperature() Style { return s.pick(Temperature, "°F", 1, "°C", 1) }

// Torque is how a torque is shown.
func (s System) Torque() Style { return s.pick(Torque, "lbf·ft", 1, "N·m", 1) }

// Power is how a power is shown.
func (s System) Power() Style { return s.pick(Power, "hp", 1, "kW", 1) }

// Density is how the density of air is shown.
func (s System) Density() Style { return s.pick(Density, "lb/ft³", 6, "kg/m³", 5) }

// Velocity is how a speed of air is shown.
func (s System) Velocity() Style { return s.pick(Velocity, "ft/s", 1, "m/s", 2) }

// Mass is how the little that is taken off a piece is shown.
func (s System) Mass() Style { return s.pick(Mass, "lb", 3, "g", 1) }

// MassFlow is how a mass flow is shown.
func (s System) MassFlow() Style { return s.pick(MassFlow, "lb/min", 3, "g/s", 2) }

// MeanPressure is how a mean effective pressure is shown.
func (s System) MeanPressure() Style { return s.pick(Pressure, "psi", 1, "bar", 2) }
