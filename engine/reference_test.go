package engine

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"
)

// rows reads a reference file: lines that begin with # are its header, the first other line names the columns.
func rows(t testing.TB, name string) []map[string]string {
	t.Helper()
	raw, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	r := csv.NewReader(strings.NewReader(string(raw)))
	r.Comment = '#'
	r.FieldsPerRecord = -1
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, rec := range all[1:] {
		m := map[string]string{}
		for i, v := range rec {
			if i < len(all[0]) {
				m[all[0][i]] = v
			}
		}
		out = append(out, m)
	}
	if len(out) == 0 {
		t.Fatalf("%s is empty", name)
	}
	return out
}

func num(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// fullOr returns the first when RUNNEL_FULL=1 asks for the full grids, else the second.
func fullOr(full, usual float64) float64 {
	if os.Getenv("RUNNEL_FULL") == "1" {
		return full
	}
	return usual
}

// shortOr returns the first in a -short run, else the second.
func shortOr(short, usual float64) float64 {
	if testing.Short() {
		return short
	}
	return usual
}
