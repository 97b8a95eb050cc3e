package measure

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"
)

func sumOf(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s
}

// quantileSD is the standard deviation of a sample quantile: sqrt(p(1 − p)/M)/f.
func quantileSD(p, density float64, draws int) float64 {
	return math.Sqrt(p*(1-p)/float64(draws)) / density
}

// Source: JCGM 101:2008, 9.2.2 and 9.2.3, sums of four inputs; printed results in
// testdata/uncertainty.csv with their rounding. To that comes four standard
// deviations of what the draws give: of u, u/√(2M); of an end, by the density of
// the normal distribution there, which both sums have nearly.
func TestGuide101Sums(t *testing.T) {
	const draws = 400_000
	for _, example := range []string{"JCGM101_9.2.2", "JCGM101_9.2.3"} {
		in, want := worked(t, example)
		var lines []Line
		for i := 1; i <= 4; i++ {
			lines = append(lines, in[fmt.Sprint("X", i)])
		}
		r, err := Propagate(newRand(61), sumOf, lines, PropagateOptions{Draws: draws})
		if err != nil {
			t.Fatal(err)
		}
		near(t, example+" mean", r.Mean, 0, 0, 4*2/math.Sqrt(draws))
		near(t, example+" u", r.U, want["u_Y"][0], 0, want["u_Y"][1]+4*2/math.Sqrt(2*draws))
		hi := want["y_high_95"]
		tol := hi[1] + 4*quantileSD(0.025, math.Exp(-1.96*1.96/2)/math.Sqrt(2*math.Pi)/2, draws)
		near(t, example+" upper end", r.Hi, hi[0], 0, tol)
		near(t, example+" lower end", r.Lo, -hi[0], 0, tol)
	}
	// The end of the sum of rectangular inputs in closed form, as the guide gives it.
	same(t, "closed form", 2*math.Sqrt(3)*(2-math.Pow(0.6, 0.25)), 3.88, 0.002)
}

// Source: JCGM 101:2008, 9.3, mass calibration, where the first order is wrong by
// design; printed results in testdata/uncertainty.csv with their tolerance, plus
// four standard deviations of the draws.
func TestGuide101Mass(t *testing.T) {
	const draws = 400_000
	_, want := worked(t, "JCGM101_9.3")
	in := massLines(t)
	r, err := Propagate(newRand(62), massOf, in, PropagateOptions{Draws: draws})
	if err != nil {
		t.Fatal(err)
	}
	u := want["u_MCM_mg"][0]
	near(t, "mean", r.Mean, want["dm_mean_mg"][0], 0, want["dm_mean_mg"][1]+4*u/math.Sqrt(draws))
	near(t, "u", r.U, u, 0, want["u_MCM_mg"][1]+4*u/math.Sqrt(draws))
	end := 4 * quantileSD(0.025, 0.0584/u, draws)
	near(t, "lower end", r.ShortLo, want["low95_mg"][0], 0, want["low95_mg"][1]+end)
	near(t, "upper end", r.ShortHi, want["high95_mg"][0], 0, want["high95_mg"][1]+end)
	b, err := Compute(massOf, in...)
	if err != nil {
		t.Fatal(err)
	}
	a, err := Agree(b, r, 0)
	if err != nil {
		t.Fatal(err)
	}
	if a.Agrees || a.Note == "" {
		t.Errorf("the first order is said to do: %+v", a)
	}
	second, err := SecondOrder(massOf, in...)
	if err != nil {
		t.Fatal(err)
	}
	// 0.0750 is what JCGM 101 9.3.2.6 prints with higher-order terms, from memory.
	near(t, "second order", second, 0.0750, 0, 6e-5)
}

