package examples

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"runnel/engine"
	"runnel/internal/fault"
	"runnel/job"
)

var update = flag.Bool("update", false, "write the messages found into broken/*/want.txt")

func TestEngineFiles(t *testing.T) {
	names, err := filepath.Glob("*.toml")
	if err != nil || len(names) < 3 {
		t.Fatal(names, err)
	}
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		e, err := job.LoadEngine(name, data)
		if err != nil || e.Title == "" || e.Speeds == "" {
			t.Errorf("%s: %q, %v", name, e.Title, err)
		}
		if _, err := engine.FromCard(e, engine.Flowed{}); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// The outside checks carry a copy of the engines they run, because a program holds only what lies below it: the copies are the same.
func TestEnginesOfTheChecks(t *testing.T) {
	for _, name := range []string{"gx160", "bm1"} {
		ours, err := os.ReadFile(name + ".toml")
		if err != nil {
			t.Fatal(err)
		}
		theirs, err := os.ReadFile("../validation/" + name + "/engine.toml")
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(ours, theirs) {
			t.Errorf("%s.toml is not validation/%s/engine.toml: make them the same", name, name)
		}
	}
}

func folders(t *testing.T, pattern string, least int) []string {
	t.Helper()
	names, err := filepath.Glob(pattern)
	if err != nil || len(names) < least {
		t.Fatal(names, err)
	}
	return names
}

// Jobs that are whole or only odd are read: what is odd about them is for the assessment to answer honestly.
func TestJobsLoad(t *testing.T) {
	for _, dir := range append(folders(t, "odd/*", 6), "first-job") {
		j, err := job.Load(os.DirFS(dir))
		if err != nil || !j.Invented {
			t.Errorf("%s: invented %v, %v", dir, j.Invented, err)
		}
	}
}

// Every broken folder gives exactly the message in its want.txt.
func TestBrokenJobs(t *testing.T) {
	for _, dir := range folders(t, "broken/*", 20) {
		_, err := job.Load(os.DirFS(dir))
		if err == nil || fault.KindOf(err) != fault.Invalid {
			t.Errorf("%s: %v", dir, err)
			continue
		}
		file := filepath.Join(dir, "want.txt")
		if *update {
			if err := os.WriteFile(file, []byte(err.Error()+"\n"), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, readErr := os.ReadFile(file)
		if readErr != nil || strings.TrimSpace(string(want)) != err.Error() {
			t.Errorf("%s gives\n%v\nnot\n%s", dir, err, want)
		}
	}
}
