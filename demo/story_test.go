package demo_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"runnel/assess"
	"runnel/demo"
)

// trueRatio is the true mean flow of all runners in one round over that in another, by the rig card [-].
func trueRatio(t *testing.T, from, to, rig string) float64 {
	t.Helper()
	want := truth(t)
	j, err := demo.Job()
	if err != nil {
		t.Fatal(err)
	}
	mean := func(round string) float64 {
		areas := map[string]float64{}
		for _, s := range j.Sittings {
			for _, r := range s.Readings {
				if r.Round == round && r.Rig == rig {
					areas[r.Opening] = want[r.ID]
				}
			}
		}
		sum := 0.0
		for _, a := range areas {
			sum += a
		}
		return sum / float64(len(areas))
	}
	return mean(to) / mean(from)
}

// Runner 4 stands out as received and no runner does when finished; what stands out by less than the smallest change worth
// claiming is no odd one out, however sure it is.
func TestOddOnesOut(t *testing.T) {
	a := demoReadings(t)
	seen := 0
	for _, m := range a.Match {
		if m.Piece != "manifold" {
			continue
		}
		for _, r := range m.Runners {
			if r.Odd && math.Abs(r.Apart) <= a.Reference.SmallestChange {
				t.Errorf("%s, %s: runner %s is odd by %.4f", m.Round, m.Rig, r.Opening, r.Apart)
			}
			if m.Round == "finished" && r.Odd {
				t.Errorf("finished, %s: runner %s is odd", m.Rig, r.Opening)
			}
			if m.Round == "received" && r.Opening != "4" && r.Odd {
				t.Errorf("received, %s: runner %s is odd too, apart by %.4f ± %.4f", m.Rig, r.Opening, r.Apart, r.ApartHalf)
			}
			if m.Round == "received" && r.Opening == "4" {
				seen++
				if !r.Odd || r.Apart > -0.05 {
					t.Errorf("received, %s: runner 4 is apart by %.4f, odd %v", m.Rig, r.Apart, r.Odd)
				}
			}
		}
	}
	if seen != 2 {
		t.Errorf("runner 4 as received was judged %d times", seen)
	}
}

// The demo tells the story it was made to tell: roughing proves nothing, welding and finishing do, and the runners come
// together. The intervals hold the true ratios.
func TestStory(t *testing.T) {
	a := demoReadings(t)
	words := map[string]string{"roughed": "no proven change", "welded": "proven gain", "finished": "proven gain"}
	seen := 0
	for _, v := range a.Verdicts {
		if v.Opening != "" || v.Piece != "manifold" {
			continue
		}
		seen++
		if v.Word != words[v.To] {
			t.Errorf("%s to %s, %s: %s", v.From, v.To, v.FromRig, v.Word)
		}
		// Two misses in a hundred verdicts would be fair; of four, with a seed, one beyond twice the interval is a fault.
		half := (v.Hi95 - v.Lo95) / 2
		if want := trueRatio(t, v.From, v.To, v.FromRig); math.Abs(v.Ratio-want) > 2*half {
			t.Errorf("%s to %s: %.4f, %.4f to %.4f, truth %.4f", v.From, v.To, v.Ratio, v.Lo95, v.Hi95, want)
		} else {
			t.Logf("%s to %s: %.4f, %.4f to %.4f, truth %.4f", v.From, v.To, v.Ratio, v.Lo95, v.Hi95, want)
		}
	}
	if seen != 4 {
		t.Errorf("%d verdicts on all runners", seen)
	}
	spread := map[string]float64{}
	for _, m := range a.Match {
		if m.Rig != "runner-radiused" {
			continue
		}
		spread[m.Round] = m.SpreadRel
		four := m.Runners[slices.IndexFunc(m.Runners, func(o assess.MatchOpening) bool { return o.Opening == "4" })]
		if m.Round == "received" && !four.Odd {
			t.Error("runner 4 is not the odd one out as received")
		}
	}
	if !(spread["finished"] < spread["received"]/3) {
		t.Errorf("spreads %v", spread)
	}
}

// The leakage of each sitting was measured near every test pressure that pieces were flowed at, also that of the throttle body: no reading is
// warned that it was not. Each fit holds what the simulated bench leaks.
func TestLeakageCoversEveryReading(t *testing.T) {
	a := demoReadings(t)
	bodies := 0
	for _, r := range a.Readings {
		if r.Piece == "body" {
			bodies++
		}
		for _, w := range r.Warnings {
			if strings.Contains(w, "leakage: test pressure") {
				t.Errorf("%s, %s: %s", r.ID, r.Rig, w)
			}
		}
	}
	if bodies == 0 {
		t.Error("the demo has no throttle body any more, so that this test shows nothing")
	}
	// 1.25 and 1.6 ft³/min at 28 inH2O are what the generator lets leak; a point is off by 1.5 % of itself and half a hundredth.
	for i, cfm := range []float64{1.25, 1.6} {
		if got := a.Sittings[i].LeakFlow / (cfm * 0.3048 * 0.3048 * 0.3048 / 60); math.Abs(got-1) > 0.04 {
			t.Errorf("%s: the leakage is fitted as %.3f of what leaks", a.Sittings[i].ID, got)
		}
	}
}
