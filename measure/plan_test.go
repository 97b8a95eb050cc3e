package measure

import (
	"math"
	"testing"
)

// The number of repeats that is planned settles what was observed as often as it says, by the rule of the verdicts itself:
// with the number planned the word is found in 80 % of simulated comparisons, within four binomial deviations (for 'the same'
// more may be, since the plan errs to the low side), and with a third of it more seldom.
func TestPlanAgainstVerdicts(t *testing.T) {
	const runs = 700
	tol := 4 * math.Sqrt(0.8*0.2/runs)
	for _, c := range []struct {
		ratio, sd float64
		want      Word
	}{
		{1.008, 0.003, ProvenGain},
		{1.02, 0.006, ProvenGain},
		{0.99, 0.004, ProvenLoss},
		{1.001, 0.004, Same},
		{1, 0.003, Same},
	} {
		plan := RepeatPlan{SD: c.sd, Smallest: 0.005, Within: 0.005}
		n, proves := plan.Needed(c.ratio, 0.8)
		if n < 4 || proves != (c.want != Same) {
			t.Fatalf("ratio %v: %d repeats, proves %v", c.ratio, n, proves)
		}
		share := func(n int) float64 {
			rng := newRand(uint64(n) + uint64(1e4*c.sd))
			count := 0
			for range runs {
				var b, a []float64
				for range n {
					b, a = append(b, 100*(1+c.sd*rng.NormFloat64())), append(a, 100*c.ratio*(1+c.sd*rng.NormFloat64()))
				}
				v, err := CompareRatio(plain(b...), plain(a...), CompareOptions{})
				if err != nil {
					t.Fatal(err)
				}
				if v.Word == c.want {
					count++
				}
			}
			return float64(count) / runs
		}
		p, few := share(n), share(max(2, n/3))
		t.Logf("ratio %v, repeats of %v: %d find %q in %.3f, a third of them in %.3f", c.ratio, c.sd, n, c.want, p, few)
		if p < 0.8-tol || p > 0.88+tol || few > 0.65 {
			t.Errorf("ratio %v: %d repeats find it in %.3f, a third of them in %.3f", c.ratio, n, p, few)
		}
	}
}

// A change equal to the smallest one is proven in 2.5 % of cases, whatever the number: no number of repeats settles it. Nor
// does one where what the sides share leaves more doubt than the margin.
func TestPlanSaysWhenNoneHelps(t *testing.T) {
	plan := RepeatPlan{SD: 0.002, Smallest: 0.005, Within: 0.005}
	for _, n := range []int{2, 5, 50, 5000} {
		near(t, "proven at the smallest change itself", plan.Proven(1.005, n), 0.025, 0, 1e-9)
	}
	if n, _ := plan.Needed(1.005, 0.8); n != NoRepeats {
		t.Errorf("the smallest change itself: %d repeats", n)
	}
	plan.UShared = 0.004
	if n, proves := plan.Needed(1.01, 0.8); n != NoRepeats || !proves {
		t.Errorf("a margin of 0.5 %% with 0.4 %% shared: %d repeats", n)
	}
	if n, _ := plan.Needed(1.03, 0.8); n < 2 {
		t.Errorf("a margin of 2.5 %% with 0.4 %% shared: %d repeats", n)
	}
	// What n repeats can prove is proven by n with the power asked for.
	for _, shared := range []float64{0, 0.0005, 0.004, 0.05} {
		for _, n := range []int{2, 3, 10, 300} {
			for _, power := range []float64{0.03, 0.5, 0.8, 0.99} {
				plan.UShared = shared
				gain := plan.Provable(n, power)
				near(t, "power at the least gain", plan.Proven(1+gain, n), power, 0, 1e-9)
			}
		}
	}
	if sure := (RepeatPlan{Smallest: 0.005}).Provable(2, 0.8); sure != 0.005 {
		t.Errorf("without any doubt %v is the least that is proven", sure)
	}
	// Nothing shared and no smallest change: the published power of a two-sided comparison but for its far tail.
	bare := RepeatPlan{SD: 0.01}
	near(t, "power", bare.Proven(math.Exp(0.02), 5), Power(0.01, 0.02, 5), 0, 1e-4)
}

// A verdict that is settled needs no more; an open one says what would settle it.
func TestComparePlans(t *testing.T) {
	for _, c := range []struct {
		name          string
		before, after []float64
		settled, none bool
	}{
		{"proven", []float64{100, 100.1, 99.9}, []float64{103, 103.1, 102.9}, true, false},
		{"the same", []float64{100, 100.01, 99.99}, []float64{100.1, 100.11, 100.09}, true, false},
		{"open, beyond", []float64{100, 101, 99}, []float64{101.5, 102.5, 100.5}, false, false},
		{"open, at the smallest change", []float64{100, 101, 99}, []float64{100.5, 101.505, 99.495}, false, true},
	} {
		got, err := CompareRatio(plain(c.before...), plain(c.after...), CompareOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if n := got.RepeatsNeeded; c.settled && n != 0 || c.none && n != NoRepeats || !c.settled && !c.none && n <= 3 {
			t.Errorf("%s: %q, %d repeats needed", c.name, got.Say(), n)
		}
	}
}
