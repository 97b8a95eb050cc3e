package passage

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"runnel/unit"
)

// A CellError is one place in a file of stations that cannot be read.
type CellError struct {
	File   string
	Line   int    // line of the file, from 1
	Column string // name of the column; empty when it is about the whole line
	Number int    // number of the column, from 1; 0 when it is about the whole line
	Found  string // what stands there
	Write  string // what to write instead
	Reason error  // ErrOrder, ErrShape, …; nil for a plain misspelling
}

func (e *CellError) Error() string {
	at := e.File + ":" + strconv.Itoa(e.Line)
	if e.Number > 0 {
		at += ":" + strconv.Itoa(e.Number)
	}
	if e.Column != "" {
		return fmt.Sprintf("%s: column %q: %s: %s", at, e.Column, e.Found, e.Write)
	}
	return fmt.Sprintf("%s: %s: %s", at, e.Found, e.Write)
}

// Unwrap returns the reason.
func (e *CellError) Unwrap() error { return e.Reason }

// field is a column of a file of stations.
type field struct {
	stem string
	dim  unit.Dimension
	set  func(*typed, float64)
}

// typed is one line as typed.
type typed struct {
	line    int
	shape   string
	given   map[string]bool
	station Station
	corner  float64
	width   float64
	height  float64
	dia     float64
}

func fields() []field {
	return []field{
		{"s", unit.Length, func(t *typed, v float64) { t.station.At = v }},
		{"diameter", unit.Length, func(t *typed, v float64) { t.dia = v }},
		{"width", unit.Length, func(t *typed, v float64) { t.width = v }},
		{"height", unit.Length, func(t *typed, v float64) { t.height = v }},
		{"corner", unit.Length, func(t *typed, v float64) { t.corner = v }},
		{"area", unit.Area, func(t *typed, v float64) { t.station.Area = v }},
		{"perimeter", unit.Length, func(t *typed, v float64) { t.station.Perimeter = v }},
		{"wall", unit.Length, func(t *typed, v float64) { t.station.Wall = v }},
		{"bend", unit.Angle, func(t *typed, v float64) { t.station.Turn = v }},
		{"bend_radius", unit.Length, func(t *typed, v float64) { t.station.Radius = v }},
		{"u_area", unit.Ratio, func(t *typed, v float64) { t.station.U = v }},
		{"x", unit.Length, func(t *typed, v float64) { t.station.Centre[0] = v }},
		{"y", unit.Length, func(t *typed, v float64) { t.station.Centre[1] = v }},
		{"z", unit.Length, func(t *typed, v float64) { t.station.Centre[2] = v }},
	}
}

// maxStations is the number of stations a file may hold; maxProblems how many problems are told at once [-].
const (
	maxStations = 10_000
	maxProblems = 50
)

// ReadStations reads the stations of a passage from comma-separated text, one a line, in order along the centreline. The unit stands
// at the end of every column name: s_mm, shape, diameter_mm, width_mm, height_mm, corner_mm, area_mm2, perimeter_mm, wall_mm,
// bend_deg, bend_radius_mm, u_area_percent, x_mm, y_mm, z_mm. Only s and shape are always needed; a shape is one of round (diameter),
// rectangle (width, height, corner), ellipse (width, height), d (width, height, corner) and area (area, perimeter). An empty cell
// means not measured. Lines that begin with # are skipped. file is the name used in errors.
//
// All problems found are joined in the error, each a *CellError.
func ReadStations(r io.Reader, file string) ([]Station, error) {
	in := csv.NewReader(r)
	in.Comment, in.FieldsPerRecord, in.TrimLeadingSpace = '#', -1, true
	head, err := in.Read()
	if err != nil {
		return nil, &CellError{File: file, Line: 1, Found: "there is no line of column names", Write: `begin with "s_mm,shape,diameter_mm"`, Reason: notEOF(err)}
	}
	p := reader{file: file}
	p.header(in, head)
	if len(p.problems) > 0 {
		return nil, p.err()
	}
	var out []Station
	for {
		rec, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			line := 0
			if bad, ok := errors.AsType[*csv.ParseError](err); ok {
				line = bad.Line
			}
			p.add(&CellError{Line: line, Found: "the line cannot be read (" + err.Error() + ")", Write: "write cells apart by commas, each quote closed"})
			break
		}
		if len(p.problems) >= maxProblems || len(out) >= maxStations {
			break
		}
		if st, ok := p.row(in, rec); ok {
			line, _ := in.FieldPos(0)
			if n := len(out); n > 0 && st.At <= out[n-1].At {
				p.add(&CellError{Line: line, Column: p.names[p.at["s"]], Number: p.at["s"] + 1, Found: fmt.Sprintf("%q is not beyond the station before", rec[p.at["s"]]), Write: "sort the stations from the entry on, each once", Reason: ErrOrder})
			}
			out = append(out, st)
		}
	}
	if len(p.problems) == 0 && len(out) < 2 {
		p.add(&CellError{Line: 1, Found: fmt.Sprintf("%d stations", len(out)), Write: "write at least the entry and the exit", Reason: ErrTooFew})
	}
	if len(p.problems) > 0 {
		return nil, p.err()
	}
	direct(out)
	return out, nil
}

