package passage

import (
	"fmt"
	"math"
	"slices"
)

// A Way says how the first guess of the centreline is found.
type Way int

// Ways of finding the first guess.
const (
	Auto   Way = iota // along the longest way over the surface
	AlongX            // along the x axis
	AlongY            // along the y axis
	AlongZ            // along the z axis
)

// firstGuess returns a point inside the tube about halfway along it, and the direction of the tube there.
func (m *Mesh) firstGuess(way Way) (at, along Vec, length float64, err error) {
	lo, hi := m.Box()
	if way != Auto {
		k := int(way - AlongX)
		along[k] = 1
		at = lo.Plus(hi).Times(0.5)
		return at, along, hi[k] - lo[k], nil
	}
	cells := m.cells(hi.Minus(lo).Norm() / 60)
	if len(cells.at) < 8 {
		return at, along, 0, fmt.Errorf("%w: it is too small or too flat", ErrNoTube)
	}
	end := farthest(cells.walk(0))
	far := cells.walk(farthest(cells.walk(end)))
	length = slices.Max(far)
	// The middle of the surface that is about half the way along, and of the belts before and behind it.
	belt := func(from, to float64) (mid Vec, ok bool) {
		w := 0.0
		for i, d := range far {
			if d >= from*length && d < to*length {
				mid = mid.Plus(cells.at[i].Times(cells.weight[i]))
				w += cells.weight[i]
			}
		}
		return mid.Times(1 / max(w, 1e-300)), w > 0
	}
	at, ok := belt(0.45, 0.55)
	before, ok1 := belt(0.35, 0.45)
	behind, ok2 := belt(0.55, 0.65)
	if !ok || !ok1 || !ok2 {
		return at, along, 0, fmt.Errorf("%w: it falls apart half the way along", ErrNoTube)
	}
	return at, behind.Minus(before).Unit(), length, nil
}

func farthest(d []float64) int {
	best := 0
	for i, x := range d {
		if x > d[best] {
			best = i
		}
	}
	return best
}

// cellMap is the surface as a set of small cubes that touch.
type cellMap struct {
	side   float64
	at     []Vec // middle of the surface in the cube
	weight []float64
	key    []([3]int32)
	find   map[[3]int32]int32
}

// cells spreads points over the surface, about one for a quarter of a cube's face, and gathers them in cubes.
func (m *Mesh) cells(side float64) *cellMap {
	c := &cellMap{side: side, find: map[[3]int32]int32{}}
	spacing := side / 2
	for t := range m.Triangles {
		a, b, d := m.corners(t)
		for range 2 { // the longest side first
			if d.Minus(b).Norm() > b.Minus(a).Norm() || a.Minus(d).Norm() > b.Minus(a).Norm() {
				a, b, d = b, d, a
			}
		}
		e, f := b.Minus(a), d.Minus(a)
		long, area := e.Norm(), e.Cross(f).Norm()/2
		if long == 0 {
			continue
		}
		nu, nv := math.Ceil(min(long/spacing, 1e4)), math.Ceil(min(2*area/long/spacing, 1e4))
		for j := 0.5; j < nv; j++ {
			v := j / nv
			for i := 0.5; i < nu; i++ {
				c.add(a.Plus(e.Times(i/nu*(1-v))).Plus(f.Times(v)), 2*area*(1-v)/(nu*nv))
			}
		}
	}
	for i := range c.at {
		c.at[i] = c.at[i].Times(1 / max(c.weight[i], 1e-300))
	}
	return c
}

func (c *cellMap) add(p Vec, w float64) {
	w = max(w, 1e-300)
	k := [3]int32{int32(math.Floor(p[0] / c.side)), int32(math.Floor(p[1] / c.side)), int32(math.Floor(p[2] / c.side))}
	i, ok := c.find[k]
	if !ok {
		i = int32(len(c.at))
		c.find[k] = i
		c.at = append(c.at, Vec{})
		c.weight = append(c.weight, 0)
		c.key = append(c.key, k)
	}
	c.at[i] = c.at[i].Plus(p.Times(w))
	c.weight[i] += w
}

// walk returns the length of the shortest way over touching cubes from one of them to each [m]. Source: Dijkstra.
func (c *cellMap) walk(from int) []float64 {
	far := make([]float64, len(c.at))
	for i := range far {
		far[i] = math.Inf(1)
	}
	far[from] = 0
	q := heap{{0, int32(from)}}
	for len(q) > 0 {
		top := q.pop()
		if top.d > far[top.i] {
			continue
		}
		k := c.key[top.i]
		for s := range int32(27) {
			j, ok := c.find[[3]int32{k[0] + s%3 - 1, k[1] + s/3%3 - 1, k[2] + s/9 - 1}]
			if !ok || j == top.i {
				continue
			}
			if d := top.d + c.at[j].Minus(c.at[top.i]).Norm(); d < far[j] {
				far[j] = d
				q.push(step{d, j})
			}
		}
	}
	for i, d := range far {
		if math.IsInf(d, 1) {
			far[i] = -1
		}
	}
	return far
}

type step struct {
	d float64
	i int32
}

// heap is a binary heap with the least on top.
type heap []step

func (h *heap) push(s step) {
	*h = append(*h, s)
	q := *h
	for i := len(q) - 1; i > 0 && q[i].d < q[(i-1)/2].d; i = (i - 1) / 2 {
		q[i], q[(i-1)/2] = q[(i-1)/2], q[i]
	}
}

func (h *heap) pop() step {
	q := *h
	top, n := q[0], len(q)-1
	q[0] = q[n]
	q = q[:n]
	for i := 0; 2*i+1 < n; {
		k := 2*i + 1
		if k+1 < n && q[k+1].d < q[k].d {
			k++
		}
		if q[i].d <= q[k].d {
			break
		}
		q[i], q[k] = q[k], q[i]
		i = k
	}
	*h = q
	return top
}
