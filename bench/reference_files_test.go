package bench_test

import (
	"bytes"
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// A row is one line of a reference file, by column name.
type row map[string]string

// num returns a column as a number.
func (r row) num(t *testing.T, column string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		t.Fatalf("id %s, column %s: %v", r["id"], column, err)
	}
	return x
}

// readReference reads a file of testdata, and fails when it has fewer than least rows.
func readReference(t *testing.T, name string, least int) []row {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment = '#'
	lines, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []row
	for _, line := range lines[1:] {
		m := row{}
		for i, c := range line {
			m[lines[0][i]] = c
		}
		rows = append(rows, m)
	}
	if len(rows) < least {
		t.Fatalf("%s has %d rows, want at least %d", name, len(rows), least)
	}
	return rows
}

// near reports a difference beyond the relative tolerance rel or the absolute one abs.
func near(t *testing.T, what string, got, want, rel, abs float64) {
	t.Helper()
	if !(math.Abs(got-want) <= max(abs, rel*math.Abs(want))) {
		t.Errorf("%s = %.15g, want %.15g (relative difference %.2g, allowed %.2g)", what, got, want, (got-want)/want, rel)
	}
}
