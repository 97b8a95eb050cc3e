package measure

import (
	"errors"
	"slices"
	"testing"
)

// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, individuals chart:
// mean 50.81, mean moving range 1.8778, limits 55.8041 and 45.8159, printed with
// d2 = 1.128 where the exact constant is 1.12838. The limits differ by that, 0.0017.
func TestChartHandbookIndividuals(t *testing.T) {
	x := []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	c, err := ControlChart(x, ChartOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "centre", c.Centre, 50.81, 0, 5e-5)
	near(t, "σ", c.Sigma, 1.8778/1.128, 4e-4, 0)
	near(t, "upper limit", c.Hi, 55.8041, 0, 0.0018)
	near(t, "lower limit", c.Lo, 45.8159, 0, 0.0018)
	for i, p := range c.Points {
		if slices.Contains(p.Signals, RuleBeyond) {
			t.Errorf("value %d is beyond the limits, the handbook has none", i+1)
		}
	}
	if len(c.Warnings) != 1 {
		t.Errorf("a baseline of ten draws warnings %v, want one", c.Warnings)
	}
}

// Source: NIST/SEMATECH e-Handbook, 6.3.2.4, moving average chart with λ = 0.3,
// centre 50, s = 2.0539: the averages to two decimals, limits 52.5884 and 47.4115 in the
// long run (printed from a rounded factor 0.4201: 1e-3), none beyond.
func TestChartHandbookAverage(t *testing.T) {
	x := []float64{
		52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
		49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1,
	}
	want := []float64{
		50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33,
		50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
	}
	c, err := ControlChart(x, ChartOptions{Centre: 50, Sigma: 2.0539, Lambda: 0.3})
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range c.Points {
		near(t, "average", p.Average, want[i], 0, 0.00501)
		if slices.Contains(p.Signals, RuleAverage) {
			t.Errorf("average %d is beyond its limits, the handbook has none", i+1)
		}
	}
	last := c.Points[len(c.Points)-1]
	near(t, "upper limit", last.AverageHi, 52.5884, 0, 1e-3)
	near(t, "lower limit", last.AverageLo, 47.4115, 0, 1e-3)
	near(t, "first limit is that of λ·x", c.Points[0].AverageHi, 50+3*0.3*2.0539, 1e-12, 0)
}

// Each rule by a sequence that breaks it and one that just does not, about 0 with
// σ = 1 known.
func TestChartRules(t *testing.T) {
	for _, c := range []struct {
		rule     Rule
		yes, not []float64
	}{
		{RuleBeyond, []float64{0, 3.01}, []float64{0, 2.99}},
		{RuleBeyond, []float64{0, -3.01}, []float64{0, -2.99}},
		{RuleTwoOf3, []float64{2.1, 0, 2.1}, []float64{2.1, 0, -2.1}},
		{RuleTwoOf3, []float64{-2.1, -2.2}[:2:2], []float64{2.1, 0, 0.2, 2.1}},
		{RuleFourOf5, []float64{1.1, 1.2, 0, 1.1, 1.3}, []float64{1.1, 1.2, 0, 0.9, 1.3}},
		{RuleEightSide, []float64{0.1, 0.2, 0.1, 0.3, 0.1, 0.2, 0.1, 0.2}, []float64{0.1, 0.2, 0.1, 0.3, -0.1, 0.2, 0.1, 0.2}},
		{RuleSixTrend, []float64{0.5, 0.4, 0.2, 0.1, -0.2, -0.3}, []float64{0.5, 0.4, 0.2, 0.2, -0.2, -0.3}},
		{RuleSixTrend, []float64{0, 1, 2, 3, 4, 5}, []float64{0, 1, 2, 3, 2, 5}},
		{RuleAverage, []float64{2, 2, 2, 2, 2, 2}, []float64{0.5, 0.5, 0.5, 0.5, 0.5, 0.5}},
	} {
		last := func(x []float64) []Rule {
			if c.rule == RuleTwoOf3 && len(x) == 2 {
				x = append([]float64{0}, x...)
			}
			chart, err := ControlChart(x, ChartOptions{Sigma: 1})
			if err != nil {
				t.Fatal(err)
			}
			return chart.Points[len(chart.Points)-1].Signals
		}
		if !slices.Contains(last(c.yes), c.rule) {
			t.Errorf("%q does not see %v", c.rule, c.yes)
		}
		if slices.Contains(last(c.not), c.rule) {
			t.Errorf("%q sees %v", c.rule, c.not)
		}
	}
}

// A shift of one standard deviation is found by the moving average within 10 values
// on average (Lucas and Saccucci give 9.8 to 10.1 for λ of 0.2 near L = 3, from
// memory), while a point beyond 3σ alone needs 44 (1/P(|z + 1| > 3)).
func TestChartFindsShift(t *testing.T) {
	rng := newRand(81)
	const runs = 400
	sum := 0
	for range runs {
		x := make([]float64, 300)
		for i := range x {
			x[i] = 1 + rng.NormFloat64()
		}
		c, err := ControlChart(x, ChartOptions{Sigma: 1})
		if err != nil {
			t.Fatal(err)
		}
		at := slices.IndexFunc(c.Points, func(p ChartPoint) bool { return slices.Contains(p.Signals, RuleAverage) })
		if at < 0 {
			t.Fatal("a shift was not found in 300 values")
		}
		sum += at + 1
	}
	if arl := float64(sum) / runs; arl < 7 || arl > 13 {
		t.Errorf("a shift of 1σ takes %.1f values, want about 10", arl)
	}
}

func TestChartRefuses(t *testing.T) {
	for _, c := range []struct {
		x    []float64
		opt  ChartOptions
		want error
	}{
		{nil, ChartOptions{}, ErrTooFew},
		{[]float64{1}, ChartOptions{}, ErrTooFew},
		{[]float64{1, 1, 1}, ChartOptions{}, ErrNoScatter},
		{[]float64{1, nan()}, ChartOptions{}, ErrNotFinite},
		{[]float64{1, 2}, ChartOptions{Lambda: 2}, ErrNotPositive},
		{[]float64{1, 2}, ChartOptions{Sigma: -1}, ErrNotPositive},
	} {
		if _, err := ControlChart(c.x, c.opt); !errors.Is(err, c.want) {
			t.Errorf("ControlChart(%v, %+v): %v, want %v", c.x, c.opt, err, c.want)
		}
	}
	// One check-plate flow against a known process is enough.
	if _, err := ControlChart([]float64{1}, ChartOptions{Sigma: 0.5}); err != nil {
		t.Errorf("one value with a known σ: %v", err)
	}
}
