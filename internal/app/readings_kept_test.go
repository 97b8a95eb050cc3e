package app_test

import (
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
