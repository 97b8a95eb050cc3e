package job_test

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"runnel/job"
)

var nan = math.NaN()

// Any text as one of the files: no panic, and what loads is written and read back the same.
func FuzzLoad(f *testing.F) {
	files := base(f)
	for _, name := range []string{"job.toml", "bench.toml", "sittings/1.toml"} {
		f.Add(name, files[name].Data)
	}
	for _, s := range []string{"[[a]]\n[a]\n", "a.b=1\na.b.c=2\n", "[a\nb=[1,\n", "a={b=1}\n[a.c]\n", "x=1e999", "\"\"=''", "[[pieces]]\nid=1979-05-27T07:32:00Z", "id='''", "a=[[],[{}]]", "booked_in=2026-13-40"} {
		f.Add("job.toml", []byte(s))
	}
	f.Fuzz(func(t *testing.T, name string, data []byte) {
		all := base(t)
		all[name] = &fstest.MapFile{Data: data}
		if name != "job.toml" && name != "bench.toml" && name != "sittings/1.toml" {
			return
		}
		j, err := job.Load(all)
		if err != nil {
			if strings.TrimSpace(err.Error()) == "" {
				t.Fatal("an error without words")
			}
			return
		}
		k, err := job.Load(write(t, j))
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(j, k, cmpopts.EquateNaNs()); d != "" {
			t.Fatal(d)
		}
	})
}

func FuzzLoadEngine(f *testing.F) {
	f.Add([]byte("[engine]\ncylinders=1\nbore=\"80 mm\"\nstroke=\"80 mm\"\ncompression_ratio=9"))
	f.Fuzz(func(_ *testing.T, data []byte) {
		_, _ = job.LoadEngine("engine.toml", data)
	})
}

// Any bytes as a trace: no panic, and what is read is written and read back the same.
func FuzzReadTrace(f *testing.F) {
	f.Add(base(f)["traces/r1.csv"].Data)
	for _, s := range []string{"", "\n", "time_s\n1\n", "time_s,a_pa\n0,1e308\n", "time_ms,a_f\n\"0\",-40\n", "a_pa,time_s\n,\n1,2\n", "time_s,a_pa\n0;1\n", "\xff\xfet\x00"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		tr, err := job.ReadTrace("t.csv", bytes.NewReader(data))
		if err != nil {
			return
		}
		if len(tr.Time) == 0 {
			t.Fatal("a trace without samples was taken")
		}
		var b bytes.Buffer
		if err := job.WriteTrace(&b, tr); err != nil {
			t.Fatal(err)
		}
		again, err := job.ReadTrace("t.csv", &b)
		if d := cmp.Diff(tr, again, cmpopts.EquateNaNs()); err != nil || d != "" {
			t.Fatal(err, d)
		}
	})
}
