package measure

import (
	"fmt"
	"math"
)

// A Kind is the way in which a standard uncertainty was found. Source: JCGM
// 100:2008, 3.3.4.
type Kind string

// The two kinds of evaluation.
const (
	TypeA Kind = "A" // by statistics of repeated values
	TypeB Kind = "B" // by other knowledge: a certificate, a standard, a resolution
)

// A Shape is the distribution assigned to an input.
type Shape string

// The shapes that an input can have. All are symmetric about the estimate.
const (
	Normal      Shape = "normal"
	Rectangular Shape = "rectangular" // equally likely within bounds
	Triangular  Shape = "triangular"  // sum of two equal rectangular ones
	ArcSine     Shape = "arcsine"     // a sine at a random phase
	StudentT    Shape = "t"           // scaled and shifted t with the line's degrees of freedom
)

// A Line is one input of a budget.
type Line struct {
	Quantity     string  // what it is, for people
	Key          string  // name of the input itself; lines with one key, in whatever budget, are one and the same unknown. Empty: unknown to all others
	Pool         string  // name of the estimate of scatter that U rests on; lines with one pool have their degrees of freedom in common. Empty: on its own
	Unit         string  // unit of Estimate and U, for people
	Kind         Kind    // how U was found
	Distribution Shape   // what is believed of the input
	Estimate     float64 // best estimate of the input [Unit]
	U            float64 // standard uncertainty of Estimate [Unit]
	Dof          float64 // degrees of freedom of U [-]; +Inf where U is taken as known. 0 is read as +Inf
	Sensitivity  float64 // change of the result with this input [unit of result / Unit]
}

// Contribution returns c·u, signed [unit of result].
//
// Source: JCGM 100:2008, 5.1.3.
func (l Line) Contribution() float64 {
	if l.U == 0 {
		return 0
	}
	return l.Sensitivity * l.U
}

// dof returns the degrees of freedom with 0 read as infinitely many.
func (l Line) dof() float64 {
	if l.Dof == 0 {
		return math.Inf(1)
	}
	return l.Dof
}

// A Pair is the correlation of two lines of a budget.
type Pair struct {
	I int     `json:"i"` // place of one line
	J int     `json:"j"` // place of the other
	R float64 `json:"r"` // correlation coefficient of their inputs, −1 … 1 [-]
}

// A Budget is a result, and the lines that say how sure it is.
type Budget struct {
	Quantity    string    `json:"quantity"`              // what the result is, for people
	Unit        string    `json:"unit"`                  // unit of Value, for people
	Value       float64   `json:"value"`                 // the result [Unit]
	Lines       []Line    `json:"lines"`                 // its inputs
	Correlation []Pair    `json:"correlation,omitempty"` // correlations between inputs; those not named are 0
	Warnings    []Warning `json:"warnings,omitempty"`    // where a rule of the guide was left
}

// Check reports the first thing that makes b unfit to be combined: a value that is
// not finite, a negative uncertainty, degrees of freedom below zero, or
// correlations that no set of quantities can have.
func (b Budget) Check() error {
	if notFinite(b.Value) {
		return fmt.Errorf("value of %q is %v: %w", b.Quantity, b.Value, ErrNotFinite)
	}
	for i, l := range b.Lines {
		if notFinite(l.U) || notFinite(l.Sensitivity) || notFinite(l.Estimate) {
			return fmt.Errorf("line %d %q of %q: estimate %v, u %v, sensitivity %v: %w",
				i+1, l.Quantity, b.Quantity, l.Estimate, l.U, l.Sensitivity, ErrNotFinite)
		}
		if l.U < 0 {
			return fmt.Errorf("line %d %q of %q: standard uncertainty %v is negative: %w",
				i+1, l.Quantity, b.Quantity, l.U, ErrNotPositive)
		}
		if math.IsNaN(l.Dof) || l.Dof < 0 {
			return fmt.Errorf("line %d %q of %q: degrees of freedom %v: %w",
				i+1, l.Quantity, b.Quantity, l.Dof, ErrNotPositive)
		}
	}
	return checkCorrelation(len(b.Lines), b.Correlation)
}

// Combined returns the combined standard uncertainty u_c [Unit]. Lines that share
// a key within the budget add with their signs, being one input.
//
//	u_c² = Σ_i Σ_j r_ij·(c_i·u_i)·(c_j·u_j)
//
// Source: JCGM 100:2008, 5.1.2 and 5.2.2, equations (10), (13) and (16).
func (b Budget) Combined() float64 {
	v := 0.0
	for i, l := range b.Lines {
		v += l.Contribution() * b.pull(i)
	}
	return math.Sqrt(max(0, v))
}

