package web_test

import (
	"context"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"runnel/assess"
	"runnel/internal/app"
	"runnel/internal/web"
	"runnel/job"
)

// madeUp is a made-up assessment of the test job: the pages are under test here, not the engineering. It fills every
// field a page shows, by simple rules, so that a test can tell what must stand where.
func madeUp(j job.Job) assess.Assessment {
	a := assess.Assessment{
		Job: j.ID, Title: j.Title, Invented: j.Invented,
		Reference: assess.Reference{TestPressure: 6974.5, Pressure: 101325, Temperature: 293.15, Density: 1.204, SmallestChange: 0.005},
	}
	for _, s := range j.Sittings {
		a.Sittings = append(a.Sittings, assess.Sitting{
			ID: s.ID, Density: 1.19, LeakK: 1e-6, LeakN: 0.6, LeakFlow: 0.0007, CheckDeviation: []float64{-0.003, 0.0041},
		})
	}
	if len(a.Sittings) > 0 {
		a.Sittings[0].Marks = []string{"the check plate drifted by 0.7 % over the sitting"}
	}
	flows := map[string][]assess.Reading{}
	for _, s := range j.Sittings {
		for i, r := range s.Readings {
			one := madeUpReading(j, s, r, i)
			a.Readings = append(a.Readings, one)
			if one.Usable {
				k := one.Rig + "|" + one.Round + "|" + strconv.FormatFloat(one.Lift, 'g', -1, 64)
				flows[k] = append(flows[k], one)
			}
		}
	}
	if len(a.Readings) > 0 {
		madeUpAnswers(&a)
	}
	return a
}

const cfm = 0.0004719474432

func madeUpReading(j job.Job, s job.Sitting, r job.Reading, i int) assess.Reading {
	base := map[string]float64{"received": 290, "roughed": 301, "finished": 312, "head-now": 60, "body-now": 640}[r.Round]
	if r.Lift > 0 {
		base = 30e3 * r.Lift * (1 - 20*r.Lift)
	}
	n, err := strconv.Atoi(r.Opening)
	if err == nil && r.Lift == 0 {
		base += float64(n-3) * 1.5
		if n == 5 && r.Round == "received" {
			base -= 14
		}
	}
	if r.Rig == "radiused" {
		base += 6.5
	}
	base += 0.4 * math.Sin(float64(i))
	one := assess.Reading{
		ID: r.ID, Sitting: s.ID, Rig: r.Rig, Round: r.Round, Opening: r.Opening, Lift: r.Lift, Usable: r.Void == "", Refused: r.Void,
		EffectiveArea: base * 3.1e-6, MassFlow: base * cfm * 1.204, Flow: base * cfm, FlowCFM: base, FlowSqrtRule: base * 1.002,
		TestPressure: 6960, URel: 0.0031, UExpandedRel: 0.0062, CoverageK: 2.01, Dof: 48, URepeat: 0.0004, Peak: base * 1.005,
		WaverRel: 0.006, NEff: 57, SteadyFrom: 7.5, SteadyTo: 20, Trace: r.Trace,
		Budget: []assess.BudgetLine{
			{Quantity: "coefficient of the meter", Estimate: 0.6032, U: 0.0015, Unit: "1", Kind: "B", Distribution: "normal", Dof: -1, Sensitivity: 1.66, Share: 0.64},
			{Quantity: "test pressure", Estimate: 6960, U: 17.4, Unit: "Pa", Kind: "B", Distribution: "rectangular", Dof: -1, Sensitivity: -7.2e-5, Share: 0.16},
			{Quantity: "set-up", Estimate: 1, U: 0.002, Unit: "1", Kind: "B", Distribution: "normal", Dof: 8, Sensitivity: 1, Share: 0.2},
		},
	}
	for _, rig := range j.Rigs {
		if rig.ID == r.Rig {
			one.Piece, one.Entry = rig.Piece, rig.Entry
		}
	}
	if i == 2 {
		one.Warnings = []string{"ISO 5167-2:2003 5.3.1: Re_D ≥ 5000"}
	}
	return one
}

