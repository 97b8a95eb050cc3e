package job

import (
	"fmt"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

	"runnel/unit"
)

// A sheet is a small table that was typed as CSV: leakage, plates, a study, results of shops. Its header names the columns
// with the unit at their end; then comes one row a line.
type sheet struct {
	src      *source
	rows     *rows
	columns  []sheetColumn // what may stand in it
	at       []int         // place in columns of each column of the file, -1 for one that is passed over
	units    []unit.Unit   // of each column of the file
	dims     []string      // name of the dimension of each column of the file
	problems Problems
}

// A sheetColumn is one column that a sheet may have. Without dims it holds text, a date or a plain number.
type sheetColumn struct {
	key  string
	also []string // other names that are read
	dims []unit.Dimension
	kind sheetKind
	need bool
}

type sheetKind int

const (
	sheetText     sheetKind = iota // a name
	sheetQuantity                  // a number, its unit at the end of the column's name
	sheetNumber                    // a number without a unit
	sheetDate                      // an instant
	sheetPassed                    // anything: not read
)

// A sheetCell is one value of a sheet.
type sheetCell struct {
	given bool
	text  string
	value float64   // SI for a quantity
	typed float64   // the number as it stands in the file
	unit  unit.Unit // of a quantity
	dim   string    // name of its dimension
	when  time.Time
	at    int // byte offset
}

// readSheet reads all rows; each is indexed as columns. What is wrong is in the problems of the sheet.
func readSheet(src *source, columns []sheetColumn) (*sheet, [][]sheetCell) {
	s := &sheet{src: src, rows: newRows(src), columns: columns}
	if !s.header() {
		return s, nil
	}
	var out [][]sheetCell
	for len(s.problems) < 2*perFile {
		row, at, ok := s.rows.next()
		if at >= 0 {
			s.fail(at, "a quotation mark that is not closed or stands inside a cell", "write text and numbers without quotation marks")
		}
		if !ok {
			break
		}
		if cells, ok := s.row(row); ok {
			out = append(out, cells)
		}
	}
	if len(out) == 0 && len(s.problems) == 0 {
		s.fail(0, "the table has no rows", "write one row of values a line under the header")
	}
	return s, out
}

func (s *sheet) fail(at int, found, write string) {
	s.problems = append(s.problems, s.src.problem(at, "", found, write))
}

// example writes a header that would do.
func (s *sheet) example() string {
	var names []string
	for _, c := range s.columns {
		if c.need {
			names = append(names, c.example())
		}
	}
	return strings.Join(names, ",")
}

func (c sheetColumn) example() string {
	if c.kind == sheetQuantity {
		u, _ := c.dims[0].Lookup(customary(c.dims[0])[0])
		return c.key + "_" + u.Suffix
	}
	return c.key
}

func (s *sheet) header() bool {
	row, at, ok := s.rows.next()
	switch {
	case at >= 0:
		s.fail(at, "a quotation mark that is not closed or stands inside a cell", "write the names of the columns without quotation marks")
		return false
	case !ok:
		s.fail(0, "the file is empty", "write a header like "+s.example())
		return false
	case len(row) == 1 && strings.ContainsAny(row[0], ";\t"):
		s.fail(s.rows.at[0], fmt.Sprintf("the header %q has no commas", clip(row[0])), "separate columns by commas and write decimal points, not decimal commas")
		return false
	}
	if cell, found, write := headerFault(row, s.example()); found != "" {
		s.fail(s.rows.at[cell], found, write)
		return false
	}
	s.at, s.units, s.dims = make([]int, len(row)), make([]unit.Unit, len(row)), make([]string, len(row))
	for i := range s.at {
		s.at[i] = -1
	}
	for i, cell := range row {
		s.column(i, strings.TrimSpace(cell))
	}
	for k, c := range s.columns {
		if c.need && len(s.problems) == 0 && !slices.Contains(s.at, k) {
			s.fail(s.rows.at[0], fmt.Sprintf("there is no column %q", c.key), fmt.Sprintf("write a column %q", c.example()))
		}
	}
	return len(s.problems) == 0
}

// column finds out what the i-th column of the file holds.
func (s *sheet) column(i int, name string) {
	found := s.named(name, func(c sheetColumn) bool { return c.kind != sheetQuantity })
	if found < 0 {
		stem, u, d, err := unit.Column(name)
		if err != nil {
			s.unknown(i, name)
			return
		}
		if found = s.named(stem, func(c sheetColumn) bool { return c.kind == sheetQuantity }); found < 0 {
			s.unknown(i, name)
			return
		}
		c := s.columns[found]
		if !slices.ContainsFunc(c.dims, func(x unit.Dimension) bool { return x.Name == d.Name }) {
			s.fail(s.rows.at[i], fmt.Sprintf("column %q is a %s, not a %s", name, d.Name, c.dims[0].Name), fmt.Sprintf("write it like %q", c.example()))
			return
		}
		s.units[i], s.dims[i] = u, d.Name
	}
	if s.columns[found].kind == sheetPassed {
		return
	}
	if slices.Contains(s.at, found) {
		s.fail(s.rows.at[i], fmt.Sprintf("column %q stands twice", s.columns[found].key), "name every column once")
		return
	}
	s.at[i] = found
}

