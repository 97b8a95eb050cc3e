package passage

import (
	"bufio"
	"cmp"
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

// A CellError is one place in a file that cannot be read.
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

const (
	maxStations = 10_000 // lines a file may hold [-]
	maxProblems = 50     // problems told at once [-]
)

// field is a column that holds a quantity; its name is stem, underscore, unit. A field of no dimension is text, and its name is its stem.
type field struct {
	stem string
	dim  *unit.Dimension
	need bool
}

func (f field) example() string {
	if f.dim == nil {
		return f.stem
	}
	switch f.dim.Name {
	case unit.Area.Name:
		return f.stem + "_mm2"
	case unit.Angle.Name:
		return f.stem + "_deg"
	case unit.Ratio.Name:
		return f.stem + "_percent"
	case unit.Pressure.Name:
		return f.stem + "_pa"
	}
	return f.stem + "_mm"
}

// sheet is a comma-separated file in the reading: columns with their unit in the name, lines of numbers, problems gathered.
type sheet struct {
	file     string
	fields   []field
	in       *csv.Reader
	names    []string
	columns  []column
	at       map[string]int // stem → column
	problems []*CellError
}

type column struct {
	field field
	unit  unit.Unit
	known bool
}

// sheetRow is one line in SI.
type sheetRow struct {
	line   int
	number map[string]float64 // stem → value; empty cells are not in it
	text   map[string]string
	typed  map[string]string // stem → the number as it stands there
}

func (s *sheet) add(e *CellError) {
	e.File = s.file
	s.problems = append(s.problems, e)
}

// err joins all problems in the order of the lines; nil without any.
func (s *sheet) err() error {
	slices.SortStableFunc(s.problems, func(a, b *CellError) int { return cmp.Compare(a.Line, b.Line) })
	all := make([]error, len(s.problems))
	for i, e := range s.problems {
		all[i] = e
	}
	return errors.Join(all...)
}

// at a cell of a line.
func (s *sheet) cell(line int, stem, found, write string, reason error) {
	e := &CellError{Line: line, Found: found, Write: write, Reason: reason}
	if i, ok := s.at[stem]; ok {
		e.Column, e.Number = s.names[i], i+1
	}
	s.add(e)
}

// read reads the whole file and returns its lines.
func (s *sheet) read(r io.Reader) []sheetRow {
	s.in = csv.NewReader(lineEnds{bufio.NewReader(r)})
	s.in.Comment, s.in.FieldsPerRecord, s.in.TrimLeadingSpace = '#', -1, true
	head, err := s.in.Read()
	if err != nil {
		e := &CellError{Line: 1, Found: "there is no line of column names", Write: "begin with " + s.begin()}
		if !errors.Is(err, io.EOF) {
			e.Reason = err
		}
		s.add(e)
		return nil
	}
	s.header(head)
	if len(s.problems) > 0 {
		return nil
	}
	var out []sheetRow
	for len(s.problems) < maxProblems {
		rec, err := s.in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			line := 0
			if bad, ok := errors.AsType[*csv.ParseError](err); ok {
				line = bad.Line
			}
			s.add(&CellError{Line: line, Found: "the line cannot be read (" + err.Error() + ")", Write: "write cells apart by commas, each quote closed"})
			break
		}
		line, _ := s.in.FieldPos(0)
		if len(out) >= maxStations {
			s.add(&CellError{Line: line, Found: fmt.Sprintf("more than %d lines", maxStations), Write: "leave some out"})
			break
		}
		if row, ok := s.row(rec, line); ok {
			out = append(out, row)
		}
	}
	return out
}

// begin is the least that the line of column names must hold, in quotes.
func (s *sheet) begin() string {
	var names []string
	for _, f := range s.fields {
		if f.need {
			names = append(names, f.example())
		}
	}
	return strconv.Quote(strings.Join(names, ","))
}

