package wave

import "math"

// A Junction joins any number of pipe ends at one point without volume: the
// static pressure there is common, masses balance, and the gas that leaves
// carries the mean enthalpy and composition of the gas that arrives:
//
//	p_k = p_j ± K_k·½ρ_k·u_k²,  Σ ṁ_k = 0,  h₀ = Σ⁺ ṁ·h₀ / Σ⁺ ṁ
//
// with + where the pipe feeds the junction and − where it is fed, so a loss K
// always costs pressure. Source: the constant-pressure junction of R. S.
// Benson (1982, from memory), with losses; no pipe angles.
type Junction struct {
	Pipes []End
	Loss  []float64 // loss coefficient K [-] of every pipe on its own velocity head; nil: none

	rays []ray
}

// Ends returns the pipe ends.
func (j *Junction) Ends() []End { return j.Pipes }

// Vessels returns none.
func (j *Junction) Vessels() []Vessel { return nil }

// Commit does nothing: what leaves one pipe has entered another.
func (j *Junction) Commit([]*Port, float64) {}

// Area returns 0 [m²].
func (j *Junction) Area() float64 { return 0 }

// Solve finds the common pressure by safeguarded Newton steps, the last of
// which is checked by the answer itself.
func (j *Junction) Solve(ports []*Port, _, _ float64) {
	if j.rays == nil {
		j.rays = make([]ray, len(ports))
	}
	lo, hi, linear, pj := math.Inf(1), 0.0, 0.0, 0.0
	for i, p := range ports {
		r := &j.rays[i]
		p.ray(r)
		r.still()
		lo, hi = min(lo, r.pz), max(hi, r.pz)
		// The linear answer: pressures weighed by A/a.
		w := p.Area / r.a
		linear += w
		pj += r.pz * w
	}
	pj = ports[0].trail.guess(pressure, lo, hi, pj/linear)
	s, slope := j.net(ports, pj)
	for range 60 {
		if !(slope > 0) {
			slope = linear
		}
		if s > 0 {
			lo = pj
		} else {
			hi = pj
		}
		next := pj + s/slope
		if !(next >= lo && next <= hi) {
			next = 0.5 * (lo + hi)
		}
		prev, was := pj, s
		pj = next
		s = j.balance(ports, pj)
		if math.Abs(s) <= balanced*slope*pj {
			break
		}
		// A Newton step leaves a thousandth of itself where no pipe has turned about: the secant is as good from here on.
		if pj != prev {
			slope = (was - s) / (pj - prev)
		}
	}
	ports[0].trail.note(pressure, pj)
	j.square(ports)
}

// balanced is the relative error of a junction's pressure that square may even out [-].
const balanced = 1e-7

// net returns the net mass flow into the junction [kg/s] at pressure pj [Pa], as
// balance does, without the rest of the answer; and how it falls with pressure
// [kg/(s Pa)], or 0 where that is not worked out.
func (j *Junction) net(ports []*Port, pj float64) (mass, slope float64) {
	// Sums over the feeding pipes, and how they rise with pressure.
	a02, gamma, dm, da02, dgamma := 0.0, 0.0, 0.0, 0.0, 0.0
	inv := 1 / pj
	for i, p := range ports {
		r := &j.rays[i]
		if r.pz <= pj {
			continue
		}
		if j.Loss != nil || p.supersonic() {
			return j.balance(ports, pj), 0
		}
		q := pj / r.p
		eta := power(q, r.k)
		d := r.x - eta
		deta := r.k * eta * inv
		if sonic := r.x * r.n / (r.n + 1); eta < sonic {
			d = r.x - sonic
			eta, q, deta = sonic, power(sonic, r.n+2), 0
		}
		f := p.Area * r.rho * q / (eta * eta) * r.n * r.a // m is f·d, and f goes with η^n
		m, mm := f*d, f*(r.n*d/eta-1)*deta
		h := r.a * r.a * (eta*eta + r.n*d*d)
		mass += m
		dm += mm
		a02 += m * h
		da02 += mm*h + m*r.a*r.a*2*(eta-r.n*d)*deta
		gamma += m * p.Gamma
		dgamma += mm * p.Gamma
	}
	if !(mass > 0) {
		return j.balance(ports, pj), 0
	}
	im := 1 / mass
	a02, gamma = a02*im, gamma*im
	da02, dgamma = (da02-a02*dm)*im, (dgamma-gamma*dm)*im
	slope = -dm
	most := 2 * a02 / (gamma + 1)
	for i, p := range ports {
		r := &j.rays[i]
		if r.pz > pj {
			continue
		}
		u, du := r.push(pj)
		if u*u > most {
			u, du = -math.Sqrt(most), 0
		}
		ia2 := 1 / (a02 - 0.5*(gamma-1)*u*u)
		da2 := da02 - 0.5*dgamma*u*u - (gamma-1)*u*du
		f := p.Area * pj * ia2
		mass += gamma * f * u
		slope -= f * (gamma*du + u*(dgamma+gamma*(inv-da2*ia2)))
	}
	return mass, slope
}

