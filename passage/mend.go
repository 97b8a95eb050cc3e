package passage

import (
	"fmt"
	"math"
)

// HoleLimit is the width up to which holes are closed when nothing else is said [m].
const HoleLimit = 0.015

// A Mending is what was done to a mesh to make a body of it.
type Mending struct {
	Triangles   int      // triangles in the end [-]
	Flipped     int      // triangles turned over [-]
	Doubled     int      // triangles that lay twice in the file [-]
	Tangled     int      // edges of more than two triangles, cut out [-]
	HolesClosed int      // holes closed [-]
	WidestHole  float64  // width of the widest of them [m]
	HoleArea    float64  // area of the patches put in [m²]
	Strays      []string // small parts left out, with size and place
	Noise       float64  // scatter of the surface about its own smoothed shape, root of mean square [m]
	Smoothed    bool     // the surface was smoothed because of it
	OpenEnds    []Vec    // middles of open ends that were given a flat cap
	Warnings    []string
}

// mend makes the mesh the surface of one body: it joins corners a hair's breadth apart, drops doubled triangles, turns over triangles that
// run the wrong way, drops stray small parts, closes holes up to holeLimit wide [m] with patches that follow the curve of their
// surroundings, and caps up to two larger openings flat, as the open ends of a tube. Larger openings that seem to be in a side are
// covered too and returned, for the caller to judge. It changes the mesh.
//
// It returns ErrNotManifold, ErrTwoTubes or ErrOpen, wrapped, with the place. Source: own method.
func (m *Mesh) mend(holeLimit float64) (out Mending, ends, sides []cover, err error) {
	if len(m.Triangles) == 0 {
		return out, nil, nil, fmt.Errorf("%w: there is no triangle in it", ErrNoTube)
	}
	m.weldNear(1e-6 * m.size())
	out.Doubled = m.dropDoubled()
	twin, odd, at := m.twins()
	if odd > 0 {
		if odd > len(m.Triangles)/100 {
			return out, nil, nil, fmt.Errorf("%w: %d edges belong to more than two triangles, the first near %s: the scan crosses itself", ErrNotManifold, odd, mmAt(at))
		}
		out.Tangled = odd
		m.dropTangled()
		twin, _, _ = m.twins()
	}
	shell, count, turned, twisted := m.shells(twin)
	out.Flipped = turned
	if twisted >= 0 {
		return out, nil, nil, fmt.Errorf("%w: its triangles cannot all run the same way round near %s: it is twisted like a Möbius band", ErrNotManifold, mmAt(m.centre(twisted)))
	}
	if err := m.keepOne(shell, count, &out); err != nil {
		return out, nil, nil, err
	}
	twin, _, _ = m.twins()
	if ends, sides, err = m.closeHoles(m.rims(twin), holeLimit, &out); err != nil {
		return out, nil, nil, err
	}
	// Patches may have turned the sign of a part that was far from closed.
	twin, _, _ = m.twins()
	m.shells(twin)
	out.Triangles = len(m.Triangles)
	return out, ends, sides, nil
}

// weldNear joins open corners closer together than near [m].
func (m *Mesh) weldNear(near float64) {
	twin, _, _ := m.twins()
	onRim := map[int32]bool{}
	for e, f := range twin {
		if f == open {
			onRim[m.Triangles[e/3][e%3]], onRim[m.Triangles[e/3][(e%3+1)%3]] = true, true
		}
	}
	if len(onRim) == 0 || near <= 0 {
		return
	}
	type cell [3]int64
	at := func(p Vec) cell {
		return cell{int64(math.Floor(p[0] / near)), int64(math.Floor(p[1] / near)), int64(math.Floor(p[2] / near))}
	}
	grid := map[cell][]int32{}
	same := map[int32]int32{}
	for v := range int32(len(m.Points)) {
		if !onRim[v] {
			continue
		}
		p := m.Points[v]
		c := at(p)
		found := open
	look:
		for i := range 27 {
			for _, u := range grid[cell{c[0] + int64(i%3) - 1, c[1] + int64(i/3%3) - 1, c[2] + int64(i/9) - 1}] {
				if m.Points[u].Minus(p).Norm() < near {
					found = u
					break look
				}
			}
		}
		if found == open {
			grid[c] = append(grid[c], v)
			continue
		}
		same[v] = found
	}
	if len(same) == 0 {
		return
	}
	keep := m.Triangles[:0]
	for _, t := range m.Triangles {
		for k := range t {
			if u, ok := same[t[k]]; ok {
				t[k] = u
			}
		}
		if t[0] != t[1] && t[1] != t[2] && t[2] != t[0] {
			keep = append(keep, t)
		}
	}
	m.Triangles = keep
}

