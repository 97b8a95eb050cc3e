package bench_test

import (
	"math"
	"testing"

	"runnel/bench"
	"runnel/internal/tabletest"
)

// Source: testdata/entrance_loss_vs_r_over_D.csv, column table_cited (Idelchik, Crane TP-410), which is the law used; and the
// spread must hold every published value of the row within two standard uncertainties.
func TestEntryLossAgainstPublished(t *testing.T) {
	for _, r := range tabletest.Read(t, "testdata/entrance_loss_vs_r_over_D.csv", 15) {
		k, u := bench.EntryLoss(r.Num(t, "r_over_D"))
		if r["table_cited"] != "" {
			near(t, "K at r/D "+r["r_over_D"], k, r.Num(t, "table_cited"), 1e-12, 0)
		}
		for _, law := range []string{"rennels", "miller", "idelchik", "harris", "swamee"} {
			if r[law] != "" && math.Abs(r.Num(t, law)-k) > 2*u+1e-4 {
				t.Errorf("r/D %s: %s says %s, beyond %v ± 2·%v", r["r_over_D"], law, r[law], k, u)
			}
		}
	}
}

// The losses of a rounder edge are smaller, and their change is surer than the losses themselves.
func TestEntryChange(t *testing.T) {
	last := 0.0
	for _, r := range []float64{0.01, 0.03, 0.06, 0.1, 0.15, 0.2} {
		dk, u := bench.EntryChange(0, r)
		if dk >= last {
			t.Errorf("r/D %v: change %v, want below %v", r, dk, last)
		}
		last = dk
		k0, u0 := bench.EntryLoss(0)
		k1, u1 := bench.EntryLoss(r)
		near(t, "change", dk, k1-k0, 1e-12, 0)
		if u > math.Hypot(u0, u1)*1.2 {
			t.Errorf("r/D %v: uncertainty %v of the change, %v and %v of the losses", r, u, u0, u1)
		}
		back, _ := bench.EntryChange(r, 0)
		near(t, "the other way", back, -dk, 1e-12, 0)
	}
}

// An effective area holds all losses of a piece: taking K off and putting it on again changes nothing, and with no loss but
// the exit head the area of a pipe is its own.
func TestAreaWithEntry(t *testing.T) {
	near(t, "there and back", bench.AreaWithEntry(bench.AreaWithEntry(9e-4, -0.4, 0.05), 0.4, 0.05), 9e-4, 1e-14, 0)
	// K_entry 0.5 and the exit head: Ae = A/sqrt(1.5); without the entry loss Ae = A. Definition of K.
	a := math.Pi / 4 * 0.05 * 0.05
	near(t, "a pipe alone", bench.AreaWithEntry(a/math.Sqrt(1.5), -0.5, 0.05), a, 1e-14, 0)
	if got := bench.AreaWithEntry(a, -1.2, 0.05); !math.IsNaN(got) {
		t.Errorf("more loss taken off than there is: %v, want NaN", got)
	}
}