func madeUpAnswers(a *assess.Assessment) {
	verdict := func(to, opening string, ratio, half float64, word string) {
		a.Verdicts = append(a.Verdicts, assess.Verdict{
			Piece: "manifold", From: "received", To: to, FromRig: "bare", ToRig: "bare", Opening: opening, NFrom: 2, NTo: 2,
			FromFlow: 290 * cfm, ToFlow: 290 * cfm * ratio, Ratio: ratio, Lo95: ratio - half, Hi95: ratio + half, Word: word,
			Cancelled: []string{"coefficient of the meter", "bore of the plate"},
		})
	}
	verdict("finished", "", 1.0762, 0.0041, "proven gain")
	verdict("roughed", "", 1.0031, 0.0052, "no proven change")
	verdict("finished", "1", 1.07, 0.006, "proven gain")
	verdict("finished", "6", 0.98, 0.006, "proven loss")
	a.Verdicts = append(a.Verdicts, assess.Verdict{
		Piece: "manifold", From: "received", To: "finished", FromRig: "bare", ToRig: "radiused",
		Word: "not comparable", Refused: "the rig cards differ in entry, and no bridge is known",
	}, assess.Verdict{
		Piece: "manifold", From: "roughed", To: "finished", FromRig: "bare", ToRig: "bare", Ratio: 1.001, Lo95: 0.998, Hi95: 1.004,
		Word: "the same within 0.5 %", NFrom: 2, NTo: 2, Bridged: []string{"test pressure, ± 0.05 %"}, RepeatsNeeded: 4,
		Marks: []string{"check plate reads +1.40 % (limit ±1 %) (1 of 4 readings)"}, Warnings: []string{"limit not met: two readings a side (got 1)"},
	})
	for _, r := range []string{"received", "roughed", "finished"} {
		m := assess.Match{Piece: "manifold", Round: r, Rig: "bare", SpreadRel: 0.031, SpreadLo: 0.024, SpreadHi: 0.038, RunnerSD: 0.012, RepeatSD: 0.0015, Note: "made up"}
		for _, rd := range a.Readings {
			if rd.Round != r || rd.Rig != "bare" || !rd.Usable || len(m.Runners) > 0 && m.Runners[len(m.Runners)-1].Opening == rd.Opening {
				continue
			}
			m.Runners = append(m.Runners, assess.MatchOpening{
				Opening: rd.Opening, Flow: rd.Flow, Lo95: rd.Flow * 0.996, Hi95: rd.Flow * 1.004, N: 2, Odd: rd.Opening == "5" && r == "received", Dev: -0.04,
			})
			m.Mean += rd.Flow / 6
		}
		m.MeanLo, m.MeanHi = m.Mean*0.99, m.Mean*1.01
		a.Match = append(a.Match, m)
	}
	for _, state := range []string{"before", "after"} {
		a.Restriction = append(a.Restriction, assess.Restriction{
			State: state, Area: 6.1e-4, Lower: 5.9e-4, Upper: 6.4e-4, HoldsBack: "head",
			Pieces: []assess.RestrictionPiece{
				{Piece: "body", Round: "body-now", Area: 2e-3, Share: 0.09, Gain: 0.09},
				{Piece: "manifold", Round: "received", Area: 9e-4, Share: 0.41, Gain: 0.42},
				{Piece: "head", Round: "head-now", Area: 8e-4, Share: 0.5, Gain: 0.5},
			},
			Note: "made up",
		})
	}
}

func madeUpPull() *assess.Pull {
	p := &assess.Pull{
		Bench: "s2", Bridged: []string{"bench in s1: the check plate read +0.10 % in s1 and -0.20 % in s2, factor 0.9970 ± 0.1 %"},
		Closures: []assess.Closure{{State: "before", Opening: "1", Read: 9.027e-4, Measured: 9e-4, Simulated: 9.01e-4, Ratio: 1.0011}},
		Guides:   []assess.Guide{{Name: "Tuned speed", Value: 5120, Unit: "rpm", Note: "the pull peaks a little lower", Source: "Engelman 1973"}},
		Assumed:  []string{"burn duration was not given: 50 degrees at 6000 rpm"},
		Warnings: []string{"the exhaust is a stated simple one"},
	}
	for rpm := 2000.0; rpm <= 7000; rpm += 1000 {
		off := (rpm - 4800) / 2800
		tb := 260 - 30*off*off
		ta := tb + 9*(rpm-1500)/5500
		point := func(t float64) assess.Point {
			return assess.Point{
				Speed: rpm, Torque: t, TorqueLo: t - 12, TorqueHi: t + 12, Power: t * rpm * 2 * math.Pi / 60e3, VE: t / 270, IMEP: 12,
				FMEP: 1.6, AirFlow: 0.2, Settled: rpm < 7000, Cycles: 14,
			}
		}
		p.Before, p.After = append(p.Before, point(tb)), append(p.After, point(ta))
		d := ta - tb
		p.Change = append(p.Change, assess.Change{
			Speed: rpm, Torque: d, TorqueLo: d - 2, TorqueHi: d + 2, Power: d * rpm * 2 * math.Pi / 60e3, PowerLo: 0.1, PowerHi: 9,
		})
	}
	besideThePull(p)
	return p
}

