package engine

import (
	"errors"
	"math"
	"testing"
)

// The twin's simulated reading equals the measured one within 0.2 % for every opening, and the losses found order as the readings.
func TestTie(t *testing.T) {
	e := six(t)
	a := math.Pi / 4 * 0.040 * 0.040
	flowed := Flowed{
		Runners: []float64{0.80 * a, 0.82 * a, 0.84 * a, 0.78 * a, 0.83 * a, 0.75 * a},
		Out:     []FlowPoint{{0.002, 1.3e-4}, {0.005, 3.0e-4}, {0.009, 4.1e-4}},
		In:      []FlowPoint{{0.002, 1.5e-4}, {0.004, 2.9e-4}, {0.006, 4.2e-4}, {0.008, 5.0e-4}, {0.010, 5.5e-4}},
	}
	tied, closures, err := e.Tie(flowed, 0)
	if err != nil {
		t.Fatal(err)
	}
	if len(closures) != 14 {
		t.Fatalf("%d closures", len(closures))
	}
	for _, c := range closures {
		if !c.Reached || math.Abs(c.Ratio-1) > 0.002 || c.Simulated == c.Measured {
			t.Errorf("%s: simulated over measured %.5f", c.Opening, c.Ratio)
		}
	}
	r := tied.Inlet.Runners
	if !(r[5].Loss > r[3].Loss && r[3].Loss > r[0].Loss && r[0].Loss > r[2].Loss && r[2].Loss > 0) {
		t.Errorf("losses %+v", r)
	}
	if e.Inlet.Runners[0].Loss != 0 {
		t.Error("Tie changed its receiver")
	}
	// With the port before it, the valve alone must flow more than the head did.
	for i, p := range tied.In.Measured {
		if p.Area <= flowed.In[i].Area {
			t.Errorf("valve at %.0f mm: %.3g m² alone, %.3g m² with its port", p.Lift*1e3, p.Area, flowed.In[i].Area)
		}
	}
}

// A reading beyond what the sections can pass is not reached, and says so.
func TestTieBeyond(t *testing.T) {
	e := six(t)
	a := math.Pi / 4 * 0.040 * 0.040
	big := make([]float64, 6)
	for i := range big {
		big[i] = 1.2 * a
	}
	_, closures, err := e.Tie(Flowed{Runners: big}, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range closures {
		if c.Reached || c.Loss != 0 || c.Ratio > 0.95 {
			t.Errorf("%+v", c)
		}
	}
	if _, _, err := e.Tie(Flowed{Runners: big[:2]}, 0); !errors.Is(err, ErrTwin) {
		t.Errorf("two readings for six runners: %v", err)
	}
}

// The simulated bench against the nozzle function: a straight pipe without friction from a bellmouth, dumping its head, is an ideal
// nozzle of its own area, within 0.2 %.
func TestSimulatedBench(t *testing.T) {
	e := six(t)
	e.Inlet.Wall, e.Inlet.RunnerLoss = nil, 0
	for i := range e.Inlet.Runners {
		e.Inlet.Runners[i] = Runner{Length: 0.3, Entry: 0.04, Exit: 0.04}
	}
	a := math.Pi / 4 * 0.04 * 0.04
	got, err := e.tieRunners([]float64{a, a, a, a, a, a}, DefaultDrop, 0.02)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range got {
		near(t, c.Opening, c.Ratio, 1, 2e-3)
	}
}
