package bench_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"runnel/bench"
	"runnel/gas"
	"runnel/job"
	"runnel/measure"
	"runnel/meter"
)

// upstream is the room's air behind a piece with a drop [Pa], as the meter gets it.
func upstream(a gas.Air, drop float64) meter.Upstream {
	up := meter.UpstreamOf(a)
	up.Pressure -= drop
	up.Density *= up.Pressure / a.Pressure
	return up
}

func limit(text string) func(gas.Warning) bool {
	return func(w gas.Warning) bool { return strings.Contains(w.Limit, text) }
}

// leakLine returns the leakage line of a reading by hand in a sitting.
func leakLine(t *testing.T, sit *bench.Sitting) measure.Line {
	t.Helper()
	got, err := sit.Read(job.Reading{ID: "r", At: minutes(30), MeterDP: 1500, TestPressure: 7e3}, rigCard(), nil, reference(t))
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(got.Budget.Lines, func(l measure.Line) bool { return l.Key == "leakage/s1" })
	if i < 0 {
		t.Fatal("no leakage in the budget")
	}
	return got.Budget.Lines[i]
}

// A typed leakage that names its meter is as sure as that meter's sensor makes it: the flow goes with the root of the pressure
// difference, so u(Q)/Q = ½·u(Δp)/Δp, and the uncertainty of the plate, 0.25 % of C and more, comes on top. One that does not say by
// what it was read keeps the allowance of few points.
func TestTypedLeakageHasTheUncertaintyOfItsMeter(t *testing.T) {
	card, s := benchCard(), sittingCard()
	card.Sensors[0].U = "1 Pa"
	a, err := air().Properties()
	if err != nil {
		t.Fatal(err)
	}
	const shown = 40.0 // of the meter when blanked [Pa]
	f, err := plate().Flow(upstream(a, 7e3), shown)
	if err != nil {
		t.Fatal(err)
	}
	flow := f.Mass / a.Density
	s.Leakage = []job.LeakPoint{{TestPressure: 7e3, Flow: flow, Meter: "plate"}}
	sit := sitting(t, card, s, nil)
	q, u, _ := sit.Leakage.At(7e3)
	near(t, "leakage", q, flow, 1e-12, 0)
	near(t, "u of the leakage", u/q, math.Hypot(0.5/shown, f.URel), 0.02, 0)
	near(t, "line of the budget", leakLine(t, sit).U, u*a.Density, 1e-9, 0)
	s.Leakage[0].Meter = ""
	_, u, _ = sitting(t, card, s, nil).Leakage.At(7e3)
	near(t, "by an unknown meter", u/q, 0.1, 1e-9, 0)
	s.Leakage[0].UFlow = 0.03 * flow
	_, u, _ = sitting(t, card, s, nil).Leakage.At(7e3)
	near(t, "as stated", u/q, 0.03, 1e-9, 0)
}

// A blanked bench that shows nothing but noise has an upper bound, not a leakage of none known for sure: twice what 1 Pa of the
// sensor hides, as a rectangle. When it is not known what would have been seen, the limit of the bench card stands in.
func TestLeakageThatIsNotSeen(t *testing.T) {
	card, s := benchCard(), sittingCard()
	card.Sensors[0].U = "1 Pa"
	s.Leakage = []job.LeakPoint{{Trace: "blanked", Meter: "plate", At: minutes(5)}}
	tr, r := trace(seeded(70), "meter_dp", 1, 7e3), seeded(71)
	for i := range tr.Channels[0].Values {
		tr.Channels[0].Values[i] = 0.2 * r.NormFloat64()
	}
	sit := sitting(t, card, s, map[string]job.Trace{"blanked": tr})
	a, err := air().Properties()
	if err != nil {
		t.Fatal(err)
	}
	f, err := plate().Flow(upstream(a, 7e3), 1)
	if err != nil {
		t.Fatal(err)
	}
	l := leakLine(t, sit)
	if l.Estimate != 0 || l.Distribution != measure.Rectangular || sit.Leakage.Seen != 0 {
		t.Errorf("line %+v, %d points seen", l, sit.Leakage.Seen)
	}
	// The mean of the noise is 0.01 Pa, whose root is a tenth of that of 1 Pa: the bound may lie that much higher.
	if k := l.U / (2 * f.Mass / math.Sqrt(3)); !(k > 0.95 && k < 1.15) {
		t.Errorf("u of %v kg/s is %.3f times that of twice what 1 Pa hides", l.U, k)
	}
	if !slices.ContainsFunc(sit.Notes, limit("none was, and an upper bound stands in")) {
		t.Errorf("notes %v do not say that there is a bound only", sit.Notes)
	}
	s.Leakage = []job.LeakPoint{{TestPressure: 7e3}}
	sit = sitting(t, card, s, nil)
	got, err := sit.Read(job.Reading{ID: "r", At: minutes(30), MeterDP: 1500, TestPressure: 7e3}, rigCard(), nil, reference(t))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "allowed for", leakLine(t, sit).U, 0.02*got.Mass/math.Sqrt(3), 1e-9, 0)
	if !slices.ContainsFunc(got.Marks, func(m string) bool { return strings.Contains(m, "up to 2 % of a reading is allowed for") }) {
		t.Errorf("marks %v do not travel with the reading", got.Marks)
	}
	if !slices.ContainsFunc(sit.Notes, limit("state u_flow")) {
		t.Errorf("notes %v do not say what to state", sit.Notes)
	}
}
