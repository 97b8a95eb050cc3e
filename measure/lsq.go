package measure

import (
	"fmt"
	"math"
)

// A pair of float64 hi + lo carries some 32 digits where one carries 16.
type twofold struct{ hi, lo float64 }

// plus returns a + b.
func (a twofold) plus(b twofold) twofold {
	s := a.hi + b.hi
	t := s - a.hi
	e := (a.hi - (s - t)) + (b.hi - t) + a.lo + b.lo
	hi := s + e
	return twofold{hi, e - (hi - s)}
}

// times returns a·b.
func (a twofold) times(b twofold) twofold {
	p := a.hi * b.hi
	e := math.FMA(a.hi, b.hi, -p) + a.hi*b.lo + a.lo*b.hi
	hi := p + e
	return twofold{hi, e - (hi - p)}
}

// minus returns a − b.
func (a twofold) minus(b twofold) twofold { return a.plus(twofold{-b.hi, -b.lo}) }

// A Fit is the solution of a linear least-squares problem.
type Fit struct {
	Coef []float64 // coefficients [unit of y / unit of column]
	S    float64   // residual standard deviation [unit of y]; with U given, of unit weight: the Birge ratio [-]
	Dof  float64   // n − p, degrees of freedom of S [-]
	SS   float64   // weighted sum of squared residuals [unit of y squared, or -]
	R2   float64   // share of the scatter of y about its mean (about 0 without a constant) explained [-]

	Residuals []float64 // y − fitted [unit of y]
	Leverage  []float64 // diagonal of the hat matrix, how much each value pulls its own fitted one [-]
	Scale     float64   // factor from the unscaled covariance to that of Coef, as a standard deviation [unit of y, or -]
	Warnings  []Warning

	lo    []float64   // what Coef lacks to twice the digits
	r     [][]float64 // upper triangle R of the weighted design
	known bool        // uncertainties of y were given
}

// FitOptions tells a fit what is known of the values.
type FitOptions struct {
	// U are the standard uncertainties of y [unit of y], each positive; nil means
	// equal and unknown, to be found from the residuals.
	U []float64
	// NoConstant says that the model has no constant term, for R2.
	NoConstant bool
}

// FitLinear fits y = Σ_j c_j·columns_j by weighted least squares: Householder QR,
// and refinement with residuals in twice the digits.
//
// The covariance of the coefficients is s²(XᵀX)⁻¹ when the uncertainties of y are
// unknown. When they are given it is (XᵀWX)⁻¹ with W = 1/U², and is widened by the
// Birge ratio where that exceeds 1, since then the values scatter more than their
// uncertainties say; a ratio beyond the 95 % point draws a warning.
//
// Sources: Björck, Numerical Methods for Least Squares Problems (1996), 2.4 and
// 2.9; Birge, Phys. Rev. 40 (1932) 207. Errors: ErrTooFew for fewer values than
// unknowns, ErrRank, ErrNotFinite, ErrNotPositive for an uncertainty.
func FitLinear(columns [][]float64, y []float64, opt FitOptions) (Fit, error) {
	wide := make([][]twofold, len(columns))
	for j, col := range columns {
		if len(col) != len(y) {
			panic(fmt.Sprintf("measure: column %d has %d values and y has %d", j+1, len(col), len(y)))
		}
		if err := finite(fmt.Sprintf("column %d", j+1), col); err != nil {
			return Fit{}, err
		}
		wide[j] = make([]twofold, len(col))
		for i, v := range col {
			wide[j][i].hi = v
		}
	}
	return fitLinear(wide, y, opt)
}

