package wave

import "math"

// A Snapshot is the state of a network at one instant, independent of its
// mesh: it can be put into the same network or into one with other cells or
// another geometry.
type Snapshot struct {
	Time    float64 // [s]
	pipes   []profile
	volumes []Fill
	held    [][3]float64
	rates   [][3]float64
	sizes   []float64
}

// profile is the gas along one pipe.
type profile struct {
	length float64 // with end corrections [m]
	cells  []Fill
	exact  [4][]float64 // conserved state, to restore without rounding
	volume []float64
	last   [2][2]float64
	ghost  [2][4]float64
}

// Snapshot returns the present state of pipes and volumes. Vessels of other
// kinds are the caller's to save.
func (n *Network) Snapshot() *Snapshot {
	s := &Snapshot{Time: n.time}
	for _, p := range n.pipes {
		f := profile{length: p.duct.total()}
		for k := range p.ports {
			f.last[k] = [2]float64{p.ports[k].last, p.ports[k].before}
		}
		for i := range p.Cells() {
			c := p.Cell(i)
			f.cells = append(f.cells, Fill{P: c.P, T: c.T, U: c.U, Y: c.Y})
			for k := range 4 {
				f.exact[k] = append(f.exact[k], p.bank.now[i][k][p.lane])
			}
			f.volume = append(f.volume, p.bank.wall[i].volume[p.lane])
		}
		for e, j := range []int{0, p.bank.n + 1} {
			b, l := p.bank, p.lane
			f.ghost[e] = [4]float64{b.cell[j].rho[l], b.cell[j].u[l], b.cell[j].p[l], b.cell[j].y[l]}
		}
		s.pipes = append(s.pipes, f)
	}
	for _, v := range n.vessels {
		if o, ok := v.(*Volume); ok {
			w := o.Now()
			s.volumes = append(s.volumes, Fill{P: w.P, T: w.T, Y: w.Y})
			s.held, s.rates = append(s.held, o.held), append(s.rates, o.rate)
			s.sizes = append(s.sizes, o.volume)
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
		if i < len(s.pipes) {
			p.restore(&s.pipes[i])
		}
	}
	for _, b := range n.banks {
		b.refresh()
	}
	for i, p := range n.pipes {
		if i < len(s.pipes) && s.pipes[i].fits(p) {
			for e, g := range s.pipes[i].ghost {
				p.bank.ghost(e, p.lane, g[0], g[1], g[2], g[3])
			}
		}
	}
	for _, b := range n.banks {
		for l := range b.used {
			b.walls(l)
		}
	}
	k := 0
	for _, v := range n.vessels {
		o, ok := v.(*Volume)
		if !ok || k >= len(s.volumes) {
			continue
		}
		f := s.volumes[k]
		o.Fill(f.P, f.T, f.Y)
		if s.sizes[k] == o.volume {
			o.held, o.rate = s.held[k], s.rates[k]
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

// restore fills the pipe from a profile.
func (p *Pipe) restore(f *profile) {
	b, l := p.bank, p.lane
	same := f.fits(p)
	for i := range b.n {
		if same {
			for k := range 4 {
				b.now[i][k][l] = f.exact[k][i]
			}
			continue
		}
		s := (float64(i)+0.5)/float64(b.n)*float64(len(f.cells)) - 0.5
		j := min(max(int(math.Floor(s)), 0), len(f.cells)-2)
		w := min(max(s-float64(j), 0), 1)
		a, c := f.cells[j], f.cells[j+1]
		mix := func(x, y float64) float64 { return (1-w)*x + w*y }
		b.fill(i, l, mix(a.P, c.P), mix(a.T, c.T), mix(a.U, c.U), mix(a.Y, c.Y))
	}
	p.forget()
	if same {
		for k := range p.ports {
			p.ports[k].last, p.ports[k].before = f.last[k][0], f.last[k][1]
		}
	}
}
