package rig

import (
	"math"
	"testing"

	"runnel/bench"
	"runnel/gas"
	"runnel/job"
	"runnel/meter"
)

// The balance of the rig is checked from outside: blower, plate and valve by their own equations at the state it names.
func TestFlowBalances(t *testing.T) {
	for _, area := range []float64{2e-6, 100e-6, 600e-6, 930e-6, 1400e-6} {
		r, err := New(Options{Area: area, Steady: true})
		if err != nil {
			t.Fatal(err)
		}
		for range 100 {
			if _, _, err := r.Step(0.05); err != nil {
				t.Fatal(err)
			}
		}
		truth := r.Truth()
		if math.Abs(truth.Drop/r.target-1) > 1e-5 {
			t.Errorf("area %g: drop %g, wanted %g", area, truth.Drop, r.target)
		}
		// The mass flow by the nozzle law and by the plate are one flow.
		n := gas.Nozzle{Pressure: r.air.Pressure, Temperature: r.air.Temperature, Downstream: r.air.Pressure - truth.Drop, GasConstant: r.air.Compressibility * r.air.GasConstant, Gamma: r.air.Kappa}
		piece := n.MassFlow(area) + truth.Leak*r.air.Density
		p1 := r.air.Pressure - truth.Drop
		f, err := r.plate.Flow(meter.Upstream{Pressure: p1, Temperature: r.air.Temperature, Density: r.air.Density * p1 / r.air.Pressure, Viscosity: r.air.Viscosity, Kappa: r.air.Kappa}, truth.Difference)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(f.Mass/piece-1) > 1e-5 {
			t.Errorf("area %g: %g kg/s through the plate, %g through piece and leaks", area, f.Mass, piece)
		}
		q := f.Mass / r.air.Density
		rise := blowerShut - blowerSlope*q*q
		spent := truth.Drop + truth.Difference*meter.PressureLoss(0.6, 0.6) + math.Exp(r.valve)*q*q
		if math.Abs(spent/rise-1) > 1e-5 {
			t.Errorf("area %g: blower rises %g Pa and %g Pa are spent", area, rise, spent)
		}
	}
}

// The same seed and commands give the same numbers; another seed gives others.
func TestSeeded(t *testing.T) {
	take := func(seed uint64) []float64 {
		r, err := New(Options{Seed: seed})
		if err != nil {
			t.Fatal(err)
		}
		var out []float64
		for i := range 60 {
			if i == 30 {
				if _, err := r.Do("piece 500 mm²"); err != nil {
					t.Fatal(err)
				}
			}
			s, _, err := r.Step(0.05)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, s.Values...)
		}
		return out
	}
	a, b, c := take(1), take(1), take(2)
	same := true
	for i := range a {
		if a[i] != b[i] {
			t.Fatalf("value %d differs with the same seed", i)
		}
		same = same && a[i] == c[i]
	}
	if same {
		t.Error("two seeds give the same numbers")
	}
}

// A reading of the rig finds the true area within its own expanded uncertainty at 95 %; of 40 rigs about two may miss.
func TestReadingFindsTheTruth(t *testing.T) {
	card, err := job.LoadBench("rig.toml", []byte(Card(OwnSources(""))))
	if err != nil {
		t.Fatal(err)
	}
	setup, err := bench.NewSetup(card)
	if err != nil {
		t.Fatal(err)
	}
	missed, rigs := 0, uint64(40)
	if testing.Short() {
		rigs = 8
	}
	for seed := range rigs {
		r, err := New(Options{Seed: seed, Area: 700e-6 + 10e-6*float64(seed)})
		if err != nil {
			t.Fatal(err)
		}
		reading := readRig(t, r, setup)
		if math.Abs(reading.Area/r.Truth().Mounted-1) > 0.02 {
			t.Errorf("seed %d: read %g m², true %g m²", seed, reading.Area, r.Truth().Mounted)
		}
		if math.Abs(reading.Area-r.Truth().Area) > reading.U {
			missed++
		}
	}
	if missed > 1+int(rigs)/10 {
		t.Errorf("%d of %d readings miss the truth by more than their expanded uncertainty", missed, rigs)
	}
}

func TestCommandsRefuse(t *testing.T) {
	r, err := New(Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{"", "piece", "piece 930", "piece -1 mm²", "piece 9000 mm²", "pressure 99 kPa", "pressure 28", "leak -1 cfm", "fault", "fault fire", "jump"} {
		if answer, err := r.Do(line); err == nil {
			t.Errorf("%q was carried out: %s", line, answer)
		}
	}
	if got := r.Truth(); got.Area != 930e-6 || got.Blanked {
		t.Errorf("a refused command changed the rig: %+v", got)
	}
}

func TestBlank(t *testing.T) {
	r, err := New(Options{Seed: 3})
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{"leak 2 cfm", "blank"} {
		if _, err := r.Do(line); err != nil {
			t.Fatal(err)
		}
	}
	for range 100 {
		if _, _, err := r.Step(0.05); err != nil {
			t.Fatal(err)
		}
	}
	truth := r.Truth()
	if got := truth.MassFlow / truth.Density / 4.719474432e-4; math.Abs(got-2) > 0.05 { // 1 ft³/min, NIST SP 811
		t.Errorf("leaks %g cfm, wanted 2", got)
	}
	if math.Abs(truth.Drop/truth.Pressure-1) > 0.05 {
		t.Errorf("blanked at %g Pa, wanted %g", truth.Drop, truth.Pressure)
	}
}
