package wave

import "math"

// An Opening gives the effective area of an orifice over time.
type Opening interface {
	// Areas returns the effective areas [m²] at time t [s]: out for flow out
	// of the pipe (or from the first vessel of a Restriction), in for flow
	// into the pipe (into the first vessel). 0 is closed.
	Areas(t float64) (out, in float64)
}

// Fixed is an opening of constant effective area [m²], alike both ways.
type Fixed float64

// Areas returns the constant effective area [m²] for both directions.
func (a Fixed) Areas(float64) (out, in float64) { return float64(a), float64(a) }

// An Orifice is a nozzle of any effective area between a pipe end and a
// vessel: a valve, a throttle, a leak. The flow is isentropic from the
// upstream stagnation state to the downstream static pressure, choked at the
// speed of sound, and its jet is lost downstream:
//
//	ṁ = A_e·ρ_t·u_t,  ρ_t/ρ₀ = (p_t/p₀)^(1/γ),  u_t² = 2/(γ−1)·(a₀² − a_t²)
//
// On the pipe side the outgoing Riemann invariant holds; gas that enters takes
// its temperature from the energy balance h₀ = h + u²/2. An effective area
// above that of the pipe end acts as a full opening (A_e = A).
//
// Where the gas in the pipe runs away so fast that the entering gas would pass
// the speed of sound, it is held at it: the jet of a choked orifice mixes over
// the section of the pipe with shocks, and the section is choked at most. The
// mass flow is that of the choked orifice whichever way; what is held is how far
// the jet expands, which has no bound else and on coarse cells ends in a near
// vacuum:
//
//	ρ* = ṁ/(A·a*),  a*² = 2/(γ+1)·γ·R·T₀,  p* = ρ*·a*²/γ
//
// Source: the de Saint-Venant–Wantzel equation; the constant-pressure model of
// R. S. Benson, The Thermodynamics and Gas Dynamics of Internal-Combustion
// Engines, vol. 1 (1982) (from memory).
type Orifice struct {
	Pipe    End
	Vessel  Vessel
	Opening Opening
}

// Ends returns the pipe end.
func (o *Orifice) Ends() []End { return []End{o.Pipe} }

// Vessels returns the vessel.
func (o *Orifice) Vessels() []Vessel { return []Vessel{o.Vessel} }

// Solve finds the flow through the orifice at mid step.
func (o *Orifice) Solve(ports []*Port, t, dt float64) {
	p := ports[0]
	out, in := o.Opening.Areas(t + dt/2)
	if max(out, in) <= tiny*p.Area {
		var r ray
		p.ray(&r)
		p.shut(&r)
		return
	}
	v := o.Vessel.State()
	solveOrifice(p, &v, out, in)
}

// Commit hands the flow to the vessel.
func (o *Orifice) Commit(ports []*Port, dt float64) { give(o.Vessel, ports[0], dt) }

// Area returns the area of the pipe end [m²], the most the orifice can open.
func (o *Orifice) Area() float64 { return o.Pipe.area() }

// converged is the relative size of a Newton step after which the solution of a
// joint is as good as the square of that, some 1e-9.
const converged = 3e-5

// tiny is the share of the pipe area below which an orifice is shut.
const tiny = 1e-9

// ajar is the share of the pipe area below which the trail of an orifice says
// less of its flow than the closed end does. Newton's method on squares only
// halves a velocity that is guessed much too high.
const ajar = 0.03

// solveOrifice answers the port for a vessel state v and the effective areas [m²] both ways.
func solveOrifice(p *Port, v *State, out, in float64) {
	var r ray
	p.ray(&r)
	s, fed := 0.0, r.fed(v.P)
	if !fed {
		s = r.eta(v.P)
		fed = s > r.x
	}
	switch {
	case !fed && out > tiny*p.Area:
		p.leaveAs(leaveOrifice(p, &r, v.P/r.p, s, min(out/p.Area, 1)))
	case fed && in > tiny*p.Area:
		enterOrifice(p, &r, v, min(in/p.Area, 1))
	default:
		p.shut(&r)
	}
}

