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
	l, err := bench.FitLeakage(points, 0)
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
		l, err := bench.FitLeakage(points, 0)
		if err != nil {
			t.Fatal(err)
		}
		q, u, _ := l.At(at)
		e := math.Log(q / (3e-6 * math.Pow(at, 0.62)))
		sum, claimed = sum+e*e, claimed+u*u/q/q
	}
	near(t, "claimed over seen", math.Sqrt(claimed/sum), 1, 0, 0.05)
}

// leaks makes points of test pressures [Pa] and flows [m³/s] without uncertainties.
func leaks(dpFlow ...float64) (points []bench.LeakPoint) {
	for i := 0; i < len(dpFlow); i += 2 {
		points = append(points, bench.LeakPoint{TestPressure: dpFlow[i], Flow: dpFlow[i+1]})
	}
	return points
}

// Points that state their uncertainties are weighed by them, and the law is as sure as they say: refitting 4000 noisy sets of
// four points, one of them ten times as uncertain, must show the claimed standard uncertainty. Tolerance: 5 % of the ratio of
// standard deviations, four times its sampling error. The share that all points have in common comes on top in full.
func TestLeakageWeighsItsPoints(t *testing.T) {
	r := seeded(7)
	const at, sets = 5e3, 4000
	law := func(dp float64) float64 { return 3e-6 * math.Pow(dp, 0.62) }
	drops, share := []float64{2.5e3, 4e3, 5.5e3, 8e3}, []float64{0.02, 0.2, 0.02, 0.02}
	var sum, claimed, plain float64
	for range sets {
		var points []bench.LeakPoint
		for i, dp := range drops {
			u := share[i] * law(dp)
			points = append(points, bench.LeakPoint{TestPressure: dp, Flow: law(dp) + u*r.NormFloat64(), U: u})
		}
		l, err := bench.FitLeakage(points, 0)
		if err != nil {
			t.Fatal(err)
		}
		q, u, _ := l.At(at)
		sum, claimed = sum+(q/law(at)-1)*(q/law(at)-1), claimed+u*u/q/q
		for i := range points {
			points[i].U = 0
		}
		if l, err = bench.FitLeakage(points, 0); err != nil {
			t.Fatal(err)
		}
		q, _, _ = l.At(at)
		plain += (q/law(at) - 1) * (q/law(at) - 1)
	}
	// The Birge ratio widens where chance makes it exceed 1: the claim is a little wide, never narrow.
	if k := math.Sqrt(claimed / sum); !(k > 0.95 && k < 1.2) {
		t.Errorf("claimed over seen = %.3f, want 1 to 1.2", k)
	}
	if !(math.Sqrt(plain/sum) > 2) {
		t.Errorf("weighing gains a factor of %.2f, want more than 2", math.Sqrt(plain/sum))
	}
	l, err := bench.FitLeakage([]bench.LeakPoint{{TestPressure: 4e3, Flow: law(4e3), U: 0.01 * law(4e3)}, {TestPressure: 6e3, Flow: law(6e3), U: 0.01 * law(6e3)}, {TestPressure: 8e3, Flow: law(8e3), U: 0.01 * law(8e3)}}, 0.03)
	if err != nil {
		t.Fatal(err)
	}
	own, err := bench.FitLeakage([]bench.LeakPoint{{TestPressure: 4e3, Flow: law(4e3), U: 0.01 * law(4e3)}, {TestPressure: 6e3, Flow: law(6e3), U: 0.01 * law(6e3)}, {TestPressure: 8e3, Flow: law(8e3), U: 0.01 * law(8e3)}}, 0)
	if err != nil {
		t.Fatal(err)
	}
	q, u, _ := l.At(5e3)
	_, uOwn, _ := own.At(5e3)
	near(t, "with the share in common", u*u, uOwn*uOwn+0.03*0.03*q*q, 1e-9, 0)
}

