package engine

import "sort"

// A monotone is a piecewise cubic through points that does not overshoot them.
// Source: Fritsch & Carlson, SIAM J. Numer. Anal. 17 (1980) 238, with the harmonic-mean slopes of Fritsch & Butland (1984).
type monotone struct {
	x, y, d []float64
}

func newMonotone(x, y []float64) *monotone {
	n := len(x)
	m := &monotone{x: x, y: y, d: make([]float64, n)}
	if n < 2 {
		return m
	}
	slope := func(i int) float64 { return (y[i+1] - y[i]) / (x[i+1] - x[i]) }
	m.d[0], m.d[n-1] = slope(0), slope(n-2)
	for i := 1; i < n-1; i++ {
		a, b := slope(i-1), slope(i)
		if a*b <= 0 {
			continue
		}
		ha, hb := x[i]-x[i-1], x[i+1]-x[i]
		w1, w2 := 2*hb+ha, hb+2*ha
		m.d[i] = (w1 + w2) / (w1/a + w2/b)
	}
	return m
}

// at returns the value at v; beyond the ends it stays at the end's value.
func (m *monotone) at(v float64) float64 {
	n := len(m.x)
	switch {
	case n == 0:
		return 0
	case v <= m.x[0]:
		return m.y[0]
	case v >= m.x[n-1]:
		return m.y[n-1]
	}
	i := sort.SearchFloat64s(m.x, v) - 1
	h := m.x[i+1] - m.x[i]
	t := (v - m.x[i]) / h
	t2, t3 := t*t, t*t*t
	return (2*t3-3*t2+1)*m.y[i] + (t3-2*t2+t)*h*m.d[i] + (3*t2-2*t3)*m.y[i+1] + (t3-t2)*h*m.d[i+1]
}
