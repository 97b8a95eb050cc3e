package passage

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// hole is a closed chain of open sides.
type hole struct {
	rim    []int32
	middle Vec
	width  float64 // widest distance of two corners along the principal way, about [m]
	normal Vec     // by the area the rim encloses, pointing as the missing surface does
}

func (m *Mesh) holeOf(rim []int32) hole {
	h := hole{rim: rim}
	for _, v := range rim {
		h.middle = h.middle.Plus(m.Points[v])
	}
	h.middle = h.middle.Times(1 / float64(len(rim)))
	for i, v := range rim {
		a, b := m.Points[v].Minus(h.middle), m.Points[rim[(i+1)%len(rim)]].Minus(h.middle)
		h.normal = h.normal.Minus(a.Cross(b)) // the patch runs the other way along the rim
		h.width = max(h.width, 2*a.Norm())
	}
	h.normal = h.normal.Unit()
	return h
}

// closeHoles patches holes up to limit wide and caps at most two larger ones flat.
func (m *Mesh) closeHoles(rims [][]int32, limit float64, out *Mending) error {
	var large []hole
	var ring *neighbours
	for _, rim := range rims {
		h := m.holeOf(rim)
		if h.width > limit {
			large = append(large, h)
			continue
		}
		if ring == nil {
			ring = m.neighbours()
		}
		out.HolesClosed++
		out.WidestHole = max(out.WidestHole, h.width)
		out.HoleArea += m.patch(h, ring)
	}
	slices.SortFunc(large, func(a, b hole) int { return cmp.Compare(b.width, a.width) })
	if len(large) > 2 {
		return fmt.Errorf("%w: besides two openings that could be its ends it has %d more, the widest %.1f mm wide near %s: scan that part again, or allow larger holes to be closed", ErrOpen, len(large)-2, 1e3*large[2].width, mmAt(large[2].middle))
	}
	for _, h := range large {
		m.fan(h.rim, h.middle)
		out.OpenEnds = append(out.OpenEnds, h.middle)
	}
	return nil
}

// fan fills a rim with triangles to one new corner.
func (m *Mesh) fan(rim []int32, hub Vec) {
	m.Points = append(m.Points, hub)
	c := int32(len(m.Points) - 1)
	for i, v := range rim {
		m.Triangles = append(m.Triangles, [3]int32{rim[(i+1)%len(rim)], v, c})
	}
}

// neighbours lists the triangles round each corner.
type neighbours struct {
	first []int32
	list  []int32
}

func (m *Mesh) neighbours() *neighbours {
	n := &neighbours{first: make([]int32, len(m.Points)+1), list: make([]int32, 3*len(m.Triangles))}
	for _, t := range m.Triangles {
		for _, v := range t {
			n.first[v+1]++
		}
	}
	for i := 1; i < len(n.first); i++ {
		n.first[i] += n.first[i-1]
	}
	next := append([]int32(nil), n.first...)
	for i, t := range m.Triangles {
		for _, v := range t {
			n.list[next[v]] = int32(i)
			next[v]++
		}
	}
	return n
}

func (n *neighbours) of(v int32) []int32 {
	if int(v)+1 >= len(n.first) {
		return nil
	}
	return n.list[n.first[v]:n.first[v+1]]
}

