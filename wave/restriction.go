package wave

import "math"

// A Restriction is an orifice between two vessels without a pipe: a throttle
// between room and plenum, a valve that discharges to a room.
type Restriction struct {
	From, To Vessel
	Opening  Opening

	mass, enthalpy, burned float64 // flow from From to To [kg/s], [W], [kg/s]
}

// Ends returns none.
func (r *Restriction) Ends() []End { return nil }

// Vessels returns the two vessels.
func (r *Restriction) Vessels() []Vessel { return []Vessel{r.From, r.To} }

// Solve finds the flow at mid step.
func (r *Restriction) Solve(_ []*Port, t, dt float64) {
	out, in := r.Opening.Areas(t + dt/2)
	if out == 0 && in == 0 {
		r.mass, r.enthalpy, r.burned = 0, 0, 0
		return
	}
	a, b := r.From.State(), r.To.State()
	if a.P >= b.P {
		m := min(out*nozzleFlux(&a, b.P), level(&a, &b)/dt)
		r.mass, r.enthalpy, r.burned = m, m*a.H, m*a.Y
	} else {
		m := -min(in*nozzleFlux(&b, a.P), level(&b, &a)/dt)
		r.mass, r.enthalpy, r.burned = m, m*b.H, m*b.Y
	}
}

// level returns half the mass [kg] that would bring the pressure of vessel a down to that
// of b, adiabatically. More must not flow in one step, or the gas would
// slosh to and fro between vessels that are level.
//
//	Δm = ½·Δp / (γ·R·T_a·(1/V_a + 1/V_b))
func level(a, b *State) float64 {
	inv := 0.0
	if a.V > 0 {
		inv += 1 / a.V
	}
	if b.V > 0 {
		inv += 1 / b.V
	}
	if inv == 0 {
		return math.Inf(1)
	}
	return 0.5 * (a.P - b.P) / (a.Gamma * a.R * a.T * inv)
}

// Commit moves the gas.
func (r *Restriction) Commit(_ []*Port, dt float64) {
	r.From.Add(-dt*r.mass, -dt*r.enthalpy, -dt*r.burned)
	r.To.Add(dt*r.mass, dt*r.enthalpy, dt*r.burned)
}

// Area returns 0 [m²]: a restriction does not limit the step; a vessel that
// must be followed closely limits it itself.
func (r *Restriction) Area() float64 { return 0 }

// Mass returns the mass flow of the last step, From to To [kg/s].
func (r *Restriction) Mass() float64 { return r.mass }

// nozzleFlux returns the mass flow per area [kg/(m² s)] from gas at rest in
// state v to static pressure p [Pa], choked at the critical ratio.
//
//	ṁ/A = p₀/√(R·T₀)·√(2γ/(γ−1)·(r^(2/γ) − r^((γ+1)/γ))),  r = max(p/p₀, r*)
//
// Source: de Saint-Venant–Wantzel; NACA Report 1135 (1953), eqs. 43–46.
func nozzleFlux(v *State, p float64) float64 {
	n := 2 / (v.Gamma - 1)
	crit := n / (n + 1)
	q := p / v.P
	s2 := power(q, 2/(n+2))
	rho := q / s2
	if s2 < crit {
		s2 = crit
		rho = power(crit, n/2)
	}
	return v.P / (v.R * v.T) * rho * math.Sqrt(n*v.Gamma*v.R*v.T*max(1-s2, 0))
}
