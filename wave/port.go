package wave

import "math"

// An End is one end of a pipe.
type End struct {
	pipe  *Pipe
	right bool
}

// Pipe returns the pipe the end belongs to.
func (e End) Pipe() *Pipe { return e.pipe }

// Right reports whether it is the right end (x = Length).
func (e End) Right() bool { return e.right }

// Mass returns the mass flow out of the pipe at this end in the last step [kg/s].
func (e End) Mass() float64 { return e.port().Mass }

// A Port is what a joint sees of a pipe end during one step: the gas that
// arrives at the end face half a step ahead, and the place for its answer.
// Velocities are positive out of the pipe.
type Port struct {
	Area  float64 // area of the end face [m²]
	Rho   float64 // density [kg/m³]
	U     float64 // velocity out of the pipe [m/s]
	P     float64 // absolute static pressure [Pa]
	Y     float64 // burned mass fraction [-]
	Beta  float64 // energy ratio e·ρ/p [-]
	Gamma float64 // isentropic exponent γ [-]

	// The answer, set by Set or SetInner.
	Mass     float64 // mass flow out of the pipe [kg/s]
	Enthalpy float64 // flow of total enthalpy out of the pipe [W]
	Burned   float64 // flow of burned mass out of the pipe [kg/s]
	Push     float64 // momentum flux p + ρu² on the face [Pa]
	FaceRho  float64 // density at the face [kg/m³]
	FaceU    float64 // velocity at the face, out of the pipe [m/s]
	FaceP    float64 // absolute static pressure at the face [Pa]
	FaceY    float64 // burned mass fraction at the face [-]

	trail trail
}

// A trail is the solutions of the last steps at a port, for the first guess of the next.
type trail struct {
	of                  unknown
	last, before, older float64 // 0 where there is none
}

// unknown says what a solution is of.
type unknown int

// The unknowns the joints solve for.
const (
	nothing  unknown = iota
	pressure         // at the pipe end or in the joint [Pa]
	slowness         // η of the gas that leaves [-]
)

// guess returns a first guess of this step's solution between lo and hi: the
// parabola through the three steps before, or the line through two, or from.
func (t *trail) guess(of unknown, lo, hi, from float64) float64 {
	if t.of != of {
		return from
	}
	if t.older > 0 {
		if g := 3*(t.last-t.before) + t.older; g > lo && g < hi {
			return g
		}
	}
	if g := 2*t.last - t.before; g > lo && g < hi && t.before > 0 {
		return g
	}
	if t.last > lo && t.last < hi {
		return t.last
	}
	return from
}

// note keeps the solution x of this step.
func (t *trail) note(of unknown, x float64) {
	if t.of != of {
		*t = trail{of: of}
	}
	t.last, t.before, t.older = x, t.last, t.before
}

// lose forgets the trail, where a step has nothing to solve.
func (t *trail) lose() { t.of = nothing }

// Set answers with the gas at the face: density rho [kg/m³], velocity u out of
// the pipe [m/s], absolute static pressure p [Pa], total enthalpy h0 [J/kg] and
// burned mass fraction y [-].
func (p *Port) Set(rho, u, pres, h0, y float64) {
	m := rho * u * p.Area
	p.Mass, p.Enthalpy, p.Burned = m, m*h0, m*y
	p.Push = pres + rho*u*u
	p.FaceRho, p.FaceU, p.FaceP, p.FaceY = rho, u, pres, y
}

// SetInner answers that the arriving gas goes through unchanged, as in
// supersonic outflow.
func (p *Port) SetInner() {
	p.Set(p.Rho, p.U, p.P, (p.Beta+1)*p.P/p.Rho+0.5*p.U*p.U, p.Y)
}

// A ray is what the gas that arrives at a pipe end (index i) allows there: the
// pressure and the velocity out of the pipe that one wave back into the pipe
// can bring about. While the pressure is no higher than at a closed end (index
// z) the wave is taken as isentropic, with η = a/a_i:
//
//	u = n·a_i·(x − η),  x = 1 + u_i/(n·a_i),  n = 2/(γ−1)
//	p = p_i·η^(n+2),  ρ = ρ_i·η^n,  at a closed end η = x
//
// A higher pressure pushes the gas back. Where it also lies above the pressure
// of the gas itself (index b: i, or z when the gas comes on) the wave is a shock:
//
//	u = u_b − (p − p_b)·√(2/ρ_b / ((γ+1)·p + (γ−1)·p_b))
//
// Sources: Riemann invariant and shock function, Toro (2009), eqs. 4.6–4.9.
type ray struct {
	n, a, p, rho, u, x float64
	k                  float64 // 1/(n+2)
	rt                 float64 // p/ρ [J/kg]
	pz, rhoz           float64 // set by still
}

