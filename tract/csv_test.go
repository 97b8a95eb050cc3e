package tract_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"
)

// row is one line of a reference file by column name.
type row map[string]string

func (r row) num(t *testing.T, col string) float64 {
	t.Helper()
	s, ok := r[col]
	if !ok {
		t.Fatalf("no column %q", col)
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatalf("column %q: %v", col, err)
	}
	return v
}

// reference reads a file of testdata; lines that begin with # are its header.
func reference(t *testing.T, path string) []row {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	r := csv.NewReader(strings.NewReader(string(raw)))
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []row
	for _, line := range all[1:] {
		m := row{}
		for i, name := range all[0] {
			m[name] = line[i]
		}
		out = append(out, m)
	}
	if len(out) == 0 {
		t.Fatalf("%s has no rows", path)
	}
	return out
}
