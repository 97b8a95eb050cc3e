package wave

import (
	"errors"
	"fmt"
	"math"
)

// ErrGas reports a gas that cannot be built from its tables.
var ErrGas = errors.New("gas tables unusable")

// Range of temperature over which the polynomials of a tabulated gas are fitted.
const (
	gasColdest = 180.0  // [K] below it cv is held constant
	gasHottest = 3600.0 // [K]
	gasDegree  = 7      // degree of the mean-cv polynomials [-], odd: heats halves them
	// The polynomials run in τ = gasTop − gasScale/(T + gasShift), which is −1 and
	// 1 at the ends of the range and follows the rise of cv with temperature.
	gasShift = 400.0                                                                             // [K]
	gasScale = 2 * (gasColdest + gasShift) * (gasHottest + gasShift) / (gasHottest - gasColdest) // [K]
	gasTop   = 1 + gasScale/(gasHottest+gasShift)                                                // [-]
)

// A Component is one constituent of the flowing gas, an ideal gas.
type Component struct {
	R  float64                 // specific gas constant [J/(kg K)], > 0
	Cp func(T float64) float64 // specific heat at constant pressure [J/(kg K)] at T [K]
}

// A Gas is a mixture of a fresh (Y = 0) and a burned (Y = 1) ideal gas. Its
// internal energy is sensible only and counted from 0 K:
//
//	e(T, Y) = (1 − Y)·e_f(T) + Y·e_b(T),  e_k(T) = ∫₀ᵀ cv_k dT
//	R(Y)    = (1 − Y)·R_f + Y·R_b,        p = ρ·R·T
//
// The pipes use two numbers made from it, both frozen within a time step: the
// energy ratio β = ρe/p = e/(R·T), so that Γ = 1 + 1/β is the effective
// exponent, and the isentropic exponent γ = 1 + R/cv, which sets the speed of
// sound. For constant specific heats Γ = γ. A Gas is not changed after it is made and may be
// shared. Definition.
type Gas struct {
	rf, rd   float64 // R = rf + Y·rd
	constant bool
	gamma    float64 // [-] of a constant gas
	beta     float64 // [-] 1/(γ−1) of a constant gas
	// Mean specific heat e/T = Σ (cf[k] + Y·cd[k])·τ^k.
	cf, cd [gasDegree + 1]float64
}

// ConstantGas returns a gas of constant isentropic exponent gamma [-] (> 1) and
// specific gas constant r [J/(kg K)] (> 0); burned and fresh are alike. It panics on other values.
func ConstantGas(gamma, r float64) *Gas {
	if !(gamma > 1) || !(r > 0) {
		panic("wave: constant gas needs γ > 1 and R > 0")
	}
	g := &Gas{rf: r, constant: true, gamma: gamma, beta: 1 / (gamma - 1)}
	g.cf[0] = r / (gamma - 1)
	return g
}

// NewGas returns the gas made of two constituents whose specific heats are
// given as functions of temperature between 180 K and 3600 K. The mean
// specific heat e/T is fitted by a polynomial of degree 7 at Chebyshev nodes;
// below 180 K cv is held constant. It fails with ErrGas when a table is not
// finite or cp ≤ R somewhere.
func NewGas(fresh, burned Component) (*Gas, error) {
	cf, err := fitMeanCv(fresh)
	if err != nil {
		return nil, fmt.Errorf("fresh gas: %w", err)
	}
	cb, err := fitMeanCv(burned)
	if err != nil {
		return nil, fmt.Errorf("burned gas: %w", err)
	}
	g := &Gas{rf: fresh.R, rd: burned.R - fresh.R, cf: cf}
	for k := range cf {
		g.cd[k] = cb[k] - cf[k]
	}
	return g, nil
}

// fitMeanCv returns the polynomial coefficients of e/T.
func fitMeanCv(c Component) (coef [gasDegree + 1]float64, err error) {
	if !(c.R > 0) || c.Cp == nil {
		return coef, fmt.Errorf("%w: R must be > 0 and Cp given", ErrGas)
	}
	const n = gasDegree + 1
	var cheb [n]float64
	for j := range n {
		th := math.Pi * (float64(j) + 0.5) / n
		v, err := meanCv(c, gasScale/(gasTop-math.Cos(th))-gasShift)
		if err != nil {
			return coef, err
		}
		for k := range n {
			cheb[k] += 2 * v * math.Cos(float64(k)*th) / n
		}
	}
	cheb[0] /= 2
	// Chebyshev sum to powers of τ, by the recurrence of the polynomials.
	var t0, t1 [n]float64
	t0[0], t1[1] = 1, 1
	coef[0] = cheb[0]
	for k := 1; k < n; k++ {
		for i := range n {
			coef[i] += cheb[k] * t1[i]
		}
		var t2 [n]float64
		for i := 1; i < n; i++ {
			t2[i] = 2 * t1[i-1]
		}
		for i := range n {
			t2[i] -= t0[i]
		}
		t0, t1 = t1, t2
	}
	return coef, nil
}

