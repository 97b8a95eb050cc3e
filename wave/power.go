package wave

import "math"

// power returns x^y [-] for a positive, normal x and a moderate y (the result
// must not overflow). It is 2^(y·log2 x), with log2 from the area-tangent
// series and 2^f from its Taylor series; the relative error is below 1e-12 for
// |y·log2 x| ≤ 100. It costs about a quarter of math.Pow, which is why the
// joints use it. Definition.
func power(x, y float64) float64 {
	return exp2(y * log2(x))
}

// log2 returns the logarithm of x to base 2 for a positive, normal x.
//
//	log2 x = e + (2/ln 2)·(s + s³/3 + s⁵/5 + …),  s = (m−1)/(m+1),  x = m·2^e
//
// with m in [1/√2, √2), so |s| < 0.1716.
func log2(x float64) float64 {
	const (
		mask  = 1<<52 - 1
		root2 = 0x6a09e667f3bcd // mantissa bits of √2
		k     = 2 / math.Ln2
	)
	b := math.Float64bits(x)
	e := int64(b>>52) - 1023
	b &= mask
	// A mantissa above √2 is halved, so that the series argument stays small.
	up := int64(0)
	if b >= root2 {
		up = 1
	}
	m := math.Float64frombits(b | uint64(1023-up)<<52)
	s := (m - 1) / (m + 1)
	z := s * s
	z2 := z * z
	// Two interleaved Horner chains keep the multiplier busy.
	odd := k/3 + z2*(k/7+z2*(k/11+z2*(k/15)))
	even := k + z2*(k/5+z2*(k/9+z2*(k/13)))
	return float64(e+up) + s*(even+z*odd)
}

// exp2 returns 2^x for |x| < 1000.
func exp2(x float64) float64 {
	const (
		shift = 3 << 51 // adding it rounds to an integer, kept in the low bits
		c1    = math.Ln2
		c2    = c1 * c1 / 2
		c3    = c2 * c1 / 3
		c4    = c3 * c1 / 4
		c5    = c4 * c1 / 5
		c6    = c5 * c1 / 6
		c7    = c6 * c1 / 7
		c8    = c7 * c1 / 8
		c9    = c8 * c1 / 9
		c10   = c9 * c1 / 10
	)
	t := x + shift
	n := int64(math.Float64bits(t)) << 12 >> 12
	f := x - (t - shift) // |f| ≤ ½
	z := f * f
	odd := c1 + z*(c3+z*(c5+z*(c7+z*c9)))
	even := 1 + z*(c2+z*(c4+z*(c6+z*(c8+z*c10))))
	return (even + f*odd) * math.Float64frombits(uint64(n+1023)<<52)
}

// soundSpeed returns √(γp/ρ) [m/s].
func soundSpeed(gamma, p, rho float64) float64 { return math.Sqrt(gamma * p / rho) }
