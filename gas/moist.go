package gas

import "math"

// StandardCO2 is the mole fraction of carbon dioxide that CIPM-2007 takes for laboratory air [-].
const StandardCO2 = 0.0004

// ZeroCelsius is 0 °C [K], exact.
const ZeroCelsius = 273.15

// Constants of CIPM-2007. Source: Picard, Davis, Gläser and Fujii, Metrologia 45 (2008) 149, table 1 and eq. (2).
const (
	molarGas     = 8.314472     // molar gas constant [J/(mol·K)], CODATA 2006 as the paper takes it
	molarWater   = 18.01528e-3  // molar mass of water [kg/mol]
	molarDryAir  = 28.96546e-3  // molar mass of dry air with 400 µmol/mol CO2 [kg/mol]
	molarPerCO2  = 12.011e-3    // its change with the CO2 fraction [kg/mol]
	lowPressure  = 60e3         // lower end of the range [Pa]
	highPressure = 110e3        // upper end of the range [Pa]
	lowTemp      = 15 + 273.15  // lower end of the range [K]
	highTemp     = 27 + 273.15  // upper end of the range [K]
	coldestTemp  = -60 + 273.15 // below this no bench air is believed [K], our own limit
	hottestTemp  = 80 + 273.15  // above this no bench air is believed [K], our own limit
)

// MoistAir is air of a room. There are no hidden defaults: every field counts, zero included.
type MoistAir struct {
	Pressure    float64 // absolute static pressure p [Pa], 60–110 kPa in range
	Temperature float64 // thermodynamic temperature T [K], 15–27 °C in range
	Humidity    float64 // relative humidity h [-], 0…1
	CO2         float64 // mole fraction of carbon dioxide [-]; StandardCO2 when not measured
}

// Air is moist air with its properties worked out.
type Air struct {
	MoistAir
	Density         float64   // density ρ by CIPM-2007 [kg/m³]
	Compressibility float64   // compressibility factor Z [-]
	Saturation      float64   // saturation vapour pressure of water p_sv [Pa]
	Enhancement     float64   // enhancement factor f [-]
	VapourFraction  float64   // mole fraction of water vapour x_v [-]
	SpeedOfSound    float64   // speed of sound c by Cramer [m/s]
	Kappa           float64   // ratio of specific heats by Cramer, used as isentropic exponent κ [-]
	Viscosity       float64   // dynamic viscosity μ of dry air by Sutherland [Pa·s]
	GasConstant     float64   // specific gas constant of the moist air as a perfect gas [J/(kg·K)]
	Warnings        []Warning // limits of the sources that were left
}

// VapourPressure returns the partial pressure of the water vapour x_v·p [Pa]. Definition.
func (a Air) VapourPressure() float64 { return a.VapourFraction * a.Pressure }

// Properties works out the properties of the air.
//
// Errors: *InputError when a field cannot be true of air in a room.
// Warnings: CIPM-2007 outside 60–110 kPa or 15–27 °C; Cramer outside 0–30 °C, 75–102 kPa, x_v ≤ 0.06, CO2 ≤ 0.01.
// Source: CIPM-2007 (Picard et al., Metrologia 45 (2008) 149); Cramer, J. Acoust. Soc. Am. 93 (1993) 2510;
// US Standard Atmosphere 1976 eq. (51).
func (m MoistAir) Properties() (Air, error) {
	if err := m.check(); err != nil {
		return Air{}, err
	}
	a := Air{MoistAir: m}
	t := m.Temperature - ZeroCelsius
	a.Saturation = SaturationPressure(m.Temperature)
	a.Enhancement = Enhancement(m.Pressure, m.Temperature)
	a.VapourFraction = m.Humidity * a.Enhancement * a.Saturation / m.Pressure
	if a.VapourFraction >= 1 {
		return Air{}, &InputError{"vapour mole fraction", a.VapourFraction, "", "the air would be all steam: check that pressure is absolute and temperature is in the unit given"}
	}
	a.Compressibility = compressibility(m.Pressure, m.Temperature, a.VapourFraction)
	molar := m.molarMass(a.VapourFraction)
	a.GasConstant = molarGas / molar
	a.Density = m.Pressure / (a.Compressibility * a.GasConstant * m.Temperature)
	a.SpeedOfSound = cramer(cramerSpeed(), t, m.Pressure, a.VapourFraction, m.CO2)
	a.Kappa = cramer(cramerKappa(), t, m.Pressure, a.VapourFraction, m.CO2)
	a.Viscosity = ViscositySutherland(m.Temperature)
	a.Warnings = m.warnings(a.VapourFraction)
	return a, nil
}