// notEOF returns err unless it is the end of the file.
func notEOF(err error) error {
	if errors.Is(err, io.EOF) {
		return nil
	}
	return err
}

// reader gathers the problems of one file.
type reader struct {
	file     string
	names    []string
	columns  []column
	at       map[string]int // stem to column
	shape    int
	problems []error
}

type column struct {
	field field
	unit  unit.Unit
	used  bool
}

func (p *reader) add(e *CellError) {
	e.File = p.file
	p.problems = append(p.problems, e)
}

func (p *reader) err() error { return errors.Join(p.problems...) }

func (p *reader) header(in *csv.Reader, head []string) {
	p.at, p.shape = map[string]int{}, -1
	known := fields()
	for i, name := range head {
		name = strings.TrimSpace(strings.TrimPrefix(name, "\ufeff"))
		p.names = append(p.names, name)
		p.columns = append(p.columns, column{})
		line, _ := in.FieldPos(i)
		if name == "shape" {
			p.shape = i
			continue
		}
		bad := &CellError{Line: line, Column: name, Number: i + 1}
		stem, u, d, err := unit.Column(name)
		k := slices.IndexFunc(known, func(f field) bool { return f.stem == stem })
		switch {
		case err != nil:
			bad.Found, bad.Write = "no unit at its end", `write it like "width_mm"`
			if slices.ContainsFunc(known, func(f field) bool { return f.stem == name }) {
				bad.Write = fmt.Sprintf("write it like %q", name+"_"+example(known, name))
			}
		case k < 0:
			bad.Found, bad.Write = "is no column of stations", "use shape and, with their units, "+stems(known)
		case known[k].dim.Name != d.Name:
			bad.Found, bad.Write = "is in a unit of "+d.Name, fmt.Sprintf("write it like %q", stem+"_"+example(known, stem))
		case hasKey(p.at, stem):
			bad.Found, bad.Write = "stands twice", "keep one of the two columns"
		default:
			p.at[stem] = i
			p.columns[i] = column{known[k], u, true}
			continue
		}
		p.add(bad)
	}
	if _, ok := p.at["s"]; !ok && len(p.problems) == 0 {
		p.add(&CellError{Line: 1, Found: "no column with the distance along the centreline", Write: `add "s_mm"`})
	}
	if p.shape < 0 && len(p.problems) == 0 {
		p.add(&CellError{Line: 1, Found: "no column with the shape", Write: `add "shape": round, rectangle, ellipse, d or area`})
	}
}

func hasKey(m map[string]int, k string) bool { _, ok := m[k]; return ok }

func example(known []field, stem string) string {
	for _, f := range known {
		if f.stem != stem {
			continue
		}
		switch f.dim.Name {
		case unit.Area.Name:
			return "mm2"
		case unit.Angle.Name:
			return "deg"
		case unit.Ratio.Name:
			return "percent"
		}
	}
	return "mm"
}

func stems(known []field) string {
	var out []string
	for _, f := range known {
		out = append(out, f.stem+"_"+example(known, f.stem))
	}
	return strings.Join(out, ", ")
}