// ray sets r to the wave that arrives at the port. Gas that arrives faster than
// sound has first passed a standing normal shock; leave undoes that where
// nothing holds the shock.
func (p *Port) ray(r *ray) {
	g, gm1 := p.Gamma, p.Gamma-1
	pres, rho, u := p.P, p.Rho, p.U
	if p.supersonic() {
		pres, rho, u = p.shocked()
	}
	// One division for all inverses, and little to do after it and after the root: the joints wait for them.
	f, e := g*gm1, rho*pres
	inv := 1 / (f * e)
	r.a = math.Sqrt(g * pres * pres * f * inv)
	r.n, r.k = 2*g*e*inv, 0.5*gm1*gm1*e*inv
	r.rt = pres * pres * f * inv
	r.p, r.rho, r.u, r.pz = pres, rho, u, 0
	// A wave that leaves a vacuum behind it is cut off far below any use. 1/a is a·ρ/(γp).
	r.x = 1 + r.a*(0.5*gm1*gm1*u*rho*rho*inv)
	if r.x < 0.2 {
		r.x = 0.2
	}
}

// still works out the state at a closed end.
func (r *ray) still() {
	if r.pz == 0 {
		w := power(r.x, r.n)
		r.pz, r.rhoz = r.p*w*r.x*r.x, r.rho*w
	}
}

// eta returns η at pressure p [Pa] on the isentropic branch.
func (r *ray) eta(p float64) float64 { return power(p/r.p, r.k) }

// fed reports whether a pressure p [Pa] is plainly above that of a closed end,
// which spares eta: the gas moves away from it and it is not below the gas's own.
func (r *ray) fed(p float64) bool { return r.x < 1 && p >= r.p }

// push returns the velocity out of the pipe [m/s] at a pressure p [Pa] that
// pushes the gas back, and its derivative [m/(s Pa)].
func (r *ray) push(p float64) (u, du float64) {
	pb, rhob, ub := r.p, r.rho, r.u
	if ub >= 0 {
		r.still()
		pb, rhob, ub = r.pz, r.rhoz, 0
	}
	if p > pb {
		// γ+1 and γ−1 over 2 are (n+1)/n and 1/n.
		n := r.n
		d := 1 / (rhob * ((n+1)*p + pb))
		q := math.Sqrt(n * d)
		return ub - (p-pb)*q, -q * (1 - 0.5*(p-pb)*(n+1)*rhob*d)
	}
	eta := r.eta(p)
	na := r.n * r.a
	return na * (r.x - eta), -na * eta * r.k / p
}

// shocked returns pressure [Pa], density [kg/m³] and velocity [m/s] behind a
// normal shock that stands in the arriving supersonic gas.
// Source: NACA Report 1135 (1953), eqs. 93–94.
func (p *Port) shocked() (pres, rho, u float64) {
	g := p.Gamma
	m2 := p.U * p.U * p.Rho / (g * p.P)
	k := (g + 1) * m2 / ((g-1)*m2 + 2)
	return p.P * (1 + 2*g/(g+1)*(m2-1)), p.Rho * k, p.U / k
}

// leave sets the port to the state η on the ray, gas that flows out of the pipe.
func (p *Port) leave(r *ray, eta float64) { p.leaveAs(r, eta, power(eta, r.n)) }

// leaveAs is leave with w = η^n known.
func (p *Port) leaveAs(r *ray, eta, w float64) {
	u := r.n * r.a * (r.x - eta)
	e2 := eta * eta
	pb := r.p * w * e2
	rho := r.rho * w
	rt := r.rt // of the cell
	if p.supersonic() {
		if rho*u >= p.Rho*p.U {
			// Nothing holds a shock in the pipe: the gas leaves as it comes.
			p.SetInner()
			return
		}
		rt = p.P / p.Rho
	}
	// The enthalpy of the cell, moved along the isentrope with the frozen γ; (n+2)/2 is γ/(γ−1).
	h := (p.Beta+1)*rt + 0.5*(r.n+2)*(r.rt*e2-rt)
	p.Set(rho, u, pb, h+0.5*u*u, p.Y)
}

// shut answers the port as at a closed end.
func (p *Port) shut(r *ray) {
	r.still()
	p.trail.lose()
	p.Set(r.rhoz, 0, r.pz, 0, p.Y)
}

// supersonic reports whether the gas arrives faster than sound.
func (p *Port) supersonic() bool {
	return p.U > 0 && p.U*p.U*p.Rho >= p.Gamma*p.P
}
