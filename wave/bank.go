package wave

import "math"

// lanes is the number of pipes a bank steps in lockstep.
const lanes = 4

// quad holds one number of each of the four pipes of a bank.
type quad = [lanes]float64

// all returns a quad of four equal numbers. The vector kernel lays constants in
// memory and loads them whole: a scalar broadcast between vector instructions is slow.
func all(x float64) quad { return quad{x, x, x, x} }

// bank is up to four pipes with the same number of cells. Every number is kept
// for four lanes side by side, so that one pass serves four pipes; an unused
// lane holds still gas in a closed pipe.
type bank struct {
	gas   *Gas
	n     int // cells
	used  int // lanes in use
	pipes [lanes]*Pipe
	invDx quad // 1/Δx [1/m], 0 in an unused lane

	cell   []cell   // n+2, with a ghost cell at each end
	wall   []wall   // n
	lining []lining // n
	face   []face   // n+1
	// Conserved per volume: ρ, ρu, ρE, ρY; next is written by a step.
	now, next [][4]quad // n

	// States half a step ahead at the left and right face of every cell, used
	// by the plain kernel, and those at the two ends of the pipe, for the joints.
	recon [][2]edge
	ends  [2]edge

	viscous []quad // viscosity in every cell [Pa s], n, between the two passes of vectorWalls

	speed quad // largest (|u| + a)/Δx [1/s]
	least quad // ≤ 0, or not a number, where the step left gas that is not positive
}

// cell is the gas in a cell.
type cell struct {
	rho, u, p, y quad // density [kg/m³], velocity [m/s], pressure [Pa], burned fraction [-]
	beta, gamma  quad // energy ratio, isentropic exponent [-]
	sound        quad // speed of sound [m/s]
	temp         quad // temperature [K], the first guess of the next
}

// wall is the duct around a cell.
type wall struct {
	invVol quad // 1/volume [1/m³]
	widen  quad // (A_right − A_left)/V [1/m]
	drag   quad // ½(f/D + k) [1/m]
	heat   quad // heat from the wall [W/m³]
	mid    quad // pressure halfway through the step [Pa]
	volume quad // [m³]
}

// face is the left face of a cell, and the last one the right face of the pipe.
type face struct {
	area quad    // [m²]
	flux [4]quad // of mass, momentum, energy, burned mass, per area
}

// edge is the state of four pipes at one of their ends.
type edge struct{ rho, u, p, y quad }

// newBank returns a bank of pipes with n cells, all lanes filled with still
// gas in unit pipes until a pipe is put in.
func newBank(gas *Gas, n int) *bank {
	b := &bank{
		gas: gas, n: n,
		cell: make([]cell, n+2), wall: make([]wall, n), lining: make([]lining, n), viscous: make([]quad, n), face: make([]face, n+1),
		recon: make([][2]edge, n), now: make([][4]quad, n), next: make([][4]quad, n),
	}
	still := gas.at(1e5, 300, 0)
	for l := range lanes {
		for i := range n + 1 {
			b.face[i].area[l] = 1
		}
		for i := range n {
			b.wall[i].volume[l], b.wall[i].invVol[l] = 1, 1
			b.lining[i].inv[l] = 1
			b.fill(i, l, still.P, still.T, 0, 0)
		}
	}
	copy(b.next, b.now)
	b.refresh()
	for l := range lanes {
		b.face[0].flux[1][l], b.face[n].flux[1][l] = b.cell[1].p[l], b.cell[n].p[l]
	}
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
		b.face[i].area[l] = d.areaAt(float64(i) * dx)
	}
	for i := range b.n {
		// Simpson's rule makes the cell volume, exact for a cone.
		v := dx / 6 * (b.face[i].area[l] + 4*d.areaAt((float64(i)+0.5)*dx) + b.face[i+1].area[l])
		b.wall[i].volume[l] = v
		b.wall[i].invVol[l] = 1 / v
		b.wall[i].widen[l] = (b.face[i+1].area[l] - b.face[i].area[l]) / v
	}
}

// fill sets cell i of lane l to pressure p [Pa], temperature t [K], velocity u
// [m/s] and burned fraction y [-]. refresh must follow.
func (b *bank) fill(i, l int, p, t, u, y float64) {
	rho := p / (b.gas.R(y) * t)
	b.now[i][0][l] = rho
	b.now[i][1][l] = rho * u
	b.now[i][2][l] = b.gas.density(p, t, y) + 0.5*b.now[i][1][l]*u
	b.now[i][3][l] = rho * y
	b.cell[i+1].temp[l] = t
}

// refresh makes the primitives from the conserved state from scratch.
func (b *bank) refresh() {
	b.speed = quad{}
	for i := range b.n {
		for l := range lanes {
			rho := b.now[i][0][l]
			u := b.now[i][1][l] / rho
			y := b.now[i][3][l] / rho
			e := b.now[i][2][l]/rho - u*u/2
			t := b.gas.Temperature(e, y, 0)
			s := b.gas.at(0, t, y)
			j := i + 1
			b.cell[j].rho[l], b.cell[j].u[l], b.cell[j].y[l] = rho, u, y
			b.cell[j].p[l] = rho * s.R * t
			b.cell[j].beta[l] = e / (s.R * t)
			b.cell[j].gamma[l] = s.Gamma
			if b.gas.constant {
				b.cell[j].p[l] = (s.Gamma - 1) * (b.now[i][2][l] - 0.5*b.now[i][1][l]*u)
				b.cell[j].beta[l] = b.gas.beta
			}
			a := soundSpeed(s.Gamma, b.cell[j].p[l], rho)
			b.cell[j].temp[l], b.cell[j].sound[l] = t, a
			b.speed[l] = max(b.speed[l], (math.Abs(u)+a)*b.invDx[l])
		}
	}
	for l := range lanes {
		b.ghost(0, l, b.cell[1].rho[l], -b.cell[1].u[l], b.cell[1].p[l], b.cell[1].y[l])
		b.ghost(1, l, b.cell[b.n].rho[l], -b.cell[b.n].u[l], b.cell[b.n].p[l], b.cell[b.n].y[l])
	}
}

// ghost sets the ghost cell at one end of lane l.
func (b *bank) ghost(end, l int, rho, u, p, y float64) {
	j, k := 0, 1
	if end == 1 {
		j, k = b.n+1, b.n
	}
	b.cell[j].rho[l], b.cell[j].u[l], b.cell[j].p[l], b.cell[j].y[l] = rho, u, p, y
	b.cell[j].beta[l], b.cell[j].gamma[l] = b.cell[k].beta[l], b.cell[k].gamma[l]
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