// Source: NIST Technical Note 1900, example 13, thermal expansion, as collected in
// testdata/uncertainty.csv. Its u is the standard deviation of a t distribution with
// 3 degrees of freedom, so that the scale is u/√3. The fourth moment does not exist:
// the sample deviation settles slowly, and 1 % is allowed for it.
func TestNISTThermalExpansion(t *testing.T) {
	in, want := worked(t, "NIST_TN1900_E13_thermal_expansion")
	var lines []Line
	for _, name := range []string{"L0", "T0", "L1", "T1"} {
		l := in[name]
		l.U /= math.Sqrt(3)
		lines = append(lines, l)
	}
	alpha := func(x []float64) float64 { return (x[2] - x[0]) / (x[0] * (x[3] - x[1])) }
	r, err := Propagate(newRand(63), alpha, lines, PropagateOptions{Draws: 400_000})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "alpha", r.Mean, want["alpha"][0], 0, want["alpha"][1]+4*1.76e-6/math.Sqrt(400_000))
	near(t, "u", r.U, want["u_alpha"][0], 0.01, want["u_alpha"][1])
}

// Where the model is a straight line and the inputs are normal, the budget is exact
// and the draws must agree with it; here with correlation.
func TestPropagateAgreesWithBudget(t *testing.T) {
	f := func(x []float64) float64 { return 3*x[0] - 2*x[1] + x[2] }
	in := []Line{
		{Estimate: 1, U: 0.2, Distribution: Normal},
		{Estimate: 4, U: 0.3, Distribution: Normal},
		{Estimate: -1, U: 0.1, Distribution: Normal},
	}
	for _, r12 := range []float64{0, 0.8, -0.8, 1} {
		pairs := []Pair{{0, 1, r12}}
		b, err := ComputeWith(f, nil, in, pairs)
		if err != nil {
			t.Fatal(err)
		}
		r, err := Propagate(newRand(64), f, in, PropagateOptions{Adaptive: true, Correlation: pairs})
		if err != nil {
			t.Fatal(err)
		}
		if !r.Stable {
			t.Errorf("not stable after %d draws", r.Draws)
		}
		near(t, "mean", r.Mean, b.Value, 0, 2*r.Tolerance)
		near(t, "u", r.U, b.Combined(), 0, 2*r.Tolerance)
		a, err := Agree(b, r, 1)
		if err != nil {
			t.Fatal(err)
		}
		if !a.Agrees {
			t.Errorf("r = %v: %s", r12, a.Note)
		}
	}
}

// Each shape has the standard deviation it is told, and the bounds that follow:
// JCGM 101:2008, table 1. The kurtosis (mean fourth power over squared variance) tells
// the shapes apart: 9/5, 12/5, 3/2, 3, and 3 + 6/(ν − 4).
func TestShapes(t *testing.T) {
	const draws, nu = 150_000, 12.0
	for shape, want := range map[Shape]struct{ sd, kurtosis, bound float64 }{
		Normal:      {1, 3, math.Inf(1)},
		Rectangular: {1, 1.8, math.Sqrt(3)},
		Triangular:  {1, 2.4, math.Sqrt(6)},
		ArcSine:     {1, 1.5, math.Sqrt2},
		StudentT:    {math.Sqrt(nu / (nu - 2)), 3 + 6/(nu-4), math.Inf(1)},
	} {
		r, err := Propagate(newRand(65), sumOf, []Line{{Estimate: 5, U: 2, Dof: nu, Distribution: shape}}, PropagateOptions{Draws: draws})
		if err != nil {
			t.Fatal(err)
		}
		k := 0.0
		for _, v := range r.Sorted() {
			d := (v - r.Mean) / r.U
			k += d * d * d * d / draws
		}
		near(t, string(shape)+" mean", r.Mean, 5, 0, 4*r.U/math.Sqrt(draws))
		same(t, string(shape)+" sd", r.U, 2*want.sd, 4*math.Sqrt((want.kurtosis-1)/4/draws))
		same(t, string(shape)+" kurtosis", k, want.kurtosis, 0.05)
		if y := r.Sorted(); y[0] < 5-2*want.bound-1e-12 || y[draws-1] > 5+2*want.bound+1e-12 {
			t.Errorf("%s reaches %v to %v", shape, y[0], y[draws-1])
		}
	}
	// Quantiles of the t distribution drawn, off whole degrees of freedom.
	for _, nu := range []float64{0.8, 2.5} {
		r, err := Propagate(newRand(66), sumOf, []Line{{U: 1, Dof: nu, Distribution: StudentT}}, PropagateOptions{Draws: draws})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range []float64{0.25, 0.9} {
			x := TQuantile(p, nu)
			below, _ := slices.BinarySearch(r.Sorted(), x)
			near(t, fmt.Sprintf("share below the %v quantile, ν %v", p, nu), float64(below)/draws, p, 0, 4*math.Sqrt(p*(1-p)/draws))
		}
		if nu < 2 && len(r.Warnings) == 0 {
			t.Error("a t distribution without a standard deviation draws no warning")
		}
	}
}

