package app_test

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"time"

	"runnel/assess"
	"runnel/demo"
	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
)

const id = "hill-climb-six"

func writeFolder(dir string, m fstest.MapFS) error { return os.CopyFS(dir, m) }

// held is a computation that waits until it is let go, and counts how often it was begun.
type held struct {
	begun atomic.Int32
	tell  chan func(string, int, int)
	let   chan error
}

func newHeld() *held {
	return &held{tell: make(chan func(string, int, int), 8), let: make(chan error)}
}

func (h *held) compute() app.Compute {
	c := quick()
	c.Solve = func(ctx context.Context, j job.Job, progress func(string, int, int)) (assess.Assessment, error) {
		h.begun.Add(1)
		h.tell <- progress
		select {
		case err := <-h.let:
			a := bare(j)
			a.Pull = &assess.Pull{}
			return a, err
		case <-ctx.Done():
			return assess.Assessment{}, ctx.Err()
		}
	}
	return c
}

func imported(t *testing.T, a *app.App) {
	t.Helper()
	if _, err := a.ImportFolder(t.Context(), demo.FS); err != nil {
		t.Fatal(err)
	}
}

func at(t *testing.T, a *app.App) app.Assessed {
	t.Helper()
	out, err := a.Assessment(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// phase waits until the pull is in a phase.
func phase(t *testing.T, a *app.App, want app.Phase) app.Progress {
	t.Helper()
	for {
		p, changed, err := a.Watch(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		if p.Phase == want {
			return p
		}
		if changed == nil {
			t.Fatalf("it stopped at %+v, not at %s", p, want)
		}
		select {
		case <-changed:
		case <-time.After(10 * time.Second):
			t.Fatalf("still at %+v, not at %s", p, want)
		}
	}
}

func TestOneComputationHoweverManyAsk(t *testing.T) {
	h := newHeld()
	a := temp(t, h.compute())
	imported(t, a)
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			if _, err := a.Assessment(t.Context(), id); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	out := at(t, a)
	if out.Assessment.Pull != nil || len(out.Assessment.Readings) == 0 {
		t.Error("before the pull is there, the readings must be, alone")
	}
	progress := <-h.tell
	progress("speeds before", 3, 12)
	p := phase(t, a, app.Running)
	if p.Stage != "speeds before" || p.Percent() != 25 {
		t.Errorf("progress %+v", p)
	}
	h.let <- nil
	solved, err := a.Solved(t.Context(), id)
	if err != nil || solved.Assessment.Pull == nil {
		t.Errorf("%+v, %v", solved.Progress, err)
	}
	if n := h.begun.Load(); n != 1 {
		t.Errorf("computed %d times", n)
	}
}

func TestRestartFindsTheKeptPull(t *testing.T) {
	path, h := filepath.Join(t.TempDir(), "runnel.db"), newHeld()
	first := open(t, path, quick())
	imported(t, first)
	if _, err := first.Solved(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	second := open(t, path, h.compute())
	out := at(t, second)
	if out.Assessment.Pull == nil || out.Progress.Phase != app.Done || h.begun.Load() != 0 {
		t.Errorf("%+v, begun %d times", out.Progress, h.begun.Load())
	}
}

func TestAFailureStaysUntilRetry(t *testing.T) {
	h := newHeld()
	a := temp(t, h.compute())
	imported(t, a)
	at(t, a)
	<-h.tell
	h.let <- errors.New("no cycle settled")
	p := phase(t, a, app.Failed)
	if !strings.Contains(p.Error, "no cycle settled") {
		t.Errorf("%+v", p)
	}
	if _, err := a.Solved(t.Context(), id); err == nil || !strings.Contains(err.Error(), "no cycle settled") {
		t.Errorf("waiting for it: %v", err)
	}
	at(t, a)
	if n := h.begun.Load(); n != 1 {
		t.Errorf("looking at it began it again: %d times", n)
	}
	if err := a.Handover(t.Context(), id, app.Print{Kind: "json"}, io.Discard); err != nil {
		t.Errorf("the handover goes without the pull: %v", err)
	}
	if err := a.Retry(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	<-h.tell
	h.let <- nil
	phase(t, a, app.Done)
}

func TestAPanicIsAFailureOfOneJob(t *testing.T) {
	c := quick()
	c.Solve = func(context.Context, job.Job, func(string, int, int)) (assess.Assessment, error) {
		panic("wave: no cells")
	}
	a := temp(t, c)
	imported(t, a)
	at(t, a)
	if p := phase(t, a, app.Failed); !strings.Contains(p.Error, "wave: no cells") {
		t.Errorf("%+v", p)
	}
	c.Readings = func(job.Job) (assess.Assessment, error) { panic("meter: no plate") }
	b := temp(t, c)
	imported(t, b)
	for range 2 {
		if _, err := b.Assessment(t.Context(), id); err == nil || fault.KindOf(err) != fault.Internal {
			t.Errorf("a panic in the readings: %v", err)
		}
	}
	if cards := listed(t, b); len(cards) != 1 || !strings.Contains(cards[0].Problem, "our fault") || strings.Contains(cards[0].Problem, "plate") {
		t.Errorf("the list must still show the job, and nothing of what broke: %+v", cards)
	}
}

func TestANewRevisionStopsTheOldComputation(t *testing.T) {
	h := newHeld()
	a := temp(t, h.compute())
	imported(t, a)
	before := at(t, a)
	<-h.tell
	if _, err := a.ImportFolder(t.Context(), edit{"job.toml", `title = "`, `title = "Changed `}.of(folder(t))); err != nil {
		t.Fatal(err)
	}
	after := at(t, a) // it only gets its turn when the old one has ended
	if before.Hash == after.Hash {
		t.Fatal("the folder changed and its hash did not")
	}
	<-h.tell
	h.let <- nil
	if out, err := a.Solved(t.Context(), id); err != nil || out.Hash != after.Hash {
		t.Errorf("%+v %v", out.Progress, err)
	}
}

func TestCloseEndsWhatIsComputed(t *testing.T) {
	h := newHeld()
	a, err := app.Open(t.Context(), app.Config{Path: filepath.Join(t.TempDir(), "x.db"), Now: time.Now, Compute: h.compute()})
	if err != nil {
		t.Fatal(err)
	}
	imported(t, a)
	at(t, a)
	<-h.tell
	closed := make(chan error, 1)
	go func() { closed <- a.Close() }()
	select {
	case err := <-closed:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(10 * time.Second):
		t.Fatal("Close waits for a computation that should have been stopped")
	}
}

func TestAJobWithoutEngineHasNoPull(t *testing.T) {
	h := newHeld()
	a := temp(t, h.compute())
	m := folder(t)
	text := string(m["job.toml"].Data)
	from, to := strings.Index(text, "[engine]"), strings.Index(text, "[[pieces]]")
	m["job.toml"] = &fstest.MapFile{Data: []byte(text[:from] + text[to:])}
	if _, err := a.ImportFolder(t.Context(), m); err != nil {
		t.Fatal(err)
	}
	if out, err := a.Solved(t.Context(), id); err != nil || out.Progress.Phase != app.NoEngine || h.begun.Load() != 0 {
		t.Errorf("%+v, %v", out.Progress, err)
	}
	if err := a.Retry(t.Context(), id); fault.KindOf(err) != fault.Invalid || err == nil {
		t.Errorf("retrying what cannot be: %v", err)
	}
}