// pull returns Σ_j r_ij·c_j·u_j for line i [Unit].
func (b Budget) pull(i int) float64 {
	p := b.Lines[i].Contribution()
	for j, l := range b.Lines {
		if j != i && b.Lines[i].Key != "" && l.Key == b.Lines[i].Key {
			p += l.Contribution()
		}
	}
	for _, c := range b.Correlation {
		switch i {
		case c.I:
			p += c.R * b.Lines[c.J].Contribution()
		case c.J:
			p += c.R * b.Lines[c.I].Contribution()
		}
	}
	return p
}

// Relative returns u_c/|Value| [-].
//
// Definition.
func (b Budget) Relative() float64 { return b.Combined() / math.Abs(b.Value) }

// Shares returns for each line its share of the variance [-]; they add up to 1.
// A share is negative where a correlation makes a line take variance away. They
// are all 0 when the result has no uncertainty.
//
//	s_i = c_i·u_i·Σ_j r_ij·c_j·u_j / u_c²
//
// Definition; without correlation it is (c_i·u_i)²/u_c².
func (b Budget) Shares() []float64 {
	s := make([]float64, len(b.Lines))
	u := b.Combined()
	if u == 0 {
		return s
	}
	for i, l := range b.Lines {
		s[i] = l.Contribution() * b.pull(i) / (u * u)
	}
	return s
}

// Dof returns the effective degrees of freedom of the combined uncertainty [-],
// +Inf when every line's uncertainty is taken as known. Where lines are
// correlated the formula goes beyond what the guide derives; Budget.Expanded says so.
// Correlated lines count as one term, with the fewest degrees of freedom among them: taken one by one, two that
// nearly cancel would leave less than the lesser of theirs, which no sum of estimates does.
//
//	ν_eff = u_c⁴ / Σ (c_i·u_i)⁴/ν_i
//
// Source: JCGM 100:2008, G.4.1, equation (G.2b).
func (b Budget) Dof() float64 {
	u, nu := b.terms()
	return WelchSatterthwaite(b.Combined(), u, nu)
}

// terms returns the contributions of b [Unit] with their degrees of freedom: those
// of one key added with their signs, correlated ones as one, then those of one pool in quadrature.
func (b Budget) terms() (u, nu []float64) {
	key, pool := map[string]int{}, map[string]int{}
	var name []string
	term := make([]int, len(b.Lines)) // of a line
	for i, l := range b.Lines {
		if at, ok := key[l.Key]; ok && l.Key != "" {
			u[at] += l.Contribution() // one input, met again
			term[i] = at
			continue
		}
		key[l.Key], term[i] = len(u), len(u)
		u, nu, name = append(u, l.Contribution()), append(nu, l.dof()), append(name, l.Pool)
	}
	b.tie(term, u, nu)
	for i, p := range name {
		if at, ok := pool[p]; ok && p != "" {
			u[at], u[i] = math.Hypot(u[at], u[i]), 0
			continue
		}
		pool[p] = i
	}
	return u, nu
}

// tie makes one term of terms that are correlated: the square root of their variance together, and the fewest degrees of
// freedom. term says which term a line belongs to.
func (b Budget) tie(term []int, u, nu []float64) {
	if len(b.Correlation) == 0 {
		return
	}
	head := make([]int, len(u))
	for i := range head {
		head[i] = i
	}
	for _, c := range b.Correlation {
		from, to := head[term[c.I]], head[term[c.J]]
		if c.R == 0 || from == to {
			continue
		}
		for i := range head {
			if head[i] == from {
				head[i] = to
			}
		}
	}
	variance, members := make([]float64, len(u)), make([]int, len(u))
	for i, l := range b.Lines {
		variance[head[term[i]]] += l.Contribution() * b.pull(i)
	}
	for i, h := range head {
		members[h]++
		nu[h] = min(nu[h], nu[i])
	}
	for i, h := range head {
		if members[h] > 1 {
			u[i] = 0
		}
	}
	for h, n := range members {
		if n > 1 {
			u[h] = math.Sqrt(max(0, variance[h]))
		}
	}
}

