package job_test

import (
	"errors"
	"flag"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/rogpeppe/go-internal/txtar"

	"runnel/internal/fault"
	"runnel/job"
)

var update = flag.Bool("update", false, "write the messages found into testdata/problems")

// base is the small valid job folder in testdata/base.
func base(t testing.TB) fstest.MapFS {
	t.Helper()
	out := fstest.MapFS{}
	root := os.DirFS("testdata/base")
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(root, name)
		out[name] = &fstest.MapFile{Data: data}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// The values stand in testdata/base as typed; the SI values here are worked out by hand from NIST SP 811 factors.
func TestLoad(t *testing.T) {
	j, err := job.Load(base(t))
	if err != nil {
		t.Fatal(err)
	}
	near := cmpopts.EquateApprox(1e-12, 0)
	for name, c := range map[string][2]float64{
		"28 inH2O":   {j.Reference.TestPressure, 28 * 249.08891},
		"3.5 in":     {j.Engine.Bore, 0.0889},
		"6500 rpm":   {j.Engine.RedLine, 6500. / 60},
		"12.5 cm²":   {j.Pieces[0].ExitArea, 12.5e-4},
		"45 min":     {j.Bench.AirAge, 2700},
		"5 g/s":      {j.Bench.Meters[1].Table[0].MassFlow, 0.005},
		"29.92 inHg": {j.Sittings[0].Air[0].Pressure, 29.92 * 3386.389},
		"68 °F":      {j.Sittings[0].Air[0].Temperature, 293.15},
		"1.5 cfm":    {j.Sittings[0].Leakage[0].Flow, 1.5 * 4.719474432e-4},
	} {
		if !cmp.Equal(c[0], c[1], near) {
			t.Errorf("%s was read as %v, not %v", name, c[0], c[1])
		}
	}
	if *j.Bench.Sensors[0].Low != 0 || j.Bench.Sensors[1].Low != nil {
		t.Error("a range that begins at zero is not told from none")
	}
	tr := j.Traces["traces/r1.csv"]
	want := job.Trace{Time: []float64{0, 0.05, 0.1}, Channels: []job.Channel{
		{Name: "meter_dp", Unit: "Pa", Values: []float64{1900.1, 1901, nan}},
		{Name: "test_dp", Unit: "inH2O", Values: []float64{28.01 * 249.08891, nan, 27.98 * 249.08891}},
		{Name: "air_temp", Unit: "°C", Values: []float64{293.25, 293.35, 293.25}},
	}}
	if d := cmp.Diff(want, tr, near, cmpopts.EquateNaNs()); d != "" {
		t.Error(d)
	}
}

func write(t testing.TB, j job.Job) fstest.MapFS {
	t.Helper()
	out := fstest.MapFS{}
	err := job.Write(j, func(name string, data []byte) error {
		out[name] = &fstest.MapFile{Data: data}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestWriteIsReadBack(t *testing.T) {
	j, err := job.Load(base(t))
	if err != nil {
		t.Fatal(err)
	}
	out := write(t, j)
	k, err := job.Load(out)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(j, k, cmpopts.EquateNaNs()); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff(out, write(t, k)); d != "" {
		t.Error("writing again gives other files:", d)
	}
	h1, _ := j.ContentHash()
	h2, _ := k.ContentHash()
	if h1 != h2 || len(h1) != 64 {
		t.Errorf("hashes %s and %s of the same facts", h1, h2)
	}
	k.Traces["traces/r1.csv"].Channels[0].Values[0]++
	if h, _ := k.ContentHash(); h == h1 {
		t.Error("a changed sample does not change the hash")
	}
	if text := string(out["job.toml"].Data); !strings.Contains(text, `bore = "3.5 in"`) || !strings.Contains(text, `stroke = "80 mm"`) {
		t.Errorf("lengths are not written in the unit that needs the fewest figures:\n%s", text)
	}
}

func TestHash(t *testing.T) {
	files := base(t)
	h1, err := job.Hash(files)
	if err != nil {
		t.Fatal(err)
	}
	edited := maps.Clone(files)
	edited["job.toml"] = &fstest.MapFile{Data: append([]byte("# a comment\n"), files["job.toml"].Data...)}
	h2, _ := job.Hash(edited)
	a, _ := job.Load(files)
	b, _ := job.Load(edited)
	ca, _ := a.ContentHash()
	cb, _ := b.ContentHash()
	if h1 == h2 || ca != cb {
		t.Error("a comment must change the hash of the bytes and not the hash of the facts")
	}
}

// Every file in testdata/problems edits the valid folder and lists the messages that must come.
// An edit replaces the lines that begin with - by those that begin with +.
func TestProblems(t *testing.T) {
	names, err := filepath.Glob("testdata/problems/*.txtar")
	if err != nil || len(names) < 30 {
		t.Fatalf("%d cases, %v", len(names), err)
	}
	for _, name := range names {
		t.Run(strings.TrimSuffix(filepath.Base(name), ".txtar"), func(t *testing.T) {
			a, err := txtar.ParseFile(name)
			if err != nil {
				t.Fatal(err)
			}
			files, want := base(t), ""
			for _, f := range a.Files {
				if f.Name == "want" {
					want = string(f.Data)
					continue
				}
				edit(t, files, f)
			}
			_, err = job.Load(files)
			got := ""
			if err != nil {
				got = err.Error() + "\n"
				if _, ok := errors.AsType[job.Problems](err); !ok || fault.KindOf(err) != fault.Invalid {
					t.Errorf("%T is no list of problems of the input", err)
				}
			}
			if got == want {
				return
			}
			if *update {
				a.Files = append(a.Files[:len(a.Files)-1], txtar.File{Name: "want", Data: []byte(got)})
				if err := os.WriteFile(name, txtar.Format(a), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			t.Error(cmp.Diff(want, got))
		})
	}
}

func edit(t *testing.T, files fstest.MapFS, f txtar.File) {
	t.Helper()
	verb, name, found := strings.Cut(f.Name, " ")
	if !found {
		files[f.Name] = &fstest.MapFile{Data: f.Data}
		return
	}
	switch verb {
	case "remove":
		delete(files, name)
	case "edit":
		var from, to strings.Builder
		for line := range strings.Lines(string(f.Data)) {
			switch line[0] {
			case '-':
				from.WriteString(line[1:])
			case '+':
				to.WriteString(line[1:])
			default:
				t.Fatalf("an edit has the line %q", line)
			}
		}
		old := string(files[name].Data)
		if strings.Count(old, from.String()) != 1 {
			t.Fatalf("%q stands %d times in %s", from.String(), strings.Count(old, from.String()), name)
		}
		files[name] = &fstest.MapFile{Data: []byte(strings.Replace(old, from.String(), to.String(), 1))}
	default:
		t.Fatalf("no edit is called %q", verb)
	}
}
