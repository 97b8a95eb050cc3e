package bench_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"runnel/bench"
	"runnel/job"
	"runnel/measure"
)

// spell is a sitting of its own with flows of the check plate that deviate as given, each known to 0.2 % by eye and 0.1 % of setting up.
func spell(id string, deviations ...float64) job.Sitting {
	s := sittingCard()
	s.ID, s.Checks = id, nil
	for _, d := range deviations {
		s.Checks = append(s.Checks, job.PlateCheck{EffectiveArea: 600e-6 * (1 + d), UByEye: 0.002, Meter: "plate"})
	}
	return s
}

// in takes two readings of 900 mm² in a sitting whose bench shows flow off by drift.
func in(t *testing.T, s job.Sitting, drift float64) []bench.Reading {
	t.Helper()
	var out []bench.Reading
	for i, luck := range []float64{0.0005, -0.0005} {
		w := truth{meter: plate(), air: air(), area: 9e-4 * (1 + luck)}
		got, err := sitting(t, benchCard(), s, nil).Read(job.Reading{
			ID: s.ID + string(rune('a'+i)), Opening: "1", At: minutes(30), MeterDP: w.reading(t, 7e3, 3e4) * (1 + drift) * (1 + drift), TestPressure: 7e3, UByEye: 0.002,
		}, rigCard(), nil, reference(t))
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, got)
	}
	return out
}

// The bench reads 0.8 % low in one sitting and 0.8 % high in the next, and its check plate says so; the piece is the same. The ratio of the
// plate's flows takes it off, what stays in doubt is that of the plate's flows, and the plate's own area does not matter.
func TestDriftBetweenSittingsIsTakenOff(t *testing.T) {
	const low, high = -0.008, 0.008
	for _, stated := range []float64{0, 0.004} { // the plate's area as stated is off by this much: it drops out
		before := in(t, spell("first", low+stated, low+stated), low)
		after := in(t, spell("second", high+stated, high+stated), high)
		v, err := bench.Compare(before, after, bench.CompareOptions{})
		if err != nil {
			t.Fatal(err)
		}
		// The expansibility and the coefficient of the plate move a little with a pressure difference that is off: 3e-4.
		near(t, "ratio", v.Ratio, 1, 0, 5e-4)
		// Two flows of the plate a sitting: sqrt(2)·sqrt(0.2² + 0.1²)/sqrt(2).
		near(t, "what sittings leave in doubt", v.UShared, math.Hypot(0.002, 0.001), 0.02, 0)
		if v.Word == measure.ProvenGain || len(v.Bridged) != 1 || !strings.Contains(v.Bridged[0].String(), "the check plate read") {
			t.Errorf("%q, bridged %v", v.Text, v.Bridged)
		}
		// Openings of several sittings go the same way, also where one mean is of both.
		mixed := slices.Concat(before[:1], after[:1])
		mixed[1].Opening = "2"
		two := slices.Clone(after[:2])
		two[1].Opening = "2"
		m, _, err := bench.CompareOpenings(mixed, two, bench.CompareOptions{})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "ratio over openings", m.Ratio, 1, 0, 1e-3)
		if len(m.Bridged) != 1 || m.Bridged[0].Name != "bench in first" {
			t.Errorf("over openings: bridged %v", m.Bridged)
		}
	}
	// The plate's flows differ by 0.8 % within a sitting: half of that is a rectangular bound more.
	drifting := in(t, spell("s", 0, 0.008), 0)
	near(t, "drift within the sitting", uOf(t, drifting[0], "bench/s"), math.Hypot(math.Hypot(0.002, 0.001)/math.Sqrt2, 0.004/math.Sqrt(3)), 1e-3, 0)
	near(t, "mean deviation, not taken off a reading", uOf(t, drifting[0], "off/s"), 0.004/math.Sqrt(3), 1e-3, 0)
	// Within one sitting nothing of it counts.
	same, err := bench.Compare(drifting[:1], drifting[1:], bench.CompareOptions{})
	if err != nil || len(same.Bridged) != 0 {
		t.Errorf("within a sitting: bridged %v, %v", same.Bridged, err)
	}
	for _, key := range []string{"bench/s", "off/s"} {
		i := slices.IndexFunc(same.Cancelled, func(c measure.Cancelled) bool { return c.Key == key })
		if i < 0 || math.Abs(same.Cancelled[i].Left) > 1e-6 {
			t.Errorf("within a sitting %s does not cancel: %v", key, same.Cancelled)
		}
	}
}

// Where no check plate ties two sittings, up to the limit of the bench card is allowed for in each, and the verdict says so: not flowed, flowed
// by another meter, or read too roughly.
func TestSittingsThatNothingTies(t *testing.T) {
	other, rough := spell("second", 0, 0), spell("second", 0, 0)
	for i := range other.Checks {
		other.Checks[i].Meter = "other"
		rough.Checks[i].UByEye = 0 // as nobody said: 1 %
	}
	for text, s := range map[string]job.Sitting{
		"no check plate ties first to second; a drift of the bench of up to 1 %": spell("second"),
		"by plate in first and by other in second":                               other,
		"too roughly to tie first to second":                                     rough,
	} {
		v, err := bench.Compare(in(t, spell("first", 0.004, 0.004), 0), in(t, s, 0), bench.CompareOptions{})
		if err != nil {
			t.Fatal(err)
		}
		near(t, text, v.UShared, math.Sqrt2*0.01/math.Sqrt(3), 0.08, 0)
		if len(v.Bridged) != 1 || v.Bridged[0].Factor != 1 || !strings.Contains(v.Bridged[0].Text, text) {
			t.Errorf("%s: bridged %v", text, v.Bridged)
		}
		near(t, text+", as said", math.Hypot(v.Bridged[0].URel, v.Bridged[0].Held), math.Sqrt2*0.01/math.Sqrt(3), 0.08, 0)
	}
	r := in(t, spell("second"), 0)[0]
	if !slices.ContainsFunc(r.Marks, func(m string) bool { return strings.Contains(m, "was not flowed; a drift of the bench of up to 1 %") }) {
		t.Errorf("marks %q", r.Marks)
	}
	near(t, "a reading by itself", uOf(t, r, "bench/second"), 0.01/math.Sqrt(3), 1e-3, 0)
}
