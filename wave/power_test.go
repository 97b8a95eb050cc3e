package wave

import (
	"math"
	"testing"
)

// TestPower checks the fast power against math.Pow over the range the joints use.
func TestPower(t *testing.T) {
	worst, where := 0.0, 0.0
	for i := range 2000 {
		x := math.Exp(-9 + 18*float64(i)/1999)
		for _, y := range []float64{-3.5, -1, -0.7142857, -0.1428571, 0, 0.1428571, 0.5, 1, 1.4, 2.5, 3.5, 5, 7, 7.6666} {
			got, want := power(x, y), math.Pow(x, y)
			if math.Abs(y*math.Log2(x)) > 20 {
				continue
			}
			if d := math.Abs(got/want - 1); d > worst {
				worst, where = d, x
			}
		}
	}
	t.Logf("worst relative deviation %.1e at x = %g", worst, where)
	if worst > 1e-10 {
		t.Errorf("power: worst relative deviation from math.Pow %.2e, want ≤ 1e-10", worst)
	}
	if power(1, 3.3) != 1 {
		t.Errorf("power(1, y) = %v, want exactly 1", power(1, 3.3))
	}
}

// TestPowers checks the product of two powers against math.Pow over the range of a cylinder's heat transfer.
func TestPowers(t *testing.T) {
	for x := 0.01; x < 5000; x *= 1.7 {
		for y := 200.0; y < 4000; y *= 1.1 {
			got, want := Powers(x, 0.8, y, -0.53), math.Pow(x, 0.8)*math.Pow(y, -0.53)
			if !(math.Abs(got/want-1) <= 1e-10) {
				t.Fatalf("%g and %g: %v, want %v", x, y, got, want)
			}
		}
	}
}

func BenchmarkPower(b *testing.B) {
	x := 0.7
	for b.Loop() {
		x = 0.5 + 0.4*power(x, 0.142)
	}
}

func BenchmarkMathPow(b *testing.B) {
	x := 0.7
	for b.Loop() {
		x = 0.5 + 0.4*math.Pow(x, 0.142)
	}
}
