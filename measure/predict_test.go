package measure

import (
	"errors"
	"math"
	"slices"
	"testing"
)

// By hand: two of four members read, means 99 and 101, twice each with a scatter of
// variance 0.02. s_m² = 2, s_e² = 0.01; var = 2·2/8 + 0.01/4.
func TestPredictByHand(t *testing.T) {
	read := members([]float64{98.9, 99.1}, []float64{100.9, 101.1})
	p, err := PredictAll(newRand(1), read, 4, 0)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "mean", p.Mean, 100, 1e-12)
	same(t, "u", p.U, math.Sqrt(0.5+0.0025), 1e-9)
	same(t, "dof", p.Dof, 0.5025*0.5025/(0.5*0.5/1+0.0025*0.0025/2), 1e-9)
	// All read: only their own scatter is left, and the spread is known but for it.
	p, err = PredictAll(newRand(1), read, 2, 0)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "u, all read", p.U, math.Sqrt(0.02/4), 1e-9)
	near(t, "spread, all read", p.Spread, 0.02, 0, 0.001)
	if p.SpreadLo > 0.02 || p.SpreadHi < 0.02 || p.SpreadHi > 0.03 {
		t.Errorf("spread %v to %v about 0.02", p.SpreadLo, p.SpreadHi)
	}
}

// The interval of the mean holds the mean of all members in 95 % of simulated sets,
// within three binomial deviations and one percent. That of the spread, whose
// variances are drawn with flat priors, is asked for 92 % at least; it may be wide.
func TestPredictCoverage(t *testing.T) {
	const runs, total, read = 400, 6, 4
	rng := newRand(97)
	mean, spread := 0, 0
	for range runs {
		truth := make([]float64, total)
		var m []Member
		for i := range truth {
			truth[i] = 100 + 1.2*rng.NormFloat64()
			if i >= read {
				continue
			}
			var v []float64
			for range 3 {
				v = append(v, truth[i]+0.5*rng.NormFloat64())
			}
			m = append(m, Member{Values: v})
		}
		p, err := predictAll(rng, m, total, 0.95, 1000)
		if err != nil {
			t.Fatal(err)
		}
		if v := Mean(truth); p.MeanLo <= v && v <= p.MeanHi {
			mean++
		}
		if v := (slices.Max(truth) - slices.Min(truth)) / Mean(truth); p.SpreadLo <= v && v <= p.SpreadHi {
			spread++
		}
	}
	tol := 3 * math.Sqrt(0.95*0.05/runs)
	near(t, "coverage of the mean", float64(mean)/runs, 0.95, 0, tol+0.01)
	if s := float64(spread) / runs; s < 0.92-tol {
		t.Errorf("the interval of the spread holds it in %.1f %%", 100*s)
	}
}

func TestPredictRefuses(t *testing.T) {
	two := members([]float64{1}, []float64{2})
	if _, err := PredictAll(newRand(1), two[:1], 4, 0); !errors.Is(err, ErrTooFew) {
		t.Errorf("one member read: %v", err)
	}
	if _, err := PredictAll(newRand(1), two, 1, 0); !errors.Is(err, ErrTooFew) {
		t.Errorf("more read than there are: %v", err)
	}
	// No repeats: an answer, as of an endless population, and a warning.
	p, err := PredictAll(newRand(1), two, 2, 0)
	if err != nil || len(p.Warnings) != 1 {
		t.Fatalf("no repeats: %+v (%v)", p, err)
	}
	same(t, "u", p.U, math.Sqrt(0.5/2), 1e-9)
	// All equal: no spread, no NaN.
	p, err = PredictAll(newRand(1), members([]float64{5, 5}, []float64{5, 5}, []float64{5, 5}), 6, 0)
	if err != nil || p.Spread != 0 || p.U != 0 || notFinite(p.MeanLo) {
		t.Errorf("equal members: %+v (%v)", p, err)
	}
}
