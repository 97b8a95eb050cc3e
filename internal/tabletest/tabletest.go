// Package tabletest reads the tables of outside numbers that tests compare with: CSV whose lines beginning with # say where the numbers
// are from, then a line of column names, then the rows.
package tabletest

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// A Row is one row of a table by column name.
type Row map[string]string

// Read reads a table, and ends the test when it has fewer than least rows, at least one: a comparison with nothing proves nothing.
func Read(t testing.TB, path string, least int) []Row {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }() // it was only read
	r := csv.NewReader(f)
	r.Comment = '#'
	lines, err := r.ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	if len(lines) < 1+max(1, least) {
		t.Fatalf("%s has %d rows, want at least %d", path, max(0, len(lines)-1), max(1, least))
	}
	rows := make([]Row, 0, len(lines)-1)
	for _, line := range lines[1:] {
		row := Row{}
		for i, cell := range line {
			row[lines[0][i]] = cell
		}
		rows = append(rows, row)
	}
	return rows
}

// Num returns the number in a column [unit of the column], "inf" being infinite, and ends the test when there is none.
func (r Row) Num(t testing.TB, column string) float64 {
	t.Helper()
	text, ok := r[column]
	if !ok {
		t.Fatalf("there is no column %q", column)
	}
	return number(t, column, text)
}

// List returns the numbers in a column that are parted by semicolons [unit of the column].
func (r Row) List(t testing.TB, column string) []float64 {
	t.Helper()
	var out []float64
	for text := range strings.SplitSeq(r[column], ";") {
		out = append(out, number(t, column, text))
	}
	return out
}

func number(t testing.TB, column, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(v) {
		t.Fatalf("column %q: %q is no number", column, text)
	}
	return v
}
