package tract_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runnel/internal/tabletest"
	"runnel/tract"
)

const degree = math.Pi / 180

// Exact projection by an independent program, cross-checked there by quadrature and by a raster. Tolerance of the file: 1e-9.
func TestThrottleProjection(t *testing.T) {
	for _, r := range tabletest.Read(t, "testdata/butterfly_throttle.csv", 1) {
		body := tract.Throttle{Bore: r.Num(t, "D_m"), Shaft: r.Num(t, "d_m"), Closed: r.Num(t, "psi0_deg") * degree}
		got, err := body.Open(r.Num(t, "psi_deg") * degree)
		if err != nil {
			t.Fatalf("row %s: %v", r["id"], err)
		}
		near(t, "row "+r["id"], got.Fraction, r.Num(t, "open_fraction"), 1e-9)
		near(t, "area of row "+r["id"], got.Area, r.Num(t, "A_open_m2"), 1e-9*body.Bore*body.Bore)
		if got.ShaftLimited != (r["shaft_limited"] == "1") {
			t.Errorf("row %s: shaft limited is %v", r["id"], got.ShaftLimited)
		}
	}
}

// The open area found by direct numerical geometry, outside this code, printed to 1e-5 (header of the file).
func TestThrottleLiterature(t *testing.T) {
	for _, r := range tabletest.Read(t, "testdata/literature/throttle_open_fraction.csv", 1) {
		body := tract.Throttle{Bore: 0.05, Shaft: 0.05 * r.Num(t, "a"), Closed: 5 * degree}
		got, err := body.Open(r.Num(t, "psi_deg") * degree)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "a "+r["a"]+" at "+r["psi_deg"], got.Fraction, r.Num(t, "open_fraction"), 1e-5)
	}
}

// The closed form with a thick plate against summed strips: a plate turned to fit the bore when closed covers, on the strip at x,
// the half-height b·y + τ. Midpoint rule of 2e5 strips: error below 1e-6.
func TestThrottleThickPlate(t *testing.T) {
	for _, deg := range []float64{6, 10, 30, 60, 80, 85, 90} {
		body := tract.Throttle{Bore: 0.06, Shaft: 0.006, Plate: 0.004, Closed: 5 * degree}
		got, err := body.Open(deg * degree)
		if err != nil {
			t.Fatal(err)
		}
		const n = 200_000
		b := math.Cos(deg*degree) / math.Cos(body.Closed)
		tau := body.Plate * math.Sin(deg*degree-body.Closed) / (body.Bore * math.Cos(body.Closed))
		sum := 0.0
		for i := range n {
			x := (float64(i) + 0.5) / n
			y := math.Sqrt(1 - x*x)
			sum += max(0, y-max(body.Shaft/body.Bore, b*y+tau))
		}
		near(t, "open fraction", got.Fraction, sum/n*4/math.Pi, 1e-6)
	}
}

func TestThrottleProperties(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		body := tract.Throttle{Bore: 0.06, Closed: rapid.Float64Range(0, 0.3).Draw(r, "closed")}
		body.Shaft = body.Bore * rapid.Float64Range(0, 0.4).Draw(r, "shaft")
		body.Plate = body.Bore * rapid.Float64Range(0, 0.1).Draw(r, "plate")
		last := -1e-12
		for i := range 50 {
			psi := body.Closed + (math.Pi/2-body.Closed)*float64(i)/49
			got, err := body.Open(psi)
			if err != nil {
				r.Fatal(err)
			}
			if got.Fraction < 0 || got.Fraction > 1 {
				r.Fatalf("fraction %g", got.Fraction)
			}
			// A thin plate only opens; a thick one may close again by its edge near upright.
			if body.Plate == 0 && got.Fraction < last-1e-12 {
				r.Errorf("fraction falls to %g at %g", got.Fraction, psi)
			}
			last = got.Fraction
		}
	})
}

func TestThrottleRefuses(t *testing.T) {
	for _, tt := range []struct {
		body  tract.Throttle
		angle float64
	}{
		{tract.Throttle{}, 1},
		{tract.Throttle{Bore: 0.05, Shaft: 0.06}, 1},
		{tract.Throttle{Bore: 0.05, Closed: 2}, 1},
		{tract.Throttle{Bore: 0.05, Closed: 0.1}, 0.05},
		{tract.Throttle{Bore: 0.05}, 2},
		{tract.Throttle{Bore: 0.05}, math.NaN()},
	} {
		if _, err := tt.body.Open(tt.angle); !errors.Is(err, tract.ErrThrottle) {
			t.Errorf("%+v at %g: %v", tt.body, tt.angle, err)
		}
	}
}

func air(flow float64) tract.Inflow {
	const r, t0, p0 = 287.05, 293.15, 101325.0
	return tract.Inflow{Mass: flow * p0 / (r * t0), Pressure: p0, Temperature: t0, GasConstant: r, Gamma: 1.4}
}

// Loss of the throttle body of a 2.0 L engine at 7000 rpm, Cd 0.9, computed outside this code from the nozzle
// equation (definition) with these shafts; the shaft of the last bore was not kept and is taken as that before. Tolerance: last digit
// printed, doubled for the rounding of the demand.
func TestThrottleLossLiterature(t *testing.T) {
	for _, tt := range []struct{ bore, shaft, kpa float64 }{
		{0.050, 0.15, 4.19}, {0.055, 0.15, 2.82}, {0.060, 0.13, 1.85}, {0.065, 0.12, 1.30}, {0.070, 0.12, 0.96},
	} {
		open, err := tract.Throttle{Bore: tt.bore, Shaft: tt.shaft * tt.bore, Closed: 0}.Open(math.Pi / 2)
		if err != nil {
			t.Fatal(err)
		}
		got, err := air(2.0e-3 * 7000 / 60 / 2).Drop(0.9 * open.Area)
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("loss at %g m in kPa", tt.bore), got/1e3, tt.kpa, 0.01)
	}
}

