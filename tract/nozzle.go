package tract

import "math"

// nozzleRatio returns the subsonic pressure ratio r [-] at which ψ(r) = psi; ok is false when no nozzle passes that much.
// It is gas.NozzleRatio by Newton steps, for the march that asks for it some thousand times.
func nozzleRatio(psi, gamma float64) (r float64, ok bool) {
	if psi <= 0 {
		return 1, true
	}
	k, c := (gamma-1)/gamma, 2*gamma/(gamma-1)
	// In L = ln r, ψ² = c·e^(2L/γ)·(1 − e^(kL)) falls from its greatest value at the critical ratio to 0 at L = 0.
	lo, hi := math.Log(2/(gamma+1))/k, 0.0
	square := psi * psi
	if square > c*math.Exp(2*lo/gamma)*-math.Expm1(k*lo) {
		return 0, false
	}
	l := max(lo, -square/2)
	for range 100 {
		e1, e2 := math.Exp(2*l/gamma), math.Expm1(k*l)
		f := -c*e1*e2 - square
		if f > 0 {
			lo = l
		} else {
			hi = l
		}
		next := l + f/(c*e1*(2/gamma*e2+k*(1+e2)))
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-l) <= 1e-14*math.Abs(l) {
			return math.Exp(next), true
		}
		l = next
	}
	return math.Exp(l), true
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
