package validation

import (
	"io/fs"
	"math"
	"strings"
	"testing"
)

func bookOf(checks ...check) *book {
	return &book{name: "case", readme: readme{title: "A case", source: "a paper", checks: checks}, worst: map[string]*compared{}}
}

// A check that is off fails; one within its tolerance passes; a known miss counts as one only where it is known to lie.
func TestRows(t *testing.T) {
	known := check{name: "known", least: 1, tolerance: 0.01, relative: true, reason: "r", known: "because", knownLo: 0.1, knownHi: 0.2}
	for _, c := range []struct {
		what           string
		check          check
		value, outside float64
		pass, ok       bool
	}{
		{"within", check{name: "a", least: 1, tolerance: 0.01, relative: true, reason: "r"}, 100.9, 100, true, true},
		{"beyond", check{name: "a", least: 1, tolerance: 0.01, relative: true, reason: "r"}, 101.1, 100, false, false},
		{"below", check{name: "a", least: 1, tolerance: 0.01, relative: true, reason: "r"}, 98, 100, false, false},
		{"absolute", check{name: "a", least: 1, tolerance: 0.5, reason: "r"}, 100.4, 100, true, true},
		{"relative to zero counts as it is", check{name: "a", least: 1, tolerance: 1e-9, relative: true, reason: "r"}, 1e-6, 0, false, false},
		{"not a number", check{name: "a", least: 1, tolerance: 1, reason: "r"}, math.NaN(), 0, false, false},
		{"a known miss", known, 115, 100, false, true},
		{"a known miss that moved", known, 130, 100, false, false},
		{"a known miss on the other side", known, 85, 100, false, false},
		{"a known miss that is gone", known, 100.5, 100, true, true},
	} {
		b := bookOf(c.check)
		b.compare(c.check.name, c.value, c.outside)
		got, err := b.close()
		if err != nil {
			t.Fatalf("%s: %v", c.what, err)
		}
		if r := got.Rows[0]; r.Pass != c.pass || r.OK() != c.ok {
			t.Errorf("%s: pass %v, ok %v, wanted %v, %v", c.what, r.Pass, r.OK(), c.pass, c.ok)
		}
		pass, miss, fail := Table{Cases: []Case{got}}.Count()
		if pass+miss+fail != 1 || (fail == 0) != c.ok {
			t.Errorf("%s: %d pass, %d miss, %d fail", c.what, pass, miss, fail)
		}
	}
}

// The row of many values shows the worst of them.
func TestWorstIsShown(t *testing.T) {
	b := bookOf(check{name: "a", least: 3, tolerance: 1, reason: "r"})
	for _, v := range []float64{0.2, -0.7, 0.4} {
		b.compare("a", v, 0)
	}
	got, err := b.close()
	if err != nil || got.Rows[0].Value != -0.7 || got.Rows[0].Points != 3 {
		t.Errorf("%+v, %v", got.Rows, err)
	}
}

// A check that is not made, is made under a name that the README has not, or lacks data, is an error and no pass.
func TestNoSilentChecks(t *testing.T) {
	a := check{name: "a", least: 2, tolerance: 1, reason: "r"}
	b := bookOf(a)
	if _, err := b.close(); err == nil {
		t.Error("a check that was not made passed")
	}
	b.compare("a", 1, 1)
	if _, err := b.close(); err == nil {
		t.Error("one value passed for two")
	}
	b.compare("b", 1, 1)
	if b.err == nil {
		t.Error("a check without a line in the README was made")
	}
	full := check{name: "f", least: 1, tolerance: 1, reason: "r", full: true}
	b = bookOf(full)
	if b.wants("f") {
		t.Error("a quick run wants a check of the full run")
	}
	if got, err := b.close(); err != nil || len(got.LeftOut) != 1 {
		t.Errorf("%+v, %v", got, err)
	}
	printed := check{name: "p", least: 1, printed: true, reason: "r"}
	b = bookOf(printed)
	if b.compare("p", 1, 1); b.err == nil {
		t.Error("a tolerance of the data was left out")
	}
}

func TestReadmeRefuses(t *testing.T) {
	for _, line := range []string{
		"| a | 1 | 1e-9 | r | | |", "| a | 0 | 1e-9 relative | r | | |", "| a | 1 | -1 relative | r | | |", "| a | 1 | 1e-9 relative | | | |",
		"| a | 1 | 1e-9 relative | r | | known |", "| a | 1 | 1e-9 relative | r | | 1..x: why |", "| a | 1 | 1e-9 relative | r |",
	} {
		if _, err := checkOf(cellsOf(line)); err == nil {
			t.Errorf("%q was taken", line)
		}
	}
	c, err := checkOf(cellsOf("| a | 3 | 0.5 absolute, full | r | s | -0.2..0.3: why: so |"))
	if err != nil || c.least != 3 || c.relative || !c.full || c.source != "s" || c.known != "why: so" || c.knownLo != -0.2 || c.knownHi != 0.3 {
		t.Errorf("%+v, %v", c, err)
	}
}

// Every directory is a case, every case has a directory, and every data file of a case says where it is from.
func TestEveryDirectoryIsACase(t *testing.T) {
	dirs, err := fs.ReadDir(files, ".")
	if err != nil {
		t.Fatal(err)
	}
	listed := map[string]bool{}
	for _, n := range Names() {
		listed[n] = true
	}
	if len(dirs) != len(listed) {
		t.Errorf("%d directories, %d cases", len(dirs), len(listed))
	}
	for _, d := range dirs {
		if !listed[d.Name()] {
			t.Errorf("directory %s is no case", d.Name())
		}
		if _, err := readReadme(d.Name()); err != nil {
			t.Errorf("%s: %v", d.Name(), err)
		}
		inside, err := fs.ReadDir(files, d.Name())
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range inside {
			text, err := fs.ReadFile(files, d.Name()+"/"+f.Name())
			if err != nil {
				t.Fatal(err)
			}
			if strings.HasSuffix(f.Name(), ".csv") && !strings.HasPrefix(string(text), "# ") {
				t.Errorf("%s/%s has no header", d.Name(), f.Name())
			}
		}
	}
}