// patch closes a hole with rings that lie on the quadric which fits the surface round it, and returns the area of the patch [m²].
func (m *Mesh) patch(h hole, ring *neighbours) float64 {
	before := len(m.Triangles)
	quadric, e1, e2, ok := m.fitRound(h, ring)
	if !ok || len(h.rim) < 6 {
		m.fan(h.rim, h.middle)
	} else {
		const rings = 4
		outer := h.rim
		rim := h.rim
		for r := 1; r < rings; r++ {
			inner := make([]int32, len(rim))
			shrink := 1 - float64(r)/rings
			for i, v := range rim {
				p := m.Points[v].Minus(h.middle)
				x, y := p.Dot(e1), p.Dot(e2)
				// What the rim itself is off the quadric fades toward the middle.
				off := (p.Dot(h.normal) - quadric.at(x, y)) * shrink
				x, y = x*shrink, y*shrink
				q := h.middle.Plus(e1.Times(x)).Plus(e2.Times(y)).Plus(h.normal.Times(quadric.at(x, y) + off))
				m.Points = append(m.Points, q)
				inner[i] = int32(len(m.Points) - 1)
			}
			for i := range outer {
				j := (i + 1) % len(outer)
				m.Triangles = append(m.Triangles, [3]int32{outer[j], outer[i], inner[i]}, [3]int32{outer[j], inner[i], inner[j]})
			}
			outer = inner
		}
		m.fan(outer, h.middle.Plus(h.normal.Times(quadric.at(0, 0))))
	}
	area := 0.0
	for t := before; t < len(m.Triangles); t++ {
		area += m.normal(t).Norm() / 2
	}
	return area
}

// quad is z = c0 + c1·x + c2·y + c3·x² + c4·x·y + c5·y² [m].
type quad [6]float64

func (q quad) at(x, y float64) float64 {
	return q[0] + q[1]*x + q[2]*y + q[3]*x*x + q[4]*x*y + q[5]*y*y
}

// fitRound fits a quadric to the corners on the rim and up to three triangles away from it, by least squares.
func (m *Mesh) fitRound(h hole, ring *neighbours) (q quad, e1, e2 Vec, ok bool) {
	e1, e2 = h.normal.frame()
	seen := map[int32]bool{}
	edge := append([]int32(nil), h.rim...)
	for _, v := range edge {
		seen[v] = true
	}
	all := append([]int32(nil), edge...)
	for range 3 {
		var next []int32
		for _, v := range edge {
			for _, t := range ring.of(v) {
				for _, u := range m.Triangles[t] {
					if !seen[u] {
						seen[u] = true
						next = append(next, u)
					}
				}
			}
		}
		edge = next
		all = append(all, next...)
	}
	var a [6][7]float64
	used := 0
	scale := max(h.width, 1e-12)
	for _, v := range all {
		p := m.Points[v].Minus(h.middle)
		if p.Norm() > 1.5*scale {
			continue // a long triangle leads far away
		}
		x, y, z := p.Dot(e1)/scale, p.Dot(e2)/scale, p.Dot(h.normal)/scale
		row := [7]float64{1, x, y, x * x, x * y, y * y, z}
		for i := range 6 {
			for j := range 7 {
				a[i][j] += row[i] * row[j]
			}
		}
		used++
	}
	if used < 9 {
		return quad{}, e1, e2, false
	}
	c, ok := solve6(a)
	if !ok {
		return quad{}, e1, e2, false
	}
	q = quad{c[0] * scale, c[1], c[2], c[3] / scale, c[4] / scale, c[5] / scale}
	return q, e1, e2, math.Abs(q[0]) < h.width/2
}

// solve6 solves six linear equations by elimination with pivots.
func solve6(a [6][7]float64) (x [6]float64, ok bool) {
	for i := range 6 {
		p := i
		for k := i + 1; k < 6; k++ {
			if math.Abs(a[k][i]) > math.Abs(a[p][i]) {
				p = k
			}
		}
		a[i], a[p] = a[p], a[i]
		if math.Abs(a[i][i]) < 1e-12 {
			return x, false
		}
		for k := i + 1; k < 6; k++ {
			f := a[k][i] / a[i][i]
			for j := i; j < 7; j++ {
				a[k][j] -= f * a[i][j]
			}
		}
	}
	for i := 5; i >= 0; i-- {
		x[i] = a[i][6]
		for j := i + 1; j < 6; j++ {
			x[i] -= a[i][j] * x[j]
		}
		x[i] /= a[i][i]
	}
	return x, true
}