// With all the weights alike the law is the straight line through the logarithms of weighted linear least squares, worked out here
// by hand for small uncertainties, where Q and ln Q differ by nothing: slope, its variance 1/Σ(x − x̄)²w.
func TestLeakageCovariance(t *testing.T) {
	const rel = 1e-4
	var points []bench.LeakPoint
	var x []float64
	for _, dp := range []float64{2e3, 4e3, 8e3} {
		q := 3e-6 * math.Pow(dp, 0.6)
		points, x = append(points, bench.LeakPoint{TestPressure: dp, Flow: q, U: rel * q}), append(x, math.Log(dp))
	}
	l, err := bench.FitLeakage(points, 0)
	if err != nil {
		t.Fatal(err)
	}
	mean := (x[0] + x[1] + x[2]) / 3
	sxx := 0.0
	for _, v := range x {
		sxx += (v - mean) * (v - mean)
	}
	uK, uN, cov := l.ULogK()
	near(t, "u(n)", uN, rel/math.Sqrt(sxx), 1e-6, 0)
	near(t, "u(ln k)", uK, rel*math.Sqrt(1.0/3+mean*mean/sxx), 1e-6, 0)
	near(t, "cov(ln k, n)", cov, -rel*rel*mean/sxx, 1e-6, 0)
	if !math.IsInf(l.Dof, 1) {
		t.Errorf("degrees of freedom %v of stated uncertainties", l.Dof)
	}
}

// A leakage that the meter cannot see is an upper bound and says so; beside points that were seen it pulls the law as what it is.
func TestLeakageNotSeen(t *testing.T) {
	none, err := bench.FitLeakage([]bench.LeakPoint{{TestPressure: 7e3, U: 2e-5}, {TestPressure: 3.5e3, Flow: 1e-5, U: 2e-5}}, 0.01)
	if err != nil {
		t.Fatal(err)
	}
	q, u, _ := none.At(7e3)
	// The closer bound of the two: 4e-5 at 7 kPa against (1 + 4)e-5·2^0.65 there.
	if near(t, "bound", u, 4e-5/math.Sqrt(3), 1e-12, 0); q != 0 || none.Seen != 0 || len(none.Warnings) != 1 {
		t.Errorf("flow %v, seen %d, warnings %v", q, none.Seen, none.Warnings)
	}
	unknown, err := bench.FitLeakage(leaks(7e3, 0, 3e3, 0), 0)
	if err != nil || unknown.Bound != 0 || len(unknown.Warnings) != 1 {
		t.Errorf("typed as none: bound %v, warnings %v, %v", unknown.Bound, unknown.Warnings, err)
	}
	law := func(dp float64) float64 { return 3e-6 * math.Pow(dp, 0.62) }
	mixed, err := bench.FitLeakage(leaks(1e3, 0, 4e3, law(4e3), 6e3, law(6e3), 8e3, law(8e3)), 0)
	if err != nil {
		t.Fatal(err)
	}
	if mixed.Seen != 3 || mixed.Points != 4 || len(mixed.Warnings) == 0 {
		t.Errorf("seen %d of %d, warnings %v", mixed.Seen, mixed.Points, mixed.Warnings)
	}
	if q, _, _ := mixed.At(6e3); math.Abs(q/law(6e3)-1) > 0.02 || mixed.N <= 0.62 {
		t.Errorf("flow %v of %v, exponent %v: the point that was not seen should pull a little, towards a steeper law", q, law(6e3), mixed.N)
	}
}

func TestFitLeakageWithFewPoints(t *testing.T) {
	one, err := bench.FitLeakage(leaks(7e3, 5e-4), 0)
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
	none, err := bench.FitLeakage(leaks(7e3, 0, 3e3, 0), 0)
	if err != nil || none.K != 0 {
		t.Errorf("no leakage: k %v, %v", none.K, err)
	}
	odd, err := bench.FitLeakage(leaks(2e3, 1e-4, 4e3, 4e-4, 8e3, 16e-4), 0)
	if err != nil || len(odd.Warnings) != 1 {
		t.Errorf("exponent 2: warnings %v, %v; want one", odd.Warnings, err)
	}
}

func TestFitLeakageRefuses(t *testing.T) {
	if _, err := bench.FitLeakage(nil, 0); !errors.Is(err, measure.ErrTooFew) {
		t.Errorf("no points: %v, want ErrTooFew", err)
	}
	for name, p := range map[string]bench.LeakPoint{
		"negative flow": {TestPressure: 7e3, Flow: -1e-5}, "no drop": {Flow: 1e-5}, "not a number": {TestPressure: 7e3, Flow: math.NaN()},
		"infinite drop": {TestPressure: math.Inf(1), Flow: 1e-5}, "negative uncertainty": {TestPressure: 7e3, Flow: 1e-5, U: -1e-6},
	} {
		_, err := bench.FitLeakage(append(leaks(5e3, 1e-5), p), 0)
		if _, ok := errors.AsType[*gas.InputError](err); !ok {
			t.Errorf("%s: error %v, want an input error", name, err)
		}
	}
}
