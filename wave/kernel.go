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
	// walls brings friction and wall heat up to date, once in wallEvery steps.
	walls func(b *bank)
}

// plain is the kernel written in ordinary Go, lane by lane.
var plain = kernel{name: "plain Go", faces: plainFaces, update: plainUpdate, walls: plainWalls}

// KernelName says which kernel steps the pipes of this build on this machine.
func KernelName() string { return bestKernel().name }

// monotonised is the θ [-] of van Leer's monotonised central limiter.
const monotonised = 2

// limited is the plain kernel with the θ [-] of another limiter.
func limited(theta float64) kernel {
	k := plain
	k.faces = func(b *bank, dt float64, first bool) { facesWith(b, dt, first, theta) }
	return k
}

// slopeOf returns the slope limited by the generalised minmod limiter from
// the differences a to the left and b to the right.
//
//	0 if a·b ≤ 0, else sign(a)·min(θ|a|, θ|b|, |a + b|/2)
//
// θ = 2 is the monotonised central limiter, θ = 1 minmod.
// Source: Kurganov and Tadmor, J. Comput. Phys. 160 (2000) 241, eq. 4.9.
func slopeOf(a, b, theta float64) float64 {
	c := 0.5 * (a + b)
	a *= theta
	b *= theta
	return max(0, min(a, b, c)) + min(0, max(a, b, c))
}

// keep is the share of the cell's density and pressure a reconstructed state
// must keep; below it the cell falls back to no slope.
const keep = 0.02

// plainFaces is the first pass with the limiter of all kernels.
func plainFaces(b *bank, dt float64, first bool) { facesWith(b, dt, first, monotonised) }

// facesWith is the first pass: slopes, half a step of the primitive equations
// with all sources, HLLC flux at the inner faces.
//
//	ρ_t = −u·ρ_x − ρ·u_x − ρu·A'/A
//	u_t = −u·u_x − p_x/ρ − c·|u|·u                  c = ½(f/D + k)
//	p_t = −u·p_x − γp·u_x − γpu·A'/A + (γ−1)(ρ·c·|u|·u² + q)
//	Y_t = −u·Y_x
func facesWith(b *bank, dt float64, first bool, theta float64) {
	slope := 1.0
	if first {
		slope = 0
	}
	n := b.n
	cells, walls, recon := b.cell[:n+2], b.wall[:n], b.recon[:n]
	for l := range b.used {
		hdt := 0.5 * dt
		l &= lanes - 1
		h := hdt * b.invDx[l]
		g, c := &cells[0], &cells[1]
		r1, u1, p1, y1 := c.rho[l], c.u[l], c.p[l], c.y[l]
		er, eu, ep, ey := r1-g.rho[l], u1-g.u[l], p1-g.p[l], y1-g.y[l]
		for i := range walls {
			c, next, w := &cells[i+1], &cells[i+2], &walls[i]
			r2, u2, p2, y2 := next.rho[l], next.u[l], next.p[l], next.y[l]
			dr, du, dp, dy := r2-r1, u2-u1, p2-p1, y2-y1
			sr, su, sp, sy := slope*slopeOf(er, dr, theta), slope*slopeOf(eu, du, theta), slope*slopeOf(ep, dp, theta), slope*slopeOf(ey, dy, theta)
			er, eu, ep, ey = dr, du, dp, dy
			g := c.gamma[l]
			cu := w.drag[l] * math.Abs(u1) * u1
			wu := hdt * w.widen[l] * u1
			rm := r1 - h*(u1*sr+r1*su) - wu*r1
			um := u1 - h*(u1*su+sp/r1) - hdt*cu
			pm := p1 - h*(u1*sp+g*p1*su) - g*wu*p1 + hdt*(g-1)*(r1*cu*u1+w.heat[l])
			ym := y1 - h*u1*sy
			sr, su, sp, sy = 0.5*sr, 0.5*su, 0.5*sp, 0.5*sy
			if rm-math.Abs(sr) < keep*r1 || pm-math.Abs(sp) < keep*p1 {
				rm, um, pm, ym, sr, su, sp, sy = r1, u1, p1, y1, 0, 0, 0, 0
			}
			w.mid[l] = pm
			q := &recon[i]
			q[0].rho[l], q[0].u[l], q[0].p[l], q[0].y[l] = rm-sr, um-su, pm-sp, ym-sy
			q[1].rho[l], q[1].u[l], q[1].p[l], q[1].y[l] = rm+sr, um+su, pm+sp, ym+sy
			r1, u1, p1, y1 = r2, u2, p2, y2
		}
	}
	b.ends[0], b.ends[1] = recon[0][0], recon[n-1][1]
	for l := range b.used {
		hllc(b, l)
	}
}

