package examples

import (
	"math"
	"os"
	"strings"
	"testing"

	"runnel/assess"
	"runnel/job"
)

func odd(t *testing.T, name string) assess.Assessment {
	t.Helper()
	j, err := job.Load(os.DirFS("odd/" + name))
	if err != nil {
		t.Fatal(err)
	}
	a, err := assess.Readings(j)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// overall is the verdict on all openings together.
func overall(t *testing.T, a assess.Assessment) assess.Verdict {
	t.Helper()
	for _, v := range a.Verdicts {
		if v.Opening == "" {
			return v
		}
	}
	t.Fatal("no verdict on all openings")
	return assess.Verdict{}
}

func first(t *testing.T, a assess.Assessment) assess.Reading {
	t.Helper()
	if len(a.Readings) == 0 || a.Readings[0].ID != "01" {
		t.Fatalf("%d readings", len(a.Readings))
	}
	return a.Readings[0]
}

// A diameter ratio of 0.9 is beyond every standard: no reading counts, each says why, and no verdict pretends.
func TestBeta090(t *testing.T) {
	a := odd(t, "beta-090")
	for _, r := range a.Readings {
		if r.Usable || !strings.Contains(r.Refused, "beta") {
			t.Errorf("%s: usable %v, %q", r.ID, r.Usable, r.Refused)
		}
	}
	for _, v := range a.Verdicts {
		if v.Refused == "" {
			t.Errorf("a verdict without readings: %+v", v)
		}
	}
}

// One sample is not an average.
func TestOneSample(t *testing.T) {
	if r := first(t, odd(t, "one-sample-trace")); r.Usable || r.Refused == "" {
		t.Errorf("usable %v, %q", r.Usable, r.Refused)
	}
}

// Empty cells are left out and named; the byte-order mark and line ends of another system change no number.
func TestEmptyCellsAndByteOrderMark(t *testing.T) {
	empty, mark := first(t, odd(t, "empty-cells")), first(t, odd(t, "byte-order-mark"))
	if !empty.Usable || !strings.Contains(strings.Join(empty.Warnings, "\n"), "empty cells") {
		t.Errorf("usable %v, %q", empty.Usable, empty.Warnings)
	}
	// Two samples of a hundred are gone; the noise of one is 0.15 % in flow.
	if d := math.Abs(empty.Flow/mark.Flow - 1); d > 1e-3 || !mark.Usable {
		t.Errorf("flows %v and %v", empty.Flow, mark.Flow)
	}
}

// Runners equal to the last digit: no odd one out, nothing proven, and an interval that the gauges alone keep open.
func TestAllEqual(t *testing.T) {
	a := odd(t, "all-equal")
	for _, m := range a.Match {
		for _, r := range m.Runners {
			if r.Odd || !(r.Hi95 > r.Lo95) {
				t.Errorf("runner %s of round %s: odd %v, %v to %v", r.Opening, m.Round, r.Odd, r.Lo95, r.Hi95)
			}
		}
	}
	v := overall(t, a)
	if strings.HasPrefix(v.Word, "proven") || !(v.Lo95 < 1 && v.Hi95 > 1) {
		t.Errorf("%s, %v to %v", v.Word, v.Lo95, v.Hi95)
	}
}

// One repeat has no scatter of its own: the interval is wider than that of the same job with three, and says what it lacks.
func TestOneRepeat(t *testing.T) {
	a := odd(t, "one-repeat")
	j, err := job.Load(os.DirFS("first-job"))
	if err != nil {
		t.Fatal(err)
	}
	three, err := assess.Readings(j)
	if err != nil {
		t.Fatal(err)
	}
	v, w := overall(t, a), overall(t, three)
	if v.Hi95-v.Lo95 <= w.Hi95-w.Lo95 {
		t.Errorf("one repeat %v to %v, three %v to %v", v.Lo95, v.Hi95, w.Lo95, w.Hi95)
	}
	for _, m := range a.Match {
		if !strings.Contains(m.Note, "repeat") {
			t.Errorf("round %s: %q", m.Round, m.Note)
		}
	}
}
