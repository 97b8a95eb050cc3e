package wave

import "math"

// A kernel takes a bank through the two passes of a step.
type kernel struct {
	name string
	// faces reconstructs the state half a step of dt [s] ahead and sets the
	// flux of every inner face, the mid pressures and the states at the ends.
	// first drops all slopes (used to rescue a spoiled step).
	faces func(b *bank, dt float64, first bool)
	// update writes the next conserved state from the fluxes and makes the
	// primitives of it.
	update func(b *bank, dt float64)
}

// plain is the kernel written in ordinary Go, lane by lane.
var plain = kernel{name: "plain Go", faces: plainFaces, update: plainUpdate}

// KernelName says which kernel steps the pipes of this build on this machine.
func KernelName() string { return bestKernel().name }

// mc returns the slope limited by van Leer's monotonised central limiter from
// the differences a to the left and b to the right.
//
//	0 if a·b ≤ 0, else sign(a)·min(2|a|, 2|b|, |a + b|/2)
func mc(a, b float64) float64 {
	if a*b <= 0 {
		return 0
	}
	c := 0.5 * (a + b)
	m := 2 * min(math.Abs(a), math.Abs(b))
	return math.Copysign(min(m, math.Abs(c)), c)
}

// keep is the share of the cell's density and pressure a reconstructed state
// must keep; below it the cell falls back to no slope.
const keep = 0.02

// plainFaces is the first pass: slopes, half a step of the primitive equations
// with all sources, HLLC flux at the inner faces.
//
//	ρ_t = −u·ρ_x − ρ·u_x − ρu·A'/A
//	u_t = −u·u_x − p_x/ρ − c·|u|·u                  c = ½(f/D + k)
//	p_t = −u·p_x − γp·u_x − γpu·A'/A + (γ−1)(ρ·c·|u|·u² + q)
//	Y_t = −u·Y_x
func plainFaces(b *bank, dt float64, first bool) {
	for l := range lanes {
		if b.pipes[l] != nil {
			plainLane(b, l, dt, first)
		} else {
			idleLane(b, l)
		}
	}
}

// idleLane sets the flux of still gas in an unused lane.
func idleLane(b *bank, l int) {
	for i := range b.n {
		b.mid[i][l] = b.p[i+1][l]
		b.flux[1][i][l] = b.p[i+1][l]
	}
	b.flux[1][b.n][l] = b.p[b.n][l]
}

func plainLane(b *bank, l int, dt float64, first bool) {
	l &= lanes - 1
	n := b.n
	h := 0.5 * dt * b.invDx[l]
	hdt := 0.5 * dt
	rho, u, p, y := b.rho[:n+2], b.u[:n+2], b.p[:n+2], b.y[:n+2]
	var left side // right face of the cell before
	r0, u0, p0, y0 := rho[0][l], u[0][l], p[0][l], y[0][l]
	r1, u1, p1, y1 := rho[1][l], u[1][l], p[1][l], y[1][l]
	dr, du, dp, dy := r1-r0, u1-u0, p1-p0, y1-y0
	for i := range n {
		j := i + 1
		r2, u2, p2, y2 := rho[j+1][l], u[j+1][l], p[j+1][l], y[j+1][l]
		er, eu, ep, ey := r2-r1, u2-u1, p2-p1, y2-y1
		sr, su, sp, sy := mc(dr, er), mc(du, eu), mc(dp, ep), mc(dy, ey)
		dr, du, dp, dy = er, eu, ep, ey
		if first {
			sr, su, sp, sy = 0, 0, 0, 0
		}
		g := b.gamma[j][l]
		c, q, w := b.drag[i][l], b.heat[i][l], b.widen[i][l]
		cu := c * math.Abs(u1) * u1
		rt := -h*(u1*sr+r1*su) - hdt*w*r1*u1
		ut := -h*(u1*su+sp/r1) - hdt*cu
		pt := -h*(u1*sp+g*p1*su) + hdt*((g-1)*(r1*cu*u1+q)-g*w*p1*u1)
		yt := -h * u1 * sy
		rl, rr := r1+rt-0.5*sr, r1+rt+0.5*sr
		pl, pr := p1+pt-0.5*sp, p1+pt+0.5*sp
		ul, ur := u1+ut-0.5*su, u1+ut+0.5*su
		yl, yr := y1+yt-0.5*sy, y1+yt+0.5*sy
		if min(rl, rr) < keep*r1 || min(pl, pr) < keep*p1 {
			rl, rr, pl, pr, ul, ur, yl, yr = r1, r1, p1, p1, u1, u1, y1, y1
		}
		b.mid[i][l] = 0.5 * (pl + pr)
		beta := b.beta[j][l]
		here := side{rl, ul, pl, yl, beta, g}
		if i == 0 {
			e := &b.ends[0]
			e.rho[l], e.u[l], e.p[l], e.y[l] = rl, ul, pl, yl
		} else {
			f := hllc(&left, &here)
			b.flux[0][i][l], b.flux[1][i][l], b.flux[2][i][l], b.flux[3][i][l] = f[0], f[1], f[2], f[3]
		}
		left = side{rr, ur, pr, yr, beta, g}
		r1, u1, p1, y1 = r2, u2, p2, y2
	}
	e := &b.ends[1]
	e.rho[l], e.u[l], e.p[l], e.y[l] = left.rho, left.u, left.p, left.y
}

