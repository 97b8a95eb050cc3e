package app_test

import (
	"context"
	"encoding/json"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"runnel/demo"
	"runnel/internal/app"
	"runnel/internal/fault"
)

// A deskTest is a live bench on the demo job, whose simulated rig is opened because the job is invented.
type deskTest struct {
	t    *testing.T
	app  *app.App
	path string
}

func newDeskTest(t *testing.T) *deskTest {
	t.Helper()
	d := &deskTest{t: t, path: filepath.Join(t.TempDir(), "runnel.db")}
	d.start()
	if _, err := d.app.ImportFolder(t.Context(), demo.FS); err != nil {
		t.Fatal(err)
	}
	return d
}

func (d *deskTest) start() {
	d.t.Helper()
	a, err := app.Open(d.t.Context(), app.Config{Path: d.path, Now: time.Now, Who: "tester"})
	if err != nil {
		d.t.Fatal(err)
	}
	d.app = a
}

func (d *deskTest) do(do app.BenchDo) app.BenchView {
	d.t.Helper()
	v, err := d.app.DoBench(d.t.Context(), do)
	if err != nil {
		d.t.Fatalf("%s: %v", do.Do, err)
	}
	return v
}

// settled waits until the estimate settles.
func (d *deskTest) settled(within time.Duration) app.Estimate {
	d.t.Helper()
	return d.estimate(within, func(e app.Estimate) bool { return e.Settled })
}

// estimate waits for an estimate that is as wanted.
func (d *deskTest) estimate(within time.Duration, wanted func(app.Estimate) bool) app.Estimate {
	d.t.Helper()
	ctx, cancel := context.WithTimeout(d.t.Context(), within)
	defer cancel()
	w, err := d.app.WatchBench(ctx)
	if err != nil {
		d.t.Fatal(err)
	}
	defer w.Close()
	last := ""
	for {
		news, err := w.Next(ctx)
		if err != nil {
			d.t.Fatalf("never as wanted: %v; the last word was %s", err, last)
		}
		for _, e := range news {
			if e.Name != "estimate" {
				continue
			}
			var est app.Estimate
			if err := json.Unmarshal(e.Data, &est); err != nil {
				d.t.Fatal(err)
			}
			last = est.Text
			if wanted(est) {
				return est
			}
		}
	}
}

// unseen waits until the leakage stands and is found too small for the meter.
func (d *deskTest) unseen(within time.Duration) app.Estimate {
	d.t.Helper()
	return d.estimate(within, func(e app.Estimate) bool { return e.Least > 0 })
}

const hillClimb = "hill-climb-six"

