package app_test

import (
	"errors"
	"io/fs"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"runnel/demo"
	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/measure"
	"runnel/unit"
)

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s = %.9g, want %.9g within %g", what, got, want, rel)
	}
}

// plates lays points on known = c0 + c1·read + c2·read² with a relative scatter.
func plates(rng *rand.Rand, c0, c1, c2, scatter float64, reads ...float64) job.Calibration {
	var c job.Calibration
	for _, r := range reads {
		k := (c0 + c1*r + c2*r*r) * (1 + scatter*rng.NormFloat64())
		c.Points = append(c.Points, job.CalibrationPoint{Known: k, Read: r, UKnown: max(scatter, 1e-6)})
	}
	return c
}

func reads(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = 0.02 + 0.16*float64(i)/float64(n-1)
	}
	return out
}

// The order is chosen by the evidence: a factor where a factor made the points, a longer curve where one did. Coefficients and
// their covariance are those of the curve itself: u of the curve at a reading is sqrt(gᵀ·V·g) with g the powers of the reading.
func TestCalibrateFindsTheCurve(t *testing.T) {
	for _, c := range []struct {
		name       string
		c0, c1, c2 float64
		want       string
	}{
		{"factor", 0, 1.012, 0, "known = c1·read"},
		{"zero off", 0.002, 1.0, 0, "polynomial of order 1"},
		{"bent", 0.001, 1.0, 0.6, "polynomial of order 2"},
	} {
		in := plates(rand.New(rand.NewPCG(5, 1)), c.c0, c.c1, c.c2, 0.001, reads(12)...)
		a, err := app.Calibrate(in, time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		if a.Model != c.want {
			t.Errorf("%s: chose %s: %+v", c.name, a.Model, a.Candidates)
		}
		for i, p := range a.Points {
			y, u2 := 0.0, 0.0
			for j, b := range a.Coefficients {
				y += b * math.Pow(p.Read, float64(j))
				for k := range a.Coefficients {
					u2 += a.Covariance[j][k] * math.Pow(p.Read, float64(j+k))
				}
			}
			near(t, c.name+" curve", y, p.Fitted, 1e-9)
			near(t, c.name+" u of the curve", math.Sqrt(u2)/y, p.UCurve, 1e-6)
			near(t, c.name+" residual", in.Points[i].Known/p.Fitted-1, p.Residual, 1e-9)
			if math.Abs(p.Residual) > 0.004 {
				t.Errorf("%s: residual %v at %v, four times the scatter", c.name, p.Residual, p.Read)
			}
		}
		for i, u := range a.U {
			near(t, "diagonal", u*u, a.Covariance[i][i], 1e-9)
		}
		if n := len(app.ResidualPicture(a, unit.US).SVG()); n < 1000 {
			t.Errorf("the picture has %d bytes", n)
		}
	}
}

// The 95 % interval of the factor holds the truth in 95 % of simulated calibrations (1000 of them; four binomial deviations
// are 2.8 %), with uncertainties stated; without, the scatter is found from the residuals and the interval by Student's t.
func TestCalibrateCoverage(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 1))
	for _, stated := range []bool{true, false} {
		held := 0
		const runs = 1000
		for range runs {
			c := plates(rng, 0, 1.01, 0, 0.003, reads(6)...)
			k := 1.96
			if !stated {
				for i := range c.Points {
					c.Points[i].UKnown = 0
				}
				k = measure.CoverageFactor(0.95, 4) // the scatter is that about a straight line
			}
			a, err := app.Calibrate(c, time.Time{})
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(a.Factor/1.01-1) <= k*a.UFactor {
				held++
			}
		}
		if p := float64(held) / runs; math.Abs(p-0.95) > 0.035 {
			t.Errorf("stated %v: the interval held the truth in %.1f %%", stated, 100*p)
		}
	}
}

