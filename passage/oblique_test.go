package passage_test

import (
	"math"
	"strings"
	"testing"

	"runnel/passage"
)

// cone is the surface of a straight cone from radius r0 to r1 over a length, both ends cut flat, off square by the angles given.
func cone(r0, r1, length, first, last float64) *passage.Mesh {
	const n, k = 48, 60
	m := &passage.Mesh{}
	for i := range k + 1 {
		for j := range n {
			s, c := math.Sincos(2 * math.Pi * float64(j) / n)
			// On the line of the cone at this angle z runs between the two planes z = x·tan(first) and z = length + x·tan(last).
			meet := func(at, slope float64) float64 {
				taper := (r1 - r0) / length
				return (at + slope*c*r0) / (1 - slope*c*taper)
			}
			a, b := meet(0, math.Tan(first)), meet(length, math.Tan(last))
			z := a + (b-a)*float64(i)/k
			r := r0 + (r1-r0)*z/length
			m.Points = append(m.Points, passage.Vec{r * c, r * s, z})
		}
	}
	m.Points = append(m.Points, passage.Vec{0, 0, 0}, passage.Vec{0, 0, length})
	id := func(i, j int) int32 { return int32(i*n + j%n) }
	for j := range n {
		for i := range k {
			m.Triangles = append(m.Triangles, [3]int32{id(i, j), id(i, j+1), id(i+1, j+1)}, [3]int32{id(i, j), id(i+1, j+1), id(i+1, j)})
		}
		m.Triangles = append(m.Triangles, [3]int32{(k + 1) * n, id(0, j+1), id(0, j)}, [3]int32{(k+1)*n + 1, id(k, j), id(k, j+1)})
	}
	return m
}

// A mould is often cut off at an angle, as at the flange of a head: the line must stop at the last section that is whole, neither be led
// into the sharp edge of the end nor give away more of the passage than that. What is whole follows from the planes of the ends.
func TestObliqueEnds(t *testing.T) {
	const length, r0, r1 = 0.2, 0.025, 0.021
	for _, tilt := range [][2]float64{{0.3, -0.3}, {0.5, -0.6}, {0.7, 0.4}, {0.9, 0.9}, {0, 0.8}} {
		p, did, err := passage.FromMesh(cone(r0, r1, length, tilt[0], tilt[1]), passage.MeshOptions{})
		if err != nil {
			t.Errorf("ends at %.1f and %.1f rad: %v", tilt[0], tilt[1], err)
			continue
		}
		reach := func(r, a float64) float64 { return r * math.Abs(math.Tan(a)) }
		want := length - reach(r0, tilt[0]) - reach(r1, tilt[1])
		if got := p.Length(); got > want+0.001 || got < want-0.005 { // it stops a fiftieth of a bore short of either end, and looks in such steps
			t.Errorf("ends at %.1f and %.1f rad: %.1f mm long, and %.1f mm are whole", tilt[0], tilt[1], 1e3*got, 1e3*want)
		}
		for _, s := range p.Stations() {
			r := r0 + (r1-r0)*s.Centre[2]/length
			if area := math.Pi * r * r; math.Abs(s.Area/area-1) > 0.006 { // 48 sides are 0.29 % less than the circle
				t.Errorf("ends at %.1f and %.1f rad: area at z %.1f mm is %.4f of the circle", tilt[0], tilt[1], 1e3*s.Centre[2], s.Area/area)
				break
			}
		}
		if told := strings.Join(did.Warnings, "; "); strings.Count(told, "not square") != map[bool]int{true: 2, false: 1}[tilt[0] != 0] {
			t.Errorf("ends at %.1f and %.1f rad: told %q", tilt[0], tilt[1], told)
		}
	}
}

// An end cut at a slant that cannot be followed is named, with what to do.
func TestTooObliqueAnEnd(t *testing.T) {
	_, _, err := passage.FromMesh(cone(0.025, 0.021, 0.25, 0, 1.25), passage.MeshOptions{})
	if err == nil || !strings.Contains(err.Error(), "cut it off squarer") || !strings.Contains(err.Error(), "near x") {
		t.Errorf("an end at 72° off square: %v", err)
	}
}
