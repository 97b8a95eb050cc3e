package cli_test

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"regexp"
	"strings"
	"testing"

	"runnel/internal/cli"
)

var session = regexp.MustCompile("(?s)```\n\\$ runnel ([^\n]+)\n(.*?)```")

// What the guide shows of a command is what the command prints, line by line; the guide may leave lines out.
func TestGuideShowsWhatIsPrinted(t *testing.T) {
	page, err := os.ReadFile("../../docs/guide/verdict.md")
	if err != nil {
		t.Fatal(err)
	}
	shown := session.FindAllStringSubmatch(string(page), -1)
	if len(shown) < 3 {
		t.Fatalf("%d sessions in the guide to verdicts", len(shown))
	}
	for _, s := range shown {
		rest := printed(t, s[1])
		for line := range strings.Lines(s[2]) {
			_, after, found := strings.Cut(rest, line)
			if !found {
				t.Errorf("runnel %s does not print %q there:\n%s", s[1], line, rest)
			}
			rest = after
		}
	}
}

// The three answers about repeats that the guide speaks of: a number beyond those made, none, and enough.
func TestGuideToRepeats(t *testing.T) {
	for rounds, fits := range map[[2]string]func(needed int) bool{
		{"received", "sanded"}:  func(n int) bool { return n > 4 },
		{"sanded", "polished"}:  func(n int) bool { return n == -1 },
		{"received", "thinned"}: func(n int) bool { return n == 0 },
	} {
		var v struct {
			Ratio    float64 `json:"ratio"`
			Needed   int     `json:"repeats_needed"`
			Provable float64 `json:"provable_rel"`
		}
		out := printed(t, "verdict examples/how-many-repeats --json --from "+rounds[0]+" --to "+rounds[1])
		if err := json.Unmarshal([]byte(out), &v); err != nil {
			t.Fatal(err)
		}
		if !fits(v.Needed) {
			t.Errorf("%v: %d repeats needed", rounds, v.Needed)
		}
		// A change that four readings prove is settled, a smaller one is not.
		if !(v.Provable > 0.005) || (v.Ratio-1 > v.Provable) != (v.Needed == 0) {
			t.Errorf("%v: a change of %.4f, %.4f provable, %d needed", rounds, v.Ratio-1, v.Provable, v.Needed)
		}
	}
}

func printed(t *testing.T, command string) string {
	t.Helper()
	var out, wrong bytes.Buffer
	args := strings.Fields(strings.ReplaceAll(command, "examples/", "../../examples/"))
	if code := cli.Run(context.Background(), args, cli.Env{Stdin: strings.NewReader(""), Stdout: &out, Stderr: &wrong}); code != 0 {
		t.Fatalf("runnel %s ends with %d: %s", command, code, &wrong)
	}
	return out.String()
}
