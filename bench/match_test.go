package bench_test

import (
	"errors"
	"math"
	"strconv"
	"testing"

	"runnel/bench"
	"runnel/measure"
)

// openings takes readings of several openings: for each, repeats that scatter by the given errors.
func openings(t testing.TB, areas []float64, luck ...float64) []bench.Reading {
	t.Helper()
	var out []bench.Reading
	for i, a := range areas {
		for k, l := range luck {
			r := typed(t, strconv.Itoa(i)+"-"+strconv.Itoa(k), a, l, rigCard())
			r.Opening = strconv.Itoa(i + 1)
			out = append(out, r)
		}
	}
	return out
}

func names(n int) []string {
	var out []string
	for i := range n {
		out = append(out, strconv.Itoa(i+1))
	}
	return out
}

// Six runners, one 6 % down: it is the odd one, the spread is what was put in, and the noise of repeats is told from the
// spread of runners. Repeats of +0.1 % and −0.1 % have a standard deviation of 0.1 %·sqrt2.
func TestMatchFindsTheOddOne(t *testing.T) {
	areas := []float64{9e-4, 9.01e-4, 8.99e-4, 8.46e-4, 9e-4, 9.02e-4}
	m, err := bench.MatchOpenings(openings(t, areas, 0.001, -0.001), names(6), measure.MatchOptions{})
	if err != nil {
		t.Fatal(err)
	}
	mean := (9 + 9.01 + 8.99 + 8.46 + 9 + 9.02) / 6 * 1e-4
	near(t, "spread", m.SpreadRel, (9.02e-4-8.46e-4)/mean, 1e-5, 0)
	near(t, "repeats", m.RepeatSD, 0.001*math.Sqrt2, 1e-2, 0)
	sum := 0.0
	for _, a := range areas {
		sum += (a - mean) * (a - mean)
	}
	near(t, "runners", m.RunnerSD, math.Sqrt(sum/5/mean/mean-1e-6), 1e-3, 0)
	for i, o := range m.Openings {
		if o.Odd != (i == 3) {
			t.Errorf("opening %s odd: %v", o.Opening, o.Odd)
		}
		near(t, "deviation", o.Dev, areas[i]/mean-1, 0, 1e-6)
		if o.N != 2 || o.Lo95 >= o.Flow || o.Hi95 <= o.Flow {
			t.Errorf("opening %s: %d readings, %v to %v", o.Opening, o.N, o.Lo95, o.Hi95)
		}
	}
	if len(m.NotFlowed) != 0 {
		t.Errorf("not flowed %v", m.NotFlowed)
	}
}

// All runners equal to the last digit: an honest wide answer. The interval is that of the readings' own lines, 0.2 % by eye and
// 0.1 % of setting up.
func TestMatchOfEqualOpenings(t *testing.T) {
	m, err := bench.MatchOpenings(openings(t, []float64{9e-4, 9e-4, 9e-4}, 0), names(3), measure.MatchOptions{})
	if err != nil {
		t.Fatal(err)
	}
	o := m.Openings[0]
	near(t, "half-width", (o.Hi95-o.Flow)/o.Flow, 1.96*math.Hypot(0.002, 0.001), 1e-2, 0)
	if o.Odd || m.RunnerSD != 0 || len(m.Warnings) == 0 {
		t.Errorf("odd %v, between runners %v, warnings %v", o.Odd, m.RunnerSD, m.Warnings)
	}
	near(t, "repeats", m.RepeatSD, math.Hypot(0.002, 0.001), 1e-2, 0)
}

// Three of eight runners flowed: the mean of all eight is predicted. Its 95 % interval holds it in 92 to 98 % of 500 simulated
// manifolds (three sampling errors), and the spread of all lies below its upper end in at least 95 %.
func TestMatchPredictsTheUnflowed(t *testing.T) {
	const n, flowed, total = 500, 3, 8
	r := seeded(37)
	blank := typed(t, "x", 9e-4, 0, rigCard())
	mean, spread := 0, 0
	for range n {
		var truth []float64
		var rs []bench.Reading
		sum, lo, hi := 0.0, math.Inf(1), 0.0
		for i := range total {
			f := 0.1 * (1 + 0.01*r.NormFloat64())
			truth = append(truth, f)
			sum, lo, hi = sum+f, min(lo, f), max(hi, f)
			for range 2 {
				if i < flowed {
					x := blank
					x.Flow, x.Opening = truth[i]*(1+0.002*r.NormFloat64()), strconv.Itoa(i+1)
					rs = append(rs, x)
				}
			}
		}
		m, err := bench.MatchOpenings(rs, names(total), measure.MatchOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if len(m.NotFlowed) != total-flowed {
			t.Fatalf("not flowed: %v", m.NotFlowed)
		}
		if m.MeanLo <= sum/total && sum/total <= m.MeanHi {
			mean++
		}
		if (hi-lo)/(sum/total) <= m.SpreadHi {
			spread++
		}
	}
	near(t, "mean covered", float64(mean)/n, 0.95, 0, 0.03)
	if share := float64(spread) / n; share < 0.95 {
		t.Errorf("spread below its upper end in %v, want at least 0.95", share)
	}
}

func TestMatchRefuses(t *testing.T) {
	rs := openings(t, []float64{9e-4, 9e-4}, 0)
	if _, err := bench.MatchOpenings(rs[:1], names(2), measure.MatchOptions{}); !errors.Is(err, measure.ErrTooFew) {
		t.Errorf("one opening: %v, want ErrTooFew", err)
	}
	if _, err := bench.MatchOpenings(nil, names(2), measure.MatchOptions{}); !errors.Is(err, measure.ErrTooFew) {
		t.Errorf("no readings: %v, want ErrTooFew", err)
	}
	rs[1].Rig.Blanked = "nothing"
	if _, err := bench.MatchOpenings(rs, names(2), measure.MatchOptions{}); err == nil {
		t.Error("unlike set-ups were matched")
	}
}
