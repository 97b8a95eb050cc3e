package riemann

import (
	"errors"
	"fmt"
	"math"
)

// Errors of the exact solver.
var (
	// ErrVacuum reports two states that part so fast that a vacuum opens between them.
	ErrVacuum = errors.New("a vacuum opens between the states")
	// ErrState reports a state that is not a gas.
	ErrState = errors.New("not a gas state")
)

// A Solution is the exact solution of a Riemann problem.
type Solution struct {
	Left, Right State
	P           float64 // pressure between the waves p* [Pa]
	U           float64 // velocity between the waves u* [m/s]
	RhoLeft     float64 // density between left wave and contact [kg/m³]
	RhoRight    float64 // density between contact and right wave [kg/m³]
	LeftHead    float64 // speed of the left wave's head [m/s]
	LeftTail    float64 // speed of its tail [m/s], that of the head for a shock
	RightHead   float64 // speed of the right wave's head [m/s]
	RightTail   float64 // speed of its tail [m/s], that of the head for a shock
}

// Exact solves the Riemann problem: p* is the root of
//
//	f_L(p) + f_R(p) + u_R − u_L = 0
//	f_K(p) = (p − p_K)·√(A_K/(p + B_K))                         p > p_K (shock)
//	f_K(p) = 2a_K/(γ−1)·((p/p_K)^((γ−1)/(2γ)) − 1)              p ≤ p_K (rarefaction)
//	A_K = 2/((γ+1)ρ_K),  B_K = (γ−1)/(γ+1)·p_K
//
// found by Newton's method within a bracket to round-off. It fails with
// ErrVacuum when 2a_L/(γ_L−1) + 2a_R/(γ_R−1) ≤ u_R − u_L and with ErrState for
// states that are not a gas. Source: Toro (2009), eqs. 4.5–4.8, 4.40.
func Exact(l, r State) (Solution, error) {
	if !l.valid() || !r.valid() {
		return Solution{}, fmt.Errorf("%w: left %+v, right %+v", ErrState, l, r)
	}
	du := r.U - l.U
	if reach(l)+reach(r) <= du {
		return Solution{}, fmt.Errorf("%w: parting at %g m/s, reach %g m/s", ErrVacuum, du, reach(l)+reach(r))
	}
	p := starPressure(l, r, du)
	fl, _ := branch(l, p)
	fr, _ := branch(r, p)
	s := Solution{Left: l, Right: r, P: p, U: 0.5*(l.U+r.U) + 0.5*(fr-fl)}
	s.RhoLeft, s.LeftHead, s.LeftTail = wave(l, p, s.U, -1)
	s.RhoRight, s.RightHead, s.RightTail = wave(r, p, s.U, 1)
	return s, nil
}

// reach returns the speed at which the gas would run into a vacuum, 2a/(γ−1) [m/s].
func reach(s State) float64 { return 2 * s.SoundSpeed() / (s.Gamma - 1) }

// branch returns f_K(p) [m/s] and its derivative [m/(s Pa)].
func branch(s State, p float64) (f, df float64) {
	g := s.Gamma
	if p > s.P {
		a := 2 / ((g + 1) * s.Rho)
		b := (g - 1) / (g + 1) * s.P
		q := math.Sqrt(a / (p + b))
		return (p - s.P) * q, q * (1 - 0.5*(p-s.P)/(p+b))
	}
	c := s.SoundSpeed()
	x := math.Pow(p/s.P, (g-1)/(2*g))
	return 2 * c / (g - 1) * (x - 1), x * s.P / (p * s.Rho * c)
}

// starPressure returns p* [Pa] for the velocity difference du = u_R − u_L [m/s].
func starPressure(l, r State, du float64) float64 {
	f := func(p float64) (float64, float64) {
		fl, dl := branch(l, p)
		fr, dr := branch(r, p)
		return fl + fr + du, dl + dr
	}
	// f rises with p: bracket the root, then Newton, bisecting when it leaves.
	lo, hi := 0.0, max(l.P, r.P)
	for {
		if v, _ := f(hi); v >= 0 {
			break
		}
		lo, hi = hi, 2*hi
	}
	p := 0.5 * (lo + hi)
	// The guess of two rarefactions is exact for them and good near them.
	if l.Gamma == r.Gamma {
		z := (l.Gamma - 1) / (2 * l.Gamma)
		al, ar := l.SoundSpeed(), r.SoundSpeed()
		g := (al + ar - 0.5*(l.Gamma-1)*du) / (al/math.Pow(l.P, z) + ar/math.Pow(r.P, z))
		if t := math.Pow(g, 1/z); g > 0 && t > lo && t < hi {
			p = t
		}
	}
	for range 200 {
		v, d := f(p)
		if v == 0 {
			return p
		}
		if v > 0 {
			hi = p
		} else {
			lo = p
		}
		next := p - v/d
		if !(next > lo && next < hi) {
			next = 0.5 * (lo + hi)
		}
		if next == p || math.Abs(next-p) <= 2e-16*p {
			return next
		}
		p = next
	}
	return p
}

// wave returns the density behind the wave that runs to side (−1 left, 1
// right) and the speeds of its head and tail.
func wave(s State, p, u, side float64) (rho, head, tail float64) {
	g := s.Gamma
	q := p / s.P
	if p > s.P {
		k := (g - 1) / (g + 1)
		rho = s.Rho * (q + k) / (k*q + 1)
		head = s.U + side*s.SoundSpeed()*math.Sqrt((g+1)/(2*g)*q+(g-1)/(2*g))
		return rho, head, head
	}
	rho = s.Rho * math.Pow(q, 1/g)
	return rho, s.U + side*s.SoundSpeed(), u + side*math.Sqrt(g*p/rho)
}

// Sample returns the gas on the ray x/t = s [m/s] from the place where the
// states met. Source: Toro (2009), 4.5.
func (w Solution) Sample(s float64) State {
	if s <= w.U {
		return sampleSide(w.Left, State{Rho: w.RhoLeft, U: w.U, P: w.P, Gamma: w.Left.Gamma}, w.LeftHead, w.LeftTail, s, -1)
	}
	return sampleSide(w.Right, State{Rho: w.RhoRight, U: w.U, P: w.P, Gamma: w.Right.Gamma}, w.RightHead, w.RightTail, s, 1)
}

// sampleSide samples one side of the contact.
func sampleSide(far, star State, head, tail, s, side float64) State {
	switch {
	case side*s >= side*head:
		return far
	case side*s <= side*tail:
		return star
	}
	// Inside the fan: u and a are linear in x/t.
	g := far.Gamma
	a := 2/(g+1)*far.SoundSpeed() + side*(g-1)/(g+1)*(s-far.U)
	u := s - side*a
	x := a / far.SoundSpeed()
	return State{Rho: far.Rho * math.Pow(x, 2/(g-1)), U: u, P: far.P * math.Pow(x, 2*g/(g-1)), Gamma: g}
}
