package measure

import (
	"fmt"
	"math"
	"math/big"
	"slices"
	"strconv"
)

// A Poly is a polynomial fitted by weighted least squares. It is held in Chebyshev
// polynomials of a scaled argument, where its coefficients are well determined.
type Poly struct {
	Fit            // coefficients of T_0, T_1, … of (x − Middle)/Half
	Order  int     // highest power
	Middle float64 // middle of the scaled argument [unit of x]
	Half   float64 // half its width, a power of two [unit of x]
	Min    float64 // least x of the data [unit of x]
	Max    float64 // greatest x of the data [unit of x]
	AICc   float64 // Akaike's criterion, corrected for short data; less is better [-]
	Press  float64 // root mean square of leave-one-out residuals, weighted as S [unit of y, or -]
}

// FitPoly fits a polynomial of the given order in x [unit of x] to y [unit of y].
//
//	y = Σ_k c_k·T_k((x − Middle)/Half)
//
// See FitLinear for weights and covariance. Sources: Forsythe, J. SIAM 5 (1957) 74,
// for orthogonal bases; Hurvich and Tsai, Biometrika 76 (1989) 297, for AICc; Allen,
// Technometrics 16 (1974) 125, for leave-one-out residuals. Errors: those of
// FitLinear.
func FitPoly(x, y []float64, order int, opt FitOptions) (Poly, error) {
	if len(x) != len(y) || order < 0 {
		panic(fmt.Sprintf("measure: polynomial of order %d through %d x and %d y", order, len(x), len(y)))
	}
	if opt.NoConstant {
		panic("measure: a polynomial has a constant; use FitLinear for one without")
	}
	p := Poly{Order: order, Half: 1}
	if err := finite("x", x); err != nil {
		return p, err
	}
	if len(x) > 0 {
		p.Min, p.Max = slices.Min(x), slices.Max(x)
		p.scale()
	}
	cols := make([][]twofold, order+1)
	for k := range cols {
		cols[k] = make([]twofold, len(x))
	}
	t := make([]twofold, order+1)
	for i, v := range x {
		p.chebyshev(v, t)
		for k := range t {
			cols[k][i] = t[k]
		}
	}
	var err error
	p.Fit, err = fitLinear(cols, y, opt)
	if err != nil {
		return p, fmt.Errorf("polynomial of order %d: %w", order, err)
	}
	p.evidence(opt.U)
	return p, nil
}

// scale chooses a middle of few bits and a half-width that is a power of two, so
// that the scaled argument of each datum is exact.
func (p *Poly) scale() {
	half := (p.Max - p.Min) / 2
	if half == 0 {
		half = max(1, math.Abs(p.Max))
	}
	_, e := math.Frexp(half)
	p.Half = math.Ldexp(1, e)
	unit := p.Half / 8
	p.Middle = math.Round((p.Min+(p.Max-p.Min)/2)/unit) * unit
}

// chebyshev fills t with T_0 … of the scaled x.
func (p *Poly) chebyshev(x float64, t []twofold) {
	d := twofold{hi: x}.minus(twofold{hi: p.Middle})
	u := twofold{d.hi / p.Half, d.lo / p.Half}
	u2 := twofold{2 * u.hi, 2 * u.lo}
	for k := range t {
		switch k {
		case 0:
			t[k] = twofold{hi: 1}
		case 1:
			t[k] = u
		default:
			t[k] = u2.times(t[k-1]).minus(t[k-2])
		}
	}
}

// evidence computes the criteria by which orders are compared.
func (p *Poly) evidence(u []float64) {
	n := float64(len(p.Residuals))
	k := float64(p.Order + 2) // the coefficients and the variance
	p.AICc = math.Inf(1)
	if n > k+1 {
		p.AICc = n*math.Log(p.SS/n) + 2*k + 2*k*(k+1)/(n-k-1)
	}
	sum := 0.0
	for i, r := range p.Residuals {
		if u != nil {
			r /= u[i]
		}
		d := r / (1 - p.Leverage[i])
		sum += d * d
	}
	p.Press = math.Sqrt(sum / n)
}

// At returns the polynomial at x [unit of y].
//
// Definition.
func (p Poly) At(x float64) float64 {
	t := make([]twofold, len(p.Coef))
	p.chebyshev(x, t)
	sum := twofold{}
	for k := range t {
		sum = sum.plus(t[k].times(twofold{p.Coef[k], p.lo[k]}))
	}
	return sum.hi
}

// U returns the standard uncertainty of the fitted curve at x [unit of y], from the
// covariance of the coefficients.
//
// Source: JCGM 100:2008, H.3.5.
func (p Poly) U(x float64) float64 {
	return math.Sqrt(p.Variance(p.basis(x)))
}

// basis returns the Chebyshev polynomials at x.
func (p Poly) basis(x float64) []float64 {
	t := make([]twofold, len(p.Coef))
	p.chebyshev(x, t)
	g := make([]float64, len(t))
	for k := range t {
		g[k] = t[k].hi
	}
	return g
}