func TestCalibrateRefuses(t *testing.T) {
	ok := plates(rand.New(rand.NewPCG(7, 1)), 0, 1, 0, 0.002, reads(5)...)
	short := ok
	short.Points = ok.Points[:2]
	mixed := job.Calibration{Points: append([]job.CalibrationPoint{{Known: 1, Read: 1}}, ok.Points...)}
	exact := plates(rand.New(rand.NewPCG(8, 1)), 0, 1, 0, 0, reads(5)...)
	for i := range exact.Points {
		exact.Points[i].UKnown = 0
	}
	for name, c := range map[string]job.Calibration{"two points": short, "mixed uncertainties": mixed, "no scatter and none stated": exact} {
		if _, err := app.Calibrate(c, time.Time{}); fault.KindOf(err) != fault.Invalid {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// One or two flows of the check plate have no limits yet, and say so; a jump is a signal.
func TestCalibrateCheckPlate(t *testing.T) {
	c := plates(rand.New(rand.NewPCG(7, 1)), 0, 1, 0, 0.002, reads(5)...)
	c.At = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	day := func(n int) time.Time { return c.At.AddDate(0, 0, n) }
	c.Checks = []job.CalibrationCheck{{At: day(3), Flow: 0.1}}
	a, err := app.Calibrate(c, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	if a.Due || len(a.Check.Warnings) == 0 || a.Check.Sigma != 0 {
		t.Errorf("one check: %+v", a.Check)
	}
	if a, err = app.Calibrate(c, day(366)); err != nil || !a.Due {
		t.Errorf("after a year: due %v, %v", a.Due, err)
	}
	for i, f := range []float64{0.1001, 0.0999, 0.1, 0.1001, 0.1, 0.0999, 0.1, 0.1001, 0.104} {
		c.Checks = append(c.Checks, job.CalibrationCheck{At: day(4 + i), Flow: f})
	}
	if a, err = app.Calibrate(c, time.Time{}); err != nil || !a.Due || !strings.Contains(strings.Join(a.DueWhy, " "), "beyond 3σ") {
		t.Errorf("after a jump: due %v, %v, %v", a.Due, a.DueWhy, err)
	}
}

// A study of nobody's difference still eats: the share is that of Gauge.Eats, in the unit of the study or any other.
func TestStudyDoesNotDependOnTheUnit(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 1))
	var a, b job.Study
	a.Unit, b.Unit = "cfm", "L/s"
	for p := range 5 {
		for o := range 3 {
			for range 2 {
				v := 150 + float64(p) + 0.2*float64(o) + 0.3*rng.NormFloat64()
				r := job.StudyReading{Piece: string(rune('a' + p)), Person: string(rune('x' + o)), Value: v}
				a.Readings = append(a.Readings, r)
				r.Value = v * 0.4719474432
				b.Readings = append(b.Readings, r)
			}
		}
	}
	x, err := app.Study(a, 0.02)
	if err != nil {
		t.Fatal(err)
	}
	y, err := app.Study(b, 0.02)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "gauge share", x.GaugeShare, y.GaugeShare, 1e-9)
	near(t, "eats", x.Eats, y.Eats, 1e-9)
	near(t, "variance", x.VarRepeat*0.4719474432*0.4719474432, y.VarRepeat, 1e-9)
	if x.Design != "crossed" || x.Eats <= 0 || x.LeastChange <= 0 {
		t.Errorf("%+v", x)
	}
	near(t, "eats of twice the claim", x.Eats/2, func() float64 { z, _ := app.Study(a, 0.04); return z.Eats }(), 1e-9)
}

// taken makes readings of piece and person, each another value.
func taken(of ...string) []job.StudyReading {
	var out []job.StudyReading
	for i, s := range of {
		piece, person, _ := strings.Cut(s, " ")
		out = append(out, job.StudyReading{Piece: piece, Person: person, Value: float64(i + 1)})
	}
	return out
}

func TestStudyRefuses(t *testing.T) {
	one := job.Study{Unit: "cfm", Readings: taken("a x", "a y", "b x", "b y")}
	if _, err := app.Study(one, 0); fault.KindOf(err) != fault.Invalid || !errors.Is(err, measure.ErrTooFew) {
		t.Errorf("one repeat: %v", err)
	}
	alone := job.Study{Unit: "cfm", Readings: taken("a x", "a x", "b x", "b x")}
	if _, err := app.Study(alone, 0); fault.KindOf(err) != fault.Invalid {
		t.Errorf("one person: %v", err)
	}
}

func demoJob(t *testing.T) job.Job {
	t.Helper()
	j, err := demo.Job()
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// The answers to one question are those of the whole assessment.
func TestVerdictIsThatOfTheAssessment(t *testing.T) {
	j := demoJob(t)
	v, err := app.VerdictBetween(j, app.Between{From: "received", To: "finished", FromRig: "runner-bare"})
	if err != nil {
		t.Fatal(err)
	}
	if v.Opening != "" || len(v.Openings) != 6 || v.Word != "proven gain" {
		t.Errorf("%+v", v.Verdict)
	}
	ms, err := app.MatchOf(j, "received", "")
	if err != nil || len(ms) == 0 || len(ms[0].Runners) != 6 {
		t.Errorf("%d matches, %v", len(ms), err)
	}
	lifted, err := app.VerdictBetween(j, app.Between{From: "received", To: "finished", Lift: 0.007, OneLift: true})
	if fault.KindOf(err) != fault.Invalid {
		t.Errorf("a lift that was not flowed: %+v, %v", lifted.Verdict, err)
	}
	for _, b := range []app.Between{{From: "nothing", To: "finished"}, {From: "received", To: "finished", FromRig: "nothing"}} {
		if _, err := app.VerdictBetween(j, b); fault.KindOf(err) != fault.NotFound {
			t.Errorf("%+v: %v", b, err)
		}
	}
}

// Shares add up to one, heights to nearly all draws, and drawing agrees with the first order on the demo's readings.
func TestBudgetOf(t *testing.T) {
	j := demoJob(t)
	told := 0
	a, err := app.BudgetOf(t.Context(), j, "r001", app.Drawing{Draws: 200_000, Seed: 1}, func(int, int) { told++ })
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for _, l := range a.Reading.Budget {
		sum += l.Share
	}
	near(t, "shares", sum, 1, 1e-9)
	m := a.MonteCarlo
	if m == nil || !m.Agrees || told == 0 {
		t.Fatalf("%+v, told %d times", m, told)
	}
	near(t, "u", m.URel, a.Reading.URel, 0.01)
	sum = 0
	for _, h := range m.Heights {
		sum += h
	}
	near(t, "heights", sum, 0.998, 1e-3)
	if a, err = app.BudgetOf(t.Context(), j, "r001", app.Drawing{}, nil); err != nil || a.MonteCarlo != nil {
		t.Errorf("nothing was asked for: %+v, %v", a.MonteCarlo, err)
	}
	if _, err = app.BudgetOf(t.Context(), j, "r999", app.Drawing{}, nil); fault.KindOf(err) != fault.NotFound {
		t.Errorf("no such reading: %v", err)
	}
}

// The demo shop has a history: with the job of the winter before there are flows enough of the check plate for a baseline.
func TestTheDemoShopHasAHistory(t *testing.T) {
	a := open(t, t.TempDir()+"/r.db", quick())
	for _, folder := range []fs.FS{demo.Earlier(), demo.FS} {
		if _, err := a.ImportFolder(t.Context(), folder); err != nil {
			t.Fatal(err)
		}
	}
	charts, err := a.ShopCharts(t.Context())
	if err != nil || len(charts) != 1 {
		t.Fatalf("%d charts, %v", len(charts), err)
	}
	c := charts[0].Chart
	if len(c.Points) < 20 || len(c.Warnings) > 0 {
		t.Errorf("%d flows of the check plate, warned of %q", len(c.Points), c.Warnings)
	}
	if at := slices.IndexFunc(c.Points, func(p app.CheckPoint) bool { return len(p.Signals) > 1 }); at < 0 || !strings.Contains(app.ChartPicture(c, unit.Metric).SVG(), ">"+c.Letter(c.Points[at].Signals[0])+c.Letter(c.Points[at].Signals[1])+"</text>") {
		t.Errorf("flow %d breaks several rules, and their letters do not stand at it", at+1)
	}
	if last := demoJob(t).Sittings[1]; c.Points[len(c.Points)-1].Label != last.ID || c.Points[0].At.After(last.At) {
		t.Errorf("the chart begins at %v and ends with %s", c.Points[0].At, c.Points[len(c.Points)-1].Label)
	}
}

// The chart of the demo's check plate has every check in order of time, and the history of a bench joins the jobs on it.
func TestControlChart(t *testing.T) {
	j := demoJob(t)
	c, err := app.ChartOf(j)
	if err != nil {
		t.Fatal(err)
	}
	want := 0
	for _, s := range j.Sittings {
		want += len(s.Checks)
	}
	if len(c.Points) != want || want == 0 || c.Unit != "1" || c.Limit != j.Bench.CheckPlate.Limit || len(c.Rules) != 6 {
		t.Errorf("%d points of %d, %+v", len(c.Points), want, c)
	}
	for i, p := range c.Points {
		if i > 0 && p.At.Before(c.Points[i-1].At) {
			t.Errorf("point %d is before the one before", i)
		}
		if math.Abs(p.Value) > 0.01 {
			t.Errorf("%s: the demo's check plate is off by %v", p.Label, p.Value)
		}
	}
	a := open(t, t.TempDir()+"/r.db", quick())
	if _, err := a.ImportFolder(t.Context(), demo.FS); err != nil {
		t.Fatal(err)
	}
	kept, err := a.ControlChart(t.Context(), j.ID)
	if err != nil || len(kept.Points) != want {
		t.Errorf("%d points, %v", len(kept.Points), err)
	}
	if v, err := a.Verdict(t.Context(), j.ID, app.Between{From: "received", To: "finished"}); err != nil || v.Word == "" {
		t.Errorf("%+v, %v", v.Verdict, err)
	}
	if m, err := a.Match(t.Context(), j.ID, "finished", ""); err != nil || len(m) == 0 {
		t.Errorf("%v, %v", m, err)
	}
	if b, err := a.Budget(t.Context(), j.ID, "r001", app.Drawing{}, nil); err != nil || len(b.Reading.Budget) == 0 {
		t.Errorf("%v", err)
	}
	if _, err := a.ControlChart(t.Context(), "nothing"); fault.KindOf(err) != fault.NotFound {
		t.Errorf("no such job: %v", err)
	}
}

func TestChartWithoutChecks(t *testing.T) {
	j := demoJob(t)
	for i := range j.Sittings {
		j.Sittings[i].Checks = nil
	}
	c, err := app.ChartOf(j)
	if err != nil || len(c.Points) != 0 || len(c.Warnings) == 0 {
		t.Errorf("%+v, %v", c, err)
	}
}
