package assess_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"runnel/assess"
)

// A verdict says what its readings are marked with, how many of them, and which limits were left; it does so on the wire.
func TestVerdictsKeepTheirMarks(t *testing.T) {
	j := demoJob(t)
	j.Sittings[1].Leakage, j.Sittings[1].Checks = nil, nil
	// One reading a side of runner 1.
	for i := range j.Sittings {
		seen := map[string]bool{}
		s := &j.Sittings[i]
		s.Readings = slices.Clone(s.Readings)
		for k := range s.Readings {
			r := &s.Readings[k]
			if r.Opening == "1" && seen[r.Round+r.Rig] {
				r.Void = "left out by the test"
			}
			seen[r.Round+r.Rig] = seen[r.Round+r.Rig] || r.Opening == "1"
		}
	}
	a, err := assess.Readings(j)
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, v := range a.Verdicts {
		marks := strings.Join(v.Marks, "; ")
		crosses := v.To == "welded" || v.To == "finished" // readings of the second sitting
		for _, want := range []string{"leakage was not measured; up to 2 % of a reading is allowed for (", "the check plate was not flowed; a drift of the bench of up to 1 %"} {
			if strings.Contains(marks, want) != crosses {
				t.Errorf("%s to %s, opening %q: marks %q", v.From, v.To, v.Opening, marks)
			}
		}
		if v.Opening == "1" {
			seen++
			if !strings.Contains(strings.Join(v.Warnings, "; "), "at least two readings on each side") {
				t.Errorf("%s to %s, one reading a side: warnings %q", v.From, v.To, v.Warnings)
			}
			if crosses && !strings.Contains(marks, "(1 of 2 readings)") {
				t.Errorf("%s to %s: marks %q", v.From, v.To, marks)
			}
		}
		text, err := json.Marshal(v)
		if err != nil || !strings.Contains(string(text), `"marks":[`) || !strings.Contains(string(text), `"warnings":[`) {
			t.Errorf("on the wire: %s, %v", text, err)
		}
	}
	if seen != 4 {
		t.Errorf("%d verdicts on runner 1", seen)
	}
}

// The mark of a sitting is on the match of what was flowed in it, and stands in the note that every table of matches shows.
func TestMatchesKeepTheirMarks(t *testing.T) {
	j := demoJob(t)
	j.Sittings[1].Leakage, j.Sittings[1].Checks = nil, nil
	a, err := assess.Readings(j)
	if err != nil {
		t.Fatal(err)
	}
	if len(a.Match) == 0 {
		t.Fatal("no match")
	}
	for _, m := range a.Match {
		second := m.Round == "welded" || m.Round == "finished" // flowed in the second sitting
		const mark = "leakage was not measured; up to 2 % of a reading is allowed for"
		if slices.Contains(m.Marks, mark) != second || strings.Contains(m.Note, "readings of "+m.Round+" are marked: ") != (len(m.Marks) > 0) {
			t.Errorf("%s: marks %q, note %q", m.Round, m.Marks, m.Note)
		}
	}
}

// A mean over openings names those that it is of where others were flowed on one side alone, and counts their readings only.
func TestVerdictOverSomeOpenings(t *testing.T) {
	j := demoJob(t)
	void := 0
	for i := range j.Sittings {
		s := &j.Sittings[i]
		s.Readings = slices.Clone(s.Readings)
		for k := range s.Readings {
			if r := &s.Readings[k]; r.Round == "finished" && r.Rig == "runner-radiused" && r.Opening == "3" {
				r.Void = "left out by the test"
				void++
			}
		}
	}
	if void == 0 {
		t.Fatal("no reading was left out")
	}
	a, err := assess.Readings(j)
	if err != nil {
		t.Fatal(err)
	}
	seen := false
	for _, v := range a.Verdicts {
		if v.Opening != "" || v.Refused != "" {
			continue
		}
		some := v.To == "finished" && v.ToRig == "runner-radiused"
		seen = seen || some
		if (len(v.Over) > 0) != some || some && slices.Contains(v.Over, "3") {
			t.Errorf("%s to %s, %s: over %q", v.From, v.To, v.ToRig, v.Over)
		}
		if some && (!strings.HasPrefix(v.Who(), "openings 1, 2, 4") || !strings.Contains(strings.Join(v.Warnings, "; "), "were not flowed on both sides")) {
			t.Errorf("%q, warnings %q", v.Who(), v.Warnings)
		}
		if !some && v.Who() != "all openings" {
			t.Errorf("%s to %s: %q", v.From, v.To, v.Who())
		}
	}
	if !seen {
		t.Error("no verdict over some openings")
	}
}
