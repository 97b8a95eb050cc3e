package gas_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"runnel/gas"
	"runnel/internal/tabletest"
)

// Source: testdata/massflow_function.csv, closed form crossed by Mach number; tolerance of its header.
func TestNozzleFunctionAgainstReference(t *testing.T) {
	for _, r := range tabletest.Read(t, "testdata/massflow_function.csv", 20) {
		gamma, ratio := r.Num(t, "gamma"), r.Num(t, "p_p0")
		psi := gas.NozzleFunction(ratio, gamma)
		near(t, "id "+r["id"]+" psi", psi, r.Num(t, "psi"), 1e-10, 1e-12)
		near(t, "id "+r["id"]+" share of the choked value", psi/gas.NozzleFunction(0, gamma), r.Num(t, "psi_over_psimax"), 1e-10, 1e-12)
		n := gas.Nozzle{Pressure: 1e5, Temperature: 300, Downstream: ratio * 1e5, GasConstant: 287, Gamma: gamma}
		if n.Choked() != (r["choked"] == "1") {
			t.Errorf("id %s: choked %v, want %s", r["id"], n.Choked(), r["choked"])
		}
	}
}

// Source: testdata/bench_pressure_conversion.csv, ideal flux from still air at 101 325 Pa and 293.15 K, γ 1.4, R 287.05.
// Tolerance: half a unit of the last printed digit of flux (5e-4 of 24 is 2e-5) plus that of the printed pressure.
func TestNozzleFluxAtTestPressures(t *testing.T) {
	for _, r := range tabletest.Read(t, "testdata/bench_pressure_conversion.csv", 10) {
		dp := r.Num(t, "dp_inH2O") * 249.08891 // conventional inch of water, NIST SP 811 App. B
		n := gas.Nozzle{Pressure: 101325, Temperature: 293.15, Downstream: 101325 - dp, GasConstant: 287.05, Gamma: 1.4}
		near(t, r["dp_inH2O"]+" inH2O flux", n.Flux(), r.Num(t, "flux_isentropic_kg_m2s"), 0, 5.1e-4)
	}
}

func TestEffectiveAreaIsTheInverseOfMassFlow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := gas.Nozzle{
			Pressure:    rapid.Float64Range(50e3, 300e3).Draw(t, "p0"),
			Temperature: rapid.Float64Range(250, 1200).Draw(t, "T0"),
			GasConstant: rapid.Float64Range(280, 300).Draw(t, "R"),
			Gamma:       rapid.Float64Range(1.2, 1.67).Draw(t, "gamma"),
		}
		r := rapid.Float64Range(0.05, 0.9999).Draw(t, "r")
		n.Downstream = r * n.Pressure
		area := rapid.Float64Range(1e-6, 1e-1).Draw(t, "area")
		got, err := n.EffectiveArea(n.MassFlow(area))
		if err != nil || math.Abs(got/area-1) > 1e-14 {
			t.Fatalf("area %v came back as %v, %v", area, got, err)
		}
		psi := gas.NozzleFunction(r, n.Gamma)
		back := gas.NozzleRatio(psi, n.Gamma)
		// Near the choked point ψ is flat, so the ratio is only known to the root of the precision.
		if math.Abs(gas.NozzleFunction(back, n.Gamma)/psi-1) > 1e-12 {
			t.Fatalf("ratio %v came back as %v", r, back)
		}
	})
}

// At a small drop the nozzle is Bernoulli's: ψ → sqrt(2(1−r)), the square-root rule of the trade; the next term of the
// series is −3/(4γ)·(1−r), so at a drop of 1e-6 both agree within 1e-6.
func TestNozzleFunctionSmallDrop(t *testing.T) {
	for _, gamma := range []float64{1.2, 1.3, 1.4, 1.67} {
		near(t, "psi at a small drop", gas.NozzleFunction(1-1e-6, gamma), math.Sqrt(2e-6), 1e-6, 0)
	}
}

func TestEffectiveAreaNeedsADrop(t *testing.T) {
	for _, p := range []float64{1e5, 1.1e5, math.NaN()} {
		n := gas.Nozzle{Pressure: 1e5, Temperature: 300, Downstream: p, GasConstant: 287, Gamma: 1.4}
		if _, err := n.EffectiveArea(0.1); !errors.Is(err, gas.ErrNoDrop) {
			t.Errorf("downstream %v: error %v, want ErrNoDrop", p, err)
		}
	}
}

func TestNozzleFunctionAllocatesNothing(t *testing.T) {
	r := 0.9
	if n := testing.AllocsPerRun(100, func() { r = 0.9 + 1e-9*gas.NozzleFunction(r, 1.4) }); n != 0 {
		t.Errorf("%v allocations a call, want none", n)
	}
}
