package app

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"runnel/unit"
)

// A typist reads what was typed into a form and gathers what is wrong with it.
type typist struct {
	problems FieldProblems
	now      time.Time
}

func newTypist(now time.Time) *typist { return &typist{problems: FieldProblems{}, now: now} }

func (t *typist) wrong(field, text string) {
	if t.problems[field] == "" {
		t.problems[field] = text
	}
}

func (t *typist) err() error { return t.problems.err() }

// quantity reads a quantity with its unit; missing says what to write when the field is empty, and an empty missing allows it.
func (t *typist) quantity(field, typed string, d unit.Dimension, missing string) float64 {
	typed = strings.TrimSpace(typed)
	if typed == "" {
		if missing != "" {
			t.wrong(field, missing)
		}
		return 0
	}
	v, err := d.Parse(typed)
	switch {
	case err == nil:
	case errors.Is(err, unit.ErrNoUnit) && missing != "": // its examples have the units a shop writes, not those of SI
		t.wrong(field, fmt.Sprintf("%q has no unit: %s", typed, missing))
	default:
		t.wrong(field, err.Error())
	}
	return v
}

// share reads a ratio that must lie from 0 to 1.
func (t *typist) share(field, typed, missing string) float64 {
	v := t.quantity(field, typed, unit.Ratio, missing)
	if number := strings.TrimSpace(typed); v > 1 && v <= 100 && !strings.HasSuffix(number, "%") {
		t.wrong(field, fmt.Sprintf("%q has no per cent sign: write it as %q", number, number+" %"))
	} else if v < 0 || v > 1 {
		t.wrong(field, `write between "0 %" and "100 %"`)
	}
	return v
}

// Layouts of an instant, the first that fits counts. A browser's own field gives the first.
var instants = [...]string{"2006-01-02T15:04", "2006-01-02T15:04:05", "2006-01-02 15:04", "2006-01-02 15:04:05", time.RFC3339Nano}

// instant reads a time of day; empty is now.
func (t *typist) instant(typed string) time.Time {
	const field = "at"
	typed = strings.TrimSpace(typed)
	if typed == "" {
		return stampOf(t.now)
	}
	for _, layout := range instants {
		if at, err := time.ParseInLocation(layout, typed, t.now.Location()); err == nil {
			return stampOf(at)
		}
	}
	t.wrong(field, `write the time like "`+t.now.Format("2006-01-02 15:04")+`", or leave it empty for now`)
	return time.Time{}
}

// stampOf is an instant as a record keeps it: to the second, in UTC, so that files read the same everywhere.
func stampOf(t time.Time) time.Time { return t.UTC().Truncate(time.Second) }

// text reads words; missing says what to write when there are none, and an empty missing allows that.
func (t *typist) text(field, typed, missing string) string {
	typed = strings.TrimSpace(strings.ReplaceAll(typed, "\r\n", "\n"))
	if typed == "" && missing != "" {
		t.wrong(field, missing)
	}
	return typed
}

// oneOf reads a choice.
func (t *typist) oneOf(field, typed string, from []string, what string) string {
	typed = strings.TrimSpace(typed)
	if slices.Contains(from, typed) {
		return typed
	}
	switch typed {
	case "":
		t.wrong(field, "choose "+what)
	default:
		t.wrong(field, typed+" is not there: choose "+what+" among "+strings.Join(from, ", "))
	}
	return typed
}
