package engine

import (
	"math"

	"runnel/measure"
)

// A regression finds how wide a quantity lies when it is computed for draws of what is not known, by its slopes on them.
type regression struct {
	z   [][]float64 // draws, a leading 1 in each
	inv [][]float64 // (ZᵀZ)⁻¹; nil with too few draws for slopes
}

// slopeSpare is how many draws more than coefficients there must be for slopes to be found.
const slopeSpare = 4

func newRegression(draws [][]float64) *regression {
	r := &regression{z: make([][]float64, len(draws))}
	for s, d := range draws {
		r.z[s] = append([]float64{1}, d...)
	}
	if len(draws) == 0 || len(draws) < len(r.z[0])+slopeSpare {
		return r
	}
	n := len(r.z[0])
	a := make([][]float64, n)
	for j := range a {
		a[j] = make([]float64, n)
		for k := range a[j] {
			for _, z := range r.z {
				a[j][k] += z[j] * z[k]
			}
		}
	}
	if l, err := cholesky(a); err == nil {
		r.inv = inverse(l)
	}
	return r
}

// half returns the middle of the values v of the draws and the half width of their 95 % interval [as v]. See Bands.
func (r *regression) half(v []float64) (middle, half float64) {
	n := float64(len(v))
	if n < 2 {
		return 0, math.Inf(1)
	}
	if r.inv == nil {
		return measure.Mean(v), measure.CoverageFactor(0.95, n-1) * measure.SD(v) * math.Sqrt(1+1/n)
	}
	b := r.slopes(v)
	ss := 0.0
	for s, z := range r.z {
		d := v[s]
		for j := range b {
			d -= b[j] * z[j]
		}
		ss += d * d
	}
	nu := n - float64(len(b))
	s2 := ss / nu
	rest := s2 * (1 + 1/n)
	u2 := rest
	for j := 1; j < len(b); j++ {
		u2 += max(b[j]*b[j]-s2*r.inv[j][j], 0)
	}
	if u2 == 0 {
		return b[0], 0
	}
	nu *= u2 / rest * (u2 / rest) // +Inf where the slopes leave nothing
	return b[0], measure.CoverageFactor(0.95, min(nu, 1e6)) * math.Sqrt(u2)
}

// slopes returns the least-squares coefficients of v, the constant first [as v].
func (r *regression) slopes(v []float64) []float64 {
	n := len(r.inv)
	zv, b := make([]float64, n), make([]float64, n)
	for s, z := range r.z {
		for j := range zv {
			zv[j] += z[j] * v[s]
		}
	}
	for j := range b {
		for k := range zv {
			b[j] += r.inv[j][k] * zv[k]
		}
	}
	return b
}
