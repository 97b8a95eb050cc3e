package app

import (
	"errors"
	"strings"

	"runnel/passage"
)

// A StationsTrial is what can be said of stations that are still being typed.
type StationsTrial struct {
	Length  float64      `json:"length_m"`  // [m]; 0 until it can be told
	Volume  float64      `json:"volume_m3"` // [m³]; 0 until it can be told
	Rows    []TrialRow   `json:"rows"`
	Wrong   []TrialWrong `json:"wrong"`
	Nothing string       `json:"nothing,omitempty"` // why there is no passage yet although no cell is wrong
}

// A TrialRow is a station that can be read already.
type TrialRow struct {
	Line      int             `json:"line"`
	Area      float64         `json:"area_m2"`              // [m²]
	Perimeter float64         `json:"perimeter_m"`          // [m]
	Hydraulic float64         `json:"hydraulic_diameter_m"` // [m]
	Outline   []passage.Point `json:"outline_m"`            // about the centre; empty when only the area is known
}

// A TrialWrong is a place that has to be mended.
type TrialWrong struct {
	Line   int    `json:"line"`
	Column string `json:"column"` // as the text names it; empty: the whole line
	Found  string `json:"found"`
	Write  string `json:"write"` // instead
}

// TryStations reads stations as they stand and says of each line what is known of it, and what is wrong. Nothing is kept.
func TryStations(text string) StationsTrial {
	out := StationsTrial{Rows: []TrialRow{}, Wrong: []TrialWrong{}}
	st, lines, err := passage.TryStations(strings.NewReader(text), "stations")
	for i, s := range st {
		o := s.Outline
		if o == nil {
			o = []passage.Point{}
		}
		out.Rows = append(out.Rows, TrialRow{Line: lines[i], Area: s.Area, Perimeter: s.Perimeter, Hydraulic: s.HydraulicDiameter(), Outline: o})
	}
	for _, e := range CellErrors(err) {
		out.Wrong = append(out.Wrong, TrialWrong{Line: e.Line, Column: e.Column, Found: e.Found, Write: e.Write})
	}
	if err != nil {
		return out
	}
	p, err := passage.New(st)
	if err != nil {
		out.Nothing = err.Error()
		return out
	}
	out.Length, out.Volume = p.Length(), p.Volume()
	return out
}

// CellErrors are the places in a typed table that an error names.
func CellErrors(err error) []*passage.CellError {
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		var out []*passage.CellError
		for _, e := range joined.Unwrap() {
			out = append(out, CellErrors(e)...)
		}
		return out
	}
	if e, ok := err.(*passage.CellError); ok { //nolint:errorlint // what wraps it is opened below, so that no sibling of it is lost
		return []*passage.CellError{e}
	}
	if inner := errors.Unwrap(err); inner != nil {
		return CellErrors(inner)
	}
	return nil
}
