package job_test

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"runnel/internal/fault"
	"runnel/job"
	"runnel/unit"
)

// A job that was never in a folder is checked by key instead of by line.
func TestCheckWithoutFolder(t *testing.T) {
	j, err := job.Load(base(t))
	if err != nil {
		t.Fatal(err)
	}
	if ps := j.Check(); len(ps) > 0 {
		t.Fatalf("a job that loads does not pass: %v", ps)
	}
	j.ID, j.Pieces[1].Kind, j.Rigs[0].Piece, j.Customer.Name = "", "carburettor", "nothing", ""
	j.Sittings[0].Readings[1].TestPressure = -1
	got := map[string]bool{}
	for _, p := range j.Check() {
		if p.Line != 0 {
			t.Errorf("%v has a line", p)
		}
		got[p.File+" "+p.Key] = true
	}
	for _, want := range []string{"job.toml id", "job.toml pieces[1].kind", "job.toml rigs[0].piece", "job.toml customer.name", "sittings/1.toml readings[1].test_pressure"} {
		if !got[want] {
			t.Errorf("no problem at %s, only at %v", want, got)
		}
	}
}

func TestLoadEngineProblems(t *testing.T) {
	const good = "[engine]\ncylinders = 2\nbore = \"80 mm\"\nstroke = \"80 mm\"\ncompression_ratio = 9\n"
	if e, err := job.LoadEngine("e.toml", []byte(good)); err != nil || e.Bore != 0.08 {
		t.Fatalf("%v, %v", e, err)
	}
	for _, c := range []struct{ text, want string }{
		{"", "e.toml:1:1: key \"engine\" is missing at the top of the file: write a table [engine]"},
		{good + "rod = 130\n", "e.toml:6:7: rod: bare number 130 has no unit: write it with a unit of length, as \"130 mm\""},
		{strings.Replace(good, `"80 mm"`, `"80 m"`, 1), "e.toml:3:8: bore of 80000 mm is that of no engine: write between 10 mm and 1000 mm"},
		{good + "red_line = \"700000 rpm\"\n", "e.toml:6:12: red_line of 700000 rpm is that of no engine: write between 60 rpm and 30000 rpm"},
		{good + "[engine.fuel]\nlambda = 14.7\n", "e.toml:7:10: lambda of 14.7 is that of no engine: write between 0.4 and 3"},
		{good + "[engine.fuel]\nlambda = 0\n", "e.toml:7:10: lambda of 0 is that of no engine: write a value above zero, or leave the key out: a usual value is then taken"},
		{good + "[engine.fuel]\nevaporated = 0\n", "e.toml:7:14: evaporated of 0 would count as not known: write \"0.1 %\" for next to nothing, or leave the key out: a usual value is then taken"},
		{good + "[engine.burn]\nca50 = \"0 deg\"\n", "e.toml:7:8: ca50 of 0 would count as not known: write \"0.1 deg\" for next to nothing, or leave the key out: a usual value is then taken"},
		{good + "[engine.heat]\nmultiplier = 0.0\n", "e.toml:7:14: multiplier of 0 would count as not known: write 0.001 for next to nothing, or leave the key out: a usual value is then taken"},
		{good + "[engine.inlet]\nrunner_length = \"-3 mm\"\n", "e.toml:7:17: runner_length is negative: write a value above zero"},
		{strings.Replace(good, "ratio = 9", "ratio = 90", 1), "e.toml:5:21: compression_ratio of 90 is that of no engine: write between 1 and 40"},
		{good + "firing_order = [1, 1]\n", "e.toml:6:20: cylinder 1 fires twice: write each of 1 to 2 once"},
		{good + "[engine.inlet]\nrunner_piece = \"manifold\"\n", "e.toml:7:16: \"manifold\" cannot name one of the pieces of a job: the engine stands alone: leave the key out"},
		{"cylinders = 2\n", "e.toml:1:1: unknown key \"cylinders\" at the top of the file: write \"engine\"\ne.toml:1:1: key \"engine\" is missing at the top of the file: write a table [engine]"},
	} {
		_, err := job.LoadEngine("e.toml", []byte(c.text))
		if err == nil || fault.KindOf(err) != fault.Invalid || err.Error() != c.want {
			t.Errorf("%q gives\n%v\nnot\n%s", c.text, err, c.want)
		}
	}
}

