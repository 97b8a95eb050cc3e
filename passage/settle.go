package passage

import (
	"fmt"
	"math"
)

const (
	settled    = 2e-5 // change of direction at which the centreline has settled [rad]
	settleMost = 60   // turns of settling [-]
	endInset   = 1e-3 // how far inside a square end its section is cut, over the bore [-]
	roughInset = 0.15 // the same for a scan, whose edges are not sharp [-]
)

// settle moves the points of the centreline to the middles of the sections normal to it, again and again, until they stay.
func (t *tube) settle(stations int) error {
	t.trimOblique()
	length := polyLength(t.line)
	n := min(max(stations, 60, int(length/(0.12*t.bore))), 1500)
	t.line = spaced(t.line, n)
	best := math.Inf(1)
	for turn := range settleMost {
		if t.rough || turn < 3 {
			t.line = eased(t.line)
		}
		ways := t.directions()
		first, last := 1, len(t.line)-1
		if t.rough {
			k := int(math.Ceil(roughInset * t.bore / (length / float64(n-1))))
			first, last = k, len(t.line)-k
		}
		for i := first; i < last; i++ {
			l, ok := t.section(t.line[i], ways[i])
			if !ok {
				return fmt.Errorf("%w: no section is found near %s", ErrNoTube, mmAt(t.line[i]))
			}
			t.line[i] = lift(t.line[i], ways[i], l.Centre)
		}
		if t.rough {
			t.extend(first, last-1)
		} else {
			t.endPoints()
		}
		t.line = spaced(t.line, n)
		worst := 0.0
		for i, w := range t.directions() {
			worst = max(worst, w.angleTo(ways[i]))
		}
		if worst < settled {
			break
		}
		best = min(best, worst)
		if turn == settleMost-1 && best > 0.02 && !t.rough {
			t.warnings = append(t.warnings, fmt.Sprintf("the centreline still moves by %.1f° after %d turns: its sections are normal to it within that", best*180/math.Pi, settleMost))
		}
	}
	t.ways = t.directions()
	return nil
}

// trimOblique shortens the line where an end is not square to it, to the last section that the end does not cut off.
func (t *tube) trimOblique() {
	const fine = 0.02 // step of the line looked at, and distance of a whole section from the end, over the bore [-]
	line := spaced(t.line, min(max(60, int(polyLength(t.line)/(fine*t.bore))), 4000))
	ways := tangents(line)
	from, to := 0, len(line)-1
	cutOff := func(i, side int) bool {
		if i < len(line)/4 || i >= len(line)-len(line)/4 {
			for _, f := range t.caps[side].facing {
				for _, c := range t.mesh.Triangles[f] {
					if beyond := t.mesh.Points[c].Minus(line[i]).Dot(ways[i]) * float64(2*side-1); beyond < fine*t.bore {
						return true
					}
				}
			}
		}
		return false
	}
	for side, which := range [2]string{"first", "last"} {
		if t.caps[side].square || len(t.caps[side].facing) == 0 {
			continue
		}
		i := &from
		if side == 1 {
			i = &to
		}
		for cutOff(*i, side) {
			*i += 1 - 2*side
		}
		t.caps[side] = lid{at: line[*i], normal: ways[*i], inside: true}
		t.warnings = append(t.warnings, "the "+which+" end is not square to the passage: the centreline stops at the last whole section before it")
	}
	if from > 0 || to < len(line)-1 {
		t.line = line[from : to+1]
	}
}

// directions returns the direction of the line at every point. Near a square end it turns into that of the end, so that no section is cut
// off by it.
func (t *tube) directions() []Vec {
	if t.rough {
		ways := make([]Vec, len(t.line))
		for i := range ways {
			_, ways[i] = t.fitted(i, 0, len(t.line)-1)
		}
		return ways // a noisy end is no guide
	}
	ways := tangents(t.line)
	n := len(ways)
	for side := range 2 {
		s := 0.0
		for k := range n {
			i := k
			if side == 1 {
				i = n - 1 - k
			}
			if k > 0 {
				j := i - 1
				if side == 1 {
					j = i + 1
				}
				s += t.line[i].Minus(t.line[j]).Norm()
			}
			f := 1 - s/(0.5*t.bore)
			if f <= 0 {
				break
			}
			// Only as far as the end would cut into the section.
			if k > 0 && t.caps[side].normal.angleTo(ways[i])*t.bore/2 < s {
				continue
			}
			ways[i] = ways[i].Times(1 - f).Plus(t.caps[side].normal.Times(f)).Unit()
		}
	}
	return ways
}

// fitted returns the point and the direction at point i of the line, by the parabolas that fit the points from lo to hi near it, four on
// either side or as many on one.
func (t *tube) fitted(i, lo, hi int) (at, way Vec) {
	const half = 4
	a, b := max(lo, min(i-half, hi-2*half)), min(hi, max(i+half, lo+2*half))
	mid := float64(a+b) / 2
	// In u = (k − mid) the odd sums vanish: p = c0 + c1·u + c2·u².
	var n, s2, s4 float64
	var p0, p1, p2 Vec
	for k := a; k <= b; k++ {
		u := float64(k) - mid
		n++
		s2 += u * u
		s4 += u * u * u * u
		p0, p1, p2 = p0.Plus(t.line[k]), p1.Plus(t.line[k].Times(u)), p2.Plus(t.line[k].Times(u*u))
	}
	det := n*s4 - s2*s2
	c1 := p1.Times(1 / s2)
	c2 := p2.Times(n).Minus(p0.Times(s2)).Times(1 / det)
	c0 := p0.Times(s4).Minus(p2.Times(s2)).Times(1 / det)
	u := float64(i) - mid
	return c0.Plus(c1.Times(u)).Plus(c2.Times(u * u)), c1.Plus(c2.Times(2 * u)).Unit()
}

