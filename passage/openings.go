package passage

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// tubeWithin finds the rough centreline of a mended mesh and judges its large openings by it. Openings that seemed to be in a side but lie
// in an end of the tube are capped flat and the line is sought anew; one that is in a side is refused, with its place.
func (m *Mesh) tubeWithin(rough bool, way Way, ends, sides []cover) (*tube, error) {
	t, err := m.traced(rough, way, ends, sides)
	if err != nil || len(sides) == 0 {
		return t, err
	}
	m.flatten(sides)
	return m.traced(rough, way, ends, sides)
}

// traced finds the rough centreline as the mesh is, and refuses openings that are not in its ends.
func (m *Mesh) traced(rough bool, way Way, ends, sides []cover) (*tube, error) {
	t := &tube{mesh: m, cut: NewCutter(m), rough: rough}
	if err := t.trace(way); err != nil {
		if len(sides) > 0 {
			return nil, fmt.Errorf("%w: the opening %.1f mm wide near %s is in the side of the tube, which is lost there: %s", ErrOpen, 1e3*sides[0].width, mmAt(sides[0].middle), sides[0].remedy(0))
		}
		return nil, err
	}
	for _, c := range slices.Concat(sides, ends) {
		if !t.isLid(c.hole) {
			return nil, fmt.Errorf("%w: the opening %.1f mm wide near %s is in the side of the tube, %.0f mm from its nearer end: %s",
				ErrOpen, 1e3*c.width, mmAt(c.middle), 1e3*t.fromEnd(c.middle), c.remedy(t.bore))
		}
	}
	return t, nil
}

// flatten replaces covers that follow the curve round them by flat ones.
func (m *Mesh) flatten(covers []cover) {
	for _, c := range slices.Backward(covers) { // the last put in first, so that the places of the others stay
		m.Triangles = slices.Delete(m.Triangles, c.from, c.to)
	}
	for _, c := range covers {
		m.fan(c.rim, c.middle)
	}
	twin, _, _ := m.twins()
	m.shells(twin) // the new ones run as their neighbours do
}

// isLid reports whether an opening is one of the ends of the tube: near it, and square to the tube within 45°, as every end is.
func (t *tube) isLid(h hole) bool {
	const square = 0.7071 // cosine of 45° [-]
	for _, c := range t.caps {
		if h.middle.Minus(c.at).Norm() < t.bore && math.Abs(h.normal.Dot(c.normal)) > square {
			return true
		}
	}
	return false
}

// fromEnd returns how far along the line from its nearer end the point of the line lies that is nearest to p [m].
func (t *tube) fromEnd(p Vec) float64 {
	best, at, s := math.Inf(1), 0.0, 0.0
	for i, q := range t.line {
		if i > 0 {
			s += q.Minus(t.line[i-1]).Norm()
		}
		if d := q.Minus(p).Norm(); d < best {
			best, at = d, s
		}
	}
	return min(at, s-at)
}

// mostTurn is the turn of a centreline beyond which it has lost its way [rad]: one and a half times round, own judgement.
const mostTurn = 3 * math.Pi

// straightEnough refuses a centreline that wanders.
func straightEnough(p *Passage, m Mending) error {
	turn := 0.0
	for _, b := range p.Bends() {
		turn += b.Angle
	}
	if turn <= mostTurn {
		return nil
	}
	var where strings.Builder
	for _, v := range m.OpenEnds {
		fmt.Fprintf(&where, " the opening near %s was taken for an end;", mmAt(v))
	}
	return fmt.Errorf("%w: the centreline turns by %.0f° in all, which no passage does;%s close holes in its side, or cut the ends off square", ErrNoTube, turn*180/math.Pi, where.String())
}