// dropDoubled leaves out triangles with the same three corners as one before and returns how many.
func (m *Mesh) dropDoubled() int {
	twin, odd, _ := m.twins()
	if odd == 0 && !anyFolded(m, twin) {
		return 0
	}
	seen := make(map[[3]int32]bool, len(m.Triangles))
	keep := m.Triangles[:0]
	for _, t := range m.Triangles {
		k := t
		if k[0] > k[1] {
			k[0], k[1] = k[1], k[0]
		}
		if k[1] > k[2] {
			k[1], k[2] = k[2], k[1]
		}
		if k[0] > k[1] {
			k[0], k[1] = k[1], k[0]
		}
		if seen[k] {
			continue
		}
		seen[k] = true
		keep = append(keep, t)
	}
	n := len(m.Triangles) - len(keep)
	m.Triangles = keep
	return n
}

// anyFolded reports whether a triangle has the same neighbour along two sides, as a doubled one that stands alone.
func anyFolded(m *Mesh, twin []int32) bool {
	for t := range m.Triangles {
		a, b, c := twin[3*t]/3, twin[3*t+1]/3, twin[3*t+2]/3
		if twin[3*t] >= 0 && twin[3*t+1] >= 0 && a == b || twin[3*t+1] >= 0 && twin[3*t+2] >= 0 && b == c {
			return true
		}
	}
	return false
}

// dropTangled leaves out the triangles along edges that more than two share, for closeHoles to patch.
func (m *Mesh) dropTangled() {
	type edge [2]int32
	uses := map[edge]int{}
	key := func(v, w int32) edge { return edge{min(v, w), max(v, w)} }
	for _, t := range m.Triangles {
		for k := range t {
			uses[key(t[k], t[(k+1)%3])]++
		}
	}
	keep := m.Triangles[:0]
	for _, t := range m.Triangles {
		if uses[key(t[0], t[1])] <= 2 && uses[key(t[1], t[2])] <= 2 && uses[key(t[2], t[0])] <= 2 {
			keep = append(keep, t)
		}
	}
	m.Triangles = keep
}

// keepOne keeps the largest part of the mesh and leaves out small strays; two parts that could both be tubes are refused.
func (m *Mesh) keepOne(shell []int32, count int, out *Mending) error {
	if count <= 1 {
		return nil
	}
	const stray = 0.1 // surface over that of the largest below which a part is a stray [-]
	area := make([]float64, count)
	middle := make([]Vec, count)
	size := make([]int, count)
	for t := range m.Triangles {
		a := m.normal(t).Norm() / 2
		s := shell[t]
		area[s] += a
		middle[s] = middle[s].Plus(m.centre(t).Times(a))
		size[s]++
	}
	best := 0
	for s := range area {
		if area[s] > area[best] {
			best = s
		}
	}
	for s := range area {
		if s == best || area[s] == 0 {
			continue
		}
		where := mmAt(middle[s].Times(1 / area[s]))
		if area[s] > stray*area[best] {
			return fmt.Errorf("%w: beside the largest part, round %s, there is another with %.0f %% of its surface round %s: put one tube in a file", ErrTwoTubes, mmAt(middle[best].Times(1/area[best])), 100*area[s]/area[best], where)
		}
		const told = 20
		if len(out.Strays) < told {
			out.Strays = append(out.Strays, fmt.Sprintf("%d triangles, %.3g mm², round %s", size[s], 1e6*area[s], where))
		} else if len(out.Strays) == told {
			out.Strays = append(out.Strays, "and more")
		}
	}
	keep := m.Triangles[:0]
	for t, tri := range m.Triangles {
		if shell[t] == int32(best) {
			keep = append(keep, tri)
		}
	}
	m.Triangles = keep
	return nil
}
