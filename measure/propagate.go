package measure

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// PropagateOptions tells Propagate how far to go. The zero value makes 2·10⁵
// draws for a 95 % interval.
type PropagateOptions struct {
	Draws       int                   // number of draws; 0 means 200 000. With Adaptive, the most that are made; 0 then means 10 million
	P           float64               // coverage probability [-]; 0 means 0.95
	Adaptive    bool                  // draw in blocks until the results are stable
	Digits      int                   // significant digits of u that must be stable or agree; 0 means 2
	Correlation []Pair                // correlations between normal inputs
	Progress    func(done, total int) // called after each block of draws, when not nil; total is the most that may be made
}

// A Propagated is the distribution of a result, drawn.
type Propagated struct {
	Draws   int     `json:"draws"`
	Mean    float64 `json:"mean"`     // mean of the result [unit of result]
	U       float64 `json:"u"`        // standard deviation of the result [unit of result]
	P       float64 `json:"p"`        // coverage probability of the intervals [-]
	Lo      float64 `json:"lo"`       // lower end of the probabilistically symmetric interval [unit of result]
	Hi      float64 `json:"hi"`       // upper end of the probabilistically symmetric interval [unit of result]
	ShortLo float64 `json:"short_lo"` // lower end of the shortest interval [unit of result]
	ShortHi float64 `json:"short_hi"` // upper end of the shortest interval [unit of result]
	Stable  bool    `json:"stable"`   // the adaptive procedure reached its tolerance; false when it was not asked for
	// Tolerance is half a unit in the last of the digits of U asked for [unit of result].
	Tolerance float64   `json:"tolerance"`
	Warnings  []Warning `json:"warnings,omitempty"`

	sorted []float64
}

// Quantile returns the p-quantile of the drawn results [unit of result].
//
// Source: JCGM 101:2008, 7.5 and D, by linear interpolation.
func (r Propagated) Quantile(p float64) float64 { return quantileSorted(r.sorted, p) }

// Sorted returns the drawn results in rising order [unit of result]. It is not a
// copy and must not be changed.
func (r Propagated) Sorted() []float64 { return r.sorted }

// leastBlock is the number of draws in a block of the adaptive procedure for p up
// to 0.99. Source: JCGM 101:2008, 7.9.4 b.
const leastBlock = 10_000

// Propagate draws the inputs from their distributions and evaluates f for each
// draw. U of a line is the standard uncertainty, from which the width of its
// distribution follows; for StudentT it is the scale, s/√n, as JCGM 101 6.4.9
// assigns it, and the standard deviation is greater by sqrt(ν/(ν − 2)). Inputs
// with one key are one input. f must not keep its argument. The same seed gives
// the same answer.
//
// Source: JCGM 101:2008, clause 7; adaptively by 7.9.4: blocks of at least 10⁴ until
// twice the standard deviations of the block averages of mean, u and both ends are
// below the tolerance. Errors: those of Budget.Check, ErrShape, and ErrNotFinite
// when f gives no finite value for some draw.
func Propagate(rng *rand.Rand, f func(x []float64) float64, inputs []Line, opt PropagateOptions) (Propagated, error) {
	if opt.P == 0 {
		opt.P = 0.95
	}
	if !(opt.P > 0 && opt.P < 1) {
		return Propagated{}, fmt.Errorf("coverage probability %v is not between 0 and 1: %w", opt.P, ErrNotPositive)
	}
	if opt.Digits == 0 {
		opt.Digits = 2
	}
	if opt.Draws == 0 {
		opt.Draws = 200_000
		if opt.Adaptive {
			opt.Draws = 10_000_000
		}
	}
	if err := atLeast("draws", opt.Draws, 100); err != nil {
		return Propagated{}, err
	}
	d, err := newDrawers(inputs, opt.Correlation)
	if err != nil {
		return Propagated{}, err
	}
	run := propagation{f: f, d: d, rng: rng, opt: opt, x: make([]float64, len(inputs))}
	if opt.Adaptive {
		return run.adaptive()
	}
	y := make([]float64, opt.Draws)
	const part = 20_000 // between two calls of Progress
	for i := 0; i < len(y); i += part {
		if err := run.fill(y[i:min(i+part, len(y))]); err != nil {
			return Propagated{}, err
		}
		run.tell(min(i+part, len(y)))
	}
	return run.result(y), nil
}

// propagation is one run of Propagate.
type propagation struct {
	f   func([]float64) float64
	d   *drawers
	rng *rand.Rand
	opt PropagateOptions
	x   []float64
}

func (p *propagation) tell(done int) {
	if p.opt.Progress != nil {
		p.opt.Progress(done, p.opt.Draws)
	}
}

// fill writes a drawn result into each element of y; it allocates nothing.
func (p *propagation) fill(y []float64) error {
	for i := range y {
		p.d.draw(p.rng, p.x)
		v := p.f(p.x)
		if notFinite(v) {
			return fmt.Errorf("result %v for the inputs %v: %w", v, p.x, ErrNotFinite)
		}
		y[i] = v
	}
	return nil
}

