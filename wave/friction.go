package wave

import "math"

// A Friction gives the Darcy friction factor of a duct's wall.
type Friction interface {
	// Factor returns the Darcy friction factor f [-] at Reynolds number re [-]
	// on the hydraulic diameter d [m].
	Factor(re, d float64) float64
}

// Darcy is a friction factor that does not depend on the flow [-].
type Darcy float64

// Factor returns the constant Darcy friction factor [-].
func (f Darcy) Factor(_, _ float64) float64 { return float64(f) }

// Rough is a wall of equivalent sand roughness [m].
type Rough float64

// Factor returns the Darcy friction factor f [-] at Reynolds number re [-] on
// the hydraulic diameter d [m].
//
//	f = 64/Re                                                (Re ≤ 2000)
//	1/√f = −1.8·log10[(ε/(3.7·d))^1.11 + 6.9/Re]             (Re ≥ 4000)
//
// with straight interpolation between. Haaland's form follows Colebrook within
// 1.5 % for 4000 ≤ Re ≤ 1e8 and ε/d ≤ 0.05. Sources: Hagen–Poiseuille law;
// S. E. Haaland, J. Fluids Eng. 105 (1983) 89 (from memory).
func (e Rough) Factor(re, d float64) float64 { return roughFactor(1/max(re, 1e-9), e.term(d)) }

// term returns (ε/(3.7·d))^1.11 [-] for the hydraulic diameter d [m].
func (e Rough) term(d float64) float64 {
	if e <= 0 {
		return 0
	}
	return power(float64(e)/(3.7*d), 1.11)
}

// roughFactor returns the friction factor for the inverse Reynolds number q
// and the roughness term a.
func roughFactor(q, a float64) float64 {
	const laminar, turbulent = 1. / 2000, 1. / 4000
	switch {
	case q < turbulent:
		return haaland(q, a)
	case q < laminar:
		w := (1/q - 1/laminar) / (1/turbulent - 1/laminar)
		return (1-w)*64*laminar + w*haaland(turbulent, a)
	}
	return 64 * min(q, 1)
}

// haaland returns the friction factor for the inverse Reynolds number q and the
// roughness term a.
func haaland(q, a float64) float64 {
	const log10of2 = math.Ln2 / math.Ln10
	s := -1.8 * log10of2 * log2(a+6.9*q)
	return 1 / (s * s)
}

// A Wall exchanges heat with the gas.
type Wall struct {
	Temperature func(x float64) float64 // wall temperature [K] at x [m]
	Nusselt     Nusselt                 // nil: Manifold
}

// A Nusselt gives the Nusselt number Nu [-] for Reynolds number re [-], Darcy
// friction factor f [-] (0 when the duct has no friction) and Prandtl number pr [-].
type Nusselt func(re, f, pr float64) float64

// Manifold is the Nusselt number fitted to measured engine manifolds, where
// the flow pulsates:
//
//	Nu = 0.07·Re^(3/4), at least 3.66
//
// Source: a universal heat transfer correlation for intake and exhaust flows (2002),
// with correlations of 0.845 (intake) and 0.800 (exhaust) by its abstract; its authors C. Depcik &
// D. Assanis and its number SAE 2002-01-0372 from memory. The lower bound is laminar flow at constant
// wall temperature (textbook).
func Manifold(re, _, _ float64) float64 {
	s := math.Sqrt(re)
	return max(0.07*s*math.Sqrt(s), 3.66)
}

// Reynolds is the Reynolds–Colburn analogy between friction and heat:
//
//	Nu = (f/8)·Re·Pr^(1/3), at least 3.66
//
// Source: A. P. Colburn, Trans. AIChE 29 (1933) 174 (from memory).
func Reynolds(re, f, pr float64) float64 { return max(f/8*re*math.Cbrt(pr), 3.66) }

// Transport properties of air, used for burned gas too.
const (
	prandtl         = 0.71     // [-] air at 300–1500 K within 4 %, from memory
	sutherlandMu    = 1.716e-5 // [Pa s] at sutherlandT
	sutherlandT     = 273.15   // [K]
	sutherlandConst = 110.4    // [K]
)

// viscosity returns the dynamic viscosity µ [Pa s] of air at temperature t [K],
// from a table with straight lines between, within 5e-4 of sutherland for 150–4000 K.
func viscosity(t float64) float64 {
	x := t * (1. / viscosityStep)
	i := min(max(int(x), 0), len(viscosityTable)-2)
	f := x - float64(i)
	return viscosityTable[i]*(1-f) + viscosityTable[i+1]*f
}

const viscosityStep = 16 // [K]

// viscosityTable is made once and never written again.
var viscosityTable = makeViscosityTable()

func makeViscosityTable() (t [256]float64) {
	for i := range t {
		t[i] = sutherland(viscosityStep * float64(i))
	}
	return t
}

// sutherland returns the dynamic viscosity µ [Pa s] of air at temperature t [K].
//
//	µ = µ0·(T/T0)^(3/2)·(T0 + S)/(T + S)
//
// Source: Sutherland's law with F. M. White's constants for air (Viscous Fluid
// Flow, table 1-2, from memory), within 3 % for 170–1500 K.
func sutherland(t float64) float64 {
	r := t / sutherlandT
	return sutherlandMu * r * math.Sqrt(r) * (sutherlandT + sutherlandConst) / (t + sutherlandConst)
}
