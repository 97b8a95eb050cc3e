package wave

import "math"

// lanes is the number of pipes a bank steps in lockstep.
const lanes = 4

// quad holds one number of each of the four pipes of a bank.
type quad = [lanes]float64

// A bank is up to four pipes with the same number of cells. Every array is laid
// out [cell][lane], so that one pass serves four pipes; an unused lane holds
// still gas in a closed pipe.
type bank struct {
	gas   *Gas
	n     int // cells
	used  int // lanes in use
	pipes [lanes]*Pipe

	// Geometry.
	face   []quad // face areas [m²], n+1
	volume []quad // cell volumes [m³], n
	invVol []quad // 1/volume [1/m³], n
	widen  []quad // (A_right − A_left)/V [1/m], n
	invDx  quad   // 1/Δx [1/m], 0 in an unused lane

	// Conserved per volume: ρ, ρu, ρE, ρY; next is written by a step.
	now, next [4][]quad

	// Primitive, with a ghost cell at each end: ρ, u, p, Y, β, γ.
	rho, u, p, y, beta, gamma []quad
	temp                      []quad // temperature [K], n+2, kept as the first guess of the next

	drag []quad // ½(f/D + k) [1/m], n
	heat []quad // heat from the wall [W/m³], n

	flux [4][]quad // through the faces, n+1
	mid  []quad    // pressure halfway through the step [Pa], n

	// Reconstructed states half a step ahead at the two ends, for the joints.
	ends [2]edge

	speed quad // largest (|u| + a)/Δx [1/s]
	least quad // least of ρ and ρe, each over its scale: ≤ 0 spoils a step
}

// edge is the state of four pipes at one of their ends.
type edge struct{ rho, u, p, y quad }

// newBank returns a bank of pipes with n cells, all lanes filled with still
// gas in unit pipes until a pipe is put in.
func newBank(gas *Gas, n int) *bank {
	b := &bank{gas: gas, n: n}
	block := make([]quad, 0, 2*(n+1)+3*n+8*n+7*(n+2)+2*n+4*(n+1)+n)
	take := func(k int) []quad {
		i := len(block)
		block = block[:i+k]
		return block[i : i+k : i+k]
	}
	b.face = take(n + 1)
	b.volume, b.invVol, b.widen = take(n), take(n), take(n)
	for k := range 4 {
		b.now[k], b.next[k], b.flux[k] = take(n), take(n), take(n+1)
	}
	for _, s := range []*[]quad{&b.rho, &b.u, &b.p, &b.y, &b.beta, &b.gamma, &b.temp} {
		*s = take(n + 2)
	}
	b.drag, b.heat, b.mid = take(n), take(n), take(n)
	still := gas.at(1e5, 300, 0)
	for l := range lanes {
		for i := range n + 1 {
			b.face[i][l] = 1
		}
		for i := range n {
			b.volume[i][l], b.invVol[i][l] = 1, 1
			b.fill(i, l, still.P, still.T, 0, 0)
		}
		for _, f := range []int{0, n} {
			b.flux[1][f][l] = still.P
		}
	}
	b.refresh()
	return b
}

// put lays a duct into lane l.
func (b *bank) put(l int, p *Pipe) {
	d := &p.duct
	dx := d.total() / float64(b.n)
	p.dx = dx
	b.pipes[l] = p
	b.invDx[l] = 1 / dx
	for i := range b.n + 1 {
		b.face[i][l] = d.areaAt(float64(i) * dx)
	}
	for i := range b.n {
		// Simpson's rule makes the cell volume, exact for a cone.
		v := dx / 6 * (b.face[i][l] + 4*d.areaAt((float64(i)+0.5)*dx) + b.face[i+1][l])
		b.volume[i][l] = v
		b.invVol[i][l] = 1 / v
		b.widen[i][l] = (b.face[i+1][l] - b.face[i][l]) / v
	}
}

