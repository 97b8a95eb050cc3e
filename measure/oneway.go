package measure

import (
	"fmt"
	"math"
)

// An OneWay is the analysis of variance of grouped values, with the groups taken
// as a random sample of all such groups.
type OneWay struct {
	Groups    int     // number of groups
	N         int     // number of values
	GrandMean float64 // mean of all values [unit of x]

	SSBetween float64 // sum of squares between groups [unit of x squared]
	SSWithin  float64 // sum of squares within groups [unit of x squared]
	MSBetween float64 // mean square between groups [unit of x squared]
	MSWithin  float64 // mean square within groups [unit of x squared]
	DofB      float64 // degrees of freedom between groups [-]
	DofW      float64 // degrees of freedom within groups [-]
	F         float64 // MSBetween/MSWithin [-], +Inf when nothing scatters within groups
	P         float64 // probability of such an F if the groups do not differ [-]

	N0         float64 // effective values in a group [-]
	VarWithin  float64 // variance of repeats [unit of x squared]
	VarRaw     float64 // variance between groups as computed, may be negative [unit of x squared]
	VarBetween float64 // variance between groups, not below 0 [unit of x squared]
	ICC        float64 // share of the variance that is between groups [-]
}

// RandomEffects analyses groups of values [unit of x] by one-way random effects,
// with variance components by the method of moments; groups may be of unequal
// size.
//
//	s_b² = (MSB − MSW)/n0,  n0 = (N − Σn_i²/N)/(k − 1)
//
// Source: Searle, Casella and McCulloch, Variance Components (1992), 3.6. Errors:
// ErrTooFew below two groups or with no group of two, ErrNotFinite.
func RandomEffects(groups [][]float64) (OneWay, error) {
	w := OneWay{Groups: len(groups)}
	if err := atLeast("groups", len(groups), 2); err != nil {
		return w, err
	}
	var all []float64
	sumSq := 0.0
	for i, g := range groups {
		if err := atLeast(fmt.Sprintf("values in group %d", i+1), len(g), 1); err != nil {
			return w, err
		}
		if err := finite(fmt.Sprintf("group %d", i+1), g); err != nil {
			return w, err
		}
		all = append(all, g...)
		sumSq += float64(len(g)) * float64(len(g))
		w.SSWithin += SumSquares(g)
	}
	w.N = len(all)
	if err := atLeast("repeats beyond the first of each group", w.N-w.Groups, 1); err != nil {
		return w, err
	}
	w.GrandMean = Mean(all)
	// About the grand mean, so that a large common level costs no digits.
	for _, g := range groups {
		d := kahan(g, w.GrandMean)
		w.SSBetween += d * d / float64(len(g))
	}
	d := kahan(all, w.GrandMean)
	w.SSBetween = max(0, w.SSBetween-d*d/float64(w.N))
	w.finish(sumSq)
	return w, nil
}

// finish computes what follows from the sums of squares.
func (w *OneWay) finish(sumSq float64) {
	w.DofB, w.DofW = float64(w.Groups-1), float64(w.N-w.Groups)
	w.MSBetween, w.MSWithin = w.SSBetween/w.DofB, w.SSWithin/w.DofW
	switch {
	case w.MSWithin > 0:
		w.F = w.MSBetween / w.MSWithin
	case w.MSBetween > 0:
		w.F = math.Inf(1)
	}
	w.P = FUpper(w.F, w.DofB, w.DofW)
	w.N0 = (float64(w.N) - sumSq/float64(w.N)) / w.DofB
	w.VarWithin = w.MSWithin
	w.VarRaw = (w.MSBetween - w.MSWithin) / w.N0
	w.VarBetween = max(0, w.VarRaw)
	if total := w.VarBetween + w.VarWithin; total > 0 {
		w.ICC = w.VarBetween / total
	}
}
