package measure

import (
	"math"
	"slices"
)

// Mean returns the arithmetic mean of x [unit of x], in two passes so that a
// large common offset costs no digits. It is NaN when x is empty.
//
//	m = m0 + Σ(x_i − m0)/n,  m0 = Σx_i/n
//
// Definition. The second pass removes the rounding of the first.
func Mean(x []float64) float64 {
	n := float64(len(x))
	m := kahan(x, 0) / n
	return m + kahan(x, m)/n
}

// kahan returns Σ(x_i − shift) with Neumaier's compensation [unit of x].
func kahan(x []float64, shift float64) float64 {
	sum, c := 0.0, 0.0
	for _, v := range x {
		v -= shift
		t := sum + v
		if math.Abs(sum) >= math.Abs(v) {
			c += (sum - t) + v
		} else {
			c += (v - t) + sum
		}
		sum = t
	}
	return sum + c
}

// SumSquares returns the sum of squared deviations of x from its mean [unit of x
// squared], corrected for the rounding of the mean.
//
//	S = Σd_i² − (Σd_i)²/n,  d_i = x_i − m
//
// Definition.
func SumSquares(x []float64) float64 {
	m := Mean(x)
	s, d1 := 0.0, 0.0
	for _, v := range x {
		d := v - m
		s += d * d
		d1 += d
	}
	if len(x) == 0 {
		return 0
	}
	return max(0, s-d1*d1/float64(len(x)))
}

// SD returns the sample standard deviation of x [unit of x], with divisor n − 1.
// It is NaN for fewer than two values.
//
//	s = sqrt(S/(n − 1))
//
// Source: JCGM 100:2008, 4.2.2, equation (4).
func SD(x []float64) float64 {
	if len(x) < 2 {
		return math.NaN()
	}
	return math.Sqrt(SumSquares(x) / float64(len(x)-1))
}

// Median returns the middle value of x [unit of x], the mean of the two middle
// ones when their number is even, and NaN when x is empty. x is not changed.
//
// Definition.
func Median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	return medianInPlace(slices.Clone(x))
}

// medianInPlace sorts x and returns its median; x must not be empty.
func medianInPlace(x []float64) float64 {
	slices.Sort(x)
	h := len(x) / 2
	if len(x)%2 == 1 {
		return x[h]
	}
	return x[h-1] + (x[h]-x[h-1])/2
}

// sigmaPerMAD turns a median absolute deviation into the standard deviation of a
// normal distribution [-]: 1/Φ⁻¹(3/4).
const sigmaPerMAD = 1.482602218505602

// MAD returns the median absolute deviation of x from its median [unit of x],
// scaled so that it estimates the standard deviation of normal data.
//
//	s = 1.4826·median|x_i − median(x)|
//
// Source: Hampel, J. Am. Stat. Assoc. 69 (1974) 383.
func MAD(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	d := slices.Clone(x)
	m := medianInPlace(d)
	for i, v := range d {
		d[i] = math.Abs(v - m)
	}
	return sigmaPerMAD * medianInPlace(d)
}

// Quantile returns the p-quantile of x [unit of x] for p in 0 … 1 [-], by linear
// interpolation between order statistics at 1 + (n − 1)p.
//
// Source: Hyndman and Fan, Am. Stat. 50 (1996) 361, definition 7.
func Quantile(x []float64, p float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	s := slices.Clone(x)
	slices.Sort(s)
	return quantileSorted(s, p)
}

// quantileSorted is Quantile of values already in rising order.
func quantileSorted(s []float64, p float64) float64 {
	h := float64(len(s)-1) * min(max(p, 0), 1)
	i := int(h)
	if i+1 >= len(s) {
		return s[len(s)-1]
	}
	return s[i] + (h-float64(i))*(s[i+1]-s[i])
}
