package meter_test

import (
	"math"
	"testing"

	"runnel/gas"
	"runnel/meter"
)

// Outside the limits of a standard the meter is less sure of its coefficient, the more so the further out; inside nothing changes. The
// orifice ends at Re_D = 5000 and at p2/p1 = 0.75, its C is known to 0.25 % inside and its ε to 1.75·Δp/(κ·p1) per cent.
func TestUncertaintyGrowsOutsideTheLimits(t *testing.T) {
	o := meter.Orifice{Throat: meter.Throat{Pipe: 0.1, Bore: 0.05}, Taps: meter.Corner}
	up := room(t)
	part := func(dp float64, name string) (u, re float64) {
		t.Helper()
		f, err := o.Flow(up, dp)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, p := range f.Parts {
			sum += p.URel * p.URel * p.Sensitivity * p.Sensitivity
			if p.Name == name {
				u = p.URel
			}
		}
		if math.Abs(f.URel/math.Sqrt(sum)-1) > 1e-12 {
			t.Errorf("at %v Pa the whole %v is not that of its parts %v", dp, f.URel, math.Sqrt(sum))
		}
		return u, f.Reynolds
	}
	for _, dp := range []float64{0.02, 0.1, 1, 5, 20, 1000} {
		u, re := part(dp, meter.PartC)
		want := 0.0025 * max(1, 5000/re)
		if math.Abs(u/min(0.25, want)-1) > 1e-9 {
			t.Errorf("at Re_D %.0f the coefficient has u %.5f, want %.5f", re, u, want)
		}
	}
	for _, drop := range []float64{0.1, 0.25, 0.3, 0.5} {
		u, _ := part(drop*up.Pressure, meter.PartEps)
		if want := 0.0175 * drop / up.Kappa * max(1, drop/0.25); math.Abs(u/want-1) > 1e-9 {
			t.Errorf("at Δp/p1 %.2f the expansibility has u %.5f, want %.5f", drop, u, want)
		}
	}
	if u, _ := part(1e-9, meter.PartC); u > 0.25 {
		t.Errorf("next to nothing is known to %v: more than a quarter says nothing", u)
	}
}

func room(t *testing.T) meter.Upstream {
	t.Helper()
	a, err := gas.MoistAir{Pressure: 101325, Temperature: 293.15, Humidity: 0.4, CO2: gas.StandardCO2}.Properties()
	if err != nil {
		t.Fatal(err)
	}
	return meter.UpstreamOf(a)
}