// side is the state on one side of a face.
type side struct{ rho, u, p, y, beta, gamma float64 }

// hllc returns the HLLC flux of mass, momentum, energy and burned mass between
// two states, with Davis's bounds for the wave speeds.
// Source: Toro (2009), 10.4 (HLLC) and eq. 10.48 (speeds).
func hllc(l, r *side) [4]float64 {
	al := math.Sqrt(l.gamma * l.p / l.rho)
	ar := math.Sqrt(r.gamma * r.p / r.rho)
	sl := min(l.u-al, r.u-ar)
	sr := max(l.u+al, r.u+ar)
	ml := l.rho * (sl - l.u)
	mr := r.rho * (sr - r.u)
	star := (r.p - l.p + ml*l.u - mr*r.u) / (ml - mr)
	k, s, m := l, sl, ml
	if star < 0 {
		k, s, m = r, sr, mr
	}
	ps := k.p + m*(star-k.u)
	ek := k.beta*k.p + 0.5*k.rho*k.u*k.u
	// The wave counts only while it has not crossed the face.
	c := min(sl, 0)
	if star < 0 {
		c = max(sr, 0)
	}
	// U* − U is written with the factor (S* − u), so that it vanishes exactly
	// in still gas.
	q := c / (s - star)
	d := q * (star - k.u)
	fm := k.rho * (k.u + d)
	fp := k.rho*k.u*k.u + k.p + s*k.rho*d
	fe := k.u*(ek+k.p) + d*ek + q*(ps*star-k.p*k.u)
	return [4]float64{fm, fp, fe, fm * k.y}
}

// plainUpdate is the second pass: the balance of every cell, then its primitives.
func plainUpdate(b *bank, dt float64) {
	for l := range lanes {
		if b.pipes[l] != nil {
			plainUpdateLane(b, l, dt)
		} else {
			b.least[l] = 1
			for i := range b.n {
				for k := range 4 {
					b.next[k][i][l] = b.now[k][i][l]
				}
			}
		}
	}
}

func plainUpdateLane(b *bank, l int, dt float64) {
	l &= lanes - 1
	n := b.n
	least, speed := math.Inf(1), 0.0
	constant := b.gas.constant
	gm1 := b.gas.gamma - 1
	for i := range n {
		j := i + 1
		al, ar := b.face[i][l], b.face[i+1][l]
		k := dt * b.invVol[i][l]
		pm := b.mid[i][l]
		rho := b.now[0][i][l] + k*(al*b.flux[0][i][l]-ar*b.flux[0][i+1][l])
		mom := b.now[1][i][l] + k*(al*(b.flux[1][i][l]-pm)-ar*(b.flux[1][i+1][l]-pm))
		ene := b.now[2][i][l] + k*(al*b.flux[2][i][l]-ar*b.flux[2][i+1][l]) + dt*b.heat[i][l]
		bur := b.now[3][i][l] + k*(al*b.flux[3][i][l]-ar*b.flux[3][i+1][l])
		mom /= 1 + dt*b.drag[i][l]*math.Abs(b.u[j][l])
		b.next[0][i][l], b.next[1][i][l], b.next[2][i][l], b.next[3][i][l] = rho, mom, ene, bur
		inv := 1 / rho
		u := mom * inv
		y := bur * inv
		var p, g float64
		if constant {
			p = gm1 * (ene - 0.5*mom*u)
			g = gm1 + 1
		} else {
			var beta, t float64
			p, beta, g, t = b.gas.close(rho, ene*inv-0.5*u*u, y, b.temp[j][l])
			b.beta[j][l], b.gamma[j][l], b.temp[j][l] = beta, g, t
		}
		least = min(least, rho, p)
		b.rho[j][l], b.u[j][l], b.p[j][l], b.y[j][l] = rho, u, p, y
		speed = max(speed, math.Abs(u)+math.Sqrt(math.Abs(g*p*inv)))
	}
	b.least[l] = least
	b.speed[l] = speed * b.invDx[l]
}

// close returns pressure [Pa], energy ratio β, isentropic exponent γ [-] and
// temperature [K] for density rho [kg/m³], energy e [J/kg] and burned fraction
// y [-], by one Newton step from the temperature near [K] of the step before.
// The error left is of second order in the change within one step.
func (g *Gas) close(rho, e, y, near float64) (p, beta, gamma, t float64) {
	mean, cv := g.heats(near, y)
	t = near + (e-mean*near)/cv
	r := g.rf + y*g.rd
	rt := r * t
	return rho * rt, e / rt, 1 + r/cv, t
}
