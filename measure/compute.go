package measure

import (
	"fmt"
	"math"
)

// nonlinearShare is the share of u_c [-] above which the curvature of the model
// over ±u draws a warning; 10 % moves the printed second digit.
const nonlinearShare = 0.1

// Compute evaluates f at the estimates of inputs and returns the first-order
// budget of the result, with sensitivities by central difference.
//
//	c_i = [8(f(x_i+h) − f(x_i−h)) − (f(x_i+2h) − f(x_i−2h))]/12h,  h = 10⁻⁴·max(|x_i|, u_i)
//
// The Sensitivity fields of inputs are not read; their other fields are kept. An
// input whose U is 0 keeps its sensitivity too. Where the model curves so much over
// ±u_i that the first order is in doubt, the budget carries a warning to use
// MonteCarlo. f must not keep its argument.
//
// Source: JCGM 100:2008, 5.1.2 and 5.1.3; the difference formula is the five-point
// one of Abramowitz and Stegun, table 25.2. Errors: ErrNotFinite when f has no
// finite value at or near the estimates, and those of Budget.Check.
func Compute(f func(x []float64) float64, inputs ...Line) (Budget, error) {
	return ComputeWith(f, nil, inputs, nil)
}

// ComputeWith is Compute with correlated inputs and, when gradient is not nil,
// with the sensitivities that it writes into dst [unit of result / unit of input].
func ComputeWith(f func(x []float64) float64, gradient func(x, dst []float64), inputs []Line, correlation []Pair) (Budget, error) {
	x := make([]float64, len(inputs))
	for i, l := range inputs {
		x[i] = l.Estimate
	}
	b := Budget{Lines: append([]Line(nil), inputs...), Correlation: correlation}
	for i := range b.Lines {
		b.Lines[i].Sensitivity = 0
	}
	if err := b.Check(); err != nil {
		return Budget{}, err
	}
	b.Value = f(x)
	if notFinite(b.Value) {
		return Budget{}, fmt.Errorf("result at the estimates %v is %v: %w", x, b.Value, ErrNotFinite)
	}
	c := make([]float64, len(x))
	if gradient != nil {
		gradient(x, c)
	} else {
		for i, l := range b.Lines {
			c[i] = slope(f, x, i, l.U)
		}
	}
	for i := range b.Lines {
		b.Lines[i].Sensitivity = c[i]
	}
	if err := b.Check(); err != nil {
		return Budget{}, err
	}
	b.warnCurved(f, x)
	return b, nil
}

// slope returns the derivative of f to x[i] by the five-point formula; x is left
// as it was.
func slope(f func([]float64) float64, x []float64, i int, u float64) float64 {
	at := x[i]
	scale := max(math.Abs(at), u)
	if scale == 0 {
		scale = 1
	}
	// A step that adds to x without rounding: the difference is then exact.
	h := (at + 1e-4*scale) - at
	d := func(k float64) float64 {
		x[i] = at + k*h
		return f(x)
	}
	c := (8*(d(1)-d(-1)) - (d(2) - d(-2))) / (12 * h)
	x[i] = at
	return c
}

// warnCurved compares the model at x_i ± u_i with its straight line.
func (b *Budget) warnCurved(f func([]float64) float64, x []float64) {
	sum := 0.0
	for i, l := range b.Lines {
		if l.U == 0 {
			continue
		}
		at := x[i]
		x[i] = at + l.U
		up := f(x)
		x[i] = at - l.U
		down := f(x)
		x[i] = at
		if bend := (up + down - 2*b.Value) / 2; !notFinite(bend) {
			sum += bend * bend
		} else {
			sum = math.Inf(1)
		}
	}
	if u := b.Combined(); math.Sqrt(sum) > nonlinearShare*u && sum > 0 {
		b.Warnings = append(b.Warnings, Warning{
			Limit: "JCGM 100:2008 5.1.2 note: curvature of the model over ±u below a tenth of u_c; use Monte Carlo; share", Got: finiteOr(math.Sqrt(sum)/u, math.MaxFloat64),
		})
	}
}

func finiteOr(v, other float64) float64 {
	if notFinite(v) {
		return other
	}
	return v
}

// SecondOrder returns the combined standard uncertainty [unit of result] with the
// terms of next higher order for symmetric, uncorrelated inputs.
//
//	u² = Σ(c_i·u_i)² + Σ_i Σ_j [½·f_ij² + f_i·f_ijj]·u_i²·u_j²
//
// with the derivatives by differences over ±u/10. Source: JCGM 100:2008, 5.1.2, note.
// The formula as printed is used for i = j too, where it is right for normal inputs.
func SecondOrder(f func(x []float64) float64, inputs ...Line) (float64, error) {
	b, err := Compute(f, inputs...)
	if err != nil {
		return 0, err
	}
	x := make([]float64, len(inputs))
	for i, l := range inputs {
		x[i] = l.Estimate
	}
	const h = 0.1
	at := func(i int, a float64, j int, c float64) float64 {
		xi, xj := x[i], x[j]
		x[i] += a * h * inputs[i].U
		x[j] += c * h * inputs[j].U
		v := f(x)
		x[i], x[j] = xi, xj
		return v
	}
	v := b.Combined() * b.Combined()
	for i := range x {
		for j := range x {
			if inputs[i].U == 0 || inputs[j].U == 0 {
				continue
			}
			// In units of u: f_ij·u_i·u_j and f_i·f_ijj·u_i²·u_j².
			fij := (at(i, 1, j, 1) - at(i, 1, j, -1) - at(i, -1, j, 1) + at(i, -1, j, -1)) / 4
			fijj := (at(i, 1, j, 1) - 2*at(i, 1, j, 0) + at(i, 1, j, -1) -
				at(i, -1, j, 1) + 2*at(i, -1, j, 0) - at(i, -1, j, -1)) / 2
			if i == j {
				fij = at(i, 1, j, 0) - 2*b.Value + at(i, -1, j, 0)
				fijj = (at(i, 2, j, 0) - 2*at(i, 1, j, 0) + 2*at(i, -1, j, 0) - at(i, -2, j, 0)) / 2
			}
			fij, fijj = fij/(h*h), fijj/(h*h*h)
			v += fij*fij/2 + b.Lines[i].Contribution()*fijj
		}
	}
	if notFinite(v) || v < 0 {
		return 0, fmt.Errorf("second-order variance is %v: %w", v, ErrNotFinite)
	}
	return math.Sqrt(v), nil
}
