package meter

import (
	"math"

	"runnel/gas"
)

// StandardGravity is the conventional acceleration of free fall [m/s²], exact: CGPM 1901.
const StandardGravity = 9.80665

// A Fluid is what stands in a liquid column.
type Fluid int

// The fluids of columns.
const (
	Water    Fluid = iota // pure water, free of air
	Mercury               // clean mercury
	GaugeOil              // oil of a stated specific gravity
)

// A Column is a real liquid column: its fluid has a density that depends on temperature, and weighs as the place pulls.
type Column struct {
	Fluid           Fluid   // what stands in it
	Temperature     float64 // temperature of the fluid [K]
	Gravity         float64 // local acceleration of free fall [m/s²]; StandardGravity when not known
	AirDensity      float64 // density of the air above it [kg/m³]; 0 to leave it out
	SpecificGravity float64 // of a gauge oil: density at OilTemp over that of water at 3.98 °C [-]
	OilTemp         float64 // temperature of SpecificGravity [K]; usually 288.15
	Expansion       float64 // volume expansion coefficient of a gauge oil [1/K]; 0 when not known
}

// Difference returns the pressure difference [Pa] that a vertical difference of levels height [m] stands for.
//
//	Δp = (ρ_fluid − ρ_air)·g·h
//
// Errors: *gas.InputError. Warnings: a temperature outside the range of the density formula; a gauge oil whose expansion
// is not known, away from the temperature of its specific gravity.
// Source: hydrostatics; FluidDensity for the fluids.
func (c Column) Difference(height float64) (float64, []gas.Warning, error) {
	if math.IsNaN(height) || math.IsInf(height, 0) {
		return 0, nil, &gas.InputError{Quantity: "height of the column", Got: height, Unit: "m", Want: "want a number"}
	}
	if !(c.Gravity > 9.7 && c.Gravity < 9.9) {
		return 0, nil, &gas.InputError{Quantity: "acceleration of free fall", Got: c.Gravity, Unit: "m/s²", Want: "want 9.76 to 9.84, or the standard 9.80665"}
	}
	density, w, err := c.Density()
	if err != nil {
		return 0, nil, err
	}
	return (density - c.AirDensity) * c.Gravity * height, w, nil
}

// Density returns the density of the fluid [kg/m³] at its temperature.
//
// Errors and warnings as Difference. Source: WaterDensity, MercuryDensity; for oil ρ = SG·999.975/(1 + β·(T − T_SG)).
func (c Column) Density() (float64, []gas.Warning, error) {
	t := c.Temperature - gas.ZeroCelsius
	if !(t > -30 && t < 80) {
		return 0, nil, &gas.InputError{Quantity: "temperature of the column", Got: c.Temperature, Unit: "K", Want: "want 243.15 K (-30 °C) to 353.15 K (80 °C); check the unit"}
	}
	var w []gas.Warning
	switch c.Fluid {
	case Water:
		if t <= 0 {
			return 0, nil, &gas.InputError{Quantity: "temperature of the column", Got: c.Temperature, Unit: "K", Want: "water freezes at 273.15 K"}
		}
		w = within(w, "water column: temperature 0 to 40 °C", t, 0, 40)
		return WaterDensity(c.Temperature), w, nil
	case Mercury:
		return MercuryDensity(c.Temperature), nil, nil
	case GaugeOil:
		if !(c.SpecificGravity > 0.5 && c.SpecificGravity < 3.5) {
			return 0, nil, &gas.InputError{Quantity: "specific gravity of the gauge oil", Got: c.SpecificGravity, Want: "want 0.5 to 3.5; it is printed on the gauge or the bottle"}
		}
		off := c.Temperature - c.OilTemp
		if c.Expansion == 0 {
			w = within(w, "gauge oil: expansion not known, temperature within 2 K of that of its specific gravity [K off]", off, -2, 2)
		}
		return c.SpecificGravity * waterMax / (1 + c.Expansion*off), w, nil
	}
	panic("meter: unknown fluid of a column")
}

// waterMax is the highest density of water, at 3.98 °C [kg/m³]. Source: Tanaka et al. 2001.
const waterMax = 999.974950

// WaterDensity returns the density of pure air-free water [kg/m³] at 101 325 Pa and temperature temp [K].
//
//	ρ = 999.974950·(1 − (t − 3.983035)²·(t + 301.797)/(522528.9·(t + 69.34881)))
//
// Valid 0–40 °C. Source: Tanaka, Girard, Davis, Peuto and Bignell, Metrologia 38 (2001) 301.
func WaterDensity(temp float64) float64 {
	t := temp - gas.ZeroCelsius
	d := t - 3.983035
	return waterMax * (1 - d*d*(t+301.797)/(522528.9*(t+69.34881)))
}

// MercuryDensity returns the density of mercury [kg/m³] at atmospheric pressure and temperature temp [K].
//
//	ρ = 13595.08/(1 + 1.815868e-4·t + 5.4583e-9·t² + 3.4980e-11·t³ + 1.5558e-14·t⁴)
//
// Valid about −20–300 °C. Source: Beattie, Blaisdell, Kaye, Gerry and Johnson, Proc. Am. Acad. Arts Sci. 71 (1941) 371,
// with the density at 0 °C of Cook and Stone 1957; coefficients from memory, checked against a printed table.
func MercuryDensity(temp float64) float64 {
	t := temp - gas.ZeroCelsius
	return 13595.08 / (1 + t*(1.815868e-4+t*(5.4583e-9+t*(3.4980e-11+t*1.5558e-14))))
}

// GravityAt returns the acceleration of free fall [m/s²] at a geodetic latitude [rad] and a height above the sea [m].
//
//	g = 9.7803253359·(1 + 0.00193185265241·sin²φ)/sqrt(1 − 0.00669437999013·sin²φ) − 3.086e-6·h
//
// Good to about 1e-4 m/s². Source: WGS 84 ellipsoidal gravity formula with the free-air gradient.
func GravityAt(latitude, height float64) float64 {
	s := math.Sin(latitude)
	s *= s
	return 9.7803253359*(1+0.00193185265241*s)/math.Sqrt(1-0.00669437999013*s) - 3.086e-6*height
}
