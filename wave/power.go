package wave

import "math"

// power returns x^y [-] for a positive, normal x and a moderate y (the result
// must not overflow). It is 2^(y·log2 x) with tables of 128 logarithms and 64
// powers and short series between their entries; the relative error is below
// 1e-10 for |y·log2 x| ≤ 20, and power(1, y) is 1 exactly. It costs a fraction
// of math.Pow, which is why the joints use it. Definition.
//
// Within 1/32 of x = 1 it is the binomial series to the seventh power,
// which is shorter still.
func power(x, y float64) float64 {
	d := x - 1
	if d > 1./32 || d < -1./32 {
		return exp2(y * log2(x))
	}
	d2 := d * d
	c2 := y * (y - 1) * (1. / 2)
	r34 := (y - 2) * (y - 3) * (1. / 12)
	r56 := (y - 4) * (y - 5) * (1. / 30)
	// Pairs of terms: c2·d²·(1 + (y−2)/3·d), and so on.
	t := 1 + (y-4)*(1./5)*d + d2*r56*(1+(y-6)*(1./7)*d)
	t = 1 + (y-2)*(1./3)*d + d2*r34*t
	return 1 + (y*d + d2*(c2*t))
}

// Power returns x^y [-] for a positive, normal x and a moderate y [-], to within 1e-10 of itself for |y·log2 x| ≤ 20, in a fraction of
// the time of math.Pow: for loops that take many powers. Definition.
func Power(x, y float64) float64 { return power(x, y) }

// Powers returns x^a·y^b [-] for positive, normal x and y in less time than two of Power take, and as exactly. Definition.
func Powers(x, a, y, b float64) float64 { return exp2(a*log2(x) + b*log2(y)) }

const (
	logBits = 7 // mantissa bits that choose an entry of the logarithm table
	expBits = 6 // fraction bits that choose an entry of the power table
)

// logEntry is 1/c and log2 c for c = 1 + i/128.
type logEntry struct{ inv, log float64 }

// The tables of log2 and exp2. They are made once and never written again.
var (
	logTable = makeLogTable()
	expTable = makeExpTable()
)

func makeLogTable() (t [1<<logBits + 1]logEntry) {
	for i := range t {
		c := 1 + float64(i)/(1<<logBits)
		t[i] = logEntry{1 / c, math.Log2(c)}
	}
	return t
}

func makeExpTable() (t [1 << expBits]float64) {
	for i := range t {
		t[i] = math.Exp2(float64(i) / (1 << expBits))
	}
	return t
}

// log2 returns the logarithm of x to base 2 for a positive, normal x.
//
//	log2 x = e + log2 c + ln(1 + r)/ln 2,  x = m·2^e,  r = m/c − 1,  |r| ≤ 1/256
func log2(x float64) float64 {
	const (
		mantissa = 1<<52 - 1
		half     = 1 << (52 - logBits - 1)
		k        = 1 / math.Ln2
	)
	b := math.Float64bits(x)
	m := b & mantissa
	e := int64(b>>52) - 1023
	t := &logTable[(m+half)>>(52-logBits)]
	r := math.Float64frombits(m|1023<<52)*t.inv - 1
	z := r * r
	return (float64(e) + t.log) + (r*k - z*(k/2-r*(k/3)+z*(k/4-r*(k/5))))
}

// exp2 returns 2^x for |x| < 1000.
//
//	2^x = 2^n·2^(j/64)·2^f,  x = n + j/64 + f,  |f| ≤ 1/128
func exp2(x float64) float64 {
	const (
		shift = 3 << (51 - expBits) // adding it rounds to a 64th, kept in the low bits
		c1    = math.Ln2
		c2    = c1 * c1 / 2
		c3    = c2 * c1 / 3
		c4    = c3 * c1 / 4
	)
	t := x + shift
	n := int64(math.Float64bits(t)) << 12 >> 12
	f := x - (t - shift)
	z := f * f
	p := f*c1 + z*(c2+f*c3+z*c4)
	v := expTable[n&(1<<expBits-1)]
	v = math.Float64frombits(math.Float64bits(v) + uint64(n>>expBits)<<52)
	return v + v*p
}

// soundSpeed returns √(γp/ρ) [m/s].
func soundSpeed(gamma, p, rho float64) float64 { return math.Sqrt(gamma * p / rho) }