// besideThePull makes up cylinders of which the third is worst at the top, an air demand and two cycles of pressure.
func besideThePull(p *assess.Pull) {
	p.Demand = &assess.Demand{
		Tuned:    []assess.TunedSpeed{{Guide: "rule of the test", Speed: 5120, Pull: 4000, Disagree: 0.28, Source: "Engelman 1973"}},
		Throttle: &assess.Bore{Bore: 0.065, Air: 0.16, At: 6000, Allowed: 1000, Smallest: 0.075, Enough: 0.070, Note: "Made up."},
		Peak:     assess.PeakDraught{Speed: 6000, Guide: 0.16, Pull: 0.128, Disagree: 0.25},
	}
	for i := range p.After {
		q := &p.After[i]
		for c := range 6 {
			q.Cylinders = append(q.Cylinders, assess.Cylinder{Number: c + 1, VE: q.VE})
		}
		q.Cylinders[2].VE *= 1 - 0.03*(q.Speed-2000)/5000
		p.Demand.Speeds = append(p.Demand.Speeds, assess.DemandPoint{
			Speed: q.Speed, VE: q.VE, Air: q.AirFlow, Runner: q.AirFlow / 6, Draught: q.AirFlow, MachIndex: q.Speed / 1e4, Loss: q.Speed / 5,
			Sections: []assess.SectionMach{{Name: "mouth", Mach: 0.2}, {Name: "head face", Mach: 1, Choked: q.Speed > 6500}, {Name: "port at the valve", Mach: 0.41}},
		})
	}
	for _, state := range []string{"before", "after"} {
		d := assess.Ducts{State: state, Speed: 6000, Room: 101325, Opens: [2]float64{-20, 500}, Closes: [2]float64{230, 15}, Settled: true}
		for a := -180.0; a < 540; a += 4 {
			d.Angle = append(d.Angle, a)
			d.Intake, d.Exhaust = append(d.Intake, 101325-9000*math.Sin(a/60)), append(d.Exhaust, 120000+30000*math.Cos(a/90))
		}
		p.Ducts = append(p.Ducts, d)
	}
}

// instant computes the made-up assessment at once.
func instant() app.Compute {
	return app.Compute{
		Readings: func(j job.Job) (assess.Assessment, error) { return madeUp(j), nil },
		Solve: func(_ context.Context, j job.Job, _ func(string, int, int)) (assess.Assessment, error) {
			a := madeUp(j)
			if j.Engine != nil {
				a.Pull = madeUpPull()
			}
			return a, nil
		},
	}
}

func newApp(t testing.TB, c app.Compute) *app.App {
	t.Helper()
	a, err := app.Open(context.Background(), app.Config{
		Path: filepath.Join(t.TempDir(), "runnel.db"), Now: time.Now, Who: "tester", Compute: c,
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := a.Close(); err != nil {
			t.Error(err)
		}
	})
	return a
}

func newSite(t testing.TB, a *app.App) http.Handler {
	t.Helper()
	h, err := web.New(a, web.Options{LocalPaths: true})
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// importSix imports the test job and waits for its pull.
func importSix(t testing.TB, a *app.App) {
	t.Helper()
	if _, err := a.ImportFolder(context.Background(), os.DirFS("testdata/six")); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Solved(context.Background(), "six"); err != nil {
		t.Fatal(err)
	}
	for range 500 {
		cards, err := a.Jobs(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		if !cards[0].Pending {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatal("the card stays pending")
}

// get asks for a page as a browser on this machine does.
func get(t testing.TB, h http.Handler, path string) *httptest.ResponseRecorder {
	t.Helper()
	return ask(h, httptest.NewRequest(http.MethodGet, path, nil))
}

func ask(h http.Handler, r *http.Request) *httptest.ResponseRecorder {
	r.Host = "127.0.0.1:8080"
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}
