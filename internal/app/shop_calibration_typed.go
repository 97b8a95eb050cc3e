package app

import (
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode"

	"runnel/internal/fault"
	"runnel/job"
	"runnel/unit"
)

// A PlateTyped is one row of known plates as it was typed. A bare flow is in the unit of the table, a bare uncertainty in per cent.
type PlateTyped struct{ Plate, Known, Read, UKnown, URead string }

func (p PlateTyped) empty() bool {
	return strings.TrimSpace(p.Plate+p.Known+p.Read+p.UKnown+p.URead) == ""
}

// A CalibrationTyped is a calibration typed into a table instead of a file.
type CalibrationTyped struct {
	Title, Day, Every, Common string
	Unit                      string // of bare flows, "cfm"
	Plates                    []PlateTyped
}

// FlowUnits are the units that a table of flows may be in.
func FlowUnits() []string { return []string{"cfm", "L/s", "m³/h"} }

// CalibrationFile writes what was typed as the file it stands for, with the figures as they were typed. What is wrong comes back as
// FieldProblems, by field and row: "known-0".
func (a *App) CalibrationFile(c CalibrationTyped) (string, error) {
	t := newTypist(a.now())
	flow := t.oneOf("unit", c.Unit, FlowUnits(), "the unit of the flows")
	var b strings.Builder
	add := func(key, value string) {
		if value != "" {
			fmt.Fprintf(&b, "%s = %s\n", key, value)
		}
	}
	add("title", tomlText(t.text("title", c.Title, "")))
	if at := t.day("day", c.Day); !at.IsZero() {
		add("at", at.Format(time.DateOnly))
	}
	add("recalibrate_every", tomlText(t.as("every", c.Every, "d", unit.Time)))
	add("u_common", tomlText(t.as("common", c.Common, "%", unit.Ratio)))
	for i, p := range c.Plates {
		if p.empty() {
			continue
		}
		at := "-" + strconv.Itoa(i)
		b.WriteString("\n[[points]]\n")
		add("plate", tomlText(t.text("plate"+at, p.Plate, "")))
		for _, f := range []struct{ key, typed, missing string }{
			{"known", p.Known, "write the flow that the plate is known to pass"},
			{"read", p.Read, "write the flow that the bench read"},
		} {
			if strings.TrimSpace(f.typed) == "" {
				t.wrong(f.key+at, f.missing)
			}
			add(f.key, tomlText(t.as(f.key+at, f.typed, flow, unit.VolumeFlow)))
		}
		add("u_known", tomlText(t.as("u_known"+at, p.UKnown, "%", unit.Ratio)))
		add("u_read", tomlText(t.as("u_read"+at, p.URead, "%", unit.Ratio)))
	}
	if err := t.err(); err != nil {
		return "", err
	}
	if !strings.Contains(b.String(), "[[points]]") {
		return "", fault.Errorf(fault.Invalid, "no plate is typed: write at least three, each with its known flow and what the bench read")
	}
	return b.String(), nil
}

// as is a quantity as it was typed, with the unit behind it where it is a bare number; empty stays empty.
func (t *typist) as(field, typed, unitName string, d unit.Dimension) string {
	typed = strings.TrimSpace(typed)
	if _, err := strconv.ParseFloat(typed, 64); err == nil {
		typed += " " + unitName
	}
	t.quantity(field, typed, d, "")
	return typed
}

// tomlText writes a TOML string; empty stays empty.
func tomlText(s string) string {
	if s == "" {
		return ""
	}
	plain := strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "?"))
	return job.Quoted(plain)
}
