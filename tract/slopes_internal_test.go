package tract

import (
	"math"
	"testing"
)

// A derivative copied wrongly still looks right, so each is checked against the function it came from, by a central difference in the
// logarithm. Tolerance 1e-6 of the size of K: truncation of the difference at h = 1e-4 is below 1e-7.
func TestLossSlopes(t *testing.T) {
	const h = 1e-4
	check := func(name string, got float64, f func(float64) float64) {
		t.Helper()
		want := (f(math.Exp(h)) - f(math.Exp(-h))) / (2 * h)
		if math.Abs(got-want) > 1e-6*(1+math.Abs(want)) {
			t.Errorf("%s: %.9g, difference quotient %.9g", name, got, want)
		}
	}
	for _, re := range []float64{1500, 3000, 1e4, 2e5, 1e6} {
		for _, rough := range []float64{1e-6, 1e-4, 3e-3, 0.03} {
			k, byRe, byRough := frictionSlopes(re, rough)
			if want := Friction(re, rough).K; math.Abs(k-want) > 1e-15 {
				t.Errorf("λ is %g, want %g", k, want)
			}
			check("λ by Re", byRe, func(x float64) float64 { return Friction(re*x, rough).K })
			check("λ by roughness", byRough, func(x float64) float64 { return Friction(re, rough*x).K })
		}
	}
	for _, ratio := range []float64{0.15, 0.24, 0.4, 0.7, 0.95} {
		for _, length := range []float64{0.001, 0.004, 0.01, 0.05, 0.3} {
			big, small := 12e-4, 12e-4*ratio
			_, by1, by2 := contractionSlopes(big, small, length)
			check("contraction by a1", by1, func(x float64) float64 { return GradualContraction(big*x, small, length, 0).K })
			check("contraction by a2", by2, func(x float64) float64 { return GradualContraction(big, small*x, length, 0).K })
			_, by1, by2 = expansionSlopes(small, big, length)
			check("expansion by a1", by1, func(x float64) float64 { return GradualExpansion(small*x, big, length, 0).K })
			check("expansion by a2", by2, func(x float64) float64 { return GradualExpansion(small, big*x, length, 0).K })
		}
	}
	for _, angle := range []float64{0.2, 0.8, 1.57, 3} {
		for _, r := range []float64{0.4, 0.7, 1, 3} {
			_, byR, byF := bendSlopes(angle, r, 0.018)
			local := func(r, f float64) float64 { return Bend(angle, r, f, 1e5).K - f*angle*max(r, 0.5) }
			check("bend by radius", byR, func(x float64) float64 { return local(r*x, 0.018) })
			check("bend by f", byF*0.018, func(x float64) float64 { return local(r, 0.018*x) })
		}
	}
}
