package tract

import (
	"math"

	"runnel/gas"
)

// nozzleRatio returns the subsonic pressure ratio r [-] at which ψ(r) = psi; ok is false when no nozzle passes that much.
// It is gas.NozzleRatio by Newton steps, for the march that asks for it some thousand times.
func nozzleRatio(psi, gamma float64) (r float64, ok bool) {
	lo, hi := gas.CriticalRatio(gamma), 1.0
	if psi > gas.NozzleFunction(lo, gamma) {
		return 0, false
	}
	if psi <= 0 {
		return 1, true
	}
	// ψ² falls steadily from the critical ratio to 1: Newton steps on it, halved when they leave the bracket.
	r = max(lo, 1-psi*psi/2)
	for range 100 {
		f := gas.NozzleFunction(r, gamma)
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