// hllc sets the inner faces of lane l to the HLLC flux of mass, momentum,
// energy and burned mass between the states half a step ahead, with Davis's bounds for
// the wave speeds and the speeds of sound of the cells.
// Source: Toro (2009), 10.4 (HLLC) and eq. 10.48 (speeds).
func hllc(b *bank, l int) {
	l &= lanes - 1
	n := b.n
	faces, recon, cells := b.face[:n], b.recon[:n], b.cell[:n+1]
	for i := 1; i < n; i++ {
		f, el, er, cl, cr := &faces[i], &recon[i-1][1], &recon[i][0], &cells[i], &cells[i+1]
		ul, ur := el.u[l], er.u[l]
		al, ar := cl.sound[l], cr.sound[l]
		sl, sr := ul-al, ur+ar
		if s := ur - ar; s < sl {
			sl = s
		}
		if s := ul + al; s > sr {
			sr = s
		}
		rl, rr, pl, pr := el.rho[l], er.rho[l], el.p[l], er.p[l]
		ml, mr := rl*(sl-ul), rr*(sr-ur)
		star := (pr - pl + ml*ul - mr*ur) / (ml - mr)
		// The side the contact leaves upstream; its wave counts only while it
		// has not crossed the face.
		rho, u, p, y, beta, s, m, c := rl, ul, pl, el.y[l], cl.beta[l], sl, ml, sl
		if star < 0 {
			rho, u, p, y, beta, s, m, c = rr, ur, pr, er.y[l], cr.beta[l], sr, mr, sr
			if c < 0 {
				c = 0
			}
		} else if c > 0 {
			c = 0
		}
		ps := p + m*(star-u)
		ek := beta*p + 0.5*rho*u*u
		// U* − U is written with the factor (S* − u), so that it vanishes
		// exactly in still gas.
		q := c / (s - star)
		d := q * (star - u)
		fm := rho * (u + d)
		f.flux[0][l] = fm
		f.flux[1][l] = rho*u*u + p + s*rho*d
		f.flux[2][l] = u*(ek+p) + d*ek + q*(ps*star-p*u)
		f.flux[3][l] = fm * y
	}
}

// plainUpdate is the second pass: the balance of every cell, then its primitives.
func plainUpdate(b *bank, dt float64) {
	n := b.n
	gas := b.gas
	gm1 := gas.gamma - 1
	constant := gas.constant
	cells, walls, faces, now, next := b.cell[:n+2], b.wall[:n], b.face[:n+1], b.now[:n], b.next[:n]
	b.least = all(1)
	for l := range b.used {
		l &= lanes - 1
		least, speed := 1.0, 0.0
		f := &faces[0]
		al, f0, f1, f2, f3 := f.area[l], f.flux[0][l], f.flux[1][l], f.flux[2][l], f.flux[3][l]
		for i := range walls {
			c, w, old, to, f := &cells[i+1], &walls[i], &now[i], &next[i], &faces[i+1]
			ar, g0, g1, g2, g3 := f.area[l], f.flux[0][l], f.flux[1][l], f.flux[2][l], f.flux[3][l]
			k := dt * w.invVol[l]
			kl, kr := k*al, k*ar
			pm := w.mid[l]
			rho := old[0][l] + (kl*f0 - kr*g0)
			mom := old[1][l] + (kl*(f1-pm) - kr*(g1-pm))
			ene := old[2][l] + (kl*f2 - kr*g2) + dt*w.heat[l]
			bur := old[3][l] + (kl*f3 - kr*g3)
			al, f0, f1, f2, f3 = ar, g0, g1, g2, g3
			if w.drag[l] != 0 {
				mom /= 1 + dt*w.drag[l]*math.Abs(c.u[l])
			}
			to[0][l], to[1][l], to[2][l], to[3][l] = rho, mom, ene, bur
			inv := 1 / rho
			u, y := mom*inv, bur*inv
			inner := ene - 0.5*mom*u
			p, g := gm1*inner, gm1+1
			if !constant {
				p, c.beta[l], g, c.temp[l] = gas.close(rho, inner*inv, y, c.temp[l])
				c.gamma[l] = g
			}
			if !(rho > 0) || !(p > 0) {
				least = 0
			}
			a := math.Sqrt(math.Abs(g * p * inv))
			c.rho[l], c.u[l], c.p[l], c.y[l], c.sound[l] = rho, u, p, y, a
			if s := math.Abs(u) + a; s > speed {
				speed = s
			}
		}
		b.least[l] = least
		b.speed[l] = speed * b.invDx[l]
	}
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