// balance answers all ports for junction pressure pj and returns the net mass
// flow into the junction [kg/s].
func (j *Junction) balance(ports []*Port, pj float64) float64 {
	mass, enth, burn, a02 := 0.0, 0.0, 0.0, 0.0
	gamma := 0.0
	for i, p := range ports {
		r := &j.rays[i]
		if r.pz <= pj {
			continue
		}
		k, q := j.loss(i), pj/r.p
		eta, sonic := power(q, r.k), r.x*r.n/(r.n+1)
		if k > 0 {
			eta = j.against(r, eta, pj, k, p.Rho)
		}
		switch {
		case eta < sonic:
			p.leave(r, sonic)
		case k > 0:
			p.leave(r, eta)
		default:
			p.leaveAs(r, eta, q/(eta*eta))
		}
		mass += p.Mass
		enth += p.Enthalpy
		burn += p.Burned
		a02 += p.Mass * (p.Gamma*p.FaceP/p.FaceRho + p.FaceU*p.FaceU/r.n)
		gamma += p.Mass * p.Gamma
	}
	fed := mass > 0
	h0, y := 0.0, 0.0
	if fed {
		h0, y, a02, gamma = enth/mass, burn/mass, a02/mass, gamma/mass
	}
	net := mass
	for i, p := range ports {
		r := &j.rays[i]
		if r.pz > pj {
			continue
		}
		if !fed {
			a02, gamma, y = r.a*r.a, p.Gamma, p.Y
		}
		u, pb := j.admit(r, pj, j.loss(i), gamma/a02, 2*a02/(gamma+1))
		p.Set(gamma*pb/(a02-0.5*(gamma-1)*u*u), u, pb, h0, y)
		net += p.Mass
	}
	return net
}

// loss returns the loss coefficient of pipe i.
func (j *Junction) loss(i int) float64 {
	if j.Loss == nil {
		return 0
	}
	return j.Loss[i]
}

// against returns η of gas that leaves a pipe against the pressure pj + k·½ρu²
// [Pa], with density rho [kg/m³], from η without loss.
func (j *Junction) against(r *ray, eta, pj, k, rho float64) float64 {
	// η^(n+2)·p_i = p_j + k·½ρ·(n·a_i)²·(x−η)², by Newton.
	q := 0.5 * k * rho * r.n * r.n * r.a * r.a
	for range 30 {
		pb := r.p * power(eta, r.n+2)
		f := pb - pj - q*(r.x-eta)*(r.x-eta)
		d := f / ((r.n+2)*pb/eta + 2*q*(r.x-eta))
		eta = min(eta-d, r.x)
		if math.Abs(d) < 1e-13 {
			break
		}
	}
	return eta
}

// admit returns velocity out of the pipe [m/s] and pressure [Pa] of gas that
// enters a pipe from pressure pj with loss k: p + k·½ρu² = p_j, ρ = s·p. The
// speed is held to the most [m²/s²] u² may be.
func (j *Junction) admit(r *ray, pj, k, s, most float64) (u, pb float64) {
	pb = pj
	if k == 0 {
		u, _ = r.push(pb)
		if u*u > most {
			u = -math.Sqrt(most)
		}
		return u, pb
	}
	lo, hi := r.pz, pj
	for range 60 {
		var du float64
		u, du = r.push(pb)
		f := pb*(1+0.5*k*s*u*u) - pj
		if f > 0 {
			hi = pb
		} else {
			lo = pb
		}
		if f == 0 {
			break
		}
		next := pb - f/(1+0.5*k*s*u*u+pb*k*s*u*du)
		if !(next >= lo && next <= hi) {
			next = 0.5 * (lo + hi)
		}
		d := math.Abs(next - pb)
		pb = next
		if d <= 1e-14*pb {
			break
		}
	}
	u, _ = r.push(pb)
	if u*u > most {
		u = -math.Sqrt(most)
	}
	return u, pb
}

// square makes the flows balance to the last bit: the fed pipes share what the
// feeding pipes bring, in proportion, and the largest takes the remainder.
func (j *Junction) square(ports []*Port) {
	in, out, big := 0.0, 0.0, -1
	for i, p := range ports {
		if p.Mass > 0 {
			in += p.Mass
			continue
		}
		out -= p.Mass
		if p.Mass < 0 && (big < 0 || p.Mass < ports[big].Mass) {
			big = i
		}
	}
	if in <= 0 || out <= 0 {
		for _, p := range ports {
			p.Mass, p.Enthalpy, p.Burned = 0, 0, 0
		}
		return
	}
	var rest [3]float64
	for i, p := range ports {
		if i == big {
			continue
		}
		if p.Mass < 0 {
			f := in / out
			p.Mass *= f
			p.Enthalpy *= f
			p.Burned *= f
		}
		rest[0] -= p.Mass
		rest[1] -= p.Enthalpy
		rest[2] -= p.Burned
	}
	ports[big].Mass, ports[big].Enthalpy, ports[big].Burned = rest[0], rest[1], rest[2]
}
