package app_test

import (
	"bytes"
	"testing"
	"time"

	"runnel/internal/app"
	"runnel/unit"
)

// The demo job by the real engineering: the quick part is quick, and the headline is the comparison that the demo is
// made to show (its invented rework helps).
func TestDemoReadings(t *testing.T) {
	a := temp(t, app.Compute{Solve: quick().Solve})
	imported(t, a)
	from := time.Now()
	out := at(t, a)
	t.Logf("readings of the demo took %v", time.Since(from))
	if len(out.Assessment.Readings) == 0 || len(out.Assessment.Verdicts) == 0 || len(out.Assessment.Match) == 0 {
		t.Fatalf("%d readings, %d verdicts, %d matches", len(out.Assessment.Readings), len(out.Assessment.Verdicts), len(out.Assessment.Match))
	}
	v := app.Headline(out.Job, out.Assessment)
	if v == nil || v.From != "received" || v.To != "finished" || v.Word != "proven gain" {
		t.Errorf("headline %+v", v)
	}
	for _, p := range []app.Print{{Kind: "pdf", Paper: "letter", System: unit.US}, {Kind: "html"}, {Kind: "json"}} {
		var b bytes.Buffer
		if err := app.WriteHandover(out.Job, out.Assessment, p, &b); err != nil || b.Len() < 1000 {
			t.Errorf("%+v: %d bytes, %v", p, b.Len(), err)
		}
	}
}

// The whole of it, once, at two speeds.
func TestDemoPull(t *testing.T) {
	if testing.Short() {
		t.Skip("the pull of the demo takes its time")
	}
	a := temp(t, app.Compute{})
	few := edit{"job.toml", `speeds = "2000:7000:500"`, `speeds = "3500,6000"`}.of(folder(t))
	if _, err := a.ImportFolder(t.Context(), few); err != nil {
		t.Fatal(err)
	}
	from := time.Now()
	out, err := a.Solved(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("the pull of the demo took %v", time.Since(from))
	p := out.Assessment.Pull
	if p == nil || len(p.Before) != 2 || len(p.After) != len(p.Before) || len(p.Change) != len(p.Before) {
		t.Fatalf("pull %+v", p)
	}
	if len(p.Closures) == 0 {
		t.Error("no twin was compared with its reading")
	}
}
