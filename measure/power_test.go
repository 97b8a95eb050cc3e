package measure

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"runnel/internal/tabletest"
)

// Source: testdata/min_detectable_difference.csv, computed by noncentral t and
// printed to 0.01 %. Half a unit in the last place, and a tenth of it more: at
// 1 % and ten repeats the table has 1.33, where integrating the definition with 25
// digits gives a power of 0.8 at 1.32495.
func TestMinDetectableTable(t *testing.T) {
	for _, r := range tabletest.Read(t, "testdata/min_detectable_difference.csv", 1) {
		sd, n := r.Num(t, "sd_percent")/100, int(r.Num(t, "n_each"))
		got, err := MinDetectable(sd, n, 0.8)
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("sd %v, n %d", sd, n), 100*got, r.Num(t, "MDD_percent"), 0, 0.0055)
		// The way back: this difference needs n repeats, and a hair less needs one more.
		back, err := RepeatsNeeded(sd, got*(1+1e-9), 0.8)
		if err != nil || back != n {
			t.Errorf("sd %v, difference %v: %d repeats (%v), want %d", sd, got, back, err, n)
		}
		back, err = RepeatsNeeded(sd, got*(1-1e-6), 0.8)
		if err != nil || back != n+1 {
			t.Errorf("sd %v, difference a hair below %v: %d repeats (%v), want %d", sd, got, back, err, n+1)
		}
	}
}

// Source: the literature notes, section 10: a gain of 1.6 % needs 3 repeats at a
// scatter of 0.5 % and 8 at 1 %.
func TestRepeatsNeededWorked(t *testing.T) {
	for sd, want := range map[float64]int{0.005: 3, 0.01: 8} {
		if n, err := RepeatsNeeded(sd, 0.016, 0.8); err != nil || n != want {
			t.Errorf("sd %v: %d repeats (%v), want %d", sd, n, err, want)
		}
	}
	if _, err := RepeatsNeeded(1, 1e-5, 0.8); !errors.Is(err, ErrOutOfReach) {
		t.Errorf("hopeless case: %v, want ErrOutOfReach", err)
	}
	for _, bad := range [][3]float64{{-1, 0.1, 0.8}, {0.1, 0, 0.8}, {0.1, 0.1, 1}, {nan(), 0.1, 0.8}} {
		if _, err := RepeatsNeeded(bad[0], bad[1], bad[2]); !errors.Is(err, ErrNotPositive) {
			t.Errorf("RepeatsNeeded%v: %v, want ErrNotPositive", bad, err)
		}
	}
	if _, err := MinDetectable(0.01, 1, 0.8); !errors.Is(err, ErrTooFew) {
		t.Errorf("one repeat: %v, want ErrTooFew", err)
	}
}

// Without noncentrality it is Student's t; mirrored it is itself; with many degrees
// of freedom it is normal. 1e-10 is the sum's own cut-off with margin.
func TestNoncentralTLimits(t *testing.T) {
	for _, x := range []float64{-3, -0.4, 0, 0.7, 2.5, 6} {
		for _, nu := range []float64{1.5, 4, 30} {
			near(t, "central", NoncentralTCDF(x, nu, 0), TCDF(x, nu), 0, 1e-12)
			for _, d := range []float64{0.3, 2, 9} {
				near(t, "mirror", NoncentralTCDF(x, nu, d), 1-NoncentralTCDF(-x, nu, -d), 0, 1e-12)
			}
		}
		near(t, "normal", NoncentralTCDF(x, math.Inf(1), 1.2), 0.5*math.Erfc(-(x-1.2)/math.Sqrt2), 0, 1e-15)
	}
}

// The distribution against its definition: T = (Z + δ)/sqrt(χ²/ν), simulated;
// four binomial standard deviations.
func TestNoncentralTSimulated(t *testing.T) {
	const n, nu, delta = 40_000, 5, 2.2
	rng := newRand(21)
	below := map[float64]int{1: 0, 2.5: 0, 4: 0}
	for range n {
		chi := 0.0
		for range nu {
			z := rng.NormFloat64()
			chi += z * z
		}
		v := (rng.NormFloat64() + delta) / math.Sqrt(chi/nu)
		for x := range below {
			if v <= x {
				below[x]++
			}
		}
	}
	for x, k := range below {
		p := NoncentralTCDF(x, nu, delta)
		near(t, fmt.Sprintf("P(T ≤ %v)", x), float64(k)/n, p, 0, 4*math.Sqrt(p*(1-p)/n))
	}
}
