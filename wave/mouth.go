package wave

import "math"

// A Mouth is the fully open end of a pipe in a vessel: the open end to a room,
// the mouth of a runner in a plenum.
//
// Outflow leaves at the vessel's pressure and loses its velocity head there;
// faster than sound it is not held back, until a shock runs into the pipe. Inflow is accelerated without loss from rest in the vessel, except
// for the entry loss:
//
//	p₀ − K·½ρu² = p·(T₀/T)^(γ/(γ−1)),  h₀ = h + u²/2
//
// up to the speed of sound. Source: the isentropic nozzle (textbook), with the
// loss as a drop of total pressure.
type Mouth struct {
	Pipe   End
	Vessel Vessel
	// EntryLoss is the loss coefficient K [-] of inflow on the velocity head
	// in the pipe: 0 for a bellmouth, about 0.5 for a sharp edge in a wall.
	EntryLoss float64
}

// Ends returns the pipe end.
func (m *Mouth) Ends() []End { return []End{m.Pipe} }

// Vessels returns the vessel.
func (m *Mouth) Vessels() []Vessel { return []Vessel{m.Vessel} }

// Solve finds the flow through the mouth.
func (m *Mouth) Solve(ports []*Port, _, _ float64) {
	p := ports[0]
	v := m.Vessel.State()
	solveMouth(p, &v, m.EntryLoss)
}

// Commit hands the flow to the vessel.
func (m *Mouth) Commit(ports []*Port, dt float64) { give(m.Vessel, ports[0], dt) }

// Area returns the area of the pipe end [m²].
func (m *Mouth) Area() float64 { return m.Pipe.area() }

// give hands to the vessel what left the pipe in dt [s].
func give(v Vessel, p *Port, dt float64) {
	v.Add(dt*p.Mass, dt*p.Enthalpy, dt*p.Burned)
}

// solveMouth answers the port for a vessel state v and entry loss k.
func solveMouth(p *Port, v *State, k float64) {
	var r ray
	p.ray(&r)
	if r.fed(v.P) {
		enterMouth(p, &r, v, k)
		return
	}
	eta := r.eta(v.P)
	if eta > r.x {
		enterMouth(p, &r, v, k)
		return
	}
	if sonic := r.x * r.n / (r.n + 1); eta < sonic {
		p.leaveAs(&r, sonic, power(sonic, r.n))
	} else {
		p.leaveAs(&r, eta, v.P/(r.p*eta*eta))
	}
	p.trail.lose()
}

// enterMouth solves for inflow by safeguarded Newton in the pressure at the mouth.
func enterMouth(p *Port, r *ray, v *State, k float64) {
	m := 0.5 * (v.Gamma - 1)
	gg := 0.5 * v.Gamma / m
	av2 := v.Gamma * v.R * v.T
	sonic2 := av2 / (1 + m) // u² of sonic inflow, the most the mouth takes
	lo, hi := 0.0, v.P
	pb := p.trail.guess(pressure, lo, hi, 0.5*(min(r.p, hi)+hi))
	var u, du float64
	for range 60 {
		u, du = r.push(pb)
		next := 0.0
		switch {
		case u >= 0:
			lo = pb
		case u*u >= sonic2:
			hi = pb
		default:
			ia2, ipb := 1/(av2-m*u*u), 1/pb
			rho := v.Gamma * pb * ia2
			tot := pb * power(av2*ia2, gg)
			head := 0.5 * rho * u * u
			f := tot + k*head - v.P
			if f > 0 {
				hi = pb
			} else {
				lo = pb
			}
			da := -2 * m * u * du * ia2
			next = pb - f/(tot*(ipb-gg*da)+k*(head*(ipb-da)+rho*u*du))
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
	a2 := av2 - m*u*u
	if u*u >= sonic2*(1-1e-9) {
		u, a2 = -math.Sqrt(sonic2), sonic2
		pb = v.P / (power(av2/a2, gg) + 0.5*k*v.Gamma)
	}
	p.Set(v.Gamma*pb/a2, u, pb, v.H, v.Y)
}
