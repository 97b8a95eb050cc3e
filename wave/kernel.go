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

// idleLane sets the mid pressure of still gas in an unused lane.
func idleLane(b *bank, l int) {
	for i := range b.n {
		b.wall[i].mid[l] = b.cell[i+1].p[l]
	}
}

func plainLane(b *bank, l int, dt float64, first bool) {
	l &= lanes - 1
	n := b.n
	h := 0.5 * dt * b.invDx[l]
	hdt := 0.5 * dt
	cells, walls, faces := b.cell[:n+2], b.wall[:n], b.face[:n+1]
	var left, here side // right face of the cell before, left face of this one
	g0 := &cells[0]
	c := &cells[1]
	r1, u1, p1, y1 := c.rho[l], c.u[l], c.p[l], c.y[l]
	dr, du, dp, dy := r1-g0.rho[l], u1-g0.u[l], p1-g0.p[l], y1-g0.y[l]
	for i := range n {
		c, next := &cells[i+1], &cells[i+2]
		r2, u2, p2, y2 := next.rho[l], next.u[l], next.p[l], next.y[l]
		er, eu, ep, ey := r2-r1, u2-u1, p2-p1, y2-y1
		sr, su, sp, sy := mc(dr, er), mc(du, eu), mc(dp, ep), mc(dy, ey)
		dr, du, dp, dy = er, eu, ep, ey
		if first {
			sr, su, sp, sy = 0, 0, 0, 0
		}
		g := c.gamma[l]
		w := &walls[i]
		cu := w.drag[l] * math.Abs(u1) * u1
		wu := hdt * w.widen[l] * u1
		rt := -h*(u1*sr+r1*su) - wu*r1
		ut := -h*(u1*su+sp/r1) - hdt*cu
		pt := -h*(u1*sp+g*p1*su) - g*wu*p1 + hdt*(g-1)*(r1*cu*u1+w.heat[l])
		yt := -h * u1 * sy
		rm, um, pm, ym := r1+rt, u1+ut, p1+pt, y1+yt
		sr, su, sp, sy = 0.5*sr, 0.5*su, 0.5*sp, 0.5*sy
		if rm-math.Abs(sr) < keep*r1 || pm-math.Abs(sp) < keep*p1 {
			rm, um, pm, ym, sr, su, sp, sy = r1, u1, p1, y1, 0, 0, 0, 0
		}
		w.mid[l] = pm
		beta, a := c.beta[l], c.sound[l]
		here = side{rm - sr, um - su, pm - sp, ym - sy, beta, a}
		if i == 0 {
			b.ends[0].set(l, &here)
		} else {
			hllc(&faces[i], l, &left, &here)
		}
		left = side{rm + sr, um + su, pm + sp, ym + sy, beta, a}
		r1, u1, p1, y1 = r2, u2, p2, y2
	}
	b.ends[1].set(l, &left)
}

// set stores the state s in lane l.
func (e *edge) set(l int, s *side) { e.rho[l], e.u[l], e.p[l], e.y[l] = s.rho, s.u, s.p, s.y }

// side is the state on one side of a face.
type side struct{ rho, u, p, y, beta, sound float64 }

// hllc sets lane l of a face to the HLLC flux of mass, momentum, energy and
// burned mass between two states, with Davis's bounds for the wave speeds and
// the speeds of sound of the cells.
// Source: Toro (2009), 10.4 (HLLC) and eq. 10.48 (speeds).
func hllc(f *face, lane int, l, r *side) {
	sl := min(l.u-l.sound, r.u-r.sound)
	sr := max(l.u+l.sound, r.u+r.sound)
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
	f.flux[0][lane], f.flux[1][lane], f.flux[2][lane], f.flux[3][lane] = fm, fp, fe, fm*k.y
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
					b.next[i][k][l] = b.now[i][k][l]
				}
			}
		}
	}
}

func plainUpdateLane(b *bank, l int, dt float64) {
	l &= lanes - 1
	n := b.n
	least, speed := math.Inf(1), 0.0
	gas := b.gas
	gm1 := gas.gamma - 1
	cells, walls, faces, now, next := b.cell[:n+2], b.wall[:n], b.face[:n+1], b.now[:n], b.next[:n]
	for i := range n {
		c, w, old := &cells[i+1], &walls[i], &now[i]
		fl, fr := &faces[i], &faces[i+1]
		k := dt * w.invVol[l]
		al, ar := k*fl.area[l], k*fr.area[l]
		pm := w.mid[l]
		rho := old[0][l] + (al*fl.flux[0][l] - ar*fr.flux[0][l])
		mom := old[1][l] + (al*(fl.flux[1][l]-pm) - ar*(fr.flux[1][l]-pm))
		ene := old[2][l] + (al*fl.flux[2][l] - ar*fr.flux[2][l]) + dt*w.heat[l]
		bur := old[3][l] + (al*fl.flux[3][l] - ar*fr.flux[3][l])
		mom /= 1 + dt*w.drag[l]*math.Abs(c.u[l])
		to := &next[i]
		to[0][l], to[1][l], to[2][l], to[3][l] = rho, mom, ene, bur
		inv := 1 / rho
		u, y := mom*inv, bur*inv
		inner := ene - 0.5*mom*u
		var p, g float64
		if gas.constant {
			p, g = gm1*inner, gm1+1
		} else {
			p, c.beta[l], g, c.temp[l] = gas.close(rho, inner*inv, y, c.temp[l])
			c.gamma[l] = g
		}
		least = min(least, rho, p)
		a := math.Sqrt(math.Abs(g * p * inv))
		c.rho[l], c.u[l], c.p[l], c.y[l], c.sound[l] = rho, u, p, y, a
		speed = max(speed, math.Abs(u)+a)
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
