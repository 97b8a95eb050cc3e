package app_test

import (
	"context"
	"path/filepath"
	"sync/atomic"
	"testing"

	"runnel/assess"
	"runnel/internal/app"
	"runnel/job"
)

// Readings are corrected once for all states of a job that differ in their stations only, by something that does not see the stations;
// any other change of the facts corrects them anew.
func TestStationsLeaveReadings(t *testing.T) {
	var times atomic.Int32
	a := temp(t, app.Compute{Readings: func(j job.Job) (assess.Assessment, error) {
		times.Add(1)
		if len(j.Sections) > 0 || len(j.Pieces[0].Sections) > 0 {
			t.Error("the readings see the stations")
		}
		return assess.Assessment{Job: j.ID, Title: j.Title}, nil
	}})
	if _, err := a.ImportFolder(t.Context(), edit{"job.toml", `title = "Six-runner`, `title = "One`}.of(folder(t))); err != nil {
		t.Fatal(err)
	}
	ask := func(want string) {
		t.Helper()
		got, err := a.Corrected(t.Context(), sixRunners)
		if err != nil || got.Assessment.Title != want || len(got.Job.Sections) == 0 {
			t.Errorf("%q, %d sections, %v", got.Assessment.Title, len(got.Job.Sections), err)
		}
	}
	ask("One intake for a 3.0-litre hill-climb six")
	if err := a.SaveStations(t.Context(), placed("2", "received"), "s_mm,shape,diameter_mm\n0,round,40\n100,round,38\n"); err != nil {
		t.Fatal(err)
	}
	ask("One intake for a 3.0-litre hill-climb six")
	if n := times.Load(); n != 1 {
		t.Errorf("corrected %d times, want once", n)
	}
	if _, err := a.ImportFolder(t.Context(), edit{"job.toml", `title = "Six-runner`, `title = "Two`}.of(folder(t))); err != nil {
		t.Fatal(err)
	}
	ask("Two intake for a 3.0-litre hill-climb six")
	if n := times.Load(); n != 2 {
		t.Errorf("corrected %d times after another title, want twice", n)
	}
}

// One pull serves all states of a job that differ in their stations only: a station that is typed neither stops the one that runs nor begins
// another, and after it, or a restart, the pull is there at once. Any other change of the facts begins a new one.
func TestStationsLeaveThePull(t *testing.T) {
	path, h := filepath.Join(t.TempDir(), "runnel.db"), newHeld()
	c := h.compute()
	solve := c.Solve
	c.Solve = func(ctx context.Context, j job.Job, progress func(string, int, int)) (assess.Assessment, error) {
		if len(j.Sections) > 0 || len(j.Pieces[0].Sections) > 0 {
			t.Error("the pull sees the stations")
		}
		return solve(ctx, j, progress)
	}
	a := open(t, path, c)
	imported(t, a)
	station := func(text string) {
		t.Helper()
		q := placed("2", "received")
		q.Job = id
		if err := a.SaveStations(t.Context(), q, "s_mm,shape,diameter_mm\n0,round,40\n"+text); err != nil {
			t.Fatal(err)
		}
	}
	first := at(t, a)
	<-h.tell
	station("100,round,38\n")
	second := at(t, a)
	if first.Hash == second.Hash || second.Progress.Phase != app.Running || len(second.Job.Sections) == len(first.Job.Sections) {
		t.Fatalf("with the station typed: %+v, hash %s after %s", second.Progress, second.Hash, first.Hash)
	}
	h.let <- nil
	if out, err := a.Solved(t.Context(), id); err != nil || out.Assessment.Pull == nil || out.Hash != second.Hash {
		t.Fatalf("%+v, %v", out.Progress, err)
	}
	station("90,round,38\n")
	if out := at(t, a); out.Assessment.Pull == nil || out.Progress.Phase != app.Done {
		t.Errorf("with the station moved: %+v", out.Progress)
	}
	if out := at(t, open(t, path, c)); out.Assessment.Pull == nil || out.Progress.Phase != app.Done {
		t.Errorf("after a restart: %+v", out.Progress)
	}
	if n := h.begun.Load(); n != 1 {
		t.Errorf("begun %d times for stations alone", n)
	}
	if _, err := a.ImportFolder(t.Context(), edit{"job.toml", `bore = "83.8 mm"`, `bore = "84 mm"`}.of(folder(t))); err != nil {
		t.Fatal(err)
	}
	if out := at(t, a); out.Assessment.Pull != nil {
		t.Error("another bore of the engine has the pull of the old one")
	}
	<-h.tell
	h.let <- nil
	phase(t, a, app.Done)
	if n := h.begun.Load(); n != 2 {
		t.Errorf("begun %d times, the bore was changed once", n)
	}
}
