package unit

import "math"

// The dimensions Runnel knows. Each lists its SI unit first.
var (
	Pressure = Dimension{"pressure", []Unit{
		{Name: "Pa", Suffix: "pa", Factor: 1},
		{Name: "hPa", Aliases: []string{"mbar"}, Suffix: "hpa", Factor: 100},
		{Name: "kPa", Suffix: "kpa", Factor: 1e3},
		{Name: "MPa", Suffix: "mpa", Factor: 1e6},
		{Name: "bar", Suffix: "bar", Factor: 1e5},
		{Name: "inH2O", Aliases: []string{"inH₂O", "in H2O", "inches H2O", "\"H2O", "iwc"}, Suffix: "inh2o", Factor: InH2O},
		{Name: "mmH2O", Aliases: []string{"mmH₂O"}, Suffix: "mmh2o", Factor: MmH2O},
		{Name: "inHg", Suffix: "inhg", Factor: InHg},
		{Name: "mmHg", Suffix: "mmhg", Factor: 133.3224},
		{Name: "psi", Suffix: "psi", Factor: PSI},
	}}
	Length = Dimension{"length", []Unit{
		{Name: "m", Suffix: "m", Factor: 1},
		{Name: "mm", Suffix: "mm", Factor: 1e-3},
		{Name: "cm", Suffix: "cm", Factor: 1e-2},
		{Name: "µm", Aliases: []string{"um", "micron"}, Suffix: "um", Factor: 1e-6},
		{Name: "in", Aliases: []string{"inch", "inches", "\""}, Suffix: "in", Factor: Inch},
		{Name: "ft", Suffix: "ft", Factor: Foot},
	}}
	Area = Dimension{"area", []Unit{
		{Name: "m²", Aliases: []string{"m2", "m^2"}, Suffix: "m2", Factor: 1},
		{Name: "mm²", Aliases: []string{"mm2", "mm^2"}, Suffix: "mm2", Factor: 1e-6},
		{Name: "cm²", Aliases: []string{"cm2", "cm^2"}, Suffix: "cm2", Factor: 1e-4},
		{Name: "in²", Aliases: []string{"in2", "in^2", "sq in"}, Suffix: "in2", Factor: Inch * Inch},
	}}
	Volume = Dimension{"volume", []Unit{
		{Name: "m³", Aliases: []string{"m3", "m^3"}, Suffix: "m3", Factor: 1},
		{Name: "L", Aliases: []string{"l", "litre", "liter"}, Suffix: "l", Factor: 1e-3},
		{Name: "cm³", Aliases: []string{"cm3", "cc", "ml", "cm^3"}, Suffix: "cm3", Factor: 1e-6},
		{Name: "in³", Aliases: []string{"in3", "in^3", "cu in"}, Suffix: "in3", Factor: Inch * Inch * Inch},
	}}
	VolumeFlow = Dimension{"flow", []Unit{
		{Name: "m³/s", Aliases: []string{"m3/s"}, Suffix: "m3_s", Factor: 1},
		{Name: "L/s", Aliases: []string{"l/s"}, Suffix: "l_s", Factor: 1e-3},
		{Name: "m³/h", Aliases: []string{"m3/h"}, Suffix: "m3_h", Factor: 1. / 3600},
		{Name: "cfm", Aliases: []string{"ft3/min", "ft³/min"}, Suffix: "cfm", Factor: CFM},
	}}
	MassFlow = Dimension{"mass flow", []Unit{
		{Name: "kg/s", Suffix: "kg_s", Factor: 1},
		{Name: "g/s", Suffix: "g_s", Factor: 1e-3},
		{Name: "kg/h", Suffix: "kg_h", Factor: 1. / 3600},
		{Name: "lb/min", Suffix: "lb_min", Factor: Pound / 60},
	}}
	Temperature = Dimension{"temperature", []Unit{
		{Name: "K", Suffix: "k", Factor: 1},
		{Name: "°C", Aliases: []string{"C", "degC", "deg C"}, Suffix: "c", Factor: 1, Offset: ZeroCelc},
		{Name: "°F", Aliases: []string{"F", "degF", "deg F"}, Suffix: "f", Factor: 5. / 9, Offset: ZeroCelc - 32*5./9},
	}}
	// TemperatureSpan is a difference of temperatures, so it has no offset.
	TemperatureSpan = Dimension{"temperature difference", []Unit{
		{Name: "K", Aliases: []string{"°C", "C"}, Suffix: "k", Factor: 1},
		{Name: "°F", Aliases: []string{"F"}, Suffix: "f", Factor: 5. / 9},
	}}
	Ratio = Dimension{"ratio", []Unit{
		{Name: "", Suffix: "ratio", Factor: 1},
		{Name: "%", Aliases: []string{"percent"}, Suffix: "percent", Factor: 1e-2},
		{Name: "ppm", Suffix: "ppm", Factor: 1e-6},
	}}
	Angle = Dimension{"angle", []Unit{
		{Name: "rad", Suffix: "rad", Factor: 1},
		{Name: "°", Aliases: []string{"deg", "degree", "degrees"}, Suffix: "deg", Factor: math.Pi / 180},
	}}
	Rotation = Dimension{"speed", []Unit{
		{Name: "rev/s", Suffix: "rev_s", Factor: 1},
		{Name: "rpm", Aliases: []string{"1/min", "rev/min"}, Suffix: "rpm", Factor: 1. / 60},
	}}
	Velocity = Dimension{"velocity", []Unit{
		{Name: "m/s", Suffix: "m_s", Factor: 1},
		{Name: "ft/s", Suffix: "ft_s", Factor: Foot},
	}}
	Torque = Dimension{"torque", []Unit{
		{Name: "N·m", Aliases: []string{"Nm", "N m"}, Suffix: "nm", Factor: 1},
		{Name: "lbf·ft", Aliases: []string{"lb-ft", "lbf ft", "ft-lb"}, Suffix: "lbf_ft", Factor: PoundFt},
	}}
	Power = Dimension{"power", []Unit{
		{Name: "W", Suffix: "w", Factor: 1},
		{Name: "kW", Suffix: "kw", Factor: 1e3},
		{Name: "hp", Suffix: "hp", Factor: HP},
		{Name: "PS", Suffix: "ps", Factor: PS},
	}}
	Density = Dimension{"density", []Unit{
		{Name: "kg/m³", Aliases: []string{"kg/m3"}, Suffix: "kg_m3", Factor: 1},
		{Name: "g/cm³", Aliases: []string{"g/cm3"}, Suffix: "g_cm3", Factor: 1e3},
		{Name: "lb/ft³", Aliases: []string{"lb/ft3"}, Suffix: "lb_ft3", Factor: Pound / (Foot * Foot * Foot)},
	}}
	Mass = Dimension{"mass", []Unit{
		{Name: "kg", Suffix: "kg", Factor: 1},
		{Name: "g", Suffix: "g", Factor: 1e-3},
		{Name: "lb", Suffix: "lb", Factor: Pound},
	}}
	Time = Dimension{"time", []Unit{
		{Name: "s", Suffix: "s", Factor: 1},
		{Name: "ms", Suffix: "ms", Factor: 1e-3},
		{Name: "min", Suffix: "min", Factor: 60},
		{Name: "h", Suffix: "h", Factor: 3600},
		{Name: "d", Aliases: []string{"days", "day"}, Suffix: "d", Factor: 86400},
	}}
	Frequency = Dimension{"frequency", []Unit{
		{Name: "Hz", Suffix: "hz", Factor: 1},
		{Name: "kHz", Suffix: "khz", Factor: 1e3},
	}}
	Voltage = Dimension{"voltage", []Unit{
		{Name: "V", Suffix: "v", Factor: 1},
		{Name: "mV", Suffix: "mv", Factor: 1e-3},
	}}
	Current = Dimension{"current", []Unit{
		{Name: "A", Suffix: "a", Factor: 1},
		{Name: "mA", Suffix: "ma", Factor: 1e-3},
	}}
)

// All returns every dimension, so that a unit can be looked up when the dimension is not known.
func All() []Dimension {
	return []Dimension{
		Pressure, Length, Area, Volume, VolumeFlow, MassFlow, Temperature, TemperatureSpan, Ratio, Angle, Rotation,
		Velocity, Torque, Power, Density, Mass, Time, Frequency, Voltage, Current,
	}
}

// Named returns the dimension with the given tag name: its Name with spaces as "_"
// ("pressure", "mass_flow"), as the job types carry it in their field tags.
func Named(tag string) (Dimension, bool) {
	for _, d := range All() {
		if tagOf(d) == tag {
			return d, true
		}
	}
	return Dimension{}, false
}
