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
	facing float64 // how far the surface round it faces the same way [-]: 0 round the open end of a tube, 1 round a hole in a flat side
}

// inSide is the facing from which on an opening is first taken to be in the side of a tube: own judgement. A cone that narrows to its end
// reaches it at 30° to its axis, a hole three quarters as wide as the bore in the side of a tube has 0.8.
const inSide = 0.5

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

// A cover is what a large opening was closed with for the time being.
type cover struct {
	hole

	from, to int // its triangles
}

// closeHoles patches holes up to limit wide. Of larger openings it caps at most two flat, as ends, and covers those in a side as if they
// were small; whether these are in a side is known once the ends are found.
func (m *Mesh) closeHoles(rims [][]int32, limit float64, out *Mending) (ends, sides []cover, err error) {
	var large []hole
	var ring *neighbours
	for _, rim := range rims {
		h := m.holeOf(rim)
		if ring == nil {
			ring = m.neighbours()
		}
		if h.width > limit {
			h.facing = m.facing(h, ring)
			large = append(large, h)
			continue
		}
		out.HolesClosed++
		out.WidestHole = max(out.WidestHole, h.width)
		out.HoleArea += m.patch(h, ring)
	}
	slices.SortFunc(large, func(a, b hole) int { return cmp.Compare(b.width, a.width) })
	for _, h := range large {
		c := cover{hole: h, from: len(m.Triangles)}
		if h.facing < inSide {
			m.fan(h.rim, h.middle)
		} else {
			m.patch(h, ring)
		}
		if c.to = len(m.Triangles); h.facing < inSide {
			ends = append(ends, c)
			out.OpenEnds = append(out.OpenEnds, h.middle)
		} else {
			sides = append(sides, c)
		}
	}
	if len(ends) > 2 {
		return nil, nil, fmt.Errorf("%w: besides two openings that could be its ends it has %d more, the widest %.1f mm wide near %s: %s", ErrOpen, len(ends)-2, 1e3*ends[2].width, mmAt(ends[2].middle), ends[2].remedy(0))
	}
	return ends, sides, nil
}

// remedy says what to do about an opening that is too wide, in a tube of a bore [m], 0 when that is not known.
func (h hole) remedy(bore float64) string {
	if bore > 0 && h.width > 0.9*bore {
		return fmt.Sprintf("it is as wide as the bore, %.1f mm: scan that part again", 1e3*bore)
	}
	return fmt.Sprintf("scan that part again, or allow holes up to %.0f mm to be closed", math.Ceil(1e3*h.width+0.5))
}

// facing returns by how much the surface along a rim faces the way of the opening: the area-weighted mean of its normals over two rings of
// triangles, along the normal of the opening [-].
func (m *Mesh) facing(h hole, ring *neighbours) float64 {
	seen := map[int32]bool{}
	edge := h.rim
	var sum Vec
	area := 0.0
	for range 2 {
		var next []int32
		for _, v := range edge {
			for _, t := range ring.of(v) {
				if seen[t] {
					continue
				}
				seen[t] = true
				n := m.normal(int(t))
				sum, area = sum.Plus(n), area+n.Norm()
				next = append(next, m.Triangles[t][:]...)
			}
		}
		edge = next
	}
	return sum.Times(1 / max(area, 1e-300)).Dot(h.normal)
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