func (s *sheet) header(head []string) {
	s.at = map[string]int{}
	line, _ := s.in.FieldPos(0)
	if _, err := strconv.ParseFloat(strings.TrimSpace(head[0]), 64); err == nil {
		s.add(&CellError{Line: line, Found: "the first line holds numbers, not the names of the columns", Write: "write a line of names above it like " + s.begin()})
		return
	}
	for i, name := range head {
		name = strings.TrimSpace(strings.TrimPrefix(name, "\ufeff"))
		s.names = append(s.names, name)
		s.columns = append(s.columns, column{})
		bad := &CellError{Line: line, Column: name, Number: i + 1}
		if k := slices.IndexFunc(s.fields, func(f field) bool { return f.stem == name }); k >= 0 {
			if s.fields[k].dim != nil {
				bad.Found, bad.Write = "no unit at its end", fmt.Sprintf("write it like %q", s.fields[k].example())
				s.add(bad)
				continue
			}
			if _, twice := s.at[name]; twice {
				bad.Found, bad.Write = "stands twice", "keep one of the two columns"
				s.add(bad)
				continue
			}
			s.at[name] = i
			s.columns[i] = column{field: s.fields[k], known: true}
			continue
		}
		s.quantity(name, i, bad)
	}
	if len(s.problems) > 0 {
		return
	}
	for _, f := range s.fields {
		if _, ok := s.at[f.stem]; f.need && !ok {
			s.add(&CellError{Line: line, Found: "no column " + f.stem, Write: "add " + strconv.Quote(f.example())})
		}
	}
}

// quantity takes the name of a column with a unit.
func (s *sheet) quantity(name string, i int, bad *CellError) {
	stem, u, d, err := unit.Column(name)
	k := slices.IndexFunc(s.fields, func(f field) bool { return f.stem == stem && f.dim != nil })
	_, twice := s.at[stem]
	switch {
	case name == "":
		bad.Found, bad.Write = "the column has no name", "name it, or take its comma away from every line"
	case err != nil:
		bad.Found, bad.Write = "no unit at its end", `write it like "width_mm"`
	case k < 0:
		var all []string
		for _, f := range s.fields {
			all = append(all, f.example())
		}
		bad.Found, bad.Write = "is no column of this file", "use "+strings.Join(all, ", ")
		if strings.ContainsAny(name, ";\t") {
			bad.Found, bad.Write = "its cells are apart by something else", "write cells apart by commas, and decimals after a point"
		}
	case s.fields[k].dim.Name != d.Name:
		bad.Found, bad.Write = "is in a unit of "+d.Name, fmt.Sprintf("write it like %q", s.fields[k].example())
	case twice:
		bad.Found, bad.Write = "stands twice", "keep one of the two columns"
	default:
		s.at[stem] = i
		s.columns[i] = column{s.fields[k], u, true}
		return
	}
	s.add(bad)
}

func (s *sheet) row(rec []string, line int) (sheetRow, bool) {
	if len(rec) != len(s.names) {
		s.add(&CellError{Line: line, Found: fmt.Sprintf("%d cells below %d column names", len(rec), len(s.names)), Write: "write one cell for each column, empty where not measured"})
		return sheetRow{}, false
	}
	out := sheetRow{line: line, number: map[string]float64{}, text: map[string]string{}, typed: map[string]string{}}
	before := len(s.problems)
	for i, cell := range rec {
		cell = strings.TrimSpace(cell)
		c := s.columns[i]
		switch {
		case !c.known || cell == "":
			continue
		case c.field.dim == nil:
			out.text[c.field.stem] = cell
			continue
		}
		v, err := strconv.ParseFloat(cell, 64)
		if err == nil {
			v = c.unit.ToSI(v)
		}
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			write := "write a plain number; the unit stands in the column name"
			if strings.Contains(cell, ",") {
				write = "write the decimals after a point"
			}
			at, _ := s.in.FieldPos(i)
			s.cell(at, c.field.stem, fmt.Sprintf("%q is not a number", clip([]byte(cell))), write, nil)
			continue
		}
		out.number[c.field.stem], out.typed[c.field.stem] = v, cell
	}
	return out, len(s.problems) == before
}