// WelchSatterthwaite returns the effective degrees of freedom [-] of a combined
// standard uncertainty uc with contributions u [unit of uc] of nu degrees of
// freedom [-] each. It is +Inf when all nu are, or when uc is zero.
//
//	ν_eff = u_c⁴ / Σ u_i⁴/ν_i
//
// Source: JCGM 100:2008, G.4.1, equation (G.2b).
func WelchSatterthwaite(uc float64, u, nu []float64) float64 {
	if len(u) != len(nu) {
		panic("measure: contributions and degrees of freedom differ in number")
	}
	sum := 0.0
	for i, v := range u {
		if v == 0 || math.IsInf(nu[i], 1) {
			continue
		}
		r := v / uc
		sum += r * r * r * r / nu[i]
	}
	if sum == 0 || uc == 0 {
		return math.Inf(1)
	}
	return 1 / sum
}

// An Expanded is an interval about a result that is believed to hold the truth.
type Expanded struct {
	P   float64 // probability that it does [-]
	K   float64 // coverage factor [-]
	U   float64 // half-width K·u_c [unit of the result]
	Dof float64 // effective degrees of freedom that gave K [-], may be +Inf

	Warnings []Warning
}

// Expanded returns the expanded uncertainty for the probability p [-], usually
// 0.95. The degrees of freedom are used as they come, not cut to a whole number.
//
//	U = k·u_c,  k = t_{(1+p)/2}(ν_eff)
//
// Source: JCGM 100:2008, G.3 and G.4. Errors: those of Check, or p outside 0 … 1.
func (b Budget) Expanded(p float64) (Expanded, error) {
	if err := b.Check(); err != nil {
		return Expanded{}, err
	}
	if !(p > 0 && p < 1) {
		return Expanded{}, fmt.Errorf("coverage probability %v is not between 0 and 1: %w", p, ErrNotPositive)
	}
	e := Expanded{P: p, Dof: b.Dof(), Warnings: b.Warnings}
	e.K = CoverageFactor(p, e.Dof)
	e.U = e.K * b.Combined()
	for _, c := range b.Correlation {
		if c.R != 0 && !(math.IsInf(b.Lines[c.I].dof(), 1) && math.IsInf(b.Lines[c.J].dof(), 1)) {
			e.Warnings = append(e.Warnings, Warning{
				Limit: "JCGM 100:2008 G.4.1: the effective degrees of freedom are derived for independent inputs; correlation", Got: c.R,
			})
			break
		}
	}
	return e, nil
}

// checkCorrelation reports coefficients outside −1 … 1, places that do not exist,
// and sets that are not positive semidefinite.
func checkCorrelation(n int, pairs []Pair) error {
	if len(pairs) == 0 {
		return nil
	}
	for _, p := range pairs {
		if p.I < 0 || p.J < 0 || p.I >= n || p.J >= n || p.I == p.J {
			panic(fmt.Sprintf("measure: correlation names lines %d and %d of %d", p.I, p.J, n))
		}
		if !(math.Abs(p.R) <= 1) {
			return fmt.Errorf("coefficient %v between lines %d and %d: %w", p.R, p.I+1, p.J+1, ErrCorrelation)
		}
	}
	if _, err := choleskyCorrelation(n, pairs); err != nil {
		return err
	}
	return nil
}

// choleskyCorrelation returns the lower triangle L with L·Lᵀ the correlation
// matrix. A matrix that is only semidefinite, as with r = ±1, has zeros in L.
func choleskyCorrelation(n int, pairs []Pair) ([][]float64, error) {
	l := make([][]float64, n)
	for i := range l {
		l[i] = make([]float64, n)
		l[i][i] = 1
	}
	for _, p := range pairs {
		l[max(p.I, p.J)][min(p.I, p.J)] = p.R
	}
	const tol = 1e-12
	for j := range n {
		d := l[j][j] - dot(l[j][:j], l[j][:j])
		if d < -tol {
			return nil, fmt.Errorf("%d coefficients between %d lines are not positive semidefinite: %w", len(pairs), n, ErrCorrelation)
		}
		d = math.Sqrt(max(0, d))
		l[j][j] = d
		for i := j + 1; i < n; i++ {
			rest := l[i][j] - dot(l[i][:j], l[j][:j])
			switch {
			case d > math.Sqrt(tol):
				l[i][j] = rest / d
			case math.Abs(rest) > 1e-6:
				return nil, fmt.Errorf("%d coefficients between %d lines are not positive semidefinite: %w", len(pairs), n, ErrCorrelation)
			default:
				l[i][j] = 0
			}
		}
	}
	return l, nil
}
