package app_test

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"runnel/internal/app"
	"runnel/internal/store"
)

// keepingChild keeps readings as fast as it can and says each one once it has been told that it is kept.
func keepingChild(path string) error {
	ctx := context.Background()
	a, err := app.Open(ctx, app.Config{Path: path, Now: time.Now, Who: "child"})
	if err != nil {
		return err
	}
	ref := app.SittingRef{Job: "six", Sitting: "s1"}
	for {
		id, err := a.AddReading(ctx, ref, app.ReadingTyped{Rig: "bare", Round: "received", Opening: "1", MeterDP: "1.9 kPa", TestPressure: "28 inH2O", UByEye: "0.5 %"})
		if err != nil {
			return err
		}
		if _, err := fmt.Println(id); err != nil {
			return err
		}
	}
}

// Killed at random instants while readings are kept: whatever was said to be kept is there, and the file is sound. Three
// kills, or two hundred with RUNNEL_FULL=1.
func TestKilledWhileKeeping(t *testing.T) {
	if path := os.Getenv("RUNNEL_KEEPING_CHILD"); path != "" {
		t.Fatal(keepingChild(path)) // it is killed before it gets here
	}
	if testing.Short() {
		t.Skip("starts programs and kills them")
	}
	path := filepath.Join(t.TempDir(), "runnel.db")
	a := appAt(t, path)
	if _, err := a.ImportFolder(t.Context(), os.DirFS("../web/testdata/six")); err != nil {
		t.Fatal(err)
	}
	restZero(t, a)
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	kills := 3
	if os.Getenv("RUNNEL_FULL") == "1" {
		kills = 200
	}
	said, draw := []string{}, rand.New(rand.NewPCG(7, 7))
	for range kills {
		said = append(said, killed(t, path, time.Duration(200+draw.IntN(600))*time.Millisecond)...)
		sound(t, path, said)
	}
	if len(said) < kills {
		t.Errorf("only %d readings were said to be kept in %d kills: the test is blind", len(said), kills)
	}
	t.Logf("%d kills, %d readings said to be kept, none lost", kills, len(said))
}

func appAt(t *testing.T, path string) *app.App {
	t.Helper()
	a, err := app.Open(t.Context(), app.Config{Path: path, Now: time.Now, Who: "tester"})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// killed runs the child for a while after its first reading, kills it, and returns what it said.
func killed(t *testing.T, path string, after time.Duration) (said []string) {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^TestKilledWhileKeeping$") //nolint:gosec // this very test
	cmd.Env = append(os.Environ(), "RUNNEL_KEEPING_CHILD="+path)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	var timer *time.Timer
	for lines.Scan() {
		said = append(said, lines.Text())
		if timer == nil {
			timer = time.AfterFunc(after, func() { _ = cmd.Process.Kill() })
		}
	}
	_ = cmd.Wait() // it was killed
	if timer == nil {
		t.Fatal("the child kept nothing")
	}
	return said
}

// sound looks the file over after a kill.
func sound(t *testing.T, path string, said []string) {
	t.Helper()
	s, err := store.Open(t.Context(), path, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Check(t.Context()); err != nil {
		t.Error(err)
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
	a := appAt(t, path)
	defer func() {
		if err := a.Close(); err != nil {
			t.Error(err)
		}
	}()
	j, err := a.Facts(t.Context(), "six")
	if err != nil {
		t.Fatal(err)
	}
	var there []string
	for _, x := range j.Sittings {
		for _, r := range x.Readings {
			there = append(there, r.ID)
		}
	}
	for _, id := range said {
		if !slices.Contains(there, id) {
			t.Errorf("reading %s was said to be kept and is gone", id)
		}
	}
}