// A file of more than 64 MB is refused and not taken into memory whole.
func TestTooLarge(t *testing.T) {
	_, err := job.ReadTrace("t.csv", &endless{})
	if err == nil || !strings.Contains(err.Error(), "64 MB") {
		t.Error(err)
	}
	if _, err := job.LoadEngine("e.toml", make([]byte, 65<<20)); err == nil || !strings.Contains(err.Error(), "64 MB") {
		t.Error(err)
	}
}

type endless struct{}

func (endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = '1'
	}
	return len(p), nil
}

// What Write is handed may not leave the folder, and what cannot be read back is not written.
func TestWriteRefuses(t *testing.T) {
	for name, spoil := range map[string]func(*job.Job){
		"no name inside":    func(j *job.Job) { j.Traces = map[string]job.Trace{"../../x.csv": {}} },
		"no name of a file": func(j *job.Job) { j.Sittings[0].File = "job.toml" },
		"same file":         func(j *job.Job) { j.Sittings = append(j.Sittings, j.Sittings[0]) },
		"cannot be written": func(j *job.Job) { j.Engine.Bore = math.Inf(1) },
		"end the name":      func(j *job.Job) { j.Traces["traces/r1.csv"].Channels[0].Unit = "furlong" },
		"for 3 times":       func(j *job.Job) { j.Traces["traces/r1.csv"].Channels[0].Values = nil },
		"UTF-8":             func(j *job.Job) { j.Customer.Name = "\xff" },
	} {
		j, err := job.Load(base(t))
		if err != nil {
			t.Fatal(err)
		}
		spoil(&j)
		err = job.Write(j, func(string, []byte) error { return nil })
		if want := strings.Replace(name, "same file", "want the file", 1); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	stop := errors.New("disk full")
	j, _ := job.Load(base(t))
	if err := job.Write(j, func(string, []byte) error { return stop }); !errors.Is(err, stop) {
		t.Errorf("the failure to put a file away is lost: %v", err)
	}
}

// A folder that cannot be read is no fault of its text.
func TestUnreadableFolder(t *testing.T) {
	files := base(t)
	files["traces"] = &fstest.MapFile{Data: []byte("a file where a folder is wanted")}
	delete(files, "traces/r1.csv")
	_, err := job.Load(files)
	if _, ok := errors.AsType[job.Problems](err); err == nil || ok {
		t.Errorf("%v", err)
	}
}

// Every tag of the job types is one that the codec knows; a misspelt dimension panics here and not at a customer's.
func TestEngineOfEveryUnit(t *testing.T) {
	for _, d := range unit.All() {
		for _, u := range d.Units {
			if u.Name == "" {
				continue
			}
			_, fits := unit.Length.Lookup(u.Name)
			bore := "1 " + u.Name
			if fits {
				bore = unit.Length.Format(0.08, u.Name, 6)
			}
			text := fmt.Sprintf("[engine]\ncylinders=1\nbore=%q\nstroke=\"80 mm\"\ncompression_ratio=9\n", bore)
			if _, err := job.LoadEngine("e.toml", []byte(text)); fits != (err == nil) {
				t.Errorf("bore of %s: %v", bore, err)
			}
		}
	}
}

func BenchmarkReadTrace(b *testing.B) {
	var text bytes.Buffer
	text.WriteString("time_s,meter_dp_pa,test_dp_inh2o\n")
	for i := range 600_000 { // 10 min at 1 kHz
		fmt.Fprintf(&text, "%.3f,%.1f,%.3f\n", float64(i)/1000, 1650+float64(i%7), 28+0.001*float64(i%11))
	}
	b.SetBytes(int64(text.Len()))
	for b.Loop() {
		if _, err := job.ReadTrace("t.csv", bytes.NewReader(text.Bytes())); err != nil {
			b.Fatal(err)
		}
	}
}