// check refuses what air in a room cannot be.
func (m MoistAir) check() error {
	switch {
	case !finite(m.Pressure) || m.Pressure < 10e3 || m.Pressure > 1e6:
		return &InputError{"air pressure", m.Pressure, "Pa", "want an absolute pressure between 10 kPa and 1 MPa; a gauge pressure must have the room's pressure added"}
	case !finite(m.Temperature) || m.Temperature < coldestTemp || m.Temperature > hottestTemp:
		return &InputError{"air temperature", m.Temperature, "K", "want between 213.15 K (-60 °C) and 353.15 K (80 °C); check the unit"}
	case !finite(m.Humidity) || m.Humidity < 0 || m.Humidity > 1:
		return &InputError{"relative humidity", m.Humidity, "", "want 0 to 1, that is 0 % to 100 %"}
	case !finite(m.CO2) || m.CO2 < 0 || m.CO2 > 0.1:
		return &InputError{"carbon dioxide fraction", m.CO2, "", "want a mole fraction of 0 to 0.1; ordinary air has 0.0004"}
	}
	return nil
}

// warnings lists the ranges of the sources that the air lies outside.
func (m MoistAir) warnings(xv float64) []Warning {
	var w []Warning
	t := m.Temperature - ZeroCelsius
	if m.Pressure < lowPressure || m.Pressure > highPressure {
		w = append(w, Warning{"CIPM-2007: air pressure 60 to 110 kPa", m.Pressure / 1e3})
	}
	if m.Temperature < lowTemp || m.Temperature > highTemp {
		w = append(w, Warning{"CIPM-2007: air temperature 15 to 27 °C", t})
	}
	if t < 0 || t > 30 {
		w = append(w, Warning{"Cramer 1993: air temperature 0 to 30 °C", t})
	}
	if m.Pressure < 75e3 || m.Pressure > 102e3 {
		w = append(w, Warning{"Cramer 1993: air pressure 75 to 102 kPa", m.Pressure / 1e3})
	}
	if xv > 0.06 {
		w = append(w, Warning{"Cramer 1993: mole fraction of water vapour at most 0.06", xv})
	}
	if m.CO2 > 0.01 {
		w = append(w, Warning{"Cramer 1993: mole fraction of carbon dioxide at most 0.01", m.CO2})
	}
	return w
}

// molarMass returns the molar mass of the moist air M = Ma·(1 − xv·(1 − Mv/Ma)) [kg/mol].
func (m MoistAir) molarMass(xv float64) float64 {
	ma := molarDryAir + molarPerCO2*(m.CO2-StandardCO2)
	return ma * (1 - xv*(1-molarWater/ma))
}

// SaturationPressure returns the vapour pressure of water at saturation p_sv [Pa] over liquid at temperature temp [K].
//
//	p_sv = exp(A·T² + B·T + C + D/T)
//
// Source: CIPM-2007, eq. (A1.1).
func SaturationPressure(temp float64) float64 {
	const (
		a = 1.2378847e-5  // [1/K²]
		b = -1.9121316e-2 // [1/K]
		c = 33.93711047   // [-]
		d = -6.3431645e3  // [K]
	)
	return math.Exp(a*temp*temp + b*temp + c + d/temp)
}

// Enhancement returns the enhancement factor f [-] of water vapour in air at absolute pressure p [Pa] and temperature temp [K].
//
//	f = α + β·p + γ·t²
//
// Source: CIPM-2007, eq. (A1.2).
func Enhancement(p, temp float64) float64 {
	t := temp - ZeroCelsius
	return 1.00062 + 3.14e-8*p + 5.6e-7*t*t
}

// compressibility returns Z [-]. Source: CIPM-2007, eq. (A1.4).
func compressibility(p, temp, xv float64) float64 {
	const (
		a0 = 1.58123e-6 // [K/Pa]
		a1 = -2.9331e-8 // [1/Pa]
		a2 = 1.1043e-10 // [1/(K·Pa)]
		b0 = 5.707e-6   // [K/Pa]
		b1 = -2.051e-8  // [1/Pa]
		c0 = 1.9898e-4  // [K/Pa]
		c1 = -2.376e-6  // [1/Pa]
		d  = 1.83e-11   // [K²/Pa²]
		e  = -0.765e-8  // [K²/Pa²]
	)
	t, pt := temp-ZeroCelsius, p/temp
	return 1 - pt*(a0+t*(a1+a2*t)+(b0+b1*t)*xv+(c0+c1*t)*xv*xv) + pt*pt*(d+e*xv*xv)
}
