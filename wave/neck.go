package wave

import "math"

// A Neck joins two pipe ends through an opening of any effective area, with a
// jet that spreads in the pipe beyond:
//
//	ṁ = A_e·ρ_t·u_t                       isentropic from the feeding pipe
//	p_t·A₂ + ṁ·u_t = p₂·A₂ + ṁ·u₂         momentum of the spreading jet
//	h₀ alike
//
// choked at the speed of sound in the throat. For A_e equal to the area of a
// smaller feeding pipe this is the Borda–Carnot expansion; for A_e = A₂/(1 + √K) a
// contraction of loss K. A throttle plate in a pipe is a Neck.
// Source: momentum balance of a sudden expansion (textbook).
type Neck struct {
	A, B    End
	Opening Opening // out: from A to B, in: from B to A
}

// Ends returns the two pipe ends.
func (k *Neck) Ends() []End { return []End{k.A, k.B} }

// Vessels returns none.
func (k *Neck) Vessels() []Vessel { return nil }

// Commit does nothing: what leaves one pipe has entered the other.
func (k *Neck) Commit([]*Port, float64) {}

// Area returns 0 [m²].
func (k *Neck) Area() float64 { return 0 }

// Solve finds the flow at mid step.
func (k *Neck) Solve(ports []*Port, t, dt float64) {
	out, in := k.Opening.Areas(t + dt/2)
	a, b := ports[0], ports[1]
	var ra, rb ray
	a.ray(&ra)
	b.ray(&rb)
	ra.still()
	rb.still()
	if ra.pz >= rb.pz {
		solveNeck(a, b, &ra, &rb, out)
	} else {
		solveNeck(b, a, &rb, &ra, in)
	}
}

// An AreaStep joins two pipe ends of different area at a sudden step, with the
// Borda–Carnot loss where the flow widens and a contraction loss where it
// narrows.
type AreaStep struct {
	A, B End
	// Contraction returns the loss coefficient K [-] on the velocity head of
	// the smaller pipe for the area ratio small over large [-]; nil takes
	// SharpContraction.
	Contraction func(ratio float64) float64
}

// SharpContraction returns the loss coefficient K [-] of a sudden sharp-edged
// contraction on the velocity head of the smaller pipe, for the area ratio
// small over large [-] in (0, 1].
//
//	K = 0.0696·(1 − β⁵)·λ² + (λ − 1)²,  λ = 1 + 0.622·(1 − 0.215β² − 0.785β⁵),  β = √ratio
//
// Source: D. C. Rennels & H. M. Hudson, Pipe Flow (2012), ch. 10.
func SharpContraction(ratio float64) float64 {
	b2 := ratio
	b5 := b2 * b2 * math.Sqrt(ratio)
	l := 1 + 0.622*(1-0.215*b2-0.785*b5)
	return 0.0696*(1-b5)*l*l + (l-1)*(l-1)
}

// Ends returns the two pipe ends.
func (s *AreaStep) Ends() []End { return []End{s.A, s.B} }

// Vessels returns none.
func (s *AreaStep) Vessels() []Vessel { return nil }

// Commit does nothing: what leaves one pipe has entered the other.
func (s *AreaStep) Commit([]*Port, float64) {}

// Area returns 0 [m²].
func (s *AreaStep) Area() float64 { return 0 }

// Solve finds the flow across the step.
func (s *AreaStep) Solve(ports []*Port, _, _ float64) {
	a, b := ports[0], ports[1]
	var ra, rb ray
	a.ray(&ra)
	b.ray(&rb)
	ra.still()
	rb.still()
	if ra.pz >= rb.pz {
		solveNeck(a, b, &ra, &rb, s.effective(a.Area, b.Area))
	} else {
		solveNeck(b, a, &rb, &ra, s.effective(b.Area, a.Area))
	}
}

// effective returns the area [m²] of the jet that enters the downstream pipe.
func (s *AreaStep) effective(up, down float64) float64 {
	if up <= down {
		return up
	}
	f := s.Contraction
	if f == nil {
		f = SharpContraction
	}
	return down / (1 + math.Sqrt(f(down/up)))
}

