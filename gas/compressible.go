package gas

import "math"

// An Isentropic state is that of a perfect gas at a Mach number, over its stagnation or sonic state.
type Isentropic struct {
	Pressure    float64 // p/p0 [-]
	Temperature float64 // T/T0 [-]
	Density     float64 // ρ/ρ0 [-]
	Area        float64 // A/A* [-]; +Inf at rest
	MassFlow    float64 // mass flow parameter ṁ·sqrt(R·T0)/(A·p0) [-]
}

// IsentropicAt returns the isentropic flow functions at Mach number mach [-], at least 0, for ratio of specific heats gamma [-].
//
//	T/T0 = 1/(1 + (γ−1)/2·M²),  p/p0 = (T/T0)^(γ/(γ−1)),  ρ/ρ0 = (T/T0)^(1/(γ−1))
//	A/A* = 1/M·(2/(γ+1)·(1 + (γ−1)/2·M²))^((γ+1)/(2(γ−1)))
//
// Source: NACA Report 1135 (1953), eqs. (43)–(45) and (80).
func IsentropicAt(mach, gamma float64) Isentropic {
	k := 1 + (gamma-1)/2*mach*mach
	t := 1 / k
	e := (gamma + 1) / (2 * (gamma - 1))
	return Isentropic{
		Pressure:    math.Pow(t, gamma/(gamma-1)),
		Temperature: t,
		Density:     math.Pow(t, 1/(gamma-1)),
		Area:        math.Pow(2/(gamma+1)*k, e) / mach,
		MassFlow:    math.Sqrt(gamma) * mach * math.Pow(k, -e),
	}
}

// MachFromRatio returns the Mach number [-] of isentropic flow at static over stagnation pressure r [-], 0 < r ≤ 1,
// for ratio of specific heats gamma [-].
//
//	M = sqrt(2/(γ−1)·(r^(−(γ−1)/γ) − 1))
//
// Source: NACA Report 1135 (1953), eq. (44) inverted.
func MachFromRatio(r, gamma float64) float64 {
	return math.Sqrt(2 / (gamma - 1) * math.Expm1(-(gamma-1)/gamma*math.Log(r)))
}

// A Shock is the jump across a normal shock in a perfect gas, behind over before.
type Shock struct {
	Mach          float64 // Mach number behind M2 [-]
	Pressure      float64 // p2/p1 [-]
	Density       float64 // ρ2/ρ1 [-]
	Temperature   float64 // T2/T1 [-]
	TotalPressure float64 // p02/p01 [-]
}

// NormalShock returns the jump across a normal shock with Mach number mach [-], at least 1, before it, for ratio of
// specific heats gamma [-]. Source: NACA Report 1135 (1953), eqs. (93)–(99).
func NormalShock(mach, gamma float64) Shock {
	m2 := mach * mach
	s := Shock{
		Mach:     math.Sqrt((1 + (gamma-1)/2*m2) / (gamma*m2 - (gamma-1)/2)),
		Pressure: 1 + 2*gamma/(gamma+1)*(m2-1),
		Density:  (gamma + 1) * m2 / ((gamma-1)*m2 + 2),
	}
	s.Temperature = s.Pressure / s.Density
	s.TotalPressure = math.Pow(s.Density, gamma/(gamma-1)) * math.Pow(s.Pressure, -1/(gamma-1))
	return s
}

// A Fanno state is that of adiabatic flow with friction in a duct of constant area, over its sonic state.
type Fanno struct {
	Temperature   float64 // T/T* [-]
	Pressure      float64 // p/p* [-]
	Density       float64 // ρ/ρ* [-]
	TotalPressure float64 // p0/p0* [-]
	Length        float64 // friction length to the sonic state λ·L*/D, with the Darcy factor λ [-]
}

// FannoAt returns the Fanno functions at Mach number mach [-], above 0, for ratio of specific heats gamma [-].
//
//	λL*/D = (1 − M²)/(γM²) + (γ+1)/(2γ)·ln((γ+1)M²/(2 + (γ−1)M²))
//
// Source: Shapiro, The Dynamics and Thermodynamics of Compressible Fluid Flow (1953), vol. 1, ch. 6.
func FannoAt(mach, gamma float64) Fanno {
	m2 := mach * mach
	t := (gamma + 1) / (2 + (gamma-1)*m2)
	return Fanno{
		Temperature:   t,
		Pressure:      math.Sqrt(t) / mach,
		Density:       1 / (mach * math.Sqrt(t)),
		TotalPressure: math.Pow(1/t, (gamma+1)/(2*(gamma-1))) / mach,
		Length:        (1-m2)/(gamma*m2) + (gamma+1)/(2*gamma)*math.Log(m2*t),
	}
}
