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

	last float64 // solution of the step before, the first guess of this one
}

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

// A ray is the right-running simple wave that arrives at a pipe end. On it the
// entropy and the Riemann invariant u + n·a are constant, n = 2/(γ−1); the
// state is counted from the one it would have at a closed end (index z):
//
//	η = a/a_z,  u = n·a_z·(1 − η),  p = p_z·η^(n+2),  ρ = ρ_z·η^n
type ray struct {
	n, c     float64 // n [-], a_z [m/s]
	pz, rhoz float64 // [Pa], [kg/m³]
}

// ray returns the wave that arrives at the port. Gas that arrives faster than
// sound has first passed a standing normal shock; leave undoes that where
// nothing holds the shock.
func (p *Port) ray() ray {
	n := 2 / (p.Gamma - 1)
	pr, rho, u := p.P, p.Rho, p.U
	if p.supersonic() {
		pr, rho, u = p.shocked()
	}
	a := math.Sqrt(p.Gamma * pr / rho)
	// A wave that leaves a vacuum behind it is cut off far below any use.
	x := max(1+u/(n*a), 0.2)
	w := power(x, n)
	return ray{n: n, c: a * x, pz: pr * w * x * x, rhoz: rho * w}
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
func (p *Port) leave(r *ray, eta float64) {
	w := power(eta, r.n)
	u := r.n * r.c * (1 - eta)
	pb := r.pz * w * eta * eta
	rho := r.rhoz * w
	if p.supersonic() && rho*u >= p.Rho*p.U {
		// Nothing holds a shock in the pipe: the gas leaves as it comes.
		p.SetInner()
		return
	}
	// The enthalpy of the cell, moved along the isentrope with the frozen γ.
	h := (p.Beta+1)*p.P/p.Rho + p.Gamma/(p.Gamma-1)*(pb/rho-p.P/p.Rho)
	p.Set(rho, u, pb, h+0.5*u*u, p.Y)
}

// supersonic reports whether the gas arrives faster than sound.
func (p *Port) supersonic() bool {
	return p.U > 0 && p.U*p.U*p.Rho >= p.Gamma*p.P
}
