package measure

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// reading is a budget as the bench makes it: a plate coefficient and a barometer
// that many readings share, and settling that is its own.
func reading(value float64, id string, settle float64) Budget {
	return Budget{Quantity: "effective area", Unit: "m²", Value: value, Lines: []Line{
		{Quantity: "plate coefficient", Key: "plate 3 C", Kind: TypeB, Distribution: Normal, Estimate: 0.6, U: 0.003, Sensitivity: value / 0.6},
		{Quantity: "air pressure", Key: "barometer", Kind: TypeB, Distribution: Rectangular, Estimate: 1e5, U: 60, Sensitivity: -value / 2e5},
		{Quantity: "settling", Key: id, Kind: TypeA, Distribution: StudentT, Estimate: 0, U: settle * value, Dof: 14, Sensitivity: 1},
	}}
}

// The ratio of a reading with itself is exactly 1 ± 0, whatever the reading.
func TestRatioWithItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := Budget{Value: rapid.Float64Range(1e-6, 1e6).Draw(t, "value")}
		for i := range rapid.IntRange(1, 6).Draw(t, "lines") {
			b.Lines = append(b.Lines, Line{
				Key: string(rune('a' + i)), Estimate: 1,
				U:           rapid.Float64Range(0, 10).Draw(t, "u"),
				Sensitivity: rapid.Float64Range(-1e3, 1e3).Draw(t, "c"),
				Dof:         rapid.Float64Range(0, 30).Draw(t, "dof"),
			})
		}
		if n := len(b.Lines); n > 1 {
			b.Correlation = []Pair{{I: 0, J: n - 1, R: rapid.Float64Range(-1, 1).Draw(t, "r")}}
		}
		r, c, err := Ratio(b, b)
		if err != nil {
			t.Fatal(err)
		}
		if r.Value != 1 || r.Combined() != 0 {
			t.Fatalf("ratio %v ± %v, want exactly 1 ± 0", r.Value, r.Combined())
		}
		if len(c) != len(b.Lines) {
			t.Fatalf("%d inputs cancelled, want %d", len(c), len(b.Lines))
		}
		e, err := r.Expanded(0.95)
		if err != nil || e.U != 0 {
			t.Fatalf("expanded %v (%v), want 0", e.U, err)
		}
	})
}

// One plate: its coefficient cancels, and what is left is the settling of the two.
// Two plates: nothing cancels but the barometer.
func TestRatioCancels(t *testing.T) {
	a, b := reading(2e-3, "r1", 0.001), reading(2.05e-3, "r2", 0.002)
	r, c, err := Ratio(b, a)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "ratio", r.Value, 1.025, 1e-12)
	same(t, "u_rel", r.Relative(), math.Hypot(0.001, 0.002), 1e-9)
	if len(c) != 2 || c[0].Key != "plate 3 C" || c[1].Key != "barometer" {
		t.Fatalf("cancelled %+v", c)
	}
	for _, k := range c {
		near(t, k.Key+" left", k.Left, 0, 0, 1e-18)
	}
	same(t, "plate before", c[0].Before, 0.005, 1e-12)
	b.Lines[0].Key = "plate 4 C"
	r, c, err = Ratio(b, a)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "u_rel, two plates", r.Relative(), math.Sqrt(0.001*0.001+0.002*0.002+2*0.005*0.005), 1e-9)
	if len(c) != 1 || c[0].Key != "barometer" {
		t.Errorf("cancelled %+v, want the barometer only", c)
	}
	sum := 0.0
	for _, s := range r.Shares() {
		sum += s
	}
	same(t, "shares", sum, 1, 1e-12)
}

// A shared input that acts twice as strongly on one reading leaves the difference.
func TestRatioPartly(t *testing.T) {
	a := Budget{Value: 10, Lines: []Line{{Key: "t", U: 1, Sensitivity: 0.1}}}
	b := Budget{Value: 20, Lines: []Line{{Key: "t", U: 1, Sensitivity: 0.4}}}
	r, c, err := Ratio(b, a)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "u_rel", r.Relative(), 0.4/20-0.1/10, 1e-12)
	same(t, "left", c[0].Left, 0.01, 1e-12)
}

// The rule by keys against the rule by computing the ratio of the whole model:
// JCGM 100 F.1.2.3 says that they agree.
func TestRatioAgainstWholeModel(t *testing.T) {
	c := Line{Key: "C", Estimate: 0.6, U: 0.003}
	p1, p2 := Line{Key: "p1", Estimate: 2000, U: 12}, Line{Key: "p2", Estimate: 2300, U: 13}
	flow := func(x []float64) float64 { return x[0] * math.Sqrt(x[1]) }
	one, err := Compute(flow, c, p1)
	if err != nil {
		t.Fatal(err)
	}
	two, err := Compute(flow, c, p2)
	if err != nil {
		t.Fatal(err)
	}
	byKey, _, err := Ratio(two, one)
	if err != nil {
		t.Fatal(err)
	}
	whole, err := Compute(func(x []float64) float64 {
		return x[0] * math.Sqrt(x[2]) / (x[0] * math.Sqrt(x[1]))
	}, c, p1, p2)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "value", byKey.Value, whole.Value, 1e-14)
	same(t, "u", byKey.Combined(), whole.Combined(), 1e-8)
}

// A mean of readings on one plate keeps the plate's uncertainty and halves the
// variance of what is their own; a difference of a reading with itself is nothing.
func TestLinear(t *testing.T) {
	a, b := reading(2e-3, "r1", 0.001), reading(2e-3, "r2", 0.001)
	m, err := Linear("mean", "m²", []float64{0.5, 0.5}, a, b)
	if err != nil {
		t.Fatal(err)
	}
	air := 0.5 * 60 / 1e5
	same(t, "mean u_rel", m.Relative(), math.Sqrt(0.005*0.005+air*air+0.001*0.001/2), 1e-9)
	d, err := Linear("difference", "m²", []float64{1, -1}, a, a)
	if err != nil {
		t.Fatal(err)
	}
	if d.Value != 0 || d.Combined() != 0 {
		t.Errorf("a − a = %v ± %v", d.Value, d.Combined())
	}
	if _, err := Linear("", "", []float64{1}, Budget{Value: nan()}); !errors.Is(err, ErrNotFinite) {
		t.Errorf("NaN in a sum: %v", err)
	}
	if _, _, err := Ratio(a, Budget{}); !errors.Is(err, ErrNotPositive) {
		t.Errorf("ratio with zero: %v", err)
	}
}
