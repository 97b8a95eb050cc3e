package bench

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"runnel/job"
)

// A Difference is a field in which two rig cards differ.
type Difference struct {
	Field  string // as on the card: "entry", "blanked"
	Before string // what the earlier readings have
	After  string // what the later ones have
	Why    string // why it cannot be bridged
}

// An UnlikeError says that readings are not like for like, and names the fields.
type UnlikeError struct {
	Fields []Difference
}

func (e *UnlikeError) Error() string {
	parts := make([]string, 0, len(e.Fields))
	for _, f := range e.Fields {
		parts = append(parts, fmt.Sprintf("%s: %s against %s (%s)", f.Field, quoted(f.Before), quoted(f.After), f.Why))
	}
	return "not like for like: " + strings.Join(parts, "; ")
}

func quoted(s string) string {
	if s == "" {
		return "nothing"
	}
	return strconv.Quote(s)
}

// Tolerances within which numbers on two rig cards are the same.
const (
	samePressure = 0.02    // nominal test pressures, relative [-]
	sameLift     = 0.05e-3 // valve lifts [m]
	sameLength   = 0.2e-3  // entry radius and bore [m]
)

// unlike lists the fields of two readings that differ and that nothing bridges: what was flowed and how.
func unlike(a, b *Reading) []Difference {
	var d []Difference
	text := func(field, x, y, why string) {
		if !sameText(x, y) {
			d = append(d, Difference{field, x, y, why})
		}
	}
	text("piece", a.Rig.Piece, b.Rig.Piece, "two pieces are not one piece in two states")
	text("opening", a.Opening, b.Opening, "openings are compared one by one")
	text("direction", direction(a.Rig), direction(b.Rig), "no rule ties the two directions together")
	text("blanked", a.Rig.Blanked, b.Rig.Blanked, "other openings change the flow in a way that is not known")
	text("adaptor", a.Rig.Adaptor, b.Rig.Adaptor, "the adaptor is the strongest influence on a reading")
	if math.Abs(a.Lift-b.Lift) > sameLift {
		d = append(d, Difference{"lift", millimetres(a.Lift), millimetres(b.Lift), "flow the valve at the same lift"})
	}
	return d
}

// sameText compares what people wrote: spaces and case do not count.
func sameText(a, b string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(a), " "), strings.Join(strings.Fields(b), " "))
}

func direction(r job.RigCard) string {
	if r.Direction == "" {
		return "in"
	}
	return r.Direction
}

func entry(r job.RigCard) string {
	if r.Entry == "" {
		return "bare"
	}
	return r.Entry
}

func millimetres(x float64) string { return strconv.FormatFloat(1e3*x, 'f', 2, 64) + " mm" }

// sameSet reports whether two lists name the same things, and which are only in one.
func sameSet(a, b []string) (onlyA, onlyB []string) {
	for _, x := range a {
		if !slices.Contains(b, x) {
			onlyA = append(onlyA, x)
		}
	}
	for _, x := range b {
		if !slices.Contains(a, x) {
			onlyB = append(onlyB, x)
		}
	}
	return onlyA, onlyB
}
