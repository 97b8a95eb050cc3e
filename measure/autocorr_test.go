package measure

import (
	"errors"
	"math"
	"testing"

	"runnel/internal/tabletest"
)

// series reads the raw series of ar1_series.csv by case.
func series(t *testing.T) map[string][]float64 {
	t.Helper()
	all := map[string][]float64{}
	for _, r := range tabletest.Read(t, "testdata/ar1_series.csv", 1) {
		all[r["case"]] = append(all[r["case"]], r.Num(t, "x"))
	}
	return all
}

// Source: testdata/ar1_neff.csv on ar1_series.csv (own formulas checked with
// statsmodels acf and HAC); tolerance of its header.
func TestAR1Table(t *testing.T) {
	all := series(t)
	for _, r := range tabletest.Read(t, "testdata/ar1_neff.csv", 1) {
		id, x := "case "+r["case"]+" ", all[r["case"]]
		n := int(r.Num(t, "n"))
		if len(x) != n {
			t.Fatalf("%s has %d values, want %d", id, len(x), n)
		}
		sd := SD(x)
		same(t, id+"mean", Mean(x), r.Num(t, "mean"), 1e-9)
		same(t, id+"sd", sd, r.Num(t, "sd"), 1e-9)
		rho, err := Autocorrelation(x, 1)
		if err != nil {
			t.Fatal(err)
		}
		same(t, id+"r1", rho[1], r.Num(t, "r1"), 1e-9)
		same(t, id+"neff long", NEffAR1Long(n, rho[1]), r.Num(t, "neff_asym"), 1e-9)
		same(t, id+"neff finite", NEffAR1(n, rho[1]), r.Num(t, "neff_finite"), 1e-9)
		same(t, id+"se finite", sd/math.Sqrt(NEffAR1(n, rho[1])), r.Num(t, "se_finite"), 1e-9)
		same(t, id+"neff of the true series", NEffAR1Long(n, r.Num(t, "phi_true")), r.Num(t, "neff_true_asym"), 1e-9)
		nw, err := NeweyWest(x, int(r.Num(t, "nw_lag")))
		if err != nil {
			t.Fatal(err)
		}
		same(t, id+"Newey-West", nw, r.Num(t, "se_newey_west"), 1e-9)
		// The window estimate knows no model; of these series it must come within
		// four standard deviations of the truth, ln τ having variance 2(2M+1)/n.
		tau, last, err := lagWindow(x)
		if err != nil {
			t.Fatal(err)
		}
		phi := r.Num(t, "phi_true")
		want := (1 + phi) / (1 - phi)
		if z := math.Log(tau/want) / math.Sqrt(2*float64(2*last+1)/float64(n)); math.Abs(z) > 4 {
			t.Errorf("%sτ = %.3f, true %.3f: %.1f standard deviations off", id, tau, want, z)
		}
	}
}

// The transform and the plain sums are two routes to the same numbers; 1e-12 is
// some thousand rounding errors.
func TestAutocorrelationTwoRoutes(t *testing.T) {
	x := ar1(newRand(3), 3000, 0.8, 50, 2)
	d := centred(x)
	rho, err := Autocorrelation(x, 200) // long enough to take the transform
	if err != nil {
		t.Fatal(err)
	}
	for k := range rho {
		near(t, "rho", rho[k], dot(d[:len(d)-k], d[k:])/dot(d, d), 0, 1e-12)
	}
}

// An alternating series has a lag sum below one, white noise one, and both limits
// are exact for AR(1): n_eff tends to n(1 − φ)/(1 + φ).
func TestNEffLimits(t *testing.T) {
	for _, phi := range []float64{-0.4, 0, 0.5, 0.95} {
		x := ar1(newRand(4), 60_000, phi, 0, 1)
		got, err := NEff(x)
		if err != nil {
			t.Fatal(err)
		}
		// Madras and Sokal: relative deviation sqrt(2(2M+1)/n) with M of some 6τ,
		// four of them.
		tau := (1 + phi) / (1 - phi)
		same(t, "n_eff", got, NEffAR1Long(len(x), phi), 4*math.Sqrt(2*(12*tau+8)/60_000))
	}
	if f, l := NEffAR1(1_000_000, 0.7), NEffAR1Long(1_000_000, 0.7); math.Abs(f/l-1) > 1e-4 {
		t.Errorf("the finite form %v does not tend to the long one %v", f, l)
	}
}

func TestAutocorrelationRefuses(t *testing.T) {
	for _, c := range []struct {
		x    []float64
		want error
	}{
		{nil, ErrTooFew},
		{[]float64{1}, ErrTooFew},
		{[]float64{2, 2, 2}, ErrNoScatter},
		{[]float64{1, nan(), 2}, ErrNotFinite},
		{[]float64{1, math.Inf(1), 2}, ErrNotFinite},
	} {
		if _, err := NEff(c.x); !errors.Is(err, c.want) {
			t.Errorf("NEff(%v): %v, want %v", c.x, err, c.want)
		}
	}
}
