package wave

import "math"

// A Snapshot is the state of a network at one instant, independent of its
// mesh: it can be put into the same network or into one with other cells or
// another geometry.
type Snapshot struct {
	Time    float64 // [s]
	beat    int
	pipes   []profile
	volumes []Volume
}

// profile is the gas along one pipe.
type profile struct {
	length float64 // with end corrections [m]
	cells  []Fill
	volume []float64
	exact  []exactCell // all that a cell holds, to restore without rounding
	ghosts [2]exactCell
	trail  [2]trail
	speed  float64
}

// exactCell is one lane of a cell and of the wall around it.
type exactCell struct {
	held [4]float64
	gas  [8]float64
	wall [2]float64
}

// save returns one lane of cell j, ghosts counted.
func (b *bank) save(j, l int) (x exactCell) {
	c := &b.cell[j]
	x.gas = [8]float64{c.rho[l], c.u[l], c.p[l], c.y[l], c.beta[l], c.gamma[l], c.sound[l], c.temp[l]}
	if i := j - 1; i >= 0 && i < b.n {
		for k := range x.held {
			x.held[k] = b.now[i][k][l]
		}
		x.wall = [2]float64{b.wall[i].drag[l], b.wall[i].heat[l]}
	}
	return x
}

// load puts back what save returned.
func (b *bank) load(j, l int, x *exactCell) {
	c := &b.cell[j]
	for k, q := range []*quad{&c.rho, &c.u, &c.p, &c.y, &c.beta, &c.gamma, &c.sound, &c.temp} {
		q[l] = x.gas[k]
	}
	if i := j - 1; i >= 0 && i < b.n {
		for k, v := range x.held {
			b.now[i][k][l] = v
		}
		b.wall[i].drag[l], b.wall[i].heat[l] = x.wall[0], x.wall[1]
	}
}

// Snapshot returns the present state of pipes and volumes. Vessels of other
// kinds are the caller's to save.
func (n *Network) Snapshot() *Snapshot {
	s := &Snapshot{Time: n.time, beat: n.beat}
	for _, p := range n.pipes {
		f := profile{length: p.duct.total()}
		for k := range p.ports {
			f.trail[k] = p.ports[k].trail
		}
		for i := range p.Cells() {
			c := p.Cell(i)
			f.cells = append(f.cells, Fill{P: c.P, T: c.T, U: c.U, Y: c.Y})
			f.exact = append(f.exact, p.bank.save(i+1, p.lane))
			f.volume = append(f.volume, p.bank.wall[i].volume[p.lane])
		}
		f.ghosts = [2]exactCell{p.bank.save(0, p.lane), p.bank.save(p.bank.n+1, p.lane)}
		f.speed = p.bank.speed[p.lane]
		s.pipes = append(s.pipes, f)
	}
	for _, v := range n.vessels {
		if o, ok := v.(*Volume); ok {
			s.volumes = append(s.volumes, *o)
		}
	}
	return s
}

// Restore puts a snapshot into the network, pipe by pipe and volume by volume
// in the order they were added. Where mesh and geometry are the same the state
// is copied bit by bit; otherwise pressure, temperature, velocity and
// composition are interpolated along the length. Pipes and volumes that the
// snapshot does not have keep their gas. The clock is not touched.
func (n *Network) Restore(s *Snapshot) {
	for i, p := range n.pipes {
		if i < len(s.pipes) && !s.pipes[i].fits(p) {
			p.interpolate(&s.pipes[i])
		}
	}
	for _, b := range n.banks {
		b.refresh()
		n.kernel.walls(b)
	}
	for i, p := range n.pipes {
		if i < len(s.pipes) && s.pipes[i].fits(p) {
			p.copy(&s.pipes[i])
		}
	}
	n.beat = s.beat
	k := 0
	for _, v := range n.vessels {
		o, ok := v.(*Volume)
		if !ok || k >= len(s.volumes) {
			continue
		}
		from := &s.volumes[k]
		now := from.Now()
		o.Fill(now.P, now.T, now.Y)
		if from.volume == o.volume {
			o.held, o.rate, o.temperature = from.held, from.rate, from.temperature
		}
		k++
	}
}

// CopyState puts the present state of another network into this one.
func (n *Network) CopyState(from *Network) { n.Restore(from.Snapshot()) }

// fits reports whether the profile was taken on the mesh of pipe p.
func (f *profile) fits(p *Pipe) bool {
	if len(f.cells) != p.bank.n || f.length != p.duct.total() {
		return false
	}
	for i, v := range f.volume {
		if v != p.bank.wall[i].volume[p.lane] {
			return false
		}
	}
	return true
}

// copy fills the pipe from a profile taken on its own mesh.
func (p *Pipe) copy(f *profile) {
	b, l := p.bank, p.lane
	for i := range f.exact {
		b.load(i+1, l, &f.exact[i])
	}
	b.load(0, l, &f.ghosts[0])
	b.load(b.n+1, l, &f.ghosts[1])
	b.speed[l] = f.speed
	for k := range p.ports {
		p.ports[k].trail = f.trail[k]
	}
}

// interpolate fills the pipe from a profile taken on another mesh.
func (p *Pipe) interpolate(f *profile) {
	n := p.bank.n
	for i := range n {
		s := (float64(i)+0.5)/float64(n)*float64(len(f.cells)) - 0.5
		j := min(max(int(math.Floor(s)), 0), len(f.cells)-2)
		w := min(max(s-float64(j), 0), 1)
		a, c := f.cells[j], f.cells[j+1]
		mix := func(x, y float64) float64 { return (1-w)*x + w*y }
		p.bank.fill(i, p.lane, mix(a.P, c.P), mix(a.T, c.T), mix(a.U, c.U), mix(a.Y, c.Y))
	}
	p.forget()
}