func (p *reader) row(in *csv.Reader, rec []string) (Station, bool) {
	line, _ := in.FieldPos(0)
	if len(rec) != len(p.names) {
		p.add(&CellError{Line: line, Found: fmt.Sprintf("%d cells below %d column names", len(rec), len(p.names)), Write: "write one cell for each column, empty where not measured"})
		return Station{}, false
	}
	t := typed{line: line, given: map[string]bool{}, shape: strings.ToLower(strings.TrimSpace(rec[p.shape]))}
	before := len(p.problems)
	for i, cell := range rec {
		cell = strings.TrimSpace(cell)
		if !p.columns[i].used || cell == "" {
			continue
		}
		v, err := strconv.ParseFloat(cell, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			write := "write a plain number; the unit stands in the column name"
			if strings.Contains(cell, ",") {
				write = "write the decimals after a point"
			}
			cellLine, _ := in.FieldPos(i)
			p.add(&CellError{Line: cellLine, Column: p.names[i], Number: i + 1, Found: fmt.Sprintf("%q is not a number", cell), Write: write})
			continue
		}
		p.columns[i].field.set(&t, p.columns[i].unit.ToSI(v))
		t.given[p.columns[i].field.stem] = true
	}
	if len(p.problems) > before {
		return Station{}, false
	}
	return p.build(t)
}

// build turns a typed line into a station.
func (p *reader) build(t typed) (Station, bool) {
	fail := func(stem, found, write string, reason error) (Station, bool) {
		e := &CellError{Line: t.line, Found: found, Write: write, Reason: reason}
		if i, ok := p.at[stem]; ok {
			e.Column, e.Number = p.names[i], i+1
		}
		if stem == "shape" {
			e.Column, e.Number = "shape", p.shape+1
		}
		p.add(e)
		return Station{}, false
	}
	if !t.given["s"] {
		return fail("s", "the distance is empty", "write how far along the centreline the section is", nil)
	}
	needs := map[string][]string{"round": {"diameter"}, "rectangle": {"width", "height"}, "ellipse": {"width", "height"}, "d": {"width", "height"}, "area": {"area", "perimeter"}}
	need, ok := needs[t.shape]
	if !ok {
		return fail("shape", fmt.Sprintf("%q is no shape", t.shape), "write round, rectangle, ellipse, d or area", ErrShape)
	}
	for _, stem := range need {
		if !t.given[stem] {
			return fail(stem, "a "+t.shape+" section has no "+stem, "write its "+strings.Join(need, " and "), ErrShape)
		}
	}
	var sec Section
	var err error
	switch t.shape {
	case "round":
		sec, err = Round(t.dia)
	case "rectangle":
		sec, err = Rectangle(t.width, t.height, t.corner)
	case "ellipse":
		sec, err = Ellipse(t.width, t.height)
	case "d":
		sec, err = DShape(t.width, t.height, t.corner)
	case "area":
		sec, err = AreaPerimeter(t.station.Area, t.station.Perimeter)
		sec.Width, sec.Height = t.width, t.height
	}
	if err != nil {
		return fail(need[0], err.Error(), "measure the section again", err)
	}
	sec.U = t.station.U
	t.station.Section = sec
	if err := t.station.check(0, nil); err != nil {
		return fail("s", err.Error(), "correct the line", err)
	}
	if !t.given["x"] || !t.given["y"] || !t.given["z"] {
		t.station.Centre = Vec{math.NaN(), 0, 0} // marked: the path in space is not known
	}
	return t.station, true
}

// direct gives each station the direction of the centreline where all points of it are known, and otherwise clears the points.
func direct(st []Station) {
	for _, s := range st {
		if math.IsNaN(s.Centre[0]) {
			for i := range st {
				st[i].Centre = Vec{}
			}
			return
		}
	}
	c := make([]Vec, len(st))
	for i := range st {
		c[i] = st[i].Centre
	}
	for i, t := range tangents(c) {
		st[i].Normal = t
	}
}

// tangents returns the directions of a curve through points, each that of the parabola through a point and its neighbours.
func tangents(c []Vec) []Vec {
	n := len(c)
	out := make([]Vec, n)
	if n == 2 {
		out[0] = c[1].Minus(c[0]).Unit()
		out[1] = out[0]
		return out
	}
	slope := func(i int, at int) Vec { // of the parabola through i−1, i, i+1 at its first, middle or last point
		a, b := c[i].Minus(c[i-1]), c[i+1].Minus(c[i])
		h, k := a.Norm(), b.Norm()
		if h == 0 || k == 0 {
			return a.Plus(b)
		}
		a, b = a.Times(1/h), b.Times(1/k)
		second := b.Minus(a).Times(1 / (h + k))
		switch at {
		case 0:
			return a.Minus(second.Times(h))
		case 1:
			return a.Plus(second.Times(h))
		}
		return b.Plus(second.Times(k))
	}
	out[0] = slope(1, 0).Unit()
	for i := 1; i < n-1; i++ {
		out[i] = slope(i, 1).Unit()
	}
	out[n-1] = slope(n-2, 2).Unit()
	return out
}
