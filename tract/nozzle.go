package tract

import "math"

// nozzleFlux returns ψ [-], the mass flow of an ideal nozzle over A·p0/√(R·T0), at the pressure ratio r = p/p0 [-],
// held at its greatest value below the critical ratio.
//
//	ψ = √(2γ/(γ−1)·(r^(2/γ) − r^((γ+1)/γ))),  r ≥ (2/(γ+1))^(γ/(γ−1))
//
// Source: de Saint-Venant and Wantzel, in any textbook of gas dynamics.
func nozzleFlux(r, gamma float64) float64 {
	r = max(r, criticalRatio(gamma))
	k := (gamma - 1) / gamma
	// 1 − r^k without cancellation near r = 1.
	return math.Sqrt(max(0, -2/k*math.Expm1(k*math.Log(r)))) * math.Pow(r, 1/gamma)
}

// criticalRatio returns the pressure ratio p/p0 [-] at which the throat of a nozzle is sonic.
func criticalRatio(gamma float64) float64 {
	return math.Pow(2/(gamma+1), gamma/(gamma-1))
}

// nozzleRatio returns the subsonic pressure ratio r [-] at which ψ(r) = psi; ok is false when no nozzle passes that much.
func nozzleRatio(psi, gamma float64) (r float64, ok bool) {
	lo, hi := criticalRatio(gamma), 1.0
	if psi > nozzleFlux(lo, gamma) {
		return 0, false
	}
	if psi <= 0 {
		return 1, true
	}
	// ψ² falls steadily from the critical ratio to 1: Newton steps on it, halved when they leave the bracket.
	r = max(lo, 1-psi*psi/2)
	for range 100 {
		f := nozzleFlux(r, gamma)
		if f > psi {
			lo = r
		} else {
			hi = r
		}
		k := (gamma - 1) / gamma
		slope := 2 / k * (2/gamma*math.Pow(r, 2/gamma-1) - (gamma+1)/gamma*math.Pow(r, 1/gamma)) // dψ²/dr
		next := r - (f*f-psi*psi)/slope
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-r) < 1e-15 {
			return next, true
		}
		r = next
	}
	return r, true
}

// machOfFlow returns the subsonic or supersonic Mach number [-] of the flow whose mass flow over A·p/√(R·T0), with p the
// static pressure, is phi [-]. Every phi has exactly one answer.
//
//	φ² = γ·M²·(1 + (γ−1)/2·M²)
func machOfFlow(phi, gamma float64) float64 {
	a := (gamma - 1) / 2
	// The root of a quadratic in M², written so that a small φ loses no digits.
	x := phi * phi / gamma
	return math.Sqrt(2 * x / (1 + math.Sqrt(1+4*a*x)))
}

// totalRatio returns p0/p [-] at Mach number m [-].
func totalRatio(m, gamma float64) float64 {
	return math.Pow(1+(gamma-1)/2*m*m, gamma/(gamma-1))
}
