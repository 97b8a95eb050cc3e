package bench_test

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"runnel/bench"
	"runnel/measure"
)

// All six runners were flowed three times with a scatter of 0.3 %: the spread is not known exactly. Its interval holds the true spread in at
// least 95 % of 800 simulated manifolds (less three sampling errors of sqrt(0.95·0.05/800)), whether they are even or not, and is no wider than
// it need be by half.
func TestSpreadHasAnInterval(t *testing.T) {
	const n, runners, repeats, scatter = 800, 6, 3, 0.003
	r := seeded(41)
	blank := typed(t, "x", 9e-4, 0, rigCard())
	for _, sd := range []float64{0, 0.004, 0.02} {
		held, width := 0, 0.0
		for range n {
			var rs []bench.Reading
			lo, hi, sum := math.Inf(1), 0.0, 0.0
			for i := range runners {
				f := 0.1 * (1 + sd*r.NormFloat64())
				lo, hi, sum = min(lo, f), max(hi, f), sum+f
				for range repeats {
					x := blank
					x.Flow, x.Opening = f*(1+scatter*r.NormFloat64()), strconv.Itoa(i+1)
					rs = append(rs, x)
				}
			}
			m, err := bench.MatchOpenings(rs, names(runners), measure.MatchOptions{})
			if err != nil {
				t.Fatal(err)
			}
			if v := (hi - lo) / (sum / runners); m.SpreadLo <= v && v <= m.SpreadHi {
				held++
			}
			width += (m.SpreadHi - m.SpreadRel) / n
		}
		// The 95 % point of the studentized range of six means with 12 degrees of freedom is 4.75 (tables), of one mean 0.3 %/√3.
		if least := 4.75 * scatter / math.Sqrt(repeats); width < least || width > 1.5*least {
			t.Errorf("scatter of runners %v: half-width %.4f, that of the studentized range is %.4f", sd, width, least)
		}
		if share := float64(held) / n; share < 0.95-3*math.Sqrt(0.95*0.05/n) {
			t.Errorf("scatter of runners %v: the interval holds the spread in %.3f", sd, share)
		}
	}
}

// Runners that were flowed in two sittings are less sure against each other than in one: what is in doubt of the bench in each counts.
func TestMatchOverTwoSittings(t *testing.T) {
	one := in(t, spell("first"), 0)
	two := in(t, spell("second"), 0)
	both := slices.Concat(one[:1], two[:1])
	same := slices.Clone(one)
	for i := range 2 {
		both[i].Opening, same[i].Opening = strconv.Itoa(i+1), strconv.Itoa(i+1)
	}
	half := func(rs []bench.Reading) float64 {
		t.Helper()
		m, err := bench.MatchOpenings(rs, names(2), measure.MatchOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if days := strings.Contains(m.Note, "flowed in 2 sittings"); days != (rs[0].Sitting != rs[1].Sitting) {
			t.Errorf("note %q", m.Note)
		}
		o := m.Openings[0]
		return (o.Hi95 - o.Flow) / o.Flow
	}
	// No check plate: 1 %/√3 for each sitting, beside 0.2 % by eye and 0.1 % of setting up.
	near(t, "one sitting", half(same), 1.96*math.Hypot(0.002, 0.001), 0.01, 0)
	near(t, "two sittings", half(both), 1.96*math.Sqrt(0.002*0.002+0.001*0.001+1e-4/3), 0.01, 0)
}