// A skew result: its shortest interval begins at 0, its symmetric one does not.
func TestShortestInterval(t *testing.T) {
	// −ln of a rectangular input over 0 … 1 is exponential: shortest 0 to −ln 0.05.
	f := func(x []float64) float64 { return -math.Log(x[0]) }
	in := []Line{{Estimate: 0.5, U: 0.5 / math.Sqrt(3), Distribution: Rectangular}}
	const draws = 200_000
	r, err := Propagate(newRand(67), f, in, PropagateOptions{Draws: draws})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "lower end, shortest", r.ShortLo, 0, 0, 0.01)
	near(t, "upper end, shortest", r.ShortHi, -math.Log(0.05), 0, 4*quantileSD(0.05, 0.05, draws))
	near(t, "lower end", r.Lo, -math.Log(0.975), 0, 4*quantileSD(0.025, 0.975, draws))
	near(t, "upper end", r.Hi, -math.Log(0.025), 0, 4*quantileSD(0.025, 0.025, draws))
	near(t, "median", r.Quantile(0.5), math.Ln2, 0, 4*quantileSD(0.5, 0.5, draws))
}

// One seed, one answer; one key, one input.
func TestPropagateSeedAndKeys(t *testing.T) {
	in := []Line{{Key: "a", Estimate: 1, U: 1}, {Key: "b", Estimate: 1, U: 1}, {Key: "a", Estimate: 1, U: 1}}
	f := func(x []float64) float64 { return x[0] - x[2] + 0*x[1] }
	calls := 0
	r, err := Propagate(newRand(1), f, in, PropagateOptions{Draws: 50_000, Progress: func(done, total int) {
		calls++
		if done > total || total != 50_000 {
			t.Errorf("progress %d of %d", done, total)
		}
	}})
	if err != nil {
		t.Fatal(err)
	}
	if r.U != 0 || r.Mean != 0 {
		t.Errorf("an input less itself is %v ± %v", r.Mean, r.U)
	}
	if calls != 3 {
		t.Errorf("progress told %d times, want 3", calls)
	}
	g := func(x []float64) float64 { return x[0] * x[1] }
	one, err := Propagate(newRand(7), g, in, PropagateOptions{Draws: 1000})
	if err != nil {
		t.Fatal(err)
	}
	two, err := Propagate(newRand(7), g, in, PropagateOptions{Draws: 1000})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(one.Sorted(), two.Sorted()) {
		t.Error("one seed gave two answers")
	}
}

