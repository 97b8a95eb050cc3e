package tabletest_test

import (
	"math"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"runnel/internal/tabletest"
)

// A fatalist is a test that notes that it was ended.
type fatalist struct {
	testing.TB

	ended bool
}

func (f *fatalist) Helper() {}

func (f *fatalist) Fatal(...any) { f.end() }

func (f *fatalist) Fatalf(string, ...any) { f.end() }

func (f *fatalist) end() {
	f.ended = true
	runtime.Goexit()
}

// ends reports whether do ends its test.
func ends(t *testing.T, do func(t testing.TB)) bool {
	f := &fatalist{TB: t}
	done := make(chan struct{})
	go func() {
		defer close(done)
		do(f)
	}()
	<-done
	return f.ended
}

func TestRead(t *testing.T) {
	path := filepath.Join(t.TempDir(), "t.csv")
	if err := os.WriteFile(path, []byte("# by hand, with a comma\nname,x_m,list\n# in between\na,1.5,1;2;3\nb,inf,\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	rows := tabletest.Read(t, path, 2)
	if len(rows) != 2 || rows[0]["name"] != "a" || rows[0].Num(t, "x_m") != 1.5 || !math.IsInf(rows[1].Num(t, "x_m"), 1) {
		t.Errorf("read %v", rows)
	}
	if l := rows[0].List(t, "list"); len(l) != 3 || l[2] != 3 {
		t.Errorf("list %v", l)
	}
	for name, do := range map[string]func(testing.TB){
		"too few rows":   func(t testing.TB) { tabletest.Read(t, path, 3) },
		"no file":        func(t testing.TB) { tabletest.Read(t, path+"x", 1) },
		"no such column": func(t testing.TB) { rows[0].Num(t, "y_m") },
		"no number":      func(t testing.TB) { rows[0].Num(t, "name") },
		"an empty list":  func(t testing.TB) { rows[1].List(t, "list") },
	} {
		if !ends(t, do) {
			t.Errorf("%s: the test goes on", name)
		}
	}
	empty := filepath.Join(t.TempDir(), "e.csv")
	if err := os.WriteFile(empty, []byte("# nothing\nname\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if !ends(t, func(t testing.TB) { tabletest.Read(t, empty, 0) }) {
		t.Error("a table without rows passes")
	}
}
