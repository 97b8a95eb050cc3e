package passage

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

const (
	pitchRows  = 160 // rows, and columns, that are looked at [-]
	leastPitch = 6   // [pixels]
	clearPeak  = 0.15
)

// gridPitch returns the pitch of a printed grid [pixels] and its relative standard uncertainty, from the distances at which the thin
// lines along rows and along columns repeat (autocorrelation). ok is false when they do not, or not alike both ways within 2 %: then
// the picture was taken aslant. A grid turned by up to about 8° is allowed for.
func (g *grey) gridPitch() (pitch, u float64, ok bool) {
	lines := g.thinLines()
	px, ux, ok1 := lines.repeat(false)
	py, uy, ok2 := lines.repeat(true)
	if !ok1 || !ok2 || math.Abs(px/py-1) > 0.02 {
		return 0, 0, false
	}
	return (px + py) / 2, math.Hypot(math.Hypot(ux, uy)/2, math.Abs(px/py-1)/2), true
}

// thinLines returns what closing takes away: lines thinner than about a hundredth of the picture.
func (g *grey) thinLines() *grey {
	c := &grey{g.w, g.h, append([]float32(nil), g.v...)}
	c.closeLines(max(2, min(g.w, g.h)/150))
	for i := range c.v {
		c.v[i] = float32(math.Abs(float64(c.v[i] - g.v[i])))
	}
	return c
}

// repeat returns the pitch along rows, or along columns, corrected for the turn of the grid.
func (g *grey) repeat(columns bool) (pitch, u float64, ok bool) {
	n, m := g.w, g.h
	at := func(i, j int) float64 { return float64(g.v[j*g.w+i]) }
	if columns {
		n, m = g.h, g.w
		at = func(i, j int) float64 { return float64(g.v[i*g.w+j]) }
	}
	step := max(1, m/pitchRows)
	zero := correlate(n, m, step, 0, at)
	tau, times, ok := firstPeak(zero[:n/2])
	if !ok {
		return 0, 0, false
	}
	pitch = tau / float64(times)
	// Lines that lean by a move sideways by a·gap between rows a gap apart.
	gap := max(1, int(pitch/3))
	lean := correlate(n, m, step, gap, at)
	best := 0
	reach := int(pitch / 3)
	for k := -reach; k <= reach; k++ {
		if lean[(k+len(lean))%len(lean)] > lean[(best+len(lean))%len(lean)] {
			best = k
		}
	}
	slant := math.Atan2(float64(best), float64(gap))
	if math.Abs(slant) > 0.14+1/float64(gap) {
		slant = 0
	}
	pitch *= math.Cos(slant)
	return pitch, math.Hypot(0.3/tau, math.Abs(math.Sin(slant))*0.5/float64(gap)), true
}

// correlate returns how alike rows are to the rows a gap further on, shifted by each distance (negative ones at the end), over every
// step-th row, by way of the Fourier transform.
func correlate(n, m, step, gap int, at func(i, j int) float64) []float64 {
	size := 1
	for size < 2*n {
		size *= 2
	}
	f := fourier.NewFFT(size)
	sum := make([]complex128, size/2+1)
	a, b := make([]float64, size), make([]float64, size)
	mean := make([]float64, m)
	for j := range m {
		for i := range n {
			mean[j] += at(i, j) / float64(n)
		}
	}
	// Rows that run along a line of the grid say nothing of those across it.
	usual := 2 * median(append([]float64(nil), mean...))
	fill := func(to []float64, j int) {
		for i := range n {
			to[i] = at(i, j) - mean[j]
		}
	}
	for j := 0; j+gap < m; j += step {
		if mean[j] > usual || mean[j+gap] > usual {
			continue
		}
		fill(a, j)
		fill(b, j+gap)
		x, y := f.Coefficients(nil, a), f.Coefficients(nil, b)
		for k := range sum {
			sum[k] += complex(real(x[k]), -imag(x[k])) * y[k]
		}
	}
	out := f.Sequence(nil, sum)
	for k := range n {
		// A longer shift leaves fewer pairs.
		scale := float64(n) / float64(n-k)
		out[k] *= scale
		if k > 0 {
			out[size-k] *= scale
		}
	}
	return out
}

// firstPeak returns the farthest clear peak that is a whole multiple of the first one, refined between samples, and which multiple it is.
func firstPeak(r []float64) (tau float64, times int, ok bool) {
	best := 0
	for k := leastPitch; k < len(r)-1; k++ {
		if r[k] >= r[k-1] && r[k] >= r[k+1] && (best == 0 || r[k] > r[best]) {
			best = k
		}
	}
	if best == 0 || r[0] <= 0 || r[best] < clearPeak*r[0] {
		return 0, 0, false
	}
	// The strongest may be a multiple of the pitch itself.
	first := best
	for d := 2; best/d >= leastPitch; d++ {
		if k := peakNear(r, float64(best)/float64(d), 2); k > 0 && r[k] > 0.6*r[best] {
			first = k
		}
	}
	one := refined(r, first)
	tau, times = one, 1
	for n := 2; ; n++ {
		k := peakNear(r, one*float64(n), max(2, one*0.1))
		if k == 0 || r[k] < 0.4*r[first] {
			break
		}
		tau, times = refined(r, k), n
		one = tau / float64(n)
	}
	return tau, times, true
}

// peakNear returns the highest place within a reach of a distance when it is a peak, else 0.
func peakNear(r []float64, at, reach float64) int {
	lo, hi := max(1, int(math.Ceil(at-reach))), min(len(r)-2, int(at+reach))
	best := 0
	for k := lo; k <= hi; k++ {
		if r[k] >= r[k-1] && r[k] >= r[k+1] && (best == 0 || r[k] > r[best]) {
			best = k
		}
	}
	return best
}

// refined returns the top of the parabola through a peak and its neighbours.
func refined(r []float64, k int) float64 {
	a, b, c := r[k-1], r[k], r[k+1]
	if d := a - 2*b + c; d < 0 {
		return float64(k) + (a-c)/(2*d)
	}
	return float64(k)
}
