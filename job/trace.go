package job

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"runnel/unit"
)

// ReadTrace reads the samples of a trace from CSV: a header whose columns end in their unit ("time_s", "meter_dp_pa"),
// then one row a sample. Lines that begin with # are left out, a byte-order mark is, too. An empty cell and "NaN" are
// kept as NaN. Times are kept as they stand, even when they step back: what that means is for package measure to say.
// Every other fault is listed with line and column in the error, which is a Problems.
func ReadTrace(name string, r io.Reader) (Trace, error) {
	data, err := readAll(r)
	if err != nil {
		return Trace{}, fmt.Errorf("reading %s: %w", name, err)
	}
	t, ps := readTrace(name, data)
	return t, ps.sorted().err()
}

func readAll(r io.Reader) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, fileLimit+1))
	if err == nil && len(data) > fileLimit {
		err = errTooLarge
	}
	return data, err
}

// A traceReader turns rows into a trace.
type traceReader struct {
	src      *source
	rows     *rows
	trace    Trace
	units    []unit.Unit // of each column
	time     int         // index of the time column
	problems Problems
}

func readTrace(name string, data []byte) (Trace, Problems) {
	src, ps := newSource(name, data)
	if len(ps) > 0 {
		return Trace{}, ps
	}
	t := &traceReader{src: src, rows: newRows(src), time: -1}
	if t.header() {
		t.samples()
	}
	if len(t.problems) == 0 && len(t.trace.Time) == 0 {
		t.problems = append(t.problems, Problem{File: name, Line: 1, Column: 1, Found: "the trace has no samples", Write: "write one row of numbers a sample under the header"})
	}
	if len(t.problems) > 0 {
		return Trace{}, t.problems
	}
	return t.trace, nil
}

// next reads one row; ok is false at the end or after a fault of the CSV form.
func (t *traceReader) next() (row []string, ok bool) {
	row, at, ok := t.rows.next()
	if at >= 0 {
		t.problems = append(t.problems, t.src.problem(at, "", "a quotation mark that is not closed or stands inside a cell", "write numbers without quotation marks"))
	}
	return row, ok
}

func (t *traceReader) fail(cell int, found, write string) {
	t.problems = append(t.problems, t.src.problem(t.rows.at[cell], "", found, write))
}

func (t *traceReader) header() bool {
	row, ok := t.next()
	if !ok {
		return false
	}
	if len(row) == 1 && strings.ContainsAny(row[0], ";\t") {
		t.fail(0, fmt.Sprintf("the header %q has no commas", clip(row[0])), "separate columns by commas and write decimal points, not decimal commas")
		return false
	}
	if cell, found, write := headerFault(row, "time_s,meter_dp_pa"); found != "" {
		t.fail(cell, found, write)
		return false
	}
	seen := map[string]bool{}
	t.units = make([]unit.Unit, len(row))
	for i, cell := range row {
		column := strings.TrimSpace(cell)
		stem, u, d, err := unit.Column(column)
		if err != nil {
			found, write, _ := strings.Cut(err.Error(), ": ")
			t.fail(i, found, write)
			continue
		}
		if seen[stem] {
			t.fail(i, fmt.Sprintf("column %q stands twice", stem), "name every column once")
		}
		seen[stem] = true
		t.units[i] = u
		switch {
		case stem == "time" && d.Name == unit.Time.Name:
			t.time = i
		case stem == "time":
			t.fail(i, fmt.Sprintf("column %q is a %s", column, d.Name), `write "time_s"`)
		default:
			t.trace.Channels = append(t.trace.Channels, Channel{Name: stem, Unit: u.Name})
		}
	}
	if t.time < 0 && len(t.problems) == 0 {
		t.fail(0, "there is no column of time", `write the time of each sample in a column "time_s"`)
	}
	if len(row) < 2 && len(t.problems) == 0 {
		t.fail(0, "there is no column beside the time", `write a column for each sensor, like "meter_dp_pa"`)
	}
	return len(t.problems) == 0
}

func (t *traceReader) samples() {
	guess := len(t.src.start)
	t.trace.Time = make([]float64, 0, guess)
	for i := range t.trace.Channels {
		t.trace.Channels[i].Values = make([]float64, 0, guess)
	}
	for len(t.problems) < 10*perFile {
		row, ok := t.next()
		if !ok {
			return
		}
		t.row(row)
	}
}

