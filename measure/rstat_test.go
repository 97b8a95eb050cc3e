package measure

import (
	"math"
	"slices"
	"testing"

	"runnel/internal/tabletest"
)

func filterOf(t *testing.T, r tabletest.Row) RFilter {
	t.Helper()
	return RFilter{r.Num(t, "lambda1"), r.Num(t, "lambda2"), r.Num(t, "lambda3")}
}

// endOfRuns simulates R after 400 samples of white noise plus a ramp of so many
// standard deviations a sample, in rising order.
func endOfRuns(f RFilter, ramp float64, runs int, seed uint64) []float64 {
	rng := newRand(seed)
	x, r := make([]float64, 400), []float64(nil)
	ends := make([]float64, runs)
	for k := range ends {
		for i := range x {
			x[i] = ramp*float64(i) + rng.NormFloat64()
		}
		r = RStatistic(x, f, r)
		ends[k] = r[len(r)-1]
	}
	slices.Sort(ends)
	return ends
}

// Source: testdata/r_statistic_critical_values.csv, an independent Monte Carlo of
// 200 000 runs, good to ±0.005. Our own runs add their sampling deviation
// sqrt(p(1−p)/n)/f(q), taken from the table's own quantiles as the density; four
// of them are allowed.
func TestRCriticalTable(t *testing.T) {
	const runs = 4000
	for _, r := range tabletest.Read(t, "testdata/r_statistic_critical_values.csv", 1) {
		f := filterOf(t, r)
		ends := endOfRuns(f, 0, runs, 11)
		for _, c := range []struct {
			p         float64
			column    string
			low, high string
			width     float64
		}{{0.5, "q50", "q25", "q75", 0.5}, {0.9, "q90", "q75", "q95", 0.2}, {0.95, "q95", "q90", "q99", 0.09}} {
			density := c.width / (r.Num(t, c.high) - r.Num(t, c.low))
			tol := 0.005 + 4*math.Sqrt(c.p*(1-c.p)/runs)/density
			near(t, "R "+c.column, quantileSorted(ends, c.p), r.Num(t, c.column), 0, tol)
		}
		for _, c := range []struct {
			level  float64
			column string
		}{{0.5, "q50"}, {0.9, "q90"}, {0.95, "q95"}, {0.99, "q99"}} {
			got, err := RCritical(f, c.level)
			if err != nil {
				t.Fatal(err)
			}
			same(t, "tabled "+c.column, got, r.Num(t, c.column), 0)
		}
	}
	for _, f := range []RFilter{{0.3, 0.1, 0.1}, {}} {
		if _, err := RCritical(f, 0.95); err == nil {
			t.Errorf("filters %v have a critical value", f)
		}
	}
	if _, err := RCritical(RFast(), 0.97); err == nil {
		t.Error("level 0.97 has a critical value")
	}
}

// Source: testdata/r_statistic_ramp_response.csv, the same kind of Monte Carlo; its
// number of runs is not given. 4 % is four times the deviation of a median of
// 2000 runs of a spread of a third, and as much again for the table's own.
func TestRRampTable(t *testing.T) {
	for _, r := range tabletest.Read(t, "testdata/r_statistic_ramp_response.csv", 1) {
		ends := endOfRuns(filterOf(t, r), r.Num(t, "ramp_sigma_per_sample"), 2000, 12)
		same(t, "median R, ramp "+r["ramp_sigma_per_sample"], Median(ends), r.Num(t, "median_R"), 0.04)
		below := float64(lower(ends, 1)) / float64(len(ends))
		near(t, "share below 1", below, r.Num(t, "P_R_below_1"), 0, 4*math.Sqrt(0.25/2000))
	}
}

// lower counts the values of s, in rising order, below v.
func lower(s []float64, v float64) int {
	i, _ := slices.BinarySearch(s, v)
	return i
}

// R does not change with the unit or the level, and is 1 where nothing moves.
func TestRStatisticInvariant(t *testing.T) {
	x := ar1(newRand(5), 100, 0, 0, 1)
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = 250 + 3*v
	}
	rx, ry := RStatistic(x, RFast(), nil), RStatistic(y, RFast(), nil)
	for i := range rx {
		near(t, "R", ry[i], rx[i], 1e-9, 0)
	}
	for _, r := range RStatistic([]float64{4, 4, 4, 4}, RSlow(), nil) {
		if r != 1 {
			t.Errorf("R of a constant is %v, want 1", r)
		}
	}
	if r := RStatistic(nil, RSlow(), nil); len(r) != 0 {
		t.Errorf("R of nothing is %v", r)
	}
	buf := make([]float64, len(x))
	if a := testing.AllocsPerRun(20, func() { buf = RStatistic(x, RFast(), buf) }); a != 0 {
		t.Errorf("RStatistic allocates %v times", a)
	}
}

// The ratio by which the filters start anew has mean near 1 and the stated 90 %
// point; 0.02 is four deviations of that quantile of 40 000 draws (density 0.35).
func TestRestRatio(t *testing.T) {
	rng := newRand(14)
	q := make([]float64, 40_000)
	for k := range q {
		var b [restBlocks]float64
		for i := range b {
			b[i] = rng.NormFloat64()
		}
		q[k] = restRatioOf(b[:])
	}
	near(t, "90 % point", Quantile(q, 0.9), restRatio, 0, 0.02)
	near(t, "median", Median(q), 1, 0, 0.02)
}