func (s *sheet) named(name string, of func(sheetColumn) bool) int {
	return slices.IndexFunc(s.columns, func(c sheetColumn) bool {
		return of(c) && (c.key == name || slices.Contains(c.also, name))
	})
}

func (s *sheet) unknown(i int, name string) {
	known := make([]string, 0, len(s.columns))
	for _, c := range s.columns {
		if c.key == name && c.kind == sheetQuantity {
			s.fail(s.rows.at[i], fmt.Sprintf("column %q has no unit at its end", name), fmt.Sprintf("write it like %q", c.example()))
			return
		}
		if c.kind != sheetPassed {
			known = append(known, c.example())
		}
	}
	write := "write one of " + strings.Join(known, ", ")
	if near, ok := closest(name, known); ok {
		write = fmt.Sprintf("write %q", near)
	}
	s.fail(s.rows.at[i], fmt.Sprintf("unknown column %q", clip(name)), write)
}

func (s *sheet) row(row []string) ([]sheetCell, bool) {
	if len(row) == 1 && strings.TrimSpace(row[0]) == "" {
		return nil, false
	}
	if len(row) != len(s.at) {
		s.fail(s.rows.at[0], fmt.Sprintf("the row has %d cells where the header has %d columns", len(row), len(s.at)),
			"write one cell a column, with decimal points, not decimal commas")
		return nil, false
	}
	out := make([]sheetCell, len(s.columns))
	for i, text := range row {
		k := s.at[i]
		if k < 0 {
			continue
		}
		out[k] = s.cell(i, s.columns[k], strings.TrimSpace(text))
	}
	return out, true
}

func (s *sheet) cell(i int, c sheetColumn, text string) sheetCell {
	at := s.rows.at[i]
	out := sheetCell{given: text != "", text: text, at: at}
	if text == "" {
		if c.need {
			s.fail(at, c.key+" is empty", "write it, or leave the whole row out")
		}
		return out
	}
	switch c.kind {
	case sheetQuantity:
		out.typed, out.unit, out.dim = s.number(at, c.key, text), s.units[i], s.dims[i]
		out.value = s.units[i].ToSI(out.typed)
	case sheetNumber:
		out.typed = s.number(at, c.key, text)
		out.value = out.typed
	case sheetDate:
		when, ok := readDate(text)
		if !ok {
			s.fail(at, fmt.Sprintf("%q is no date", clip(text)), "write it like 2026-05-02 or 2026-05-02T09:30:00Z")
		}
		out.when = when
	case sheetText, sheetPassed:
	}
	return out
}

func (s *sheet) number(at int, key, text string) float64 {
	v, err := strconv.ParseFloat(text, 64)
	switch {
	case err == nil && v-v == 0 && !hexadecimal(text):
		return v
	case strings.Contains(text, ","):
		s.fail(at, fmt.Sprintf("%q has a decimal comma", clip(text)), fmt.Sprintf("write %q", clip(strings.Replace(text, ",", ".", 1))))
	case err == nil && math.IsNaN(v):
		s.fail(at, key+" is not a number", "write a number, or leave the whole row out")
	default:
		s.fail(at, fmt.Sprintf("%q is not a number", clip(text)), "write a number without its unit: the unit stands at the end of the column's name")
	}
	return math.NaN()
}

func readDate(text string) (time.Time, bool) {
	for _, layout := range []string{time.DateOnly, time.RFC3339, "2006-01-02T15:04:05", "2006-01-02 15:04:05", "2006-01-02T15:04", "2006-01-02 15:04"} {
		if t, err := time.Parse(layout, text); err == nil {
			return fixed(t), true
		}
	}
	return time.Time{}, false
}

// unitOf returns the unit that the k-th of the columns was written in; ok is false when the file has no such column.
func (s *sheet) unitOf(k int) (u unit.Unit, ok bool) {
	i := slices.Index(s.at, k)
	if i < 0 {
		return unit.Unit{}, false
	}
	return s.units[i], true
}

// isTOML reports whether a file holds TOML by its name; any other is taken for CSV.
func isTOML(name string) bool { return strings.EqualFold(path.Ext(name), ".toml") }
