package measure

import (
	"encoding/csv"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// row is one line of an outside table, by column name.
type row map[string]string

// table reads testdata/name; lines that begin with # say where it is from.
func table(t testing.TB, name string) []row {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	r := csv.NewReader(f)
	r.Comment = '#'
	r.FieldsPerRecord = -1
	head, err := r.Read()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	var rows []row
	for {
		rec, err := r.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		m := row{}
		for i, v := range rec {
			m[head[i]] = v
		}
		rows = append(rows, m)
	}
	if len(rows) == 0 {
		t.Fatalf("%s has no rows", name)
	}
	return rows
}

// num reads a number of a row; "inf" is infinite.
func (r row) num(t testing.TB, column string) float64 {
	t.Helper()
	s, ok := r[column]
	if !ok {
		t.Fatalf("no column %q", column)
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatalf("column %q: %v", column, err)
	}
	return v
}

// list reads numbers parted by semicolons.
func (r row) list(t testing.TB, column string) []float64 {
	t.Helper()
	var out []float64
	for s := range strings.SplitSeq(r[column], ";") {
		out = append(out, row{"v": s}.num(t, "v"))
	}
	return out
}

// near fails the test unless got is within rel of want, or within abs.
func near(t testing.TB, what string, got, want, rel, abs float64) {
	t.Helper()
	if got == want || math.Abs(got-want) <= rel*math.Abs(want)+abs {
		return
	}
	t.Errorf("%s = %.15g, want %.15g within %g relative or %g", what, got, want, rel, abs)
}

// same fails the test unless got is within rel of want.
func same(t testing.TB, what string, got, want, rel float64) {
	t.Helper()
	near(t, what, got, want, rel, 0)
}

// newRand returns a generator with a fixed seed.
func newRand(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0x5eed)) }

// ar1 simulates a first-order autoregressive series of mean mu and marginal
// standard deviation sd.
func ar1(rng *rand.Rand, n int, phi, mu, sd float64) []float64 {
	x := make([]float64, n)
	z := rng.NormFloat64()
	for i := range x {
		if i > 0 {
			z = phi*z + math.Sqrt(1-phi*phi)*rng.NormFloat64()
		}
		x[i] = mu + sd*z
	}
	return x
}

// clockOf returns n times step seconds apart.
func clockOf(n int, step float64) []float64 {
	t := make([]float64, n)
	for i := range t {
		t[i] = float64(i) * step
	}
	return t
}