// fitLinear is FitLinear with columns in twice the digits.
func fitLinear(cols [][]twofold, y []float64, opt FitOptions) (Fit, error) {
	n, p := len(y), len(cols)
	f := Fit{known: opt.U != nil, Dof: float64(n - p)}
	if err := atLeast("values for "+plural(p, "unknown"), n, max(1, p)); err != nil {
		return f, err
	}
	if err := finite("y", y); err != nil {
		return f, err
	}
	w, err := weights(n, opt.U)
	if err != nil {
		return f, err
	}
	a, b := weighted(cols, y, w)
	h := newHouseholder(a, n)
	if err := h.full(); err != nil {
		return f, err
	}
	f.refine(h, a, b, w)
	f.r = h.r
	f.summarise(h, y, w, opt)
	return f, nil
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// weights returns 1/U, or ones.
func weights(n int, u []float64) ([]float64, error) {
	w := make([]float64, n)
	if u != nil && len(u) != n {
		panic("measure: uncertainties and values differ in number")
	}
	for i := range w {
		w[i] = 1
		if u != nil {
			if !(u[i] > 0) || math.IsInf(u[i], 1) {
				return nil, fmt.Errorf("standard uncertainty of value %d is %v: %w", i+1, u[i], ErrNotPositive)
			}
			w[i] = 1 / u[i]
		}
	}
	return w, nil
}

// refine solves for the coefficients c and the weighted residuals r together, then
// for corrections to both from defects in twice the digits: of r + Ac = b and of
// Aᵀr = 0, A and b being the weighted columns and values. Correcting c alone would
// leave an error that grows with the residuals.
//
// Source: Björck, BIT 7 (1967) 257.
func (f *Fit) refine(h *householder, a [][]twofold, b []twofold, w []float64) {
	n, p := len(b), len(a)
	c, r := make([]twofold, p), make([]twofold, n)
	top, bottom := make([]float64, n), make([]float64, p)
	for range 6 {
		for i := range n {
			d := b[i].minus(r[i])
			for j := range p {
				d = d.minus(a[j][i].times(c[j]))
			}
			top[i] = d.hi
		}
		for j := range p {
			d := twofold{}
			for i := range n {
				d = d.minus(a[j][i].times(r[i]))
			}
			bottom[j] = d.hi
		}
		dr, dc := h.solve(top, bottom)
		for i := range n {
			r[i] = r[i].plus(twofold{hi: dr[i]})
		}
		for j := range p {
			c[j] = c[j].plus(twofold{hi: dc[j]})
		}
	}
	f.Coef, f.lo = make([]float64, p), make([]float64, p)
	for j := range c {
		f.Coef[j], f.lo[j] = c[j].hi, c[j].lo
	}
	f.Residuals = make([]float64, n)
	for i := range r {
		f.Residuals[i] = r[i].hi / w[i]
	}
}

// weighted returns the columns and values, each row multiplied by w_i, in twice the
// digits.
func weighted(cols [][]twofold, y, w []float64) (a [][]twofold, b []twofold) {
	a, b = make([][]twofold, len(cols)), make([]twofold, len(y))
	for j, col := range cols {
		a[j] = make([]twofold, len(col))
		for i, v := range col {
			a[j][i] = v.times(twofold{hi: w[i]})
		}
	}
	for i, v := range y {
		b[i] = twofold{hi: v}.times(twofold{hi: w[i]})
	}
	return a, b
}

// summarise computes what follows from the residuals.
func (f *Fit) summarise(h *householder, y, w []float64, opt FitOptions) {
	f.Leverage = h.leverage()
	wy := make([]float64, len(y))
	sumW := 0.0
	for i, r := range f.Residuals {
		f.SS += w[i] * r * w[i] * r
		wy[i] = w[i] * w[i] * y[i]
		sumW += w[i] * w[i]
	}
	mean := kahan(wy, 0) / sumW
	if opt.NoConstant {
		mean = 0
	}
	total := 0.0
	for i := range y {
		d := w[i] * (y[i] - mean)
		total += d * d
	}
	if total > 0 {
		f.R2 = 1 - f.SS/total
	}
	if f.Dof > 0 {
		f.S = math.Sqrt(f.SS / f.Dof)
	}
	f.Scale = f.S
	if f.known {
		f.Scale = max(1, f.S)
		if f.Dof > 0 && chiUpper(f.SS, f.Dof) < 0.05 {
			f.Warnings = append(f.Warnings, Warning{
				Limit: "Birge (1932): residuals within the uncertainties given, ratio near 1; ratio", Got: f.S,
			})
		}
	} else if f.Dof == 0 {
		f.Warnings = append(f.Warnings, Warning{Limit: "more values than unknowns, to know the scatter; spare values", Got: 0})
	}
}

// Variance returns the variance of Σ_j g_j·c_j [unit of the sum squared].
//
//	u² = scale²·|R⁻ᵀg|²
//
// Source: Björck (1996), 2.8.1.
func (f Fit) Variance(g []float64) float64 {
	v := f.halfVariance(g)
	return f.Scale * f.Scale * dot(v, v)
}

// halfVariance returns R⁻ᵀg: the sensitivities of Σg_j·c_j to independent errors
// of standard deviation Scale.
func (f Fit) halfVariance(g []float64) []float64 {
	v := make([]float64, len(g))
	for j := range g {
		s := g[j]
		for i := range j {
			s -= f.r[i][j] * v[i]
		}
		v[j] = s / f.r[j][j]
	}
	return v
}

// Covariance returns the covariance matrix of the coefficients.
//
// Source: as Variance.
func (f Fit) Covariance() [][]float64 {
	p := len(f.Coef)
	half := make([][]float64, p)
	for j := range half {
		g := make([]float64, p)
		g[j] = 1
		half[j] = f.halfVariance(g)
	}
	c := make([][]float64, p)
	for i := range c {
		c[i] = make([]float64, p)
		for j := range c[i] {
			c[i][j] = f.Scale * f.Scale * dot(half[i], half[j])
		}
	}
	return c
}
