package wave

import (
	"errors"
	"fmt"
	"math"
)

// ErrStep reports that no positive step could be taken: the gas somewhere
// would be emptied however short the step.
var ErrStep = errors.New("no step possible")

// A Network is a set of pipes, joints and vessels stepped together with one
// time step. It is used by one goroutine at a time; several networks may run
// in parallel.
type Network struct {
	gas     *Gas
	kernel  kernel
	banks   []*bank
	pipes   []*Pipe
	joints  []wired
	ends    []tap
	vessels []Vessel
	open    []float64 // area opening into each vessel [m²]
	watch   []Observer

	courant, maxStep float64
	time             float64
	steps, rescued   int
	beat             int // steps since walls were brought up to date
}

// wired is a joint with its ports.
type wired struct {
	joint Joint
	ends  []End
	ports []*Port
}

// An Observer watches a network: it is called after every step with the length
// of the step [s]. It must not change the network.
type Observer func(n *Network, dt float64)

// Watch adds an observer.
func (n *Network) Watch(o Observer) { n.watch = append(n.watch, o) }

// Time returns the time [s] since the start, or since SetTime.
func (n *Network) Time() float64 { return n.time }

// SetTime sets the clock [s] of the network.
func (n *Network) SetTime(t float64) { n.time = t }

// Steps returns the number of steps taken, and how many of them had to be
// shortened to keep the gas positive.
func (n *Network) Steps() (taken, rescued int) { return n.steps, n.rescued }

// Pipes returns the pipes in the order they were added.
func (n *Network) Pipes() []*Pipe { return n.pipes }

// Vessels returns the vessels of the network.
func (n *Network) Vessels() []Vessel { return n.vessels }

// Gas returns the gas of the network.
func (n *Network) Gas() *Gas { return n.gas }

// Kernel returns the name of the kernel that steps the pipes.
func (n *Network) Kernel() string { return n.kernel.name }

// Cells returns the number of cells of all pipes, and the number the kernel
// steps with idle lanes counted.
func (n *Network) Cells() (used, stepped int) {
	for _, b := range n.banks {
		used += b.n * b.used
		stepped += b.n * lanes
	}
	return used, stepped
}

// Sweep takes the kernel alone through its two passes over all pipes, with a step far too short to change
// the gas: the part of a step that is neither joints nor vessels nor walls. It is there for measuring;
// the temperatures of a gas whose specific heats vary come nearer to their energies by it.
func (n *Network) Sweep() {
	const share = 1e-9 // of a step
	dt := share * n.Next()
	for _, b := range n.banks {
		n.kernel.faces(b, dt, false)
		n.kernel.update(b, dt)
	}
}

// Next returns the length of the next step [s].
func (n *Network) Next() float64 {
	s := 0.0
	for _, b := range n.banks {
		s = max(s, b.maxSpeed())
	}
	dt := n.maxStep
	if s > 0 {
		dt = min(dt, n.courant/s)
	}
	for i, v := range n.vessels {
		dt = min(dt, v.Limit(n.open[i]))
	}
	return dt
}

// Step takes one step and returns its length [s].
func (n *Network) Step() (float64, error) { return n.StepTo(math.Inf(1)) }

// Advance steps to the time [s], which it reaches exactly.
func (n *Network) Advance(until float64) error {
	for n.time < until {
		if _, err := n.StepTo(until); err != nil {
			return err
		}
	}
	return nil
}

// StepTo takes one step, not past the time until [s], and returns its length
// [s]. It fails with ErrStep when the gas cannot be kept positive.
func (n *Network) StepTo(until float64) (float64, error) {
	dt := n.Next()
	last := false
	if left := until - n.time; dt >= left*(1-1e-12) {
		dt, last = left, true
	} else if dt > 0.5*left {
		dt = 0.5 * left // two even steps rather than a long and a tiny one
	}
	if !(dt > 0) {
		return 0, fmt.Errorf("%w at %g s: step %g s", ErrStep, n.time, dt)
	}
	dt, shortened, err := n.try(dt)
	if err != nil {
		return 0, err
	}
	n.commit(dt)
	n.steps++
	n.time += dt
	if last && !shortened {
		n.time = until
	}
	if n.beat++; n.beat == wallEvery {
		n.beat = 0
		for _, b := range n.banks {
			n.kernel.walls(b)
		}
	}
	for _, o := range n.watch {
		o(n, dt)
	}
	return dt, nil
}

// try computes the next state for a step dt, and for shorter first-order steps
// while that leaves any gas not positive. The present state is kept.
func (n *Network) try(dt float64) (took float64, shortened bool, err error) {
	const attempts = 12
	for k := range attempts {
		first := k > 0
		for _, v := range n.vessels {
			v.Begin(n.time, dt)
		}
		for _, b := range n.banks {
			n.kernel.faces(b, dt, first)
		}
		for i := range n.ends {
			n.ends[i].arrive()
		}
		for i := range n.joints {
			j := &n.joints[i]
			j.joint.Solve(j.ports, n.time, dt)
		}
		for i := range n.ends {
			n.ends[i].answer()
		}
		good := true
		for _, b := range n.banks {
			n.kernel.update(b, dt)
			good = good && !b.spoiled()
		}
		if good {
			return dt, first, nil
		}
		if !first {
			n.rescued++
		}
		for _, b := range n.banks {
			b.refresh()
		}
		dt *= 0.5
	}
	return 0, true, fmt.Errorf("%w at %g s: gas not positive with a step of %g s", ErrStep, n.time, dt)
}

// commit makes the computed state the present one and moves gas into vessels.
func (n *Network) commit(dt float64) {
	for _, b := range n.banks {
		b.swap()
	}
	for i := range n.ends {
		n.ends[i].mirror()
	}
	for i := range n.joints {
		j := &n.joints[i]
		j.joint.Commit(j.ports, dt)
	}
	for _, v := range n.vessels {
		v.Advance(n.time, dt)
	}
}
