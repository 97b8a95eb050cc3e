package measure

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// householder is the QR factorisation of a weighted design matrix.
// Source: Golub and Van Loan, Matrix Computations (4th ed.), 5.2.2.
type householder struct {
	v    [][]float64 // reflection vectors, one a column
	r    [][]float64 // upper triangle
	norm []float64   // norms of the columns before
	n, p int
}

// newHouseholder factorises the matrix of the given columns of n values.
func newHouseholder(cols [][]twofold, n int) *householder {
	h := &householder{n: n, p: len(cols)}
	a := make([][]float64, h.p)
	for j, col := range cols {
		a[j] = make([]float64, h.n)
		for i, v := range col {
			a[j][i] = v.hi
		}
		h.norm = append(h.norm, math.Sqrt(dot(a[j], a[j])))
	}
	h.r = make([][]float64, h.p)
	for k := range h.p {
		v := make([]float64, h.n)
		copy(v[k:], a[k][k:])
		alpha := math.Sqrt(dot(v, v))
		if v[k] > 0 {
			alpha = -alpha
		}
		v[k] -= alpha
		if s := dot(v, v); s > 0 {
			f := math.Sqrt(2 / s)
			for i := k; i < h.n; i++ {
				v[i] *= f
			}
		}
		h.v = append(h.v, v)
		for j := k; j < h.p; j++ {
			reflect(v[k:], a[j][k:])
		}
		h.r[k] = make([]float64, h.p)
	}
	for i := range h.p {
		for j := i; j < h.p; j++ {
			h.r[i][j] = a[j][i]
		}
	}
	return h
}

// reflect replaces x by x − v(vᵀx).
func reflect(v, x []float64) {
	s := dot(v, x)
	for i := range v {
		x[i] -= s * v[i]
	}
}

// full reports a column that the others make up to within rounding.
func (h *householder) full() error {
	for j := range h.p {
		if !(math.Abs(h.r[j][j]) > 1e-13*h.norm[j]) {
			return fmt.Errorf("unknown %d of %d: %w", j+1, h.p, ErrRank)
		}
	}
	return nil
}

// solve returns r and c with r + Ac = top and Aᵀr = bottom. It overwrites top.
//
//	d = Qᵀ·top,  z = R⁻ᵀ·bottom,  c = R⁻¹(d_1 − z),  r = Q·(z, d_2)
func (h *householder) solve(top, bottom []float64) (r, c []float64) {
	for k, v := range h.v {
		reflect(v[k:], top[k:])
	}
	z, c := make([]float64, h.p), make([]float64, h.p)
	for j := range h.p {
		s := bottom[j]
		for i := range j {
			s -= h.r[i][j] * z[i]
		}
		z[j] = s / h.r[j][j]
	}
	for j := h.p - 1; j >= 0; j-- {
		s := top[j] - z[j]
		for k := j + 1; k < h.p; k++ {
			s -= h.r[j][k] * c[k]
		}
		c[j] = s / h.r[j][j]
	}
	copy(top, z)
	for k := h.p - 1; k >= 0; k-- {
		reflect(h.v[k][k:], top[k:])
	}
	return top, c
}

// leverage returns the diagonal of the hat matrix: the squared norms of the rows
// of the first p columns of Q.
func (h *householder) leverage() []float64 {
	lev := make([]float64, h.n)
	e := make([]float64, h.n)
	for j := range h.p {
		clear(e)
		e[j] = 1
		for k := h.p - 1; k >= 0; k-- {
			reflect(h.v[k][k:], e[k:])
		}
		for i, q := range e {
			lev[i] += q * q
		}
	}
	return lev
}

// chiUpper returns P(χ² > x) [-] with nu degrees of freedom.
func chiUpper(x, nu float64) float64 {
	return mathext.GammaIncRegComp(nu/2, x/2)
}
