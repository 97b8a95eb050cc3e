package measure

import (
	"math"
	"testing"
)

// Why a comparison of few readings is not pooled over its sides. Pooling where a variance test (5 %) does not contradict it would
// bring the interval of three a side from a little too wide to right; but with two readings the test sees nothing, and where those
// two scatter twice as much as the five others the pooled interval holds the truth far less often than Welch's, which is too
// narrow already. Simulated here; tolerances are four binomial standard deviations of 10 000 comparisons, 0.9 %.
func TestPoolingAfterATestIsNoBetter(t *testing.T) {
	const runs = 10_000
	coverage := func(n1, n2 int, sd1, sd2 float64) (welch, pooled float64) {
		rng := newRand(uint64(1000*n1 + 10*n2 + int(sd1)))
		draw := func(n int, sd float64) []float64 {
			x := make([]float64, n)
			for i := range x {
				x[i] = sd * rng.NormFloat64()
			}
			return x
		}
		for range runs {
			a, b := draw(n1, sd1), draw(n2, sd2)
			w, err := WelchTest(a, b)
			if err != nil {
				t.Fatal(err)
			}
			holds := w.P >= 0.05
			if holds {
				welch += 1. / runs
			}
			f := SumSquares(a) / float64(n1-1) / (SumSquares(b) / float64(n2-1))
			p := FUpper(f, float64(n1-1), float64(n2-1))
			if 2*min(p, 1-p) >= 0.05 {
				s, dof, err := PooledSD([][]float64{a, b})
				if err != nil {
					t.Fatal(err)
				}
				holds = TTwoSided(w.Diff/(s*math.Sqrt(1/float64(n1)+1/float64(n2))), dof) >= 0.05
			}
			if holds {
				pooled += 1. / runs
			}
		}
		return welch, pooled
	}
	const tol = 0.009
	welch, pooled := coverage(3, 3, 1, 1)
	near(t, "pooled, three a side that scatter alike", pooled, 0.95, 0, tol)
	if welch < pooled {
		t.Errorf("three a side: Welch's interval holds the truth in %.3f, the pooled one in %.3f", welch, pooled)
	}
	welch, pooled = coverage(2, 5, 2, 1)
	t.Logf("two that scatter twice as much against five: Welch %.3f, pooled %.3f", welch, pooled)
	if !(welch < 0.95-tol && pooled < welch-tol && pooled < 0.89) {
		t.Errorf("two that scatter twice as much against five: Welch's interval holds the truth in %.3f, the pooled one in %.3f: the reason not to pool is gone", welch, pooled)
	}
}

// What the degrees of freedom of a comparison are weighed for: sides that scatter alike, and not worse than Welch's at their worst where one scatters twice
// as much. Tolerances are four binomial standard deviations of 10 000 comparisons, 0.9 %.
func TestFewReadingsAreCovered(t *testing.T) {
	const runs, tol = 10_000, 0.009
	coverage := func(n1, n2 int, sd1, sd2 float64) (ours, welch float64) {
		rng := newRand(uint64(1000*n1 + 10*n2 + int(sd1)))
		side := func(n int, sd float64) ([]float64, repeats) {
			x := make([]float64, n)
			for i := range x {
				x[i] = sd * rng.NormFloat64()
			}
			s := SD(x)
			return x, repeats{n: n, mean: Mean(x), sd: s, used: s, dof: float64(n - 1)}
		}
		for range runs {
			x, a := side(n1, sd1)
			y, b := side(n2, sd2)
			w, err := WelchTest(y, x)
			if err != nil {
				t.Fatal(err)
			}
			if w.P >= 0.05 {
				welch += 1. / runs
			}
			terms := []float64{a.sd / math.Sqrt(float64(n1)), b.sd / math.Sqrt(float64(n2))}
			if TTwoSided(w.T, alikeDof(w.SE, [2]repeats{a, b}, terms, []float64{a.dof, b.dof})) >= 0.05 {
				ours += 1. / runs
			}
		}
		return ours, welch
	}
	worst, worstWelch := 1., 1.
	for _, n := range [][2]int{{2, 2}, {2, 3}, {2, 5}, {3, 3}, {3, 6}, {4, 4}, {5, 5}} {
		ours, welch := coverage(n[0], n[1], 1, 1)
		t.Logf("%d against %d that scatter alike: %.3f, Welch's %.3f", n[0], n[1], ours, welch)
		if math.Abs(ours-0.95) > 0.01+tol || math.Abs(ours-0.95) > math.Abs(welch-0.95)+tol {
			t.Errorf("%d against %d that scatter alike: held in %.3f, Welch's in %.3f", n[0], n[1], ours, welch)
		}
		for _, sd := range [][2]float64{{2, 1}, {1, 2}} {
			ours, welch := coverage(n[0], n[1], sd[0], sd[1])
			t.Logf("%d against %d that scatter as %g to %g: %.3f, Welch's %.3f", n[0], n[1], sd[0], sd[1], ours, welch)
			worst, worstWelch = min(worst, ours), min(worstWelch, welch)
		}
	}
	if worst < worstWelch {
		t.Errorf("at worst %.3f, Welch's %.3f", worst, worstWelch)
	}
}