// adaptive draws blocks until the results are stable.
func (p *propagation) adaptive() (Propagated, error) {
	block := max(leastBlock, int(math.Ceil(100/(1-p.opt.P))))
	var y []float64
	var of [4][]float64 // mean, u, lower and upper end of each block
	sorted := make([]float64, block)
	for {
		y = slices.Grow(y, block)[:len(y)+block]
		last := y[len(y)-block:]
		if err := p.fill(last); err != nil {
			return Propagated{}, err
		}
		copy(sorted, last)
		slices.Sort(sorted)
		lo, hi := symmetric(sorted, p.opt.P)
		for k, v := range []float64{Mean(last), SD(last), lo, hi} {
			of[k] = append(of[k], v)
		}
		p.tell(min(len(y), p.opt.Draws))
		h := float64(len(of[0]))
		stable := h >= 2
		tol := tolerance(SD(y), p.opt.Digits)
		for _, v := range of {
			if h >= 2 && 2*SD(v)/math.Sqrt(h) > tol {
				stable = false
			}
		}
		if stable || len(y)+block > p.opt.Draws {
			r := p.result(y)
			r.Stable = stable
			if !stable {
				r.Warnings = append(r.Warnings, Warning{
					Limit: "JCGM 101:2008 7.9.4: results stable to the tolerance within the draws allowed; draws made", Got: float64(len(y)),
				})
			}
			return r, nil
		}
	}
}

// result sums up the draws y, which it sorts.
func (p *propagation) result(y []float64) Propagated {
	r := Propagated{Draws: len(y), Mean: Mean(y), U: SD(y), P: p.opt.P}
	slices.Sort(y)
	r.sorted = y
	r.Lo, r.Hi = symmetric(y, p.opt.P)
	r.ShortLo, r.ShortHi = shortest(y, p.opt.P)
	r.Tolerance = tolerance(r.U, p.opt.Digits)
	for _, w := range p.d.all {
		if w.shape == StudentT && w.nu <= 2 && w.u > 0 {
			r.Warnings = append(r.Warnings, Warning{
				Limit: "JCGM 101:2008 6.4.9.4: more than two degrees of freedom for a t distribution to have a standard deviation", Got: w.nu,
			})
		}
	}
	return r
}

// symmetric returns the ends of the probabilistically symmetric interval of values
// in rising order: q = pM values within, r = (M − q)/2 below.
//
// Source: JCGM 101:2008, 7.7.2.
func symmetric(y []float64, p float64) (lo, hi float64) {
	q := int(p*float64(len(y)) + 0.5)
	r := (len(y) - q + 1) / 2
	r = min(max(r, 1), len(y)-q)
	return y[r-1], y[r+q-1]
}

// shortest returns the ends of the shortest interval that holds q = pM steps
// between values in rising order.
//
// Source: JCGM 101:2008, 7.7.4.
func shortest(y []float64, p float64) (lo, hi float64) {
	q := min(int(p*float64(len(y))+0.5), len(y)-1)
	best := 0
	for r := range len(y) - q {
		if y[r+q]-y[r] < y[best+q]-y[best] {
			best = r
		}
	}
	return y[best], y[best+q]
}

// tolerance returns half a unit in the last of the given number of significant
// digits of u [unit of u].
//
// Source: JCGM 101:2008, 7.9.2.
func tolerance(u float64, digits int) float64 {
	if u == 0 {
		return 0
	}
	l := math.Floor(math.Log10(u)) - float64(digits-1)
	if math.Round(u/math.Pow(10, l)) >= math.Pow(10, float64(digits)) {
		l++ // 0.0998 is 0.10 to two digits
	}
	return 0.5 * math.Pow(10, l)
}

// An Agreement says whether a first-order budget may be used for an interval.
type Agreement struct {
	DLo       float64 `json:"d_lo"`      // distance of the lower ends [unit of result]
	DHi       float64 `json:"d_hi"`      // distance of the upper ends [unit of result]
	Tolerance float64 `json:"tolerance"` // what is allowed: half a unit in the last digit of u_c [unit of result]
	Agrees    bool    `json:"agrees"`
	Note      string  `json:"note"` // for people; empty when they agree
}

// Agree compares the interval y ± U of a first-order budget with the drawn one, for
// the digits of u_c that matter, 2 when 0.
//
//	d_lo = |y − U_p − y_low|,  d_hi = |y + U_p − y_high|, both at most δ
//
// Source: JCGM 101:2008, 8.1 and 8.2. Errors: those of Budget.Expanded.
func Agree(b Budget, r Propagated, digits int) (Agreement, error) {
	if digits == 0 {
		digits = 2
	}
	e, err := b.Expanded(r.P)
	if err != nil {
		return Agreement{}, err
	}
	a := Agreement{
		DLo: math.Abs(b.Value - e.U - r.Lo), DHi: math.Abs(b.Value + e.U - r.Hi),
		Tolerance: tolerance(b.Combined(), digits),
	}
	a.Agrees = max(a.DLo, a.DHi) <= a.Tolerance
	if !a.Agrees {
		a.Note = fmt.Sprintf("The first-order interval %.6g to %.6g and the drawn one %.6g to %.6g differ by up to %.2g, more than the %.2g allowed (JCGM 101:2008, 8.2): use the drawn one.",
			b.Value-e.U, b.Value+e.U, r.Lo, r.Hi, max(a.DLo, a.DHi), a.Tolerance)
	}
	return a, nil
}
