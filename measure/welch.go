package measure

import (
	"fmt"
	"math"
)

// A Welch is the difference of the means of two samples whose scatter may differ.
type Welch struct {
	Diff float64 // mean of a less mean of b [unit of the samples]
	SE   float64 // standard uncertainty of Diff [unit of the samples]
	Dof  float64 // Welch–Satterthwaite degrees of freedom [-]
	T    float64 // Diff/SE [-]
	P    float64 // two-sided probability of |T| if the means are equal [-]
}

// WelchTest compares the means of a and b [same unit].
//
//	t = (ā − b̄)/sqrt(s_a²/n_a + s_b²/n_b),  ν by Welch–Satterthwaite
//
// Source: Welch, Biometrika 34 (1947) 28. Errors: ErrTooFew below two values on a
// side, ErrNotFinite, ErrNoScatter when neither side scatters.
func WelchTest(a, b []float64) (Welch, error) {
	for _, s := range [][]float64{a, b} {
		if err := atLeast("values on one side", len(s), 2); err != nil {
			return Welch{}, err
		}
		if err := finite("values on one side", s); err != nil {
			return Welch{}, err
		}
	}
	ua, ub := SD(a)/math.Sqrt(float64(len(a))), SD(b)/math.Sqrt(float64(len(b)))
	w := Welch{Diff: Mean(a) - Mean(b), SE: math.Hypot(ua, ub)}
	if w.SE == 0 {
		return w, fmt.Errorf("two sides of %d and %d equal values: %w", len(a), len(b), ErrNoScatter)
	}
	w.Dof = WelchSatterthwaite(w.SE, []float64{ua, ub}, []float64{float64(len(a) - 1), float64(len(b) - 1)})
	w.T = w.Diff / w.SE
	w.P = TTwoSided(w.T, w.Dof)
	return w, nil
}

// Interval returns the two-sided interval of the difference [unit of the samples]
// for the probability p [-].
//
// Source: Welch (1947), as WelchTest.
func (w Welch) Interval(p float64) (lo, hi float64) {
	k := CoverageFactor(p, w.Dof)
	return w.Diff - k*w.SE, w.Diff + k*w.SE
}

// A Tost is the outcome of two one-sided tests of equivalence.
type Tost struct {
	TLower float64 // (Diff + delta)/SE [-]
	TUpper float64 // (Diff − delta)/SE [-]
	PLower float64 // probability of TLower if the difference is −delta [-]
	PUpper float64 // probability of TUpper if the difference is +delta [-]
	P      float64 // the greater of the two: below 0.05 the means are the same within delta [-]
}

// Tost tests whether the difference lies within ±delta [unit of the samples].
//
// Source: Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657.
func (w Welch) Tost(delta float64) Tost {
	t := Tost{TLower: (w.Diff + delta) / w.SE, TUpper: (w.Diff - delta) / w.SE}
	t.PLower = TCDF(-t.TLower, w.Dof)
	t.PUpper = TCDF(t.TUpper, w.Dof)
	t.P = max(t.PLower, t.PUpper)
	return t
}