// Common practice, no source: a long-runner intake that flows about 315 cfm a runner on a large V8 wants a throttle body between
// 80 and 90 mm. Derived here from demand and loss. The engine is stated, not fitted: 7.0 litres, at the 5200 rpm where such long
// runners carry it to, filled to 95 % (our own values). The sign and range hold when a loss of 3.5 % of the air's pressure is
// accepted at the small end, and at the large end until 5 mm more gain less than the smallest change worth claiming, 0.5 %. With
// the stricter 2 % of the textbooks' practice the answer is a size larger, which the test shows rather than hides.
func TestThrottleForLargeV8(t *testing.T) {
	choice := tract.BoreChoice{
		Air: air(0.95 * 7.0e-3 * 5200 / 60 / 2), Coefficient: tract.ThrottleCoefficient, Shaft: 0.010,
		MaxLoss: 0.035 * 101325, Worth: tract.WorthWhile,
	}
	got, err := choice.Advise()
	if err != nil {
		t.Fatal(err)
	}
	if got.Smallest < 0.080 || got.Enough > 0.090+1e-12 || got.Smallest > got.Enough {
		t.Errorf("bores from %g to %g m, common practice says 0.080 to 0.090", got.Smallest, got.Enough)
	}
	choice.MaxLoss = 0.02 * 101325
	strict, err := choice.Advise()
	if err != nil {
		t.Fatal(err)
	}
	if strict.Smallest <= got.Smallest {
		t.Errorf("accepting less loss asks for no larger bore: %g m after %g m", strict.Smallest, got.Smallest)
	}
	t.Logf("accepting 3.5 %%: %.0f mm, beyond %.0f mm nothing gained; accepting 2 %%: %.0f mm", 1e3*got.Smallest, 1e3*got.Enough, 1e3*strict.Smallest)
	// What the body takes from the reading of one such runner on the bench, and of four at once.
	// 141.60 cfm/in² is the ideal flow at 28 inH2O, 101 325 Pa and 20 °C by the nozzle function (definition).
	const runner = 315 / 141.60 * 6.4516e-4
	one, err := tract.BodyOnReading(4.8e-3, runner, 1, 101325, 6974.5, 1.4)
	if err != nil {
		t.Fatal(err)
	}
	four, err := tract.BodyOnReading(4.8e-3, runner, 4, 101325, 6974.5, 1.4)
	if err != nil {
		t.Fatal(err)
	}
	if !(one.Factor > 0.94 && one.Factor < 1 && four.Factor < 0.75) {
		t.Errorf("one runner keeps %.3f of its reading, four at once %.3f", one.Factor, four.Factor)
	}
}

func TestBoreChoiceRefuses(t *testing.T) {
	good := tract.BoreChoice{Air: air(0.1), Coefficient: 0.9, MaxLoss: 1000, Worth: 0.005}
	for name, spoil := range map[string]func(*tract.BoreChoice){
		"no flow":        func(c *tract.BoreChoice) { c.Air.Mass = 0 },
		"no coefficient": func(c *tract.BoreChoice) { c.Coefficient = 0 },
		"no limit":       func(c *tract.BoreChoice) { c.MaxLoss = 0 },
		"falling bores":  func(c *tract.BoreChoice) { c.Bores = []float64{0.06, 0.05} },
		"shaft too wide": func(c *tract.BoreChoice) { c.Shaft = 0.05 },
	} {
		c := good
		spoil(&c)
		if _, err := c.Advise(); err == nil {
			t.Errorf("%s is not refused", name)
		}
	}
	// A choked small bore is no failure of the whole question.
	c := good
	c.Bores = []float64{0.010, 0.08}
	got, err := c.Advise()
	if err != nil {
		t.Fatal(err)
	}
	if !math.IsInf(got.Bores[0].Loss, 1) || got.Smallest != 0.08 {
		t.Errorf("%+v", got)
	}
}

// Of the bores that can be had, those that come into question are listed: none that the shaft fills by half, and of those that choke the
// widest, so that the reader sees where it begins.
func TestBoresThatComeIntoQuestion(t *testing.T) {
	for _, tt := range []struct{ mass, shaft float64 }{{0.005, 0}, {0.02, 0.008}, {0.1, 0.008}, {0.3, 0.012}} {
		got, err := tract.BoreChoice{Air: air(tt.mass), Coefficient: 0.9, Shaft: tt.shaft, MaxLoss: 1000, Worth: 0.005}.Advise()
		if err != nil {
			t.Fatal(err)
		}
		for i, b := range got.Bores {
			if b.Bore <= 2*tt.shaft || math.IsInf(b.Loss, 1) && i > 0 {
				t.Errorf("%g kg/s, shaft of %g m: %g m is listed at place %d with a loss of %g Pa", tt.mass, tt.shaft, b.Bore, i+1, b.Loss)
			}
		}
		if n := len(got.Bores); n < 2 || got.Bores[n-1].Bore != 0.12 {
			t.Errorf("%g kg/s, shaft of %g m: %d bores", tt.mass, tt.shaft, n)
		}
	}
	_, err := tract.BoreChoice{Air: air(0.1), Coefficient: 0.9, Shaft: 0.05, MaxLoss: 1000, Worth: 0.005}.Advise()
	if !errors.Is(err, tract.ErrThrottle) || !strings.Contains(err.Error(), "write the shaft's diameter, at most 30 mm") {
		t.Errorf("a shaft of 50 mm: %v", err)
	}
}
