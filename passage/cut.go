package passage

import "math"

// A Loop is a closed outline where a plane cuts a mesh, in the plane's own two directions from the point the cut was asked at.
type Loop struct {
	Points    []Point
	Area      float64 // area [m²]; below zero for the inner outline of a wall
	Perimeter float64 // length round it [m]
	Centre    Point   // centre of its area [m]
	Gap       float64 // length of the straight that closes it where the mesh is open [m]; 0: closed
}

// Contains reports whether a point lies inside the loop.
func (l Loop) Contains(p Point) bool {
	in := false
	for i, a := range l.Points {
		b := l.Points[(i+1)%len(l.Points)]
		if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0]+(p[1]-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
			in = !in
		}
	}
	return in
}

// A Cutter cuts one mesh with many planes. It is not safe for use by several goroutines at once.
type Cutter struct {
	mesh  *Mesh
	twin  []int32
	index *index
	stamp []uint32 // number of the cut a triangle was found in
	now   uint32
	hit   []int32
	loops []Loop
	store []Point
}

// NewCutter makes a mesh ready to be cut. The mesh must not change afterwards.
func NewCutter(m *Mesh) *Cutter {
	twin, _, _ := m.twins()
	return &Cutter{mesh: m, twin: twin, index: newIndex(m), stamp: make([]uint32, len(m.Triangles))}
}

// Frame returns the two directions [-] across a normal in which Cut gives its points: e1 × e2 is along the normal.
func Frame(normal Vec) (e1, e2 Vec) { return normal.frame() }

// Cut returns the outlines in which the plane through at [m] with the given normal cuts the mesh. Seen against the normal, outer
// outlines run anticlockwise. A corner exactly in the plane counts as before it, so that every outline is whole. The result is the
// cutter's own and holds until the next cut. Definition.
func (c *Cutter) Cut(at, normal Vec) []Loop {
	n := normal.Unit()
	e1, e2 := n.frame()
	return c.CutIn(at, n, e1, e2)
}

// CutIn is Cut with the two directions in the plane given: unit vectors, square to each other and to the unit normal n.
func (c *Cutter) CutIn(at, n, e1, e2 Vec) []Loop {
	c.now++
	if c.now == 0 { // after 2³² cuts
		clear(c.stamp)
		c.now = 1
	}
	m := c.mesh
	d := n.Dot(at)
	c.hit, c.loops, c.store = c.hit[:0], c.loops[:0], c.store[:0]
	c.index.plane(n, d, func(triangles []int32) {
		for _, t := range triangles {
			v := &m.Triangles[t]
			a, b, g := above(&m.Points[v[0]], n, d), above(&m.Points[v[1]], n, d), above(&m.Points[v[2]], n, d)
			if a != b || b != g {
				c.stamp[t] = c.now
				c.hit = append(c.hit, t)
			}
		}
	})
	w := walk{c: c, at: at, n: n, e1: e1, e2: e2, d: d}
	for _, t := range c.hit {
		if c.stamp[t] == c.now {
			w.loop(t)
		}
	}
	return c.loops
}

func above(p *Vec, n Vec, d float64) bool { return p[0]*n[0]+p[1]*n[1]+p[2]*n[2]-d >= 0 }

// walk follows one cut from triangle to triangle.
type walk struct {
	c             *Cutter
	at, n, e1, e2 Vec
	d             float64
}

// loop follows the outline that passes through triangle t until it closes, or to both its open ends.
func (w *walk) loop(t int32) {
	start := len(w.c.store)
	closed := w.follow(t, false)
	gap := 0.0
	if !closed {
		// Back to the other open end, and join both halves.
		w.c.stamp[t] = w.c.now
		forward := len(w.c.store)
		w.follow(t, true)
		back := w.c.store[forward:]
		for i, j := 0, len(back)-1; i < j; i, j = i+1, j-1 {
			back[i], back[j] = back[j], back[i]
		}
		joined := make([]Point, 0, len(w.c.store)-start)
		joined = append(append(joined, back...), w.c.store[start:forward]...)
		copy(w.c.store[start:], joined)
	}
	p := w.c.store[start:len(w.c.store):len(w.c.store)]
	if len(p) < 3 {
		w.c.store = w.c.store[:start]
		return
	}
	l := Loop{Points: p}
	l.Area, l.Centre = loopArea(p)
	for i, q := range p {
		r := p[(i+1)%len(p)]
		l.Perimeter += math.Hypot(r[0]-q[0], r[1]-q[1])
	}
	if !closed {
		a, b := p[0], p[len(p)-1]
		gap = math.Hypot(a[0]-b[0], a[1]-b[1])
	}
	l.Gap = gap
	w.c.loops = append(w.c.loops, l)
}

// follow walks on from triangle t, leaving by the side that goes from below the plane to above it, or backward by the other, and adds the
// point of every side it leaves by. It reports whether it came round.
func (w *walk) follow(t int32, backward bool) bool {
	m := w.c.mesh
	for {
		w.c.stamp[t] = w.c.now - 1
		v := m.Triangles[t]
		up := [3]bool{above(&m.Points[v[0]], w.n, w.d), above(&m.Points[v[1]], w.n, w.d), above(&m.Points[v[2]], w.n, w.d)}
		k := 0
		for k < 3 && (up[k] != backward || up[(k+1)%3] == backward) {
			k++
		}
		if k == 3 {
			return true // cannot be: a cut triangle has one side of each kind
		}
		w.c.store = append(w.c.store, w.point(v[k], v[(k+1)%3]))
		f := w.c.twin[3*t+int32(k)]
		if f == open {
			return false
		}
		t = f / 3
		if w.c.stamp[t] != w.c.now {
			return true
		}
	}
}

// point returns where the plane cuts the side from corner a to corner b, the same from either side of it.
func (w *walk) point(a, b int32) Point {
	if a > b {
		a, b = b, a
	}
	p, q := w.c.mesh.Points[a], w.c.mesh.Points[b]
	da, db := w.n.Dot(p)-w.d, w.n.Dot(q)-w.d
	s := 0.5
	if da != db {
		s = min(max(da/(da-db), 0), 1)
	}
	r := p.Plus(q.Minus(p).Times(s)).Minus(w.at)
	return Point{r.Dot(w.e1), r.Dot(w.e2)}
}
