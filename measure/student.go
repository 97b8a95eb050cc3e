package measure

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// TQuantile returns the quantile t [-] of Student's distribution with nu degrees
// of freedom [-], not necessarily whole, at the cumulative probability p [-] in
// 0 … 1. nu = +Inf gives the normal quantile; nu ≤ 0 gives NaN.
//
// The library's quantile is polished by Newton steps on the distribution
// function, because inverting an incomplete beta function loses digits near p = ½.
//
// Definition.
func TQuantile(p, nu float64) float64 {
	switch {
	case math.IsNaN(p) || math.IsNaN(nu) || nu <= 0 || p < 0 || p > 1:
		return math.NaN()
	case p == 0.5:
		return 0
	case math.IsInf(nu, 1) || nu > 1e10:
		return NormalQuantile(p)
	case p < 0.5:
		return -TQuantile(1-p, nu)
	case p == 1:
		return math.Inf(1)
	}
	d := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}
	t := d.Quantile(p)
	for range 3 {
		step := (tUpper(t, nu) - (1 - p)) / d.Prob(t)
		if math.IsNaN(step) || math.Abs(step) > 0.1*math.Abs(t) {
			break
		}
		t += step
	}
	return t
}

// tUpper returns P(T > t) of Student's distribution for t ≥ 0 [-]. Above a million
// degrees of freedom the beta function loses digits and the normal distribution
// of a corrected argument has more: Abramowitz and Stegun, 26.7.8.
func tUpper(t, nu float64) float64 {
	if nu > 1e6 {
		z := t * (1 - 1/(4*nu)) / math.Sqrt(1+t*t/(2*nu))
		return 0.5 * math.Erfc(z/math.Sqrt2)
	}
	return 0.5 * mathext.RegIncBeta(nu/2, 0.5, nu/(nu+t*t))
}

// TCDF returns the cumulative probability P(T ≤ t) [-] of Student's distribution
// with nu degrees of freedom [-].
//
//	P(T > t) = ½·I_x(ν/2, ½),  x = ν/(ν + t²),  t ≥ 0
//
// Definition.
func TCDF(t, nu float64) float64 {
	switch {
	case math.IsInf(nu, 1) || nu > 1e10:
		return distuv.UnitNormal.CDF(t)
	case math.IsInf(t, 0):
		return distuv.UnitNormal.CDF(t)
	case t >= 0:
		return 1 - tUpper(t, nu)
	}
	return tUpper(-t, nu)
}

// TTwoSided returns the two-sided probability P(|T| > |t|) [-] of Student's
// distribution with nu degrees of freedom [-]; it keeps its digits in the far tail.
//
// Definition.
func TTwoSided(t, nu float64) float64 {
	t = math.Abs(t)
	if math.IsInf(nu, 1) || nu > 1e10 {
		return math.Erfc(t / math.Sqrt2)
	}
	if math.IsInf(t, 1) {
		return 0
	}
	return 2 * tUpper(t, nu)
}

// NormalQuantile returns the quantile [-] of the standard normal distribution at
// the cumulative probability p [-].
//
//	z = √2·erf⁻¹(2p − 1)
//
// Definition.
func NormalQuantile(p float64) float64 {
	return math.Sqrt2 * math.Erfinv(2*p-1)
}

// FUpper returns P(F > f) [-] of the F distribution with d1 and d2 degrees of
// freedom [-]; it keeps its digits in the far tail.
//
//	P = I_x(d2/2, d1/2),  x = d2/(d2 + d1·f)
//
// Definition.
func FUpper(f, d1, d2 float64) float64 {
	if f <= 0 {
		return 1
	}
	if math.IsInf(f, 1) {
		return 0
	}
	return mathext.RegIncBeta(d2/2, d1/2, d2/(d2+d1*f))
}

// CoverageFactor returns k [-] so that ±k·u holds the share p [-] of Student's
// distribution with dof degrees of freedom [-].
//
//	k = t_{(1+p)/2}(ν)
//
// Source: JCGM 100:2008, G.3.
func CoverageFactor(p, dof float64) float64 {
	return TQuantile((1+p)/2, dof)
}