// leaveOrifice returns the ray with η and η^n of the gas that leaves the pipe
// through an orifice of the share phi of its area, for the pressure ratio q =
// p/p_i beyond and s = q^(1/(n+2)), by safeguarded Newton on the squares of
// the two mass fluxes.
func leaveOrifice(p *Port, r *ray, q, s, phi float64) (same *ray, eta, w float64) {
	n, x := r.n, r.x
	s2 := s * s
	rt := q / s2 // ρ_t/ρ_i
	crit := n / (n + 1)
	lo, hi := max(s, crit*x), x
	if phi >= 1 || s >= x {
		return r, lo, power(lo, n)
	}
	if phi < ajar {
		// The gas leaves as from a closed end, and hardly moves.
		g := rt * rt * n * (x*x - s2)
		if crit*x*x > s2 {
			g = power(crit*x*x, n+1)
		}
		eta = max(x-phi*math.Sqrt(g)/(n*power(x, n)), lo)
	} else {
		eta = p.trail.guess(slowness, lo, hi, 0.5*(lo+hi))
	}
	ip2 := 1 / (phi * phi)
	for range 50 {
		w = power(eta, n)
		d := x - eta
		// Squares of ρu/(ρ_i·a_i), in the pipe (f) and in the throat (g).
		f := ip2 * w * w * n * n * d * d
		df := 2 * ip2 * w * w * n * n * d * (n*d/eta - 1)
		e := n*d*d + eta*eta // a₀²/a_i²
		de := 2*eta - 2*n*d
		g := rt * rt * n * (e - s2)
		dg := rt * rt * n * de
		if crit*e > s2 { // choked: a_t² = crit·a₀², ρ_t = (a_t)^n
			g = power(crit*e, n+1)
			dg = (n + 1) * g / e * de
		}
		h := f - g
		if h > 0 {
			lo = eta
		} else {
			hi = eta
		}
		next := eta - h/(df-dg)
		if !(next >= lo && next <= hi) {
			next = 0.5 * (lo + hi)
		}
		c := next - eta
		w += n * w / eta * c // to first order, as good as the last step is small
		eta = next
		if math.Abs(c) < converged {
			break
		}
	}
	p.trail.note(slowness, eta)
	return r, eta, w
}

// leaky returns a guess of the pressure at the pipe end [Pa] where gas enters
// from the vessel through an orifice of a small share phi of the pipe's area:
// that of the closed end, raised by the gas that flows in against it.
func (r *ray) leaky(v *State, phi float64) float64 {
	r.still()
	u := phi * nozzleFlux(v, r.pz) * v.R * v.T / r.pz
	return min(r.pz+r.rhoz*r.a*r.x*u, 0.5*(r.pz+v.P))
}

// enterOrifice answers the port for gas that enters from the vessel through an
// orifice of the share phi of the pipe's area, by safeguarded Newton on the
// squares of the two mass fluxes, in the pressure at the pipe end.
func enterOrifice(p *Port, r *ray, v *State, phi float64) {
	m := 0.5 * (v.Gamma - 1)
	av2 := v.Gamma * v.R * v.T
	rhov := v.P / (v.R * v.T)
	crit := 1 / (1 + m)
	choked := 0.0          // the square of the choked mass flux, when it is known
	most := 0.98 / m * av2 // u² that would use up all enthalpy
	lo, hi := 0.0, v.P
	var pb float64
	if phi < ajar {
		pb = r.leaky(v, phi)
	} else {
		pb = p.trail.guess(pressure, lo, hi, 0.5*(min(r.p, hi)+hi))
	}
	ip2 := 1 / (phi * phi)
	kv := 2 * m / v.Gamma
	ipv := 1 / v.P
	var u, du float64
	for range 60 {
		u, du = r.push(pb)
		next := 0.0
		switch {
		case u >= 0:
			lo = pb
		case u*u >= most:
			hi = pb
		default:
			ia2, ipb := 1/(av2-m*u*u), 1/pb
			rho := v.Gamma * pb * ia2
			da := -2 * m * u * du * ia2
			// Squares of the mass flux in the pipe (f) and the throat (g).
			f := ip2 * rho * rho * u * u
			df := 2 * ip2 * rho * rho * u * (u*(ipb-da) + du)
			q := pb * ipv
			var g, dg float64
			if i2 := power(q, -kv); i2 < 1+m { // T₀/T of the throat, less than that of the speed of sound
				k := rhov * rhov * av2 * q * q * i2 / m
				g = k * (i2 - 1)
				dg = (2*g + k*(1-2*i2)*kv) * ipb
			} else {
				if choked == 0 {
					choked = av2 * rhov * rhov * power(crit, 1/m+1)
				}
				g = choked
			}
			h := f - g
			if h > 0 {
				hi = pb
			} else {
				lo = pb
			}
			next = pb - h/(df-dg)
		}
		if !(next > lo && next < hi) {
			next = 0.5 * (lo + hi)
		}
		d := next - pb
		pb = next
		u += du * d // to first order, as good as the last step is small
		if math.Abs(d) <= converged*pb {
			break
		}
	}
	p.trail.note(pressure, pb)
	if sonic2 := crit * av2; u*u > sonic2 { // the section is choked too: hold the jet at the speed of sound
		if choked == 0 {
			choked = av2 * rhov * rhov * power(crit, 1/m+1)
		}
		a := math.Sqrt(sonic2)
		rho := phi * math.Sqrt(choked) / a
		p.Set(rho, -a, rho*sonic2/v.Gamma, v.H, v.Y)
		return
	}
	p.Set(v.Gamma*pb/(av2-m*u*u), u, pb, v.H, v.Y)
}