func (t *traceReader) row(row []string) {
	if len(row) == 1 && strings.TrimSpace(row[0]) == "" {
		return
	}
	if len(row) != len(t.units) {
		t.fail(0, fmt.Sprintf("the row has %d cells where the header has %d columns", len(row), len(t.units)),
			"write one cell a column, with decimal points, not decimal commas")
		return
	}
	channel := 0
	for i, cell := range row {
		v, ok := t.cell(i, cell)
		if i == t.time {
			if ok && math.IsNaN(v) {
				t.fail(i, "the time of the sample is empty", "write the time of every sample")
			}
			t.trace.Time = append(t.trace.Time, v)
			continue
		}
		c := &t.trace.Channels[channel]
		c.Values = append(c.Values, v)
		channel++
	}
}

// cell reads one number into SI. A value that cannot be read is a problem; an empty cell is NaN.
func (t *traceReader) cell(i int, cell string) (si float64, ok bool) {
	cell = strings.TrimSpace(cell)
	if cell == "" {
		return math.NaN(), true
	}
	v, err := strconv.ParseFloat(cell, 64)
	switch {
	case err == nil && !math.IsInf(v, 0) && !hexadecimal(cell):
		return t.units[i].ToSI(v), true
	case strings.Contains(cell, ","):
		t.fail(i, fmt.Sprintf("%q has a decimal comma", clip(cell)), fmt.Sprintf("write %q", clip(strings.Replace(cell, ",", ".", 1))))
	default:
		t.fail(i, fmt.Sprintf("%q is not a number", clip(cell)), "write a number without its unit, or leave the cell empty")
	}
	return math.NaN(), false
}

// hexadecimal reports whether a number that was read is written as 0x…, with or without a sign.
func hexadecimal(cell string) bool {
	return len(cell) > 2 && (cell[1]|0x20 == 'x' || cell[2]|0x20 == 'x')
}

// WriteTrace writes a trace as CSV, each channel in the unit it was read in, so that ReadTrace gives the same trace again.
func WriteTrace(w io.Writer, t Trace) error {
	columns := make([]column, 0, 1+len(t.Channels))
	columns = append(columns, column{"time", unit.Time.SI(), t.Time})
	for _, c := range t.Channels {
		u, ok := columnUnit(c.Unit)
		if !ok {
			return fmt.Errorf("channel %s: unit %q cannot end the name of a column", c.Name, c.Unit)
		}
		if len(c.Values) != len(t.Time) {
			return fmt.Errorf("channel %s has %d samples for %d times", c.Name, len(c.Values), len(t.Time))
		}
		columns = append(columns, column{c.Name, u, c.Values})
	}
	b := new(bytes.Buffer)
	for i, c := range columns {
		separate(b, i)
		b.WriteString(c.stem + "_" + c.unit.Suffix)
	}
	b.WriteByte('\n')
	for row := range t.Time {
		for i, c := range columns {
			separate(b, i)
			if err := c.write(b, row); err != nil {
				return err
			}
		}
		b.WriteByte('\n')
	}
	_, err := w.Write(b.Bytes())
	return err
}

type column struct {
	stem   string
	unit   unit.Unit
	values []float64
}

func separate(b *bytes.Buffer, i int) {
	if i > 0 {
		b.WriteByte(',')
	}
}

func (c column) write(b *bytes.Buffer, row int) error {
	v := c.values[row]
	if math.IsNaN(v) {
		return nil
	}
	text, ok := shortest(c.unit, v)
	if !ok || math.IsInf(v, 0) {
		return fmt.Errorf("channel %s, sample %d: %v cannot be written in %s", c.stem, row+1, v, c.unit.Name)
	}
	b.WriteString(text)
	return nil
}

// columnUnit finds the unit of a channel by the name it carries.
func columnUnit(name string) (unit.Unit, bool) {
	for _, d := range unit.All() {
		if d.Name == unit.TemperatureSpan.Name {
			continue
		}
		if i := slices.IndexFunc(d.Units, func(u unit.Unit) bool { return u.Name == name }); i >= 0 {
			return d.Units[i], true
		}
	}
	return unit.Unit{}, false
}
