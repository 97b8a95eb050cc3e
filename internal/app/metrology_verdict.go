package app

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"runnel/assess"
	"runnel/internal/fault"
	"runnel/job"
)

// A VerdictAnswer answers "did it really help?" between two rounds of a piece.
type VerdictAnswer struct {
	assess.Verdict // of all openings together, or of the only opening

	Openings []assess.Verdict `json:"openings"` // opening by opening, with the same rig cards and lift
	Groups   []assess.Verdict `json:"groups"`   // the answer of every other rig card and valve lift that both rounds share
	Warnings []string         `json:"warnings"`
}

// A Between asks for the verdict between two rounds. Empty rig cards mean any that both rounds share; AnyLift the first lift.
type Between struct {
	From    string
	To      string
	FromRig string  // rig card of the earlier round
	ToRig   string  // of the later one; empty: as FromRig
	Lift    float64 // valve lift [m], with OneLift
	OneLift bool
}

// VerdictBetween compares two rounds of a job, whether the job asks for it or not. Rounds that are not like for like, and
// cannot be bridged, are an error that names the fields.
func VerdictBetween(j job.Job, b Between) (VerdictAnswer, error) {
	for _, r := range []string{b.From, b.To} {
		if err := roundIn(j, r); err != nil {
			return VerdictAnswer{}, err
		}
	}
	for _, r := range []string{b.FromRig, b.ToRig} {
		if err := rigIn(j, r); err != nil {
			return VerdictAnswer{}, err
		}
	}
	j.Compare = []job.Compare{{From: b.From, To: b.To, FromRig: b.FromRig, ToRig: b.ToRig}}
	a, err := assess.Readings(j)
	if err != nil {
		return VerdictAnswer{}, invalid(err)
	}
	vs := slices.DeleteFunc(slices.Clone(a.Verdicts), func(v assess.Verdict) bool { return b.OneLift && math.Abs(v.Lift-b.Lift) > liftWidth })
	if len(vs) == 0 {
		return VerdictAnswer{}, fault.Errorf(fault.Invalid, "rounds %s and %s have no usable readings that could be compared%s", b.From, b.To, because(a.Warnings))
	}
	out := VerdictAnswer{Openings: []assess.Verdict{}, Groups: []assess.Verdict{}, Warnings: warningsOf(a, b)}
	head := slices.IndexFunc(vs, func(v assess.Verdict) bool { return v.Refused == "" && v.Opening == "" })
	if head < 0 {
		head = slices.IndexFunc(vs, func(v assess.Verdict) bool { return v.Refused == "" })
	}
	if head < 0 {
		return VerdictAnswer{}, fault.Errorf(fault.Invalid, "rounds %s and %s are not compared: %s", b.From, b.To, strings.Join(refusals(vs), "; "))
	}
	out.Verdict = vs[head]
	for _, v := range vs {
		switch {
		case v.FromRig == out.FromRig && v.ToRig == out.ToRig && v.Lift == out.Lift:
			if v.Opening != "" {
				out.Openings = append(out.Openings, v)
			}
		case v.Opening == "" || out.Opening != "":
			out.Groups = append(out.Groups, v)
		}
	}
	return out, nil
}

// liftWidth is how far a lift that is asked for may be from one that was flowed [m].
const liftWidth = 5e-6

func roundIn(j job.Job, id string) error {
	ids := make([]string, 0, len(j.Rounds))
	for _, r := range j.Rounds {
		ids = append(ids, r.ID)
	}
	if slices.Contains(ids, id) {
		return nil
	}
	return fault.Errorf(fault.NotFound, "round %q is not in the job: name one of %s", id, strings.Join(ids, ", "))
}

func rigIn(j job.Job, id string) error {
	ids := make([]string, 0, len(j.Rigs))
	for _, r := range j.Rigs {
		ids = append(ids, r.ID)
	}
	if id == "" || slices.Contains(ids, id) {
		return nil
	}
	return fault.Errorf(fault.NotFound, "rig card %q is not in the job: name one of %s", id, strings.Join(ids, ", "))
}

func because(ws []string) string {
	if len(ws) == 0 {
		return ""
	}
	return ": " + strings.Join(ws, "; ")
}

func refusals(vs []assess.Verdict) []string {
	var out []string
	for _, v := range vs {
		if v.Refused != "" {
			out = addNew(out, v.Refused)
		}
	}
	return out
}

// warningsOf returns the marks and limits of the readings that went into a comparison, each once.
func warningsOf(a assess.Assessment, b Between) []string {
	out := slices.Clone(a.Warnings)
	for _, r := range a.Readings {
		if (r.Round == b.From || r.Round == b.To) && (b.FromRig == "" || r.Rig == b.FromRig || r.Rig == b.ToRig) {
			for _, w := range r.Warnings {
				out = addLimit(out, w)
			}
			if !r.Usable {
				out = addNew(out, fmt.Sprintf("reading %s does not count: %s", r.ID, r.Refused))
			}
		}
	}
	return out
}

// addLimit adds a mark or a limit unless it is there, whatever was got: "air record at most 60 min from the reading (got 510)" of a whole
// sitting is one thing to be told, with the first that left it.
func addLimit(list []string, text string) []string {
	stem, _ := assess.Stem(text)
	if slices.ContainsFunc(list, func(s string) bool { other, _ := assess.Stem(s); return other == stem }) {
		return list
	}
	return append(list, text)
}

// MatchOf returns how evenly the openings of a piece flow in a round, for every rig card and valve lift it was flowed with;
// an empty rig means all.
func MatchOf(j job.Job, round, rig string) ([]assess.Match, error) {
	if err := roundIn(j, round); err != nil {
		return nil, err
	}
	if err := rigIn(j, rig); err != nil {
		return nil, err
	}
	a, err := assess.Readings(j)
	if err != nil {
		return nil, invalid(err)
	}
	out := slices.DeleteFunc(slices.Clone(a.Match), func(m assess.Match) bool { return m.Round != round || (rig != "" && m.Rig != rig) })
	if len(out) == 0 {
		return nil, fault.Errorf(fault.Invalid, "round %q has no match: at least two openings of a piece must have been flowed under one rig card%s", round, because(a.Warnings))
	}
	return out, nil
}
