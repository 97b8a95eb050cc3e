package engine

import (
	"os"
	"strconv"
	"strings"
	"testing"

	"runnel/internal/tabletest"
)

// rows reads a reference file of testdata.
func rows(t testing.TB, name string) []tabletest.Row {
	t.Helper()
	return tabletest.Read(t, "testdata/"+name, 1)
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
