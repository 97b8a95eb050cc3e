package cli_test

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"strconv"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"
)

// number checks a number in JSON output: number FILE path.to.field low high. A path step that is a number is an index.
func number(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 4 {
		ts.Fatalf("usage: number FILE path low high")
	}
	var v any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &v))
	for step := range strings.SplitSeq(args[1], ".") {
		switch x := v.(type) {
		case map[string]any:
			inner, ok := x[step]
			if !ok {
				ts.Fatalf("no key %q on the way of %s", step, args[1])
			}
			v = inner
		case []any:
			i, err := strconv.Atoi(step)
			ts.Check(err)
			if i >= len(x) {
				ts.Fatalf("%s: %d elements, none at %d", args[1], len(x), i)
			}
			v = x[i]
		default:
			ts.Fatalf("%s ends before %q", args[1], step)
		}
	}
	got, ok := v.(float64)
	if !ok {
		ts.Fatalf("%s is %v, not a number", args[1], v)
	}
	lo, err := strconv.ParseFloat(args[2], 64)
	ts.Check(err)
	hi, err := strconv.ParseFloat(args[3], 64)
	ts.Check(err)
	if (math.IsNaN(got) || got < lo || got > hi) != neg {
		ts.Fatalf("%s = %v, wanted %v to %v", args[1], got, lo, hi)
	}
}

// exitCode runs a command and checks its exit code: exitcode N COMMAND…; its output goes to stdout and stderr files.
func exitCode(ts *testscript.TestScript, _ bool, args []string) {
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	if e, ok := err.(*exec.ExitError); ok { //nolint:errorlint // testscript hands the error on bare
		got = e.ExitCode()
	} else if err != nil {
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit code %d, wanted %d", got, want)
	}
}

// same checks that two files are equal to the last byte: same A B.
func same(ts *testscript.TestScript, neg bool, args []string) {
	a, err := os.ReadFile(ts.MkAbs(args[0]))
	ts.Check(err)
	b, err := os.ReadFile(ts.MkAbs(args[1]))
	ts.Check(err)
	if bytes.Equal(a, b) == neg {
		ts.Fatalf("%s and %s: equal is %v", args[0], args[1], !neg)
	}
}
