package demo_test

import (
	"bytes"
	"io/fs"
	"slices"
	"strings"
	"testing"

	"runnel/demo"
	"runnel/job"
)

func TestJob(t *testing.T) {
	j, err := demo.Job()
	if err != nil {
		t.Fatal(err)
	}
	readings := 0
	repeats := map[string]int{}
	for _, s := range j.Sittings {
		readings += len(s.Readings)
		if len(s.Checks) != 2 || len(s.Zero) != 4 || len(s.Leakage) < 3 {
			t.Errorf("sitting %s has %d check-plate flows, %d zeros, %d leakage points", s.ID, len(s.Checks), len(s.Zero), len(s.Leakage))
		}
		for _, r := range s.Readings {
			repeats[r.Rig+" "+r.Round+" "+r.Opening]++
		}
	}
	if readings < 110 || readings > 130 || len(j.Sittings) != 2 {
		t.Errorf("%d readings in %d sittings", readings, len(j.Sittings))
	}
	for _, round := range []string{"received", "roughed", "welded", "finished"} {
		for _, o := range j.Pieces[0].Openings {
			if n := repeats["runner-radiused "+round+" "+o]; n < 3 {
				t.Errorf("runner %s was flowed %d times in round %s", o, n, round)
			}
		}
	}
}

// Everything in the demo says that it is invented, and the whole of it is small.
func TestMarkedInvented(t *testing.T) {
	size := 0
	for _, folder := range []fs.FS{demo.FS, demo.Earlier()} {
		err := fs.WalkDir(folder, ".", func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			data, err := fs.ReadFile(folder, name)
			size += len(data)
			if !bytes.HasPrefix(data, []byte("# Invented")) {
				t.Errorf("%s does not say that it is invented", name)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		if j, err := job.Load(folder); err != nil || !j.Invented {
			t.Errorf("job %q is marked as invented: %v; %v", j.ID, j.Invented, err)
		}
	}
	if size > 3<<20 {
		t.Errorf("the demo has %d bytes", size)
	}
	j, err := demo.Job()
	if err != nil {
		t.Fatal(err)
	}
	names := []string{j.Shop.Name, j.Customer.Name, j.Engine.Title, j.Bench.Title}
	if !j.Invented || slices.ContainsFunc(names, func(s string) bool { return !strings.Contains(strings.ToLower(s), "invented") }) {
		t.Errorf("not marked as invented: %v, %q", j.Invented, names)
	}
}

// Writing the demo out and reading it back gives the same facts.
func TestExport(t *testing.T) {
	j, err := demo.Job()
	if err != nil {
		t.Fatal(err)
	}
	was, err := j.ContentHash()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	writeTo(t, dir, j)
	k, err := job.Load(dirFS(dir))
	if err != nil {
		t.Fatal(err)
	}
	if is, _ := k.ContentHash(); is != was {
		t.Error("the exported demo has other facts")
	}
}

func BenchmarkLoad(b *testing.B) {
	for b.Loop() {
		if _, err := demo.Job(); err != nil {
			b.Fatal(err)
		}
	}
}