// extend lets the line run on from its points first to last to the ends of a scan, as the parabola that fits its last stretch.
func (t *tube) extend(first, last int) {
	line := append([]Vec(nil), t.line...)
	for i := range t.line {
		if i < first || i > last {
			line[i], _ = t.fitted(i, first, last)
		}
	}
	for side, i := range [2]int{0, len(line) - 1} {
		_, way := t.fitted(i, first, last)
		line[i] = line[i].Plus(way.Times(t.caps[side].at.Minus(line[i]).Dot(way)))
	}
	t.line = line
}

// inset returns how far inside an end its section is cut [m].
func (t *tube) inset(side int) float64 {
	switch {
	case t.caps[side].inside:
		return 0
	case t.rough:
		return roughInset * t.bore
	}
	return endInset * t.bore
}

// endPoints puts the ends of the line on the middles of the end sections.
func (t *tube) endPoints() {
	for side, i := range [2]int{0, len(t.line) - 1} {
		inside := 1 - 2*float64(side) // sign of the way inward along the normal
		n := t.caps[side].normal
		inset := t.inset(side)
		in := t.caps[side].at.Plus(n.Times(inside * inset))
		if l, ok := t.section(in, n); ok {
			t.line[i] = lift(in, n, l.Centre).Minus(n.Times(inside * inset))
		}
	}
}

// stations cuts the sections at equal steps along the settled line.
func (t *tube) stations(n int) ([]Station, error) {
	line, ways := t.line, t.ways
	fine := arcs(line, ways)
	total := fine[len(fine)-1]
	out := make([]Station, 0, n)
	across, _ := Frame(ways[0])
	k := 0
	for i := range n {
		s := total * float64(i) / float64(n-1)
		for k < len(fine)-2 && fine[k+1] < s {
			k++
		}
		at, way := between(line[k], line[k+1], ways[k], ways[k+1], (s-fine[k])/(fine[k+1]-fine[k]), fine[k+1]-fine[k])
		cutAt := at
		switch i {
		case 0:
			cutAt = at.Plus(way.Times(t.inset(0)))
		case n - 1:
			cutAt = at.Minus(way.Times(t.inset(1)))
		}
		// The outline's first direction is carried along without turning about the line.
		across = across.Minus(way.Times(across.Dot(way))).Unit()
		loops := t.cut.CutIn(cutAt, way, across, way.Cross(across))
		l, ok := choose(loops)
		if !ok {
			return nil, fmt.Errorf("%w: no section is found near %s", ErrNoTube, mmAt(at))
		}
		st := Station{At: s, Centre: at, Normal: way, Across: across}
		st.Section = sectionOf(l)
		if t.walled {
			st.Wall = leastWall(l, loops)
		}
		out = append(out, st)
	}
	sides(out)
	return out, nil
}

// leastWall returns the least distance from the inner outline of a wall to its outer one, in the plane of the section [m]; 0 without one.
func leastWall(inner Loop, loops []Loop) float64 {
	const looked = 200 // points of the inner outline [-]
	best := math.Inf(1)
	for _, o := range loops {
		if o.Area <= 0 || !o.Contains(inner.Points[0]) {
			continue
		}
		for i := 0; i < len(inner.Points); i += 1 + len(inner.Points)/looked {
			best = min(best, toOutline(o.Points, inner.Points[i]))
		}
	}
	if math.IsInf(best, 1) {
		return 0
	}
	return best
}

// toOutline returns the distance of a point to a closed outline [m].
func toOutline(o []Point, p Point) float64 {
	best := math.Inf(1)
	a := o[len(o)-1]
	for _, b := range o {
		dx, dy := b[0]-a[0], b[1]-a[1]
		x, y := p[0]-a[0], p[1]-a[1]
		if n := dx*dx + dy*dy; n > 0 {
			u := min(max((x*dx+y*dy)/n, 0), 1)
			x -= u * dx
			y -= u * dy
		}
		best = min(best, x*x+y*y)
		a = b
	}
	return math.Sqrt(best)
}

// sectionOf makes a section of an outline cut from a mesh. Such outlines are not looked through for crossings: they come from a surface.
func sectionOf(l Loop) Section {
	s := Section{Shape: "outline", Area: l.Area, Perimeter: max(l.Perimeter, 2*math.Sqrt(math.Pi*l.Area))}
	s.Outline = make([]Point, len(l.Points))
	signed, _ := loopArea(l.Points)
	for i, p := range l.Points {
		if signed < 0 {
			i = len(l.Points) - 1 - i
		}
		s.Outline[i] = Point{p[0] - l.Centre[0], p[1] - l.Centre[1]}
	}
	return s
}

// sides measures width and height: width in the plane of the bend where the line bends, else the longest way across.
func sides(st []Station) {
	for i := range st {
		e1 := st[i].Across
		e2 := st[i].Normal.Cross(e1)
		var turn Vec
		if i > 0 {
			turn = turn.Plus(st[i].Normal.Minus(st[i-1].Normal))
		}
		if i < len(st)-1 {
			turn = turn.Plus(st[i+1].Normal.Minus(st[i].Normal))
		}
		const bends = 0.01 // [rad] between neighbours
		x, y := turn.Dot(e1), turn.Dot(e2)
		if math.Hypot(x, y) < bends {
			x, y = longest(st[i].Outline)
		}
		r := math.Hypot(x, y)
		if r == 0 {
			x, r = 1, 1
		}
		st[i].Width = extent(st[i].Outline, x/r, y/r)
		st[i].Height = extent(st[i].Outline, -y/r, x/r)
	}
}
