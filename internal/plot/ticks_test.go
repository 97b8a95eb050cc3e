package plot

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Ticks lie in the range, are evenly spaced and neither too few nor too many.
func TestTicks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(-1e6, 1e6).Draw(t, "lo")
		span := math.Pow(10, rapid.Float64Range(-4, 6).Draw(t, "log span"))
		n := rapid.IntRange(2, 12).Draw(t, "n")
		at, dec := ticks(lo, lo+span, n)
		if len(at) > n+1 {
			t.Fatalf("%d ticks, %d asked for", len(at), n)
		}
		tol := 1e-6*span + 1e-15*math.Abs(lo) // a span far smaller than its place is uneven by the rounding of the places
		for i, v := range at {
			if v < lo-tol || v > lo+span+tol {
				t.Fatalf("tick %v outside %v + %v", v, lo, span)
			}
			p := math.Pow(10, float64(dec))
			if dec < 6 && math.Abs(v*p-math.Round(v*p)) > 1e-4 {
				t.Fatalf("%d decimals do not write %v", dec, v)
			}
			if i > 1 && math.Abs((at[i]-at[i-1])-(at[1]-at[0])) > tol {
				t.Fatalf("uneven ticks %v", at)
			}
		}
	})
}

// Labels moved apart keep their order and their distance.
func TestSpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ys := rapid.SliceOfN(rapid.Float64Range(-50, 350), 0, 12).Draw(t, "ys")
		out := spread(ys, 14, 0, 300)
		for i := range ys {
			if out[i] < -1e-9 || out[i] > 300+1e-9 {
				t.Fatalf("label at %v", out[i])
			}
			for k := range i {
				if math.Abs(out[i]-out[k]) < 14-1e-9 || (ys[i]-ys[k])*(out[i]-out[k]) < 0 {
					t.Fatalf("%v became %v", ys, out)
				}
			}
		}
	})
}

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		v    float64
		dec  int
		want string
	}{
		{-1.25, 1, "−1.2"},
		{-0.04, 1, "0.0"},
		{1234, 0, "1234"},
		{12345.6, 1, "12\u2009345.6"},
		{-1234567, 0, "−1\u2009234\u2009567"},
		{math.NaN(), 1, "–"},
	} {
		if got := Number(c.v, c.dec); got != c.want {
			t.Errorf("Number(%v, %d) = %q, wanted %q", c.v, c.dec, got, c.want)
		}
	}
	if got := Signed(2, 1) + Signed(-2, 1) + Signed(0.04, 1); got != "+2.0−2.00.0" {
		t.Errorf("Signed: %q", got)
	}
}