// solveNeck answers both ports for flow from up to down through the effective
// area ae [m²]. The unknown is the static pressure in the throat.
func solveNeck(up, down *Port, r1, r2 *ray, ae float64) {
	ae = min(ae, up.Area, down.Area)
	if ae <= tiny*up.Area || r1.pz == r2.pz {
		up.shut(r1)
		down.shut(r2)
		return
	}
	phi := ae / up.Area
	// pt is the pressure on the back of the step; it is that of the jet too,
	// until the jet is choked.
	lo, hi := 1e-3*r1.pz, r1.pz
	pt := down.trail.last
	if down.trail.of != pressure || !(pt > lo && pt < hi) {
		pt = min(max(r2.pz, 0.3*hi), hi*(1-1e-6))
	}
	var prev, res float64
	for it := range 80 {
		r := neckResidual(up, down, r1, r2, phi, ae, pt)
		if r > 0 {
			lo = pt
		} else {
			hi = pt
		}
		slope := -down.Area * (1 + ae/down.Area)
		if it > 0 && pt != prev {
			if k := (r - res) / (pt - prev); k < 0 {
				slope = k
			}
		}
		prev, res = pt, r
		next := pt - r/slope
		if !(next >= lo && next <= hi) {
			next = 0.5 * (lo + hi)
		}
		d := math.Abs(next - pt)
		pt = next
		if d <= 1e-13*pt {
			break
		}
	}
	neckResidual(up, down, r1, r2, phi, ae, pt)
	down.trail.note(pressure, pt)
	down.Mass, down.Enthalpy, down.Burned = -up.Mass, -up.Enthalpy, -up.Burned
}

// neckResidual answers both ports for throat pressure pt [Pa] and returns the
// momentum that is out of balance [N]; it falls as pt rises.
func neckResidual(up, down *Port, r1, r2 *ray, phi, ae, pt float64) float64 {
	n := r1.n
	s := r1.eta(pt)
	up.leaveAs(leaveOrifice(up, r1, pt/r1.p, s, phi))
	mass := up.Mass
	a02 := up.Gamma*up.FaceP/up.FaceRho + up.FaceU*up.FaceU/n
	e := a02 / (r1.a * r1.a)
	pe := pt
	var ut float64
	if crit := n / (n + 1); crit*e > s*s { // choked
		ut = math.Sqrt(crit * a02)
		pe = r1.p * power(crit*e, 0.5*(n+2))
	} else {
		ut = math.Sqrt(max(n*(a02-s*s*r1.a*r1.a), 0))
	}
	u2, p2, rho2 := receive(r2, mass/down.Area, a02, up.Gamma)
	down.Set(rho2, u2, p2, up.Enthalpy/max(mass, 1e-300), up.Y)
	// Throat pressure acts on the jet, base pressure pt on the rest of the face.
	return p2*down.Area - mass*u2 - (pe*ae + pt*(down.Area-ae) + mass*ut)
}

// receive returns velocity out of the pipe [m/s], pressure [Pa] and density
// [kg/m³] at the end of a pipe that is fed the mass flux g [kg/(m² s)] of gas
// of stagnation sound speed √a02 [m/s] and exponent gamma [-].
func receive(r *ray, g, a02, gamma float64) (u, p, rho float64) {
	if g <= 0 {
		return 0, r.pz, gamma * r.pz / a02
	}
	k := 0.5 * (gamma - 1)
	most := 0.98 * a02 / k
	lo, hi := r.pz, math.Inf(1)
	p = r.pz + g*r.a // acoustic guess
	for range 80 {
		var du float64
		u, du = r.push(p)
		next := lo
		if u*u < most {
			a2 := a02 - k*u*u
			rho = gamma * p / a2
			f := -rho*u - g
			if f > 0 {
				hi = p
			} else {
				lo = p
			}
			next = p - f/(-rho*du-u*rho*(1/p+2*k*u*du/a2))
		} else {
			hi = p
		}
		if !(next > lo && next < hi) {
			next = 0.5 * (lo + min(hi, 3*p))
		}
		d := math.Abs(next - p)
		p = next
		if d <= 1e-14*p {
			break
		}
	}
	u, _ = r.push(p)
	return u, p, gamma * p / (a02 - k*u*u)
}
