package passage

import (
	"math"
)

const (
	leafSize = 8 // triangles in a leaf of the index [-]
	fanOut   = 4 // boxes in a box [-]
)

// box is a box by its middle and half sides; float32 halves the memory, and the halves are rounded up.
type box struct {
	c, h [3]float32
}

// index finds the triangles near a plane or along a line without looking at all of them: triangles sorted along a space-filling curve,
// boxes round every eight, boxes round every four boxes.
type index struct {
	order  []int32 // triangles along the curve
	levels [][]box // the leaves first
	origin Vec     // the boxes' coordinates count from here, so that float32 is enough
	slack  float32 // rounding of the boxes [m]
}

// newIndex builds an index in a time that grows as the number of triangles. Source: Morton order; bounding volumes as in any
// textbook of computer graphics.
func newIndex(m *Mesh) *index {
	lo, hi := m.Box()
	x := &index{origin: lo.Plus(hi).Times(0.5)}
	size := hi.Minus(lo)
	x.slack = float32(size.Norm() * 1e-6)
	x.order = mortonOrder(m, lo, size)
	leaves := make([]box, (len(x.order)+leafSize-1)/leafSize)
	for i := range leaves {
		a, b := Vec{math.Inf(1), math.Inf(1), math.Inf(1)}, Vec{math.Inf(-1), math.Inf(-1), math.Inf(-1)}
		for _, t := range x.order[i*leafSize : min((i+1)*leafSize, len(x.order))] {
			for _, v := range m.Triangles[t] {
				p := &m.Points[v]
				for k := range 3 {
					a[k], b[k] = min(a[k], p[k]), max(b[k], p[k])
				}
			}
		}
		for k := range 3 {
			leaves[i].c[k] = float32((a[k]+b[k])/2 - x.origin[k])
			leaves[i].h[k] = float32((b[k]-a[k])/2) + x.slack
		}
	}
	x.levels = [][]box{leaves}
	for len(leaves) > fanOut {
		up := make([]box, (len(leaves)+fanOut-1)/fanOut)
		for i := range up {
			up[i] = around(leaves[i*fanOut : min((i+1)*fanOut, len(leaves))])
		}
		x.levels = append(x.levels, up)
		leaves = up
	}
	return x
}

func around(in []box) (out box) {
	for k := range 3 {
		lo, hi := float32(math.Inf(1)), float32(math.Inf(-1))
		for _, b := range in {
			lo, hi = min(lo, b.c[k]-b.h[k]), max(hi, b.c[k]+b.h[k])
		}
		out.c[k], out.h[k] = (lo+hi)/2, (hi-lo)/2*(1+1e-6)
	}
	return out
}

// mortonOrder returns the triangles sorted along a Morton curve of 10 bits a side.
func mortonOrder(m *Mesh, lo, size Vec) []int32 {
	const side = 1023
	scale := side / max(size[0], size[1], size[2], 1e-300)
	n := len(m.Triangles)
	keys, order := make([]uint32, n), make([]int32, n)
	for t := range n {
		c := m.centre(t).Minus(lo).Times(scale)
		keys[t] = spread(c[0]) | spread(c[1])<<1 | spread(c[2])<<2
		order[t] = int32(t)
	}
	keys2, order2 := make([]uint32, n), make([]int32, n)
	for shift := 0; shift < 30; shift += 10 {
		var count [1025]int
		for _, k := range keys {
			count[(k>>shift)&1023+1]++
		}
		for i := 1; i < len(count); i++ {
			count[i] += count[i-1]
		}
		for i, k := range keys {
			d := (k >> shift) & 1023
			keys2[count[d]], order2[count[d]] = k, order[i]
			count[d]++
		}
		keys, keys2, order, order2 = keys2, keys, order2, order
	}
	return order
}

// spread puts two free bits behind every bit of a coordinate.
func spread(x float64) uint32 {
	v := uint32(min(max(x, 0), 1023))
	v = (v | v<<16) & 0x030000FF
	v = (v | v<<8) & 0x0300F00F
	v = (v | v<<4) & 0x030C30C3
	return (v | v<<2) & 0x09249249
}

// plane calls visit with every leaf's triangles that may meet the plane n·p = d.
func (x *index) plane(n Vec, d float64, visit func(triangles []int32)) {
	d -= n.Dot(x.origin)
	nx, ny, nz, df := float32(n[0]), float32(n[1]), float32(n[2]), float32(d)
	ax, ay, az := float32(math.Abs(n[0])), float32(math.Abs(n[1])), float32(math.Abs(n[2]))
	hit := func(b *box) bool {
		s := nx*b.c[0] + ny*b.c[1] + nz*b.c[2] - df
		r := ax*b.h[0] + ay*b.h[1] + az*b.h[2]
		return s <= r && s >= -r
	}
	top := len(x.levels) - 1
	var walk func(level, i int)
	walk = func(level, i int) {
		if !hit(&x.levels[level][i]) {
			return
		}
		if level == 0 {
			visit(x.order[i*leafSize : min((i+1)*leafSize, len(x.order))])
			return
		}
		for k := i * fanOut; k < min((i+1)*fanOut, len(x.levels[level-1])); k++ {
			walk(level-1, k)
		}
	}
	for i := range x.levels[top] {
		walk(top, i)
	}
}

// ray returns the nearest triangle that a line from p along the direction d meets, and how far along [m].
func (x *index) ray(m *Mesh, p, d Vec) (triangle int, far float64, ok bool) {
	far = math.Inf(1)
	triangle = -1
	top := len(x.levels) - 1
	q := p.Minus(x.origin)
	var walk func(level, i int)
	walk = func(level, i int) {
		if !meets(&x.levels[level][i], q, d, far) {
			return
		}
		if level == 0 {
			for _, t := range x.order[i*leafSize : min((i+1)*leafSize, len(x.order))] {
				if s, ok := m.meet(int(t), p, d); ok && s < far {
					triangle, far = int(t), s
				}
			}
			return
		}
		for k := i * fanOut; k < min((i+1)*fanOut, len(x.levels[level-1])); k++ {
			walk(level-1, k)
		}
	}
	for i := range x.levels[top] {
		walk(top, i)
	}
	return triangle, far, triangle >= 0
}

// meets reports whether a line from p along d enters a box before it is far away.
func meets(b *box, p, d Vec, far float64) bool {
	near := 0.0
	for k := range 3 {
		c, h := float64(b.c[k])-p[k], float64(b.h[k])
		if d[k] == 0 {
			if math.Abs(c) > h {
				return false
			}
			continue
		}
		a, z := (c-h)/d[k], (c+h)/d[k]
		near, far = max(near, min(a, z)), min(far, max(a, z))
	}
	return near <= far
}

// meet returns how far along d from p a triangle is met [m]. Source: Möller and Trumbore, J. Graphics Tools 2 (1997) 21.
func (m *Mesh) meet(t int, p, d Vec) (far float64, ok bool) {
	a, b, c := m.corners(t)
	e1, e2 := b.Minus(a), c.Minus(a)
	q := d.Cross(e2)
	det := e1.Dot(q)
	if det == 0 {
		return 0, false
	}
	s := p.Minus(a)
	u := s.Dot(q) / det
	r := s.Cross(e1)
	v := d.Dot(r) / det
	const edge = 1e-9
	if u < -edge || v < -edge || u+v > 1+edge {
		return 0, false
	}
	far = e2.Dot(r) / det
	return far, far > 0
}
