package passage

import "math"

// polyLength returns the length of a line of straight pieces [m].
func polyLength(p []Vec) float64 {
	sum := 0.0
	for i := 1; i < len(p); i++ {
		sum += p[i].Minus(p[i-1]).Norm()
	}
	return sum
}

// arcs returns the distance along a curve at each of its points [m], each piece taken as the circular arc that its directions turn by.
//
//	arc = chord·(θ/2)/sin(θ/2)
func arcs(p, ways []Vec) []float64 {
	out := make([]float64, len(p))
	for i := 1; i < len(p); i++ {
		chord := p[i].Minus(p[i-1]).Norm()
		if h := ways[i].angleTo(ways[i-1]) / 2; h > 1e-6 && h < 1 {
			chord *= h / math.Sin(h)
		}
		out[i] = out[i-1] + chord
	}
	return out
}

// between returns point and direction at a share u [-] of the way from p to q [m], on the cubic that leaves and arrives in their
// directions; length is that of the arc [m].
func between(p, q, way, last Vec, u, length float64) (at, dir Vec) {
	h00, h10 := (1+2*u)*(1-u)*(1-u), u*(1-u)*(1-u)
	h01, h11 := u*u*(3-2*u), u*u*(u-1)
	at = p.Times(h00).Plus(way.Times(h10 * length)).Plus(q.Times(h01)).Plus(last.Times(h11 * length))
	return at, way.Times(1 - u).Plus(last.Times(u)).Unit()
}

// spaced returns n points at equal steps along a smooth curve through the points of a line, both ends kept.
func spaced(line []Vec, n int) []Vec {
	ways := tangents(line)
	s := arcs(line, ways)
	total := s[len(s)-1]
	out := make([]Vec, n)
	k := 0
	for i := range n {
		at := total * float64(i) / float64(n-1)
		for k < len(s)-2 && s[k+1] < at {
			k++
		}
		step := s[k+1] - s[k]
		u := 0.0
		if step > 0 {
			u = min(max((at-s[k])/step, 0), 1)
		}
		out[i], _ = between(line[k], line[k+1], ways[k], ways[k+1], u, step)
	}
	out[0], out[n-1] = line[0], line[len(line)-1]
	return out
}

// eased returns a line with its points moved onto the parabola that fits each and its two neighbours on either side; the ends stay.
// Source: Savitzky and Golay, Anal. Chem. 36 (1964) 1627.
func eased(p []Vec) []Vec {
	out := append([]Vec(nil), p...)
	for i := 2; i < len(p)-2; i++ {
		out[i] = p[i-2].Plus(p[i+2]).Times(-3. / 35).Plus(p[i-1].Plus(p[i+1]).Times(12. / 35)).Plus(p[i].Times(17. / 35))
	}
	return out
}

func reversed(p []Vec) []Vec {
	out := make([]Vec, len(p))
	for i, v := range p {
		out[len(p)-1-i] = v
	}
	return out
}

// reverse makes the last end the first.
func (t *tube) reverse() {
	t.line, t.ways = reversed(t.line), reversed(t.ways)
	for i := range t.ways {
		t.ways[i] = t.ways[i].Times(-1)
	}
	t.caps[0], t.caps[1] = t.caps[1], t.caps[0]
	for i := range t.caps {
		t.caps[i].normal = t.caps[i].normal.Times(-1)
	}
}

// longest returns the direction in which an outline is longest, by the second moments of its area.
func longest(p []Point) (x, y float64) {
	_, c := loopArea(p)
	var xx, yy, xy float64
	for i := range p {
		a, b := p[i], p[(i+1)%len(p)]
		x0, y0, x1, y1 := a[0]-c[0], a[1]-c[1], b[0]-c[0], b[1]-c[1]
		w := x0*y1 - x1*y0
		xx += w * (x0*x0 + x0*x1 + x1*x1)
		yy += w * (y0*y0 + y0*y1 + y1*y1)
		xy += w * (x0*y1 + 2*x0*y0 + 2*x1*y1 + x1*y0) / 2
	}
	angle := math.Atan2(2*xy, xx-yy) / 2
	y, x = math.Sincos(angle)
	return x, y
}

// extent returns the width of an outline along a direction [m].
func extent(p []Point, x, y float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range p {
		s := q[0]*x + q[1]*y
		lo, hi = min(lo, s), max(hi, s)
	}
	return hi - lo
}
