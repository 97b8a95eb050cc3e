package gas

import (
	"errors"
	"math"
)

// ErrNoDrop is returned when an effective area is asked for without a pressure drop.
var ErrNoDrop = errors.New("no pressure drop: an effective area needs a static pressure below the stagnation pressure")

// CriticalRatio returns the static over stagnation pressure r* [-] at which a nozzle chokes, for ratio of specific heats gamma [-].
//
//	r* = (2/(γ+1))^(γ/(γ−1))
//
// Source: NACA Report 1135 (1953), eq. (44) at M = 1.
func CriticalRatio(gamma float64) float64 {
	return math.Pow(2/(gamma+1), gamma/(gamma-1))
}

// highestCritical lies above the critical ratio of any gas [-], which tends to exp(−1/2) = 0.6065 for γ → 1.
const highestCritical = 0.607

// NozzleFunction returns the mass-flow function ψ [-] of an ideal nozzle for throat static over upstream stagnation pressure r [-]
// and ratio of specific heats gamma [-].
//
//	ψ = sqrt(2γ/(γ−1)·(r^(2/γ) − r^((γ+1)/γ))),  r not below r*
//
// It is 0 for r ≥ 1 and constant below the critical ratio (choked).
// Source: de Saint-Venant and Wantzel; NACA Report 1135 (1953), eq. (80) through eq. (44).
func NozzleFunction(r, gamma float64) float64 {
	if r >= 1 {
		return 0
	}
	if r < highestCritical {
		r = max(r, CriticalRatio(gamma))
	}
	ln := math.Log(r)
	// r^(2/γ)·(1 − r^((γ−1)/γ)), written so that a small drop keeps its digits.
	return math.Sqrt(-2 * gamma / (gamma - 1) * math.Exp(2*ln/gamma) * math.Expm1((gamma-1)/gamma*ln))
}

// NozzleRatio returns the static over stagnation pressure r [-] of the subsonic side at which NozzleFunction is psi [-],
// for ratio of specific heats gamma [-]. It returns r* when psi is at or above the choked value and 1 when psi ≤ 0.
// Source: inverse of NozzleFunction by bisection to the last bit.
func NozzleRatio(psi, gamma float64) float64 {
	lo, hi := CriticalRatio(gamma), 1.0
	if psi <= 0 {
		return 1
	}
	if psi >= NozzleFunction(lo, gamma) {
		return lo
	}
	for range 60 {
		mid := 0.5 * (lo + hi)
		if NozzleFunction(mid, gamma) > psi {
			lo = mid
		} else {
			hi = mid
		}
	}
	return 0.5 * (lo + hi)
}

// A Nozzle is the state that drives a flow: upstream stagnation and downstream static.
type Nozzle struct {
	Pressure    float64 // stagnation pressure upstream p0, absolute [Pa]
	Temperature float64 // stagnation temperature upstream T0 [K]
	Downstream  float64 // static pressure at the throat p, absolute [Pa]
	GasConstant float64 // specific gas constant R [J/(kg·K)]
	Gamma       float64 // ratio of specific heats γ [-]
}

// Flux returns the mass flow per area of the ideal nozzle [kg/(s·m²)]; 0 without a drop.
//
//	flux = p0/sqrt(R·T0)·ψ(p/p0)
//
// Source: de Saint-Venant and Wantzel, as NozzleFunction.
func (n Nozzle) Flux() float64 {
	return n.Pressure / math.Sqrt(n.GasConstant*n.Temperature) * NozzleFunction(n.Downstream/n.Pressure, n.Gamma)
}

// MassFlow returns the mass flow [kg/s] through an effective area [m²]. Definition.
func (n Nozzle) MassFlow(area float64) float64 { return area * n.Flux() }

// EffectiveArea returns the area [m²] of the ideal nozzle that passes the mass flow mass [kg/s]:
// A = mass/flux. Error: ErrNoDrop. Definition.
func (n Nozzle) EffectiveArea(mass float64) (float64, error) {
	flux := n.Flux()
	if !(flux > 0) {
		return 0, ErrNoDrop
	}
	return mass / flux, nil
}

// Choked reports whether the throat is at or below the critical pressure.
func (n Nozzle) Choked() bool { return n.Downstream <= n.Pressure*CriticalRatio(n.Gamma) }