// From the steps of a sitting to readings, in touches: what the screen showed is what the job says, to the last bit, and it
// holds what the rig passes.
func TestLiveBench(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes half a minute of needle")
	}
	d := newDeskTest(t)
	ctx := t.Context()
	id, err := d.app.BeginSitting(ctx, hillClimb, app.NewSitting{ID: "live", Air: app.AirTyped{Pressure: "99800 Pa", Temperature: "21 °C", Humidity: "45 %"}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := d.app.DoBench(ctx, app.BenchDo{Do: "begin"}); fault.KindOf(err) != fault.Conflict {
		t.Errorf("a touch before the bench is open: %v", err)
	}
	if err := d.app.OpenBench(ctx, hillClimb, id); err != nil {
		t.Fatal(err)
	}
	v := d.app.Bench()
	if !v.Open || !v.Simulated || v.Task != app.StepZero {
		t.Fatalf("open %v, simulated %v, at %s", v.Open, v.Simulated, v.Task)
	}
	d.do(app.BenchDo{Do: "begin"})
	e := d.settled(15 * time.Second)
	if len(e.Zeros) != 2 {
		t.Errorf("zeros %v", e.Zeros)
	}
	v = d.do(app.BenchDo{Do: "keep", Seq: e.Seq})
	if v.Task != app.StepLeakage || v.Steps[1].State != app.StepDone {
		t.Errorf("after the zero: %s, %v", v.Task, v.Steps)
	}
	d.do(app.BenchDo{Do: "plan", Plan: app.PlanTyped{Rig: "runner-bare", Round: "finished", Openings: []string{"2", "5"}, Repeats: "2", Settle: "4 s", Random: true}})
	d.do(app.BenchDo{Do: "begin"})
	// The rig leaks 0.3 cfm, which makes 0.004 Pa at a plate of 60 mm: nobody sees that through 1.1 Pa of noise.
	e = d.unseen(20 * time.Second)
	if e.Least < 1e-3 || e.Least > 6e-3 {
		t.Errorf("the plate can see %g m³/s", e.Least)
	}
	if _, err := d.app.DoBench(ctx, app.BenchDo{Do: "keep", Seq: e.Seq}); fault.KindOf(err) != fault.Invalid {
		t.Errorf("a leakage that was not seen was kept: %v", err)
	}
	v = d.do(app.BenchDo{Do: "skip", Step: app.StepLeakage, Why: "less than the plate can see"})
	if v.Steps[2].State != app.StepSkipped || v.Leak != nil {
		t.Errorf("after skipping: %v, leakage %v", v.Steps[2], v.Leak)
	}
	if v.Task != app.StepCheck || v.Taking {
		t.Errorf("after skipping the leakage the bench is at %q, taking %v: the check plate would be kept as a leakage", v.Task, v.Taking)
	}
	d.do(app.BenchDo{Do: "begin"})
	e = d.settled(20 * time.Second)
	v = d.do(app.BenchDo{Do: "keep", Seq: e.Seq})
	if v.Plate == nil || math.Abs(*v.Plate-e.Deviation) > 1e-12 || math.Abs(*v.Plate) > 0.01 {
		t.Errorf("check plate on the screen %g, of the sitting %v", e.Deviation, v.Plate)
	}
	if v.Task != app.StepReadings || v.Left != 4 || v.Chosen != 0 {
		t.Fatalf("at %s, %d left, number %d", v.Task, v.Left, v.Chosen)
	}
	d.do(app.BenchDo{Do: "begin"})
	if _, err := d.app.DoBench(ctx, app.BenchDo{Do: "keep", Seq: 1}); err == nil {
		t.Error("a number that was never shown was kept")
	}
	e = d.settled(20 * time.Second)
	took := time.Now()
	v = d.do(app.BenchDo{Do: "keep", Seq: e.Seq})
	t.Logf("keeping a reading took %v", time.Since(took))
	if v.Kept == nil || v.Kept.Flow != e.Flow || v.Left != 3 || v.Chosen != 1 {
		t.Fatalf("kept %+v, %d left, number %d", v.Kept, v.Left, v.Chosen)
	}
	reading := v.Kept.ID
	d.same(id, reading, e)
	d.killed(id, reading, e)
}

// same compares a reading of the job with what stood on the screen.
func (d *deskTest) same(sitting, reading string, e app.Estimate) {
	d.t.Helper()
	w, err := d.app.Walk(d.t.Context(), hillClimb, sitting)
	if err != nil {
		d.t.Fatal(err)
	}
	i := slices.IndexFunc(w.Readings, func(r app.WalkReading) bool { return r.ID == reading })
	if i < 0 {
		d.t.Fatalf("the job has no reading %s", reading)
	}
	r := w.Readings[i]
	if r.Result.Flow != e.Flow || r.Result.EffectiveArea != e.Area || !strings.HasPrefix(r.Trace, "traces/") {
		d.t.Errorf("the job says %v m³/s and %v m², the screen said %v and %v", r.Result.Flow, r.Result.EffectiveArea, e.Flow, e.Area)
	}
}

// killed starts Runnel anew, as after a kill: nothing was closed in between.
func (d *deskTest) killed(sitting, reading string, e app.Estimate) {
	d.t.Helper()
	d.do(app.BenchDo{Do: "begin"})
	time.Sleep(1500 * time.Millisecond)
	if err := d.app.Close(); err != nil {
		d.t.Fatal(err)
	}
	d.start()
	defer func() {
		if err := d.app.Close(); err != nil {
			d.t.Error(err)
		}
	}()
	if v := d.app.Bench(); v.Open {
		d.t.Error("the bench is open before anyone looks")
	}
	if err := d.app.ResumeBench(d.t.Context()); err != nil {
		d.t.Fatal(err)
	}
	v := d.app.Bench()
	if v.Sitting != sitting || v.Left != 3 || v.Chosen != 1 || v.Plan.Rig != "runner-bare" || !strings.Contains(v.Message, "started again") {
		d.t.Errorf("resumed on %q, %d left, number %d, %q", v.Sitting, v.Left, v.Chosen, v.Message)
	}
	d.same(sitting, reading, e)
	v = d.do(app.BenchDo{Do: "undo"})
	if v.Left != 4 || v.Kept == nil || !v.Kept.Undone || v.Kept.ID != reading {
		d.t.Errorf("after undo: %d left, %+v", v.Left, v.Kept)
	}
	if err := d.app.CloseBench(d.t.Context()); err != nil {
		d.t.Fatal(err)
	}
	if err := d.app.ResumeBench(d.t.Context()); err != nil || d.app.Bench().Open {
		d.t.Errorf("a bench that was closed came back: %v", err)
	}
}