// fill sets cell i of lane l to pressure p [Pa], temperature t [K], velocity u
// [m/s] and burned fraction y [-]. refresh must follow.
func (b *bank) fill(i, l int, p, t, u, y float64) {
	rho := p / (b.gas.R(y) * t)
	b.now[0][i][l] = rho
	b.now[1][i][l] = rho * u
	b.now[2][i][l] = b.gas.density(p, t, y) + 0.5*b.now[1][i][l]*u
	b.now[3][i][l] = rho * y
	b.temp[i+1][l] = t
}

// refresh makes the primitives from the conserved state from scratch.
func (b *bank) refresh() {
	b.speed = quad{}
	for i := range b.n {
		for l := range lanes {
			rho := b.now[0][i][l]
			u := b.now[1][i][l] / rho
			y := b.now[3][i][l] / rho
			e := b.now[2][i][l]/rho - u*u/2
			t := b.gas.Temperature(e, y, 0)
			s := b.gas.at(0, t, y)
			j := i + 1
			b.rho[j][l], b.u[j][l], b.y[j][l] = rho, u, y
			b.p[j][l] = rho * s.R * t
			b.beta[j][l] = e / (s.R * t)
			b.gamma[j][l] = s.Gamma
			if b.gas.constant {
				b.p[j][l] = (s.Gamma - 1) * (b.now[2][i][l] - 0.5*b.now[1][i][l]*u)
				b.beta[j][l] = b.gas.beta
			}
			b.temp[j][l] = t
			a := math.Sqrt(s.Gamma * b.p[j][l] / rho)
			b.speed[l] = max(b.speed[l], (math.Abs(u)+a)*b.invDx[l])
		}
	}
	for l := range lanes {
		b.ghost(0, l, b.rho[1][l], -b.u[1][l], b.p[1][l], b.y[1][l])
		b.ghost(1, l, b.rho[b.n][l], -b.u[b.n][l], b.p[b.n][l], b.y[b.n][l])
	}
}

// ghost sets the ghost cell at one end of lane l.
func (b *bank) ghost(end, l int, rho, u, p, y float64) {
	j, k := 0, 1
	if end == 1 {
		j, k = b.n+1, b.n
	}
	b.rho[j][l], b.u[j][l], b.p[j][l], b.y[j][l] = rho, u, p, y
	b.beta[j][l], b.gamma[j][l] = b.beta[k][l], b.gamma[k][l]
}

// swap makes the state of the step just taken the present one.
func (b *bank) swap() { b.now, b.next = b.next, b.now }

// maxSpeed returns the largest (|u| + a)/Δx [1/s] of the pipes in use.
func (b *bank) maxSpeed() float64 {
	return max(b.speed[0], b.speed[1], b.speed[2], b.speed[3])
}

// spoiled reports whether the step just taken left a density or energy that is not positive.
func (b *bank) spoiled() bool {
	return !(b.least[0] > 0) || !(b.least[1] > 0) || !(b.least[2] > 0) || !(b.least[3] > 0)
}

// wallEvery is the number of steps between two updates of friction factor and
// wall heat, which follow the flow much more slowly than a wave crosses a cell.
const wallEvery = 16

// walls brings friction and wall heat of lane l up to date.
func (b *bank) walls(l int) {
	p := b.pipes[l]
	if p == nil || !p.wet {
		return
	}
	for i := range b.n {
		j := i + 1
		t := b.p[j][l] / (b.rho[j][l] * b.gas.R(b.y[j][l]))
		d := p.bore[i]
		f := 0.0
		mu := viscosity(t)
		re := b.rho[j][l] * math.Abs(b.u[j][l]) * d / mu
		if p.duct.Friction != nil {
			f = p.duct.Friction.Factor(re, d)
		}
		b.drag[i][l] = 0.5 * (f/d + p.lossPer[i])
		if w := p.duct.Wall; w != nil {
			nu := w.Nusselt
			if nu == nil {
				nu = Manifold
			}
			cp := b.gas.R(b.y[j][l]) * b.gamma[j][l] / (b.gamma[j][l] - 1)
			h := nu(re, f, prandtl) * mu * cp / (prandtl * d)
			b.heat[i][l] = h * 4 / d * (p.wallT[i] - t)
		}
	}
}
