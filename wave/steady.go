package wave

import (
	"errors"
	"fmt"
	"math"
)

// ErrUnsettled reports a flow that did not become steady in the time allowed.
var ErrUnsettled = errors.New("flow did not settle")

// Steady says when a flow counts as steady. A window is the time a sound wave takes
// through the slowest pipe and back, twice.
type Steady struct {
	Tolerance float64 // largest relative change of the mean flow from window to window [-]; 0 takes 1e-5
	Windows   int     // number of windows in a row that must agree [-]; 0 takes 3
	Limit     float64 // longest time [s] to wait; 0 takes 2 s
}

// A SteadyResult is a flow that has settled.
type SteadyResult struct {
	Mass   float64 // mean mass flow out of the pipe at the end asked for [kg/s]
	Change float64 // relative change over the last window [-]
	Unlike float64 // largest relative difference between the two ends of a pipe [-]
	Time   float64 // time it took [s]
	Steps  int     // steps it took [-]
}

// SteadyFlow steps the network until the mean mass flow at a pipe end is
// steady, as on a flow bench: rooms at fixed pressures, nothing moving. Mean
// flows are taken over windows of two there-and-back sound runs of the slowest
// pipe; the flow is steady when it changes by no more than the tolerance over
// a number of windows in a row and both ends of that pipe pass the same mass.
// It fails with ErrUnsettled, and with the last result, after the time allowed.
func (n *Network) SteadyFlow(at End, s Steady) (SteadyResult, error) {
	if s.Tolerance == 0 {
		s.Tolerance = 1e-5
	}
	if s.Windows == 0 {
		s.Windows = 3
	}
	if s.Limit == 0 {
		s.Limit = 2
	}
	start, steps := n.time, n.steps
	window := 4 * n.transit()
	res := SteadyResult{Change: math.Inf(1)}
	calm := 0
	other := End{pipe: at.pipe, right: !at.right}
	for n.time-start < s.Limit {
		begin := n.time
		sum, far := 0.0, 0.0
		for n.time < begin+window {
			dt, err := n.StepTo(begin + window)
			if err != nil {
				return res, err
			}
			sum += dt * at.port().Mass
			far += dt * other.port().Mass
		}
		mean := sum / window
		scale := max(math.Abs(mean), 1e-9)
		res.Change = math.Abs(mean-res.Mass) / scale
		res.Unlike = math.Abs(mean+far/window) / scale
		res.Mass, res.Time, res.Steps = mean, n.time-start, n.steps-steps
		if res.Change <= s.Tolerance && res.Unlike <= 2*s.Tolerance {
			calm++
		} else {
			calm = 0
		}
		if calm >= s.Windows {
			return res, nil
		}
	}
	return res, fmt.Errorf("%w in %g s: last change %.2g", ErrUnsettled, s.Limit, res.Change)
}

// transit returns the longest time [s] sound takes through one pipe at rest.
func (n *Network) transit() float64 {
	t := 0.0
	for _, p := range n.pipes {
		s := 0.0
		for i := range p.Cells() {
			s += p.dx / p.Cell(i).A
		}
		t = max(t, s)
	}
	return t
}

// Totals are what a network holds.
type Totals struct {
	Mass   float64 // gas mass in pipes and volumes [kg]
	Energy float64 // internal and kinetic energy [J]
	Burned float64 // burned mass [kg]
}

// Totals returns what pipes and volumes hold. Vessels of other kinds are not counted.
func (n *Network) Totals() Totals {
	var t Totals
	for _, p := range n.pipes {
		t.Mass += p.Mass()
		t.Energy += p.Energy()
		t.Burned += p.Burned()
	}
	for _, v := range n.vessels {
		if o, ok := v.(*Volume); ok {
			m, e, b := o.Contents()
			t.Mass += m
			t.Energy += e
			t.Burned += b
		}
	}
	return t
}