func TestPropagateRefuses(t *testing.T) {
	ok := []Line{{Estimate: 1, U: 1}}
	for _, c := range []struct {
		name string
		in   []Line
		opt  PropagateOptions
		f    func([]float64) float64
		want error
	}{
		{"unknown shape", []Line{{U: 1, Distribution: "beta"}}, PropagateOptions{}, sumOf, ErrShape},
		{"correlated rectangles", []Line{{U: 1, Distribution: Rectangular}, {U: 1}}, PropagateOptions{Correlation: []Pair{{0, 1, 0.5}}}, sumOf, ErrShape},
		{"few draws", ok, PropagateOptions{Draws: 10}, sumOf, ErrTooFew},
		{"probability 1", ok, PropagateOptions{P: 1}, sumOf, ErrNotPositive},
		{"root of a negative", ok, PropagateOptions{}, func(x []float64) float64 { return math.Sqrt(x[0] - 3) }, ErrNotFinite},
		{"NaN input", []Line{{Estimate: nan()}}, PropagateOptions{}, sumOf, ErrNotFinite},
	} {
		if _, err := Propagate(newRand(1), c.f, c.in, c.opt); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	// A tolerance out of reach is said, not hidden.
	r, err := Propagate(newRand(1), sumOf, ok, PropagateOptions{Adaptive: true, Digits: 6, Draws: 40_000})
	if err != nil || r.Stable || len(r.Warnings) != 1 {
		t.Errorf("six digits from 40 000 draws: stable %v, warnings %v (%v)", r.Stable, r.Warnings, err)
	}
}

// Source: JCGM 101:2008, 7.9.2, its two examples, and the carry to a new digit.
func TestTolerance(t *testing.T) {
	for _, c := range []struct {
		u      float64
		digits int
		want   float64
	}{{0.00035, 2, 0.000005}, {0.00035, 1, 0.00005}, {2, 1, 0.5}, {0.0999, 2, 0.005}, {0, 2, 0}} {
		same(t, fmt.Sprintf("δ of %v", c.u), tolerance(c.u, c.digits), c.want, 1e-12)
	}
}

// A draw allocates nothing: twice the draws cost no further allocation.
func TestPropagateAllocates(t *testing.T) {
	in := massLines(t)
	in = append(in, Line{U: 1, Dof: 4.5, Distribution: StudentT})
	f := func(x []float64) float64 { return massOf(x) + x[5] }
	allocs := func(draws int) float64 {
		rng := newRand(2)
		return testing.AllocsPerRun(3, func() {
			if _, err := Propagate(rng, f, in, PropagateOptions{Draws: draws}); err != nil {
				t.Fatal(err)
			}
		})
	}
	if a, b := allocs(2000), allocs(20000); a != b {
		t.Errorf("2000 draws allocate %v times, 20000 draws %v times", a, b)
	}
}

func BenchmarkPropagate200000(b *testing.B) {
	in := []Line{
		{Estimate: 0.6, U: 0.003, Distribution: Normal},
		{Estimate: 0.05, U: 2e-5, Distribution: Rectangular},
		{Estimate: 2500, U: 12, Dof: 9, Distribution: StudentT},
		{Estimate: 1.2, U: 0.004, Distribution: Triangular},
		{Estimate: 7000, U: 20, Distribution: Normal},
		{Estimate: 293, U: 0.3, Distribution: ArcSine},
	}
	f := func(x []float64) float64 {
		return x[0] * math.Pi / 4 * x[1] * x[1] * math.Sqrt(2*x[2]*x[3]) * math.Sqrt(7000/x[4]) * math.Sqrt(x[5]/293)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Propagate(newRand(1), f, in, PropagateOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

// One point in every slice of every coordinate, whatever the size.
func TestLatinHypercube(t *testing.T) {
	for _, c := range [][2]int{{1, 1}, {7, 3}, {64, 5}, {0, 2}, {3, 0}} {
		n, dims := c[0], c[1]
		p := LatinHypercube(newRand(9), n, dims)
		if len(p) != n {
			t.Fatalf("%d points, want %d", len(p), n)
		}
		for d := range dims {
			seen := make([]bool, n)
			for _, x := range p {
				if len(x) != dims || x[d] < 0 || x[d] >= 1 {
					t.Fatalf("point %v", x)
				}
				seen[int(x[d]*float64(n))] = true
			}
			if slices.Contains(seen, false) {
				t.Errorf("%d × %d: a slice of coordinate %d is empty", n, dims, d)
			}
		}
	}
	// The mean over a straight line has far less scatter than that of free draws:
	// 1/(12n³) against 1/(12n).
	sum := 0.0
	for _, x := range LatinHypercube(newRand(10), 1000, 2) {
		sum += x[0] / 1000
	}
	near(t, "mean", sum, 0.5, 0, 4/math.Sqrt(12*1e9))
}
