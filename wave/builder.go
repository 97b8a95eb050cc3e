package wave

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrNetwork reports a network that is not complete.
var ErrNetwork = errors.New("network incomplete")

// A Builder collects the parts of a network.
type Builder struct {
	gas    *Gas
	pipes  []*Pipe
	joints []Joint
	extra  []Vessel

	// Courant is the Courant number [-] of a step, 0 < Courant < 1; 0 takes 0.9.
	Courant float64
	// MaxStep is the longest step [s]; 0 leaves it to the gas. A network
	// without pipes needs it.
	MaxStep float64
	// Plain asks for the kernel in ordinary Go even where a faster one builds.
	Plain bool
	// Theta is the θ [-] of the generalised minmod limiter, from 1, minmod, to 2,
	// the monotonised central limiter; 0 takes 2. Another than 2 takes the kernel
	// in ordinary Go: it is there to compare with programs that limit so.
	Theta float64
}

// NewBuilder returns an empty builder for the given gas.
func NewBuilder(gas *Gas) *Builder { return &Builder{gas: gas} }

// Gas returns the gas of the network.
func (b *Builder) Gas() *Gas { return b.gas }

// Pipe adds a duct filled with gas at rest at absolute pressure p [Pa],
// temperature t [K] and burned mass fraction y [-].
func (b *Builder) Pipe(d Duct, p, t, y float64) *Pipe {
	return b.PipeWith(d, func(float64) Fill { return Fill{P: p, T: t, Y: y} })
}

// PipeWith adds a duct with a first filling given along x [m].
func (b *Builder) PipeWith(d Duct, start func(x float64) Fill) *Pipe {
	p := &Pipe{duct: d, start: start, order: len(b.pipes)}
	b.pipes = append(b.pipes, p)
	return p
}

// Join adds joints.
func (b *Builder) Join(j ...Joint) { b.joints = append(b.joints, j...) }

// Vessel adds vessels that no joint leads to but that live with the network.
func (b *Builder) Vessel(v ...Vessel) { b.extra = append(b.extra, v...) }

// Build makes the network. It fails with ErrDuct for an unusable duct and with
// ErrNetwork when a pipe end has no joint or two.
func (b *Builder) Build() (*Network, error) {
	for _, p := range b.pipes {
		if err := p.duct.check(); err != nil {
			return nil, err
		}
	}
	if err := b.ends(); err != nil {
		return nil, err
	}
	n := &Network{
		gas: b.gas, pipes: slices.Clone(b.pipes), kernel: bestKernel(),
		courant: b.Courant, maxStep: b.MaxStep,
	}
	if b.Plain {
		n.kernel = plain
	}
	if b.Theta != 0 && b.Theta != monotonised {
		if !(b.Theta >= 1 && b.Theta <= monotonised) {
			return nil, fmt.Errorf("%w: θ of the limiter %g, want between 1 and 2", ErrNetwork, b.Theta)
		}
		n.kernel = limited(b.Theta)
	}
	if n.courant == 0 {
		n.courant = 0.9
	}
	if !(n.courant > 0 && n.courant < 1) {
		return nil, fmt.Errorf("%w: Courant number %g, want between 0 and 1", ErrNetwork, n.courant)
	}
	if n.maxStep == 0 {
		n.maxStep = math.Inf(1)
	}
	if len(b.pipes) == 0 && math.IsInf(n.maxStep, 1) {
		return nil, fmt.Errorf("%w: no pipes, and no longest step", ErrNetwork)
	}
	n.lay()
	n.connect(b.joints, b.extra)
	return n, nil
}

// ends checks that every pipe end has one joint.
func (b *Builder) ends() error {
	count := map[End]int{}
	for _, j := range b.joints {
		for _, e := range j.Ends() {
			count[e]++
		}
	}
	for _, p := range b.pipes {
		for _, e := range []End{p.Left(), p.Right()} {
			side := "left"
			if e.right {
				side = "right"
			}
			if c := count[e]; c != 1 {
				return fmt.Errorf("%w: the %s end of %q has %d joints, want 1", ErrNetwork, side, p.duct.Name, c)
			}
			delete(count, e)
		}
	}
	if len(count) > 0 {
		return fmt.Errorf("%w: a joint closes a pipe of another network", ErrNetwork)
	}
	return nil
}

// alike is how much finer than asked a pipe may be meshed to share a bank.
const alike = 0.85

// lay puts the pipes into banks of four with the same number of cells. A pipe
// whose mesh is a wish, not a count, takes up to 15 % more cells to join one.
func (n *Network) lay() {
	sorted := slices.Clone(n.pipes)
	slices.SortStableFunc(sorted, func(a, b *Pipe) int { return b.duct.cells() - a.duct.cells() })
	open := []*bank{}
	for _, p := range sorted {
		want := p.duct.cells()
		var home *bank
		for _, b := range open {
			fits := b.n == want || p.duct.Cells == 0 && float64(want) >= alike*float64(b.n) && b.n >= want
			if b.used < lanes && fits {
				home = b
				break
			}
		}
		if home == nil {
			home = newBank(n.gas, want)
			open = append(open, home)
			n.banks = append(n.banks, home)
		}
		p.bank, p.lane = home, home.used
		home.put(p.lane, p)
		home.used++
		p.wet = false
		p.prepare()
	}
	for _, p := range n.pipes {
		p.Fill(p.start)
	}
	for _, b := range n.banks {
		n.kernel.walls(b)
	}
}

// connect wires joints to ports and finds all vessels.
func (n *Network) connect(joints []Joint, extra []Vessel) {
	area := map[Vessel]float64{}
	add := func(v Vessel, a float64) {
		if _, seen := area[v]; !seen {
			n.vessels = append(n.vessels, v)
		}
		area[v] += a
	}
	for _, j := range joints {
		w := wired{joint: j, ends: j.Ends()}
		for _, e := range w.ends {
			w.ports = append(w.ports, e.port())
			n.ends = append(n.ends, e.tap())
		}
		for _, v := range j.Vessels() {
			add(v, j.Area())
		}
		n.joints = append(n.joints, w)
	}
	// Ends that lie side by side in memory follow each other, so that a step finds them in the cache.
	slices.SortStableFunc(n.ends, func(a, b tap) int {
		return cmp.Or(slices.Index(n.banks, a.bank)-slices.Index(n.banks, b.bank), cmp.Compare(a.sign, b.sign), a.lane-b.lane)
	})
	for _, v := range extra {
		add(v, 0)
	}
	for _, v := range n.vessels {
		n.open = append(n.open, area[v])
	}
}