// meanCv returns e(T)/T [J/(kg K)], integrating cp − R by Gauss–Legendre panels.
func meanCv(c Component, t float64) (float64, error) {
	cv := func(t float64) (float64, error) {
		v := c.Cp(t) - c.R
		if !(v > 0) || math.IsInf(v, 0) {
			return 0, fmt.Errorf("%w: cv = %g J/(kg K) at %g K", ErrGas, v, t)
		}
		return v, nil
	}
	v, err := cv(gasColdest)
	if err != nil {
		return 0, err
	}
	e := v * min(t, gasColdest)
	x := [3]float64{-math.Sqrt(0.6), 0, math.Sqrt(0.6)}
	w := [3]float64{5. / 9, 8. / 9, 5. / 9}
	panels := int(math.Ceil((t - gasColdest) / 20))
	for i := range max(panels, 0) {
		h := (t - gasColdest) / float64(panels)
		mid := gasColdest + (float64(i)+0.5)*h
		for j := range x {
			v, err := cv(mid + x[j]*h/2)
			if err != nil {
				return 0, err
			}
			e += w[j] * v * h / 2
		}
	}
	return e / t, nil
}

// Constant reports whether the specific heats do not depend on temperature or composition.
func (g *Gas) Constant() bool { return g.constant }

// R returns the specific gas constant [J/(kg K)] at burned mass fraction y [-].
func (g *Gas) R(y float64) float64 { return g.rf + y*g.rd }

// heats returns the mean specific heat e/T and cv [J/(kg K)]. The polynomial goes
// in two halves, of even and odd powers, which a processor works out side by side.
func (g *Gas) heats(t, y float64) (mean, cv float64) {
	if g.constant {
		return g.cf[0], g.cf[0]
	}
	inv := 1 / (t + gasShift)
	tau := gasTop - gasScale*inv
	z := tau * tau
	const top = gasDegree - 1
	even, odd := g.cf[top]+y*g.cd[top], g.cf[top+1]+y*g.cd[top+1]
	deven, dodd := 0.0, 0.0
	for k := top - 2; k >= 0; k -= 2 {
		deven, dodd = deven*z+even, dodd*z+odd
		even, odd = even*z+(g.cf[k]+y*g.cd[k]), odd*z+(g.cf[k+1]+y*g.cd[k+1])
	}
	mean = even + tau*odd
	return mean, mean + (odd+2*tau*(deven+tau*dodd))*t*(gasScale*inv*inv)
}

// Energy returns the specific internal energy e [J/kg] at temperature t [K] and
// burned mass fraction y [-].
func (g *Gas) Energy(t, y float64) float64 {
	m, _ := g.heats(t, y)
	return m * t
}

// Enthalpy returns the specific enthalpy h = e + R·T [J/kg] at temperature t
// [K] and burned mass fraction y [-].
func (g *Gas) Enthalpy(t, y float64) float64 { return g.Energy(t, y) + g.R(y)*t }

// Cv returns the specific heat at constant volume [J/(kg K)] at temperature t
// [K] and burned mass fraction y [-].
func (g *Gas) Cv(t, y float64) float64 {
	_, cv := g.heats(t, y)
	return cv
}

// Gamma returns the isentropic exponent γ = 1 + R/cv [-] at temperature t [K]
// and burned mass fraction y [-].
func (g *Gas) Gamma(t, y float64) float64 {
	if g.constant {
		return g.gamma
	}
	return 1 + g.R(y)/g.Cv(t, y)
}

// SoundSpeed returns a = √(γRT) [m/s] at temperature t [K] and burned mass
// fraction y [-].
func (g *Gas) SoundSpeed(t, y float64) float64 {
	return math.Sqrt(g.Gamma(t, y) * g.R(y) * t)
}

// Temperature returns the temperature [K] at which the specific internal
// energy is e [J/kg], for burned mass fraction y [-], by Newton's method from
// a first guess near [K] (0 for none).
func (g *Gas) Temperature(e, y, near float64) float64 {
	if g.constant {
		return e / g.cf[0]
	}
	t := near
	if !(t > 0) {
		t = e / (g.cf[0] + y*g.cd[0])
	}
	for range 20 {
		mean, cv := g.heats(t, y)
		d := (e - mean*t) / cv
		t = max(t+d, 0.3*t)
		if math.Abs(d) <= 1e-7*t { // the next step would be some tenth of the square of it
			break
		}
	}
	return t
}

// Near returns the temperature [K] at which the specific internal energy is e
// [J/kg], for burned mass fraction y [-], by one step of Newton's method from a
// guess near [K]: off by some tenth of the square of the guess's own error.
func (g *Gas) Near(e, y, near float64) float64 {
	mean, cv := g.heats(near, y)
	return near + (e-mean*near)/cv
}

// at returns the state of the gas at pressure p [Pa], temperature t [K] and
// burned fraction y [-].
func (g *Gas) at(p, t, y float64) State {
	r := g.R(y)
	mean, cv := g.heats(t, y)
	gamma := 1 + r/cv
	if g.constant {
		// The pressure as a cell with this energy would have it, so that
		// equal pressures are equal to the last bit.
		gamma, p = g.gamma, (g.gamma-1)*g.density(p, t, y)
	}
	return State{P: p, T: t, Y: y, R: r, Gamma: gamma, H: (mean + r) * t}
}

// density returns the internal energy per volume ρe [J/m³] at pressure p [Pa],
// temperature t [K] and burned fraction y [-].
func (g *Gas) density(p, t, y float64) float64 {
	if g.constant {
		return p * g.beta
	}
	return p / (g.R(y) * t) * g.Energy(t, y)
}

// At returns the full state of the gas at absolute pressure p [Pa], temperature t [K] and
// burned mass fraction y [-].
func (g *Gas) At(p, t, y float64) State { return g.at(p, t, y) }
