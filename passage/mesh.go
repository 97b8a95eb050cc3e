package passage

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

// Reasons why a mesh cannot be read or made a passage of.
var (
	ErrSTL         = errors.New("not an STL file that can be read")
	ErrTooLarge    = errors.New("mesh is too large")
	ErrOpen        = errors.New("mesh is open")
	ErrTwoTubes    = errors.New("mesh holds more than one tube")
	ErrNotManifold = errors.New("mesh is not the surface of a body")
	ErrNoTube      = errors.New("no tube is found in the mesh")
)

// MaxTriangles is the number of triangles a mesh may have [-].
const MaxTriangles = 2_000_000

// A Mesh is a surface of triangles with shared corners.
type Mesh struct {
	Points    []Vec      // corners [m]
	Triangles [][3]int32 // corners of each triangle, anticlockwise from outside
}

// corners returns the three corners of a triangle.
func (m *Mesh) corners(t int) (a, b, c Vec) {
	v := m.Triangles[t]
	return m.Points[v[0]], m.Points[v[1]], m.Points[v[2]]
}

// normal returns the normal of a triangle, as long as twice its area [m²].
func (m *Mesh) normal(t int) Vec {
	a, b, c := m.corners(t)
	return b.Minus(a).Cross(c.Minus(a))
}

// Volume returns the volume enclosed [m³], above zero when the triangles run anticlockwise seen from outside.
//
//	V = Σ a·(b × c)/6
//
// Source: divergence theorem.
func (m *Mesh) Volume() float64 {
	if len(m.Points) == 0 {
		return 0
	}
	o, sum := m.Points[0], 0.0 // near the surface, so that no digits are lost far from the origin
	for t := range m.Triangles {
		a, b, c := m.corners(t)
		a, b, c = a.Minus(o), b.Minus(o), c.Minus(o)
		sum += a.Dot(b.Cross(c))
	}
	return sum / 6
}

// Surface returns the area of all triangles [m²].
func (m *Mesh) Surface() float64 {
	sum := 0.0
	for t := range m.Triangles {
		sum += m.normal(t).Norm() / 2
	}
	return sum
}

// Box returns the corners of the box round the mesh [m].
func (m *Mesh) Box() (lo, hi Vec) {
	lo, hi = Vec{math.Inf(1), math.Inf(1), math.Inf(1)}, Vec{math.Inf(-1), math.Inf(-1), math.Inf(-1)}
	for _, p := range m.Points {
		for k := range 3 {
			lo[k], hi[k] = min(lo[k], p[k]), max(hi[k], p[k])
		}
	}
	return lo, hi
}

// size returns the diagonal of the box [m].
func (m *Mesh) size() float64 {
	lo, hi := m.Box()
	return hi.Minus(lo).Norm()
}

// centre returns the middle of a triangle [m].
func (m *Mesh) centre(t int) Vec {
	a, b, c := m.corners(t)
	return a.Plus(b).Plus(c).Times(1. / 3)
}

// mmAt writes a place for a message [mm].
func mmAt(v Vec) string {
	return fmt.Sprintf("x %.1f, y %.1f, z %.1f mm", 1e3*v[0], 1e3*v[1], 1e3*v[2])
}

// SuspectUnit judges the unit of a mesh by its size: diagonal is that of its box in units of the file [-], and named the unit it is
// said to be in, "mm", "cm", "in" or "m", or empty. It returns the likeliest unit, whether that is certain enough to go on without
// asking, and when it is not, what to ask. An intake passage is taken to measure 60 mm to 1.5 m across its box: our own judgement.
func SuspectUnit(diagonal float64, named string) (unit string, certain bool, ask string) {
	const least, most = 0.06, 1.5 // [m]
	type choice struct {
		name string
		size float64 // of the unit [m]
		word string
	}
	all := []choice{{"mm", 1e-3, "mm"}, {"in", 0.0254, "inches"}, {"cm", 1e-2, "cm"}, {"m", 1, "metres"}}
	var fit []choice
	for _, c := range all {
		if s := diagonal * c.size; s >= least && s <= most {
			fit = append(fit, c)
		}
	}
	for _, c := range fit {
		if c.name == named {
			return named, true, ""
		}
	}
	if named != "" {
		for _, c := range all {
			if c.name != named || len(fit) == 0 {
				continue
			}
			return fit[0].name, false, fmt.Sprintf("in %s the mesh is %.4g mm across its box; in %s it would be %.4g mm: is it in %s?", c.word, 1e3*diagonal*c.size, fit[0].word, 1e3*diagonal*fit[0].size, fit[0].word)
		}
		return named, false, fmt.Sprintf("the mesh is %.4g %s across its box, which no intake passage is: which unit is it in?", diagonal, named)
	}
	if len(fit) == 1 {
		return fit[0].name, true, ""
	}
	if len(fit) == 0 {
		return "mm", false, fmt.Sprintf("the mesh is %.4g units across its box, which is no intake passage in mm, cm, inches or metres: which unit is it in?", diagonal)
	}
	var may []string
	for _, c := range fit {
		may = append(may, fmt.Sprintf("%.4g mm across if in %s", 1e3*diagonal*c.size, c.word))
	}
	return fit[0].name, false, "the mesh has no unit. It is " + strings.Join(may, " or ") + ": which is it?"
}
