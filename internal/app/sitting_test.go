package app_test

import (
	"archive/zip"
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"runnel/internal/app"
	"runnel/internal/fault"
)

// sittings opens an App with the small test job of the pages and a clock that moves on by a minute at each look.
func sittings(t *testing.T) *app.App {
	t.Helper()
	begin := time.Date(2026, 3, 20, 9, 0, 0, 0, time.UTC)
	var looks atomic.Int64
	a, err := app.Open(context.Background(), app.Config{
		Path: filepath.Join(t.TempDir(), "runnel.db"), Who: "tester",
		Now: func() time.Time { return begin.Add(time.Duration(looks.Add(1)) * time.Minute) },
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := a.Close(); err != nil {
			t.Error(err)
		}
	})
	if _, err := a.ImportFolder(t.Context(), os.DirFS("../web/testdata/six")); err != nil {
		t.Fatal(err)
	}
	return a
}

func airNow() app.AirTyped {
	return app.AirTyped{Pressure: "1013 hPa", Temperature: "68 °F", Humidity: "45 %"}
}

func walk(t *testing.T, a *app.App, sitting string) app.Walk {
	t.Helper()
	w, err := a.Walk(t.Context(), "six", sitting)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func states(w app.Walk) string {
	var out []string
	for _, s := range w.Steps {
		out = append(out, string(s.State))
	}
	return strings.Join(out, ", ")
}

func wrong(t *testing.T, err error) app.FieldProblems {
	t.Helper()
	p, ok := errors.AsType[app.FieldProblems](err)
	if !ok {
		t.Fatalf("not a problem of fields: %v", err)
	}
	if fault.KindOf(err) != fault.Invalid {
		t.Errorf("kind %v", fault.KindOf(err))
	}
	return p
}

// A sitting is walked through in order; what is missing is said, what is skipped says why, and readings wait.
func TestWalkThroughASitting(t *testing.T) {
	a, ctx := sittings(t), t.Context()
	id, err := a.BeginSitting(ctx, "six", app.NewSitting{By: "A. Porter", Air: airNow()})
	if err != nil {
		t.Fatal(err)
	}
	if id != "2026-03-20" {
		t.Errorf("the sitting is called %q", id)
	}
	ref := app.SittingRef{Job: "six", Sitting: id}
	w := walk(t, a, id)
	if states(w) != "done, not done, not done, not done, not done" || w.Next != app.StepZero {
		t.Errorf("%s, next %s", states(w), w.Next)
	}
	byEye := app.ReadingTyped{Rig: "bare", Round: "received", Opening: "1", MeterDP: "1.9 kPa", TestPressure: "28 inH2O", UByEye: "0.5 %"}
	if _, err := a.AddReading(ctx, ref, byEye); fault.KindOf(err) != fault.Invalid || !strings.Contains(err.Error(), "zero") {
		t.Errorf("a reading before the zero: %v", err)
	}
	if err := a.AddZero(ctx, ref, "", map[string]string{"meter_dp": "1.2 Pa", "test_dp": "0.01 inH2O"}); err != nil {
		t.Fatal(err)
	}
	if err := a.AddLeakage(ctx, ref, app.LeakTyped{TestPressure: "28 inH2O", Flow: "9 cfm"}); err != nil {
		t.Fatal(err)
	}
	w = walk(t, a, id)
	if s := w.Step(app.StepLeakage); s.State != app.StepOutside || len(s.Says) != 1 {
		t.Errorf("a leak of 9 cfm is %v", s)
	}
	if err := a.Skip(ctx, ref, app.StepCheck, " "); wrong(t, err)["why"] == "" {
		t.Error("skipped without a reason")
	}
	if err := a.Skip(ctx, ref, app.StepAir, "no barometer"); fault.KindOf(err) != fault.Invalid {
		t.Errorf("the air was skipped: %v", err)
	}
	if err := a.Skip(ctx, ref, app.StepCheck, "the plate is away"); err != nil {
		t.Fatal(err)
	}
	w = walk(t, a, id)
	if s := w.Step(app.StepCheck); s.State != app.StepSkipped || s.Why != "the plate is away" || w.Next != "" {
		t.Errorf("%v, next %q", s, w.Next)
	}
	if !strings.Contains(w.Sitting.Note, "the plate is away") || !strings.Contains(strings.Join(w.Marks, "; "), "the check plate was not flowed; a drift of the bench of up to 1 %") {
		t.Errorf("note %q, marks %q", w.Sitting.Note, w.Marks)
	}
	r, err := a.AddReading(ctx, ref, byEye)
	if err != nil {
		t.Fatal(err)
	}
	w = walk(t, a, id)
	if i := slices.IndexFunc(w.Readings, func(x app.WalkReading) bool { return x.ID == r }); i < 0 || !w.Readings[i].Result.Usable || !(w.Readings[i].Result.Flow > 0) {
		t.Errorf("the reading came out as %+v", w.Readings)
	}
	_, log, err := a.History(ctx, "six")
	if err != nil {
		t.Fatal(err)
	}
	if log[1].What != "sitting 2026-03-20: check skipped" || log[1].Why != "the plate is away" || log[1].Who != "tester" || log[1].At.IsZero() {
		t.Errorf("the log says %+v", log[1])
	}
}

// What cannot be read is said field by field, and nothing is kept.
func TestTypedValues(t *testing.T) {
	a, ctx := sittings(t), t.Context()
	_, err := a.BeginSitting(ctx, "six", app.NewSitting{ID: "Bad Name", Air: app.AirTyped{Pressure: "1013", Temperature: "20 kPa", Humidity: "140 %", At: "yesterday"}})
	p := wrong(t, err)
	for field, want := range map[string]string{"id": "lower-case", "pressure": "no unit", "temp": "no unit of temperature", "rh": "0 %", "at": "write the time like"} {
		if !strings.Contains(p[field], want) {
			t.Errorf("%s: %q does not say %q", field, p[field], want)
		}
	}
	// A bare number is answered with the units a shop writes: "20.5 K" would be far below freezing, and 45 is no share.
	_, err = a.BeginSitting(ctx, "six", app.NewSitting{Air: app.AirTyped{Pressure: "1013", Temperature: "20.5", Humidity: "45"}})
	p = wrong(t, err)
	for field, want := range map[string]string{"pressure": `like "1013 hPa"`, "temp": `like "20 °C"`, "rh": `write it as "45 %"`} {
		if !strings.Contains(p[field], want) {
			t.Errorf("%s: %q does not say %q", field, p[field], want)
		}
	}
	ref := app.SittingRef{Job: "six", Sitting: "s1"}
	restZero(t, a)
	before := walk(t, a, "s1")
	p = wrong(t, a.AddZero(ctx, ref, "", map[string]string{"meter_dp": "1,2 Pa", "test_dp": "2 mm"}))
	if !strings.Contains(p["meter_dp"], "1.2 Pa") || !strings.Contains(p["test_dp"], "mm") {
		t.Errorf("%v", p)
	}
	p = wrong(t, a.AddZero(ctx, ref, "", nil))
	if p["meter_dp"] == "" || p["test_dp"] == "" {
		t.Errorf("%v", p)
	}
	p = wrong(t, a.AddLeakage(ctx, ref, app.LeakTyped{TestPressure: "-28 inH2O", Flow: "-1 cfm", UFlow: "-0.1 cfm"}))
	if p["test_pressure"] == "" || p["flow"] == "" || p["u_flow"] == "" {
		t.Errorf("%v", p)
	}
	_, err = a.AddReading(ctx, ref, app.ReadingTyped{Rig: "head-rig", Round: "received", Opening: "7", MeterDP: "0 Pa", TestPressure: "28", UByEye: "200 %"})
	p = wrong(t, err)
	for _, field := range []string{"round", "opening", "lift", "meter_dp", "test_pressure", "u_by_eye"} {
		if p[field] == "" {
			t.Errorf("nothing is said of %s: %v", field, p)
		}
	}
	// A temperature no room has is refused by the check of the whole folder.
	if err := a.AddAir(ctx, ref, app.AirTyped{Pressure: "1013 hPa", Temperature: "200 °C", Humidity: "45 %"}); fault.KindOf(err) != fault.Invalid {
		t.Errorf("%v", err)
	}
	if after := walk(t, a, "s1"); after.Revision != before.Revision || after.Tag != before.Tag {
		t.Error("something was kept")
	}
}

// Two people change one sitting: the second is told. A change elsewhere in the job is no conflict.
func TestConflict(t *testing.T) {
	a, ctx := sittings(t), t.Context()
	seen := walk(t, a, "s1").Tag
	other := app.SittingRef{Job: "six", Sitting: "s2", Tag: walk(t, a, "s2").Tag}
	ref := app.SittingRef{Job: "six", Sitting: "s1", Tag: seen}
	if err := a.AddAir(ctx, ref, airNow()); err != nil {
		t.Fatal(err)
	}
	if err := a.AddAir(ctx, ref, airNow()); fault.KindOf(err) != fault.Conflict {
		t.Errorf("the second change: %v", err)
	}
	if err := a.AddAir(ctx, other, airNow()); err != nil {
		t.Errorf("a change of another sitting: %v", err)
	}
	if n := len(walk(t, a, "s1").Sitting.Air); n != 2 {
		t.Errorf("%d air records", n)
	}
	done := make(chan error)
	for range 4 { // edits at the same time are all kept
		go func() { done <- a.AddAir(ctx, app.SittingRef{Job: "six", Sitting: "s1"}, airNow()) }()
	}
	for range 4 {
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
	if n := len(walk(t, a, "s1").Sitting.Air); n != 6 {
		t.Errorf("%d air records after edits at the same time", n)
	}
}

// A reading is voided with a reason and may count again; the last change is undone and brought back; nothing is overwritten.
func TestVoidAndUndo(t *testing.T) {
	a, ctx := sittings(t), t.Context()
	ref := app.SittingRef{Job: "six", Sitting: "s1"}
	restZero(t, a)
	if err := a.Void(ctx, ref, "r01", ""); wrong(t, err)["why"] == "" {
		t.Error("voided without a reason")
	}
	if err := a.Void(ctx, ref, "r01", "the clay came loose"); err != nil {
		t.Fatal(err)
	}
	if r := walk(t, a, "s1").Readings[0]; r.Void != "the clay came loose" || r.Result.Usable || !strings.Contains(r.Result.Refused, "clay") {
		t.Errorf("%+v", r)
	}
	if err := a.Void(ctx, ref, "r01", "twice"); fault.KindOf(err) != fault.Conflict {
		t.Errorf("voided twice: %v", err)
	}
	if err := a.Undo(ctx, ref); err != nil {
		t.Fatal(err)
	}
	if r := walk(t, a, "s1").Readings[0]; r.Void != "" {
		t.Errorf("after undo: %q", r.Void)
	}
	if err := a.Undo(ctx, ref); err != nil {
		t.Fatal(err)
	}
	if r := walk(t, a, "s1").Readings[0]; r.Void != "the clay came loose" {
		t.Errorf("after undoing the undo: %q", r.Void)
	}
	if err := a.Unvoid(ctx, ref, "r01"); err != nil {
		t.Fatal(err)
	}
	// Undoing a reading that was taken voids it: a reading that was kept stays.
	id, err := a.AddReading(ctx, ref, app.ReadingTyped{Rig: "bare", Round: "received", Opening: "1", MeterDP: "1.9 kPa", TestPressure: "28 inH2O", UByEye: "0.5 %"})
	if err != nil {
		t.Fatal(err)
	}
	if err := a.Undo(ctx, ref); err != nil {
		t.Fatal(err)
	}
	rs := walk(t, a, "s1").Readings
	if last := rs[len(rs)-1]; last.ID != id || last.Void != "undone" {
		t.Errorf("%+v", last)
	}
	if err := a.Strike(ctx, ref, app.StepCheck, 0, "wrong plate"); err != nil {
		t.Fatal(err)
	}
	if err := a.Strike(ctx, ref, app.StepAir, 0, "wrong"); fault.KindOf(err) != fault.Invalid {
		t.Errorf("the only air record was taken out: %v", err)
	}
	w := walk(t, a, "s1")
	if w.Step(app.StepCheck).State != app.StepOpen {
		t.Errorf("%v", w.Step(app.StepCheck))
	}
	// The comment that says the file is invented is still there.
	var b strings.Builder
	if err := a.ExportZip(ctx, "six", 0, &b); err != nil {
		t.Fatal(err)
	}
	if got := fileOf(t, b.String(), "six/sittings/1.toml"); !strings.HasPrefix(got, "# Invented.") {
		t.Errorf("the file begins with %.40q", got)
	}
}

// fileOf reads one file out of a zip.
func fileOf(t *testing.T, data, name string) string {
	t.Helper()
	z, err := zip.NewReader(strings.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	b, err := fs.ReadFile(z, name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// restZero gives sitting s1 the zero that its file does not have.
func restZero(t *testing.T, a *app.App) {
	t.Helper()
	if err := a.AddZero(t.Context(), app.SittingRef{Job: "six", Sitting: "s1"}, "", map[string]string{"test_dp": "0.4 Pa"}); err != nil {
		t.Fatal(err)
	}
}
