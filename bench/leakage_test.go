package bench_test

import (
	"errors"
	"math"
	"testing"

	"runnel/bench"
	"runnel/gas"
	"runnel/measure"
)

// Points on a power law give it back to round-off, and no scatter (Definition of the law).
func TestFitLeakageExact(t *testing.T) {
	var points []bench.LeakPoint
	for _, dp := range []float64{2e3, 4e3, 7e3, 9e3} {
		points = append(points, bench.LeakPoint{TestPressure: dp, Flow: 3e-6 * math.Pow(dp, 0.62)})
	}
	l, err := bench.FitLeakage(points)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "k", l.K, 3e-6, 1e-10, 0)
	near(t, "n", l.N, 0.62, 1e-12, 0)
	near(t, "scatter", l.Scatter, 0, 0, 1e-12)
	q, u, w := l.At(6e3)
	near(t, "flow", q, 3e-6*math.Pow(6e3, 0.62), 1e-12, 0)
	if u > 1e-12 || len(w)+len(l.Warnings) != 0 {
		t.Errorf("u %v, warnings %v %v; want none", u, w, l.Warnings)
	}
	if _, _, w := l.At(1e3); len(w) != 1 {
		t.Errorf("below the points: warnings %v, want one", w)
	}
}

// The standard uncertainty of the law covers what refitting noisy points shows: 2000 sets of five points with 3 % noise.
// Tolerance: 5 % of the ratio of standard deviations, three times its sampling error of 1/sqrt(4000).
func TestLeakageUncertaintyIsHonest(t *testing.T) {
	r := seeded(1)
	const at, sets = 3e3, 2000
	var sum, claimed float64
	for range sets {
		var points []bench.LeakPoint
		for _, dp := range []float64{2.5e3, 4e3, 5.5e3, 7e3, 8.5e3} {
			points = append(points, bench.LeakPoint{TestPressure: dp, Flow: 3e-6 * math.Pow(dp, 0.62) * math.Exp(0.03*r.NormFloat64())})
		}
		l, err := bench.FitLeakage(points)
		if err != nil {
			t.Fatal(err)
		}
		q, u, _ := l.At(at)
		e := math.Log(q / (3e-6 * math.Pow(at, 0.62)))
		sum, claimed = sum+e*e, claimed+u*u/q/q
	}
	near(t, "claimed over seen", math.Sqrt(claimed/sum), 1, 0, 0.05)
}

func TestFitLeakageWithFewPoints(t *testing.T) {
	one, err := bench.FitLeakage([]bench.LeakPoint{{7e3, 5e-4}})
	if err != nil {
		t.Fatal(err)
	}
	if len(one.Warnings) == 0 || one.N != 0.65 {
		t.Errorf("one point: exponent %v, warnings %v", one.N, one.Warnings)
	}
	q, near7, _ := one.At(7e3)
	near(t, "at its point", q, 5e-4, 1e-12, 0)
	if _, far, _ := one.At(3e3); far/one.K <= near7/one.K*0.5 {
		t.Errorf("uncertainty %v away from the point, %v at it", far, near7)
	}
	none, err := bench.FitLeakage([]bench.LeakPoint{{7e3, 0}, {3e3, 0}})
	if err != nil || none.K != 0 {
		t.Errorf("no leakage: k %v, %v", none.K, err)
	}
	odd, err := bench.FitLeakage([]bench.LeakPoint{{2e3, 1e-4}, {4e3, 4e-4}, {8e3, 16e-4}})
	if err != nil || len(odd.Warnings) != 1 {
		t.Errorf("exponent 2: warnings %v, %v; want one", odd.Warnings, err)
	}
}

func TestFitLeakageRefuses(t *testing.T) {
	if _, err := bench.FitLeakage(nil); !errors.Is(err, measure.ErrTooFew) {
		t.Errorf("no points: %v, want ErrTooFew", err)
	}
	for name, p := range map[string]bench.LeakPoint{
		"negative flow": {7e3, -1e-5}, "no drop": {0, 1e-5}, "not a number": {7e3, math.NaN()}, "infinite drop": {math.Inf(1), 1e-5},
	} {
		_, err := bench.FitLeakage([]bench.LeakPoint{{5e3, 1e-5}, p})
		if _, ok := errors.AsType[*gas.InputError](err); !ok {
			t.Errorf("%s: error %v, want an input error", name, err)
		}
	}
}
