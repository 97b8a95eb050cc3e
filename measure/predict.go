package measure

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// A Prediction is what a few members that were read say of all, those included.
type Prediction struct {
	Total    int       `json:"total"`     // members in all
	Read     int       `json:"read"`      // members that were read
	Mean     float64   `json:"mean"`      // predicted mean of all [unit of x]
	U        float64   `json:"u"`         // standard uncertainty of that [unit of x]
	Dof      float64   `json:"dof"`       // its degrees of freedom [-]
	MeanLo   float64   `json:"mean_lo"`   // lower end of the interval of the mean [unit of x]
	MeanHi   float64   `json:"mean_hi"`   // upper end of the interval of the mean [unit of x]
	Spread   float64   `json:"spread"`    // median of (greatest − least)/mean of all [-]
	SpreadLo float64   `json:"spread_lo"` // lower end of the interval of the spread [-]
	SpreadHi float64   `json:"spread_hi"` // upper end of the interval of the spread [-]
	P        float64   `json:"p"`         // probability of both intervals, each for itself [-]
	Warnings []Warning `json:"warnings,omitempty"`
}

// spreadDraws is how many sets of members are drawn for the interval of the spread.
const spreadDraws = 20_000

// PredictAll predicts the mean and the spread of total members of a kind from those
// that were read, for the probability p [-], 0.95 when 0. The members are taken for
// a random sample of one normal population; a runner left out because it is hard to
// reach, or known to be bad, is not that.
//
//	var(mean of all − m) = s_m²·(K − k)/(K·k) + s_e²/K
//
// with s_m² the variance of the k means that were read and s_e² that of one mean
// from its repeats. The spread is drawn: the variances from their χ²
// distributions, the members that were read about their means, the rest from the
// population. Without repeats s_e² is not known; the mean is then given the
// uncertainty of a sample from an endless population, s_m/√k, which is wider.
//
// Sources: Cochran, Sampling Techniques (1977), 2.6, for the finite number; Gelman
// and others, Bayesian Data Analysis (2013), 5.4, for the draws. Errors: ErrTooFew
// below two members read, ErrNotFinite, ErrNotPositive for a mean that is not.
func PredictAll(rng *rand.Rand, read []Member, total int, p float64) (Prediction, error) {
	return predictAll(rng, read, total, p, spreadDraws)
}

func predictAll(rng *rand.Rand, read []Member, total int, p float64, sets int) (Prediction, error) {
	if p == 0 {
		p = 0.95
	}
	out := Prediction{Total: total, Read: len(read), P: p}
	if total < len(read) {
		return out, fmt.Errorf("%d members in all, but %d were read: %w", total, len(read), ErrTooFew)
	}
	if err := atLeast("members read, to know how they differ", len(read), 2); err != nil {
		return out, err
	}
	m, err := MatchMembers(read, MatchOptions{})
	if err != nil {
		return out, err
	}
	s := newSpread(read, m, total)
	k, all := float64(len(read)), float64(total)
	out.Mean = m.Mean
	a, b := m.SD*math.Sqrt((all-k)/(all*k)), math.Sqrt(s.errVar/all)
	dofs := []float64{k - 1, s.errDof}
	if s.errDof == 0 {
		a, b = m.SD/math.Sqrt(k), 0
		dofs[1] = math.Inf(1)
		out.Warnings = append(out.Warnings, Warning{Limit: "repeats of some member, to tell members from scatter; repeats", Got: 0})
	}
	out.U = math.Hypot(a, b)
	out.Dof = min(WelchSatterthwaite(out.U, []float64{a, b}, dofs), math.MaxFloat64)
	half := CoverageFactor(p, out.Dof) * out.U
	out.MeanLo, out.MeanHi = m.Mean-half, m.Mean+half
	draws := make([]float64, sets)
	for i := range draws {
		draws[i] = s.draw(rng)
	}
	slices.Sort(draws)
	out.Spread = quantileSorted(draws, 0.5)
	out.SpreadLo, out.SpreadHi = symmetric(draws, p)
	return out, nil
}

// spread draws sets of members that agree with those that were read.
type spread struct {
	means  []float64
	n      []float64 // repeats of each
	mean   float64
	sd2    float64 // variance of the means
	within float64 // variance of one repeat
	errVar float64 // mean variance of a mean from its repeats
	errDof float64 // degrees of freedom of within, 0 when unknown
	total  int
}

func newSpread(read []Member, m Match, total int) spread {
	s := spread{mean: m.Mean, sd2: m.SD * m.SD, total: total}
	inv := 0.0
	for _, mb := range read {
		s.means = append(s.means, Mean(mb.Values))
		s.n = append(s.n, float64(len(mb.Values)))
		inv += 1 / float64(len(mb.Values)) / float64(len(read))
	}
	if m.Effects != nil {
		s.within, s.errDof = m.Effects.VarWithin, m.Effects.DofW
		s.errVar = s.within * inv
	}
	return s
}

// draw returns the relative spread of one drawn set.
func (s spread) draw(rng *rand.Rand) float64 {
	k := float64(len(s.means))
	chi := func(nu float64) float64 { return 2 * gammaDeviate(rng, nu/2) }
	var2 := s.sd2 * (k - 1) / chi(k-1)
	within, err := 0.0, 0.0
	if s.errDof > 0 {
		f := s.errDof / chi(s.errDof)
		within, err = s.within*f, s.errVar*f
	}
	between := max(0, var2-err)
	mu := s.mean + math.Sqrt(var2/k)*rng.NormFloat64()
	lo, hi, sum := math.Inf(1), math.Inf(-1), 0.0
	add := func(v float64) { lo, hi, sum = min(lo, v), max(hi, v), sum+v }
	for i, y := range s.means {
		// A member that was read, drawn towards the rest as far as its own mean is unsure.
		e := within / s.n[i]
		w := 1.0
		if e > 0 {
			w = between / (between + e)
		}
		add(w*y + (1-w)*mu + math.Sqrt(w*e)*rng.NormFloat64())
	}
	for range s.total - len(s.means) {
		add(mu + math.Sqrt(between)*rng.NormFloat64())
	}
	return (hi - lo) / (sum / float64(s.total))
}
