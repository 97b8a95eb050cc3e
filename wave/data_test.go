package wave

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"
)

// row is one record of a data file by column name.
type row map[string]string

// rows reads a data file: comment lines, a header, then records.
func rows(t testing.TB, name string) []row {
	t.Helper()
	raw, err := os.ReadFile("testdata/" + name)
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
	for _, rec := range all[1:] {
		m := row{}
		for i, h := range all[0] {
			m[h] = rec[i]
		}
		out = append(out, m)
	}
	if len(out) == 0 {
		t.Fatalf("%s: no rows", name)
	}
	return out
}

// num returns a number of the row.
func (r row) num(t testing.TB, name string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r[name], 64)
	if err != nil {
		t.Fatalf("column %s: %v", name, err)
	}
	return v
}
