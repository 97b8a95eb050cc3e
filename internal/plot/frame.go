package plot

import (
	"math"
	"slices"
	"sort"
	"strings"
)

// Sizes of a figure.
const (
	sizeTitle = 13.5
	sizeLabel = 11.5
	sizeSmall = 10.5
	endGap    = 14.0 // least distance of two labels at the right edge
)

// A scale turns values of an axis into places on the canvas.
type scale struct{ lo, hi, from, to float64 }

func (s scale) at(v float64) float64 {
	return s.from + (v-s.lo)/(s.hi-s.lo)*(s.to-s.from)
}

// A frame is the plot area of a figure and its two scales.
type frame struct {
	x, y scale
	box  Box
}

func (f frame) pt(x, y float64) Pt { return Pt{f.x.at(x), f.y.at(y)} }

func (f frame) along(a Along) scale {
	if a == AlongX {
		return f.x
	}
	return f.y
}

// rect returns the box from one value to another along a, between two values of the other axis.
func (f frame) rect(a Along, from, to, side0, side1 float64) Box {
	if a == AlongY {
		from, to, side0, side1 = side0, side1, from, to
	}
	x0, x1 := f.x.at(from), f.x.at(to)
	y0, y1 := f.y.at(side0), f.y.at(side1)
	return Box{min(x0, x1), min(y0, y1), math.Abs(x1 - x0), math.Abs(y1 - y0)}
}

// An endLabel is a label beyond the right edge.
type endLabel struct {
	text string
	y    float64 // value on the y axis
	ink  Ink
}

// An axisPlan is an axis made ready: its range and what is written at it.
type axisPlan struct {
	lo, hi float64
	at     []float64
	text   []string
}

func plan(a Axis, lo, hi float64, n int, pad float64) axisPlan {
	if len(a.Names) > 0 {
		p := axisPlan{lo: -0.5, hi: float64(len(a.Names)) - 0.5}
		for i, name := range a.Names {
			p.at = append(p.at, float64(i))
			p.text = append(p.text, name)
		}
		return p
	}
	r := newReach()
	r.x(lo)
	r.x(hi)
	for _, v := range a.Include {
		r.x(v)
	}
	lo, hi = r.xlo, r.xhi
	if lo > hi {
		lo, hi = 0, 1
	}
	if hi-lo <= 1e-12*math.Max(math.Abs(lo), math.Abs(hi)) {
		d := max(math.Abs(lo)*0.02, 1e-9)
		if lo == 0 {
			d = 1
		}
		lo, hi = lo-d, hi+d
	}
	d := pad * (hi - lo)
	if lo != 0 {
		lo -= d
	}
	if hi != 0 {
		hi += d
	}
	p := axisPlan{lo: lo, hi: hi}
	if a.Hide {
		return p
	}
	at, dec := ticks(lo, hi, n)
	if len(a.Ticks) > 0 {
		at, dec = a.Ticks, 0
		for _, v := range at {
			dec = max(dec, decimalsOf(math.Abs(v)))
		}
	}
	for _, v := range at {
		if v < lo-1e-9*(hi-lo) || v > hi+1e-9*(hi-lo) {
			continue
		}
		p.at = append(p.at, v)
		p.text = append(p.text, Number(v, dec))
	}
	return p
}

// fit breaks s into no more than the given number of lines of a width; what is too long ends in "…".
func fit(c Canvas, s string, face Face, width float64, most int) []string {
	var out []string
	words := strings.Split(strings.TrimSpace(s), " ")
	for len(words) > 0 && len(out) < most {
		n := 1
		for n < len(words) && c.Width(strings.Join(words[:n+1], " "), face) <= width+0.5 {
			n++
		}
		if len(out) == most-1 {
			n = len(words)
		}
		out = append(out, clip(c, strings.Join(words[:n], " "), face, width))
		words = words[n:]
	}
	return out
}

func clip(c Canvas, s string, face Face, width float64) string {
	if c.Width(s, face) <= width+0.5 {
		return s
	}
	r := []rune(s)
	for len(r) > 1 && c.Width(string(r)+"…", face) > width {
		r = r[:len(r)-1]
	}
	return strings.TrimRight(string(r), " ,.") + "…"
}

// spread moves the labels apart so that none covers another, and keeps them between top and bottom where they fit.
func spread(ys []float64, gap, top, bottom float64) []float64 {
	order := make([]int, len(ys))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return ys[order[a]] < ys[order[b]] })
	out := make([]float64, len(ys))
	last := math.Inf(-1)
	for _, i := range order {
		out[i] = max(ys[i], last+gap, top)
		last = out[i]
	}
	floor := bottom
	for _, i := range slices.Backward(order) {
		out[i] = min(out[i], floor)
		floor = out[i] - gap
	}
	return out
}