// Outside returns a warning when x lies beyond the data, where a polynomial says
// nothing, and nil otherwise.
func (p Poly) Outside(x float64) []Warning {
	if x >= p.Min && x <= p.Max {
		return nil
	}
	return []Warning{{
		Limit: fmt.Sprintf("calibration data from %.6g to %.6g, no extrapolation", p.Min, p.Max), Got: x,
	}}
}

// Lines returns the uncertainty of the fitted curve at x as lines of a budget,
// independent of each other and keyed by key, so that two readings on one
// calibration know what they share.
//
//	u² = Σ_j (Scale·v_j)²,  v = R⁻ᵀ·T(x)
//
// Source: as Fit.Variance.
func (p Poly) Lines(key, unit string, x float64) []Line {
	v := p.halfVariance(p.basis(x))
	dof := p.Dof
	if p.known {
		dof = math.Inf(1)
	}
	lines := make([]Line, len(v))
	for j := range v {
		lines[j] = Line{
			Quantity: "calibration, part " + strconv.Itoa(j+1), Key: key + " part " + strconv.Itoa(j+1), Pool: key, Unit: unit,
			Kind: TypeA, Distribution: Normal, U: p.Scale, Dof: dof, Sensitivity: v[j],
		}
	}
	return lines
}

// Monomial returns the coefficients b_k of x^k [unit of y / unit of x^k] and their
// standard uncertainties. Far from x = 0 they are poorly determined each for
// itself, however good the curve; use At and U to compute with.
//
// Definition; the change of basis is carried out with 256 bits.
func (p Poly) Monomial() (b, u []float64) {
	m := p.monomials()
	n := len(p.Coef)
	b, u = make([]float64, n), make([]float64, n)
	for i := range n {
		sum := bigOf(0)
		row := make([]float64, n)
		for k := range n {
			row[k], _ = m[k][i].Float64()
			c := bigOf(p.Coef[k])
			c.Add(c, bigOf(p.lo[k]))
			sum.Add(sum, c.Mul(c, m[k][i]))
		}
		b[i], _ = sum.Float64()
		u[i] = math.Sqrt(p.Variance(row))
	}
	return b, u
}

func bigOf(v float64) *big.Float { return new(big.Float).SetPrec(256).SetFloat64(v) }

// monomials returns, for each Chebyshev polynomial, its coefficients of x^i.
func (p Poly) monomials() [][]*big.Float {
	n := len(p.Coef)
	m := make([][]*big.Float, n)
	for k := range m {
		m[k] = make([]*big.Float, n)
		for i := range m[k] {
			m[k][i] = bigOf(0)
		}
	}
	m[0][0] = bigOf(1)
	slope := bigOf(1 / p.Half) // exact: a power of two
	shift := bigOf(-p.Middle / p.Half)
	// mulU adds f·u(x)·from to to.
	mulU := func(to, from []*big.Float, f float64) {
		for i := range n {
			t := new(big.Float).Mul(from[i], shift)
			to[i].Add(to[i], t.Mul(t, bigOf(f)))
			if i+1 < n {
				t = new(big.Float).Mul(from[i], slope)
				to[i+1].Add(to[i+1], t.Mul(t, bigOf(f)))
			}
		}
	}
	for k := 1; k < n; k++ {
		if k == 1 {
			mulU(m[1], m[0], 1)
			continue
		}
		mulU(m[k], m[k-1], 2)
		for i := range n {
			m[k][i].Sub(m[k][i], m[k-2][i])
		}
	}
	return m
}

// A Criterion says by what evidence the order of a polynomial is chosen.
type Criterion string

// The criteria for FitOrder.
const (
	ByAICc  Criterion = "AICc"
	ByPress Criterion = "leave-one-out"
)

// FitOrder fits polynomials of order 0 to most and returns the chosen one and all,
// to be shown. By AICc, the lowest order within 2 of the least; by leave-one-out,
// the lowest within 2 % of the least root mean square. Orders that the data cannot
// carry are left out.
//
// Source: Burnham and Anderson, Model Selection and Multimodel Inference (2002),
// 2.6, for the margin of 2; that of leave-one-out is common practice, no source.
// Errors: those of FitPoly for order 0.
func FitOrder(x, y []float64, most int, by Criterion, opt FitOptions) (chosen Poly, all []Poly, err error) {
	for order := 0; order <= most; order++ {
		p, err := FitPoly(x, y, order, opt)
		if err != nil {
			if order == 0 {
				return p, nil, err
			}
			break
		}
		if order > 0 && math.IsInf(p.AICc, 1) {
			break
		}
		all = append(all, p)
	}
	score := func(p Poly) float64 {
		if by == ByPress {
			return math.Log(p.Press) / math.Log(1.02)
		}
		return p.AICc / 2
	}
	least := math.Inf(1)
	for _, p := range all {
		least = min(least, score(p))
	}
	for _, p := range all {
		if score(p) <= least+1 {
			return p, all, nil
		}
	}
	return all[0], all, nil
}
