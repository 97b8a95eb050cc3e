package passage

import (
	"fmt"
	"math"
)

// MeshOptions is how a passage is made from a mesh.
type MeshOptions struct {
	Stations  int     // sections wanted [-]; 0: 40
	Along     Way     // how the first guess of the centreline is found
	HoleLimit float64 // width up to which holes are closed [m]; 0: the constant HoleLimit
	Reverse   bool    // count from the other end
}

// FromMesh makes a passage from the mesh of a mould or of a tube: it mends the mesh, finds the two ends and the centreline that runs
// through the middles of the sections normal to it, and cuts the sections. The mesh is changed by the mending. Where a section shows
// the two outlines of a wall, the inner one is the passage; of several, that round the centreline.
//
// It returns ErrNotManifold, ErrTwoTubes, ErrOpen, ErrNoTube or what New returns, wrapped, with the place.
// Source: own method; the sections and the volume are checked against closed forms.
func FromMesh(m *Mesh, o MeshOptions) (*Passage, Mending, error) {
	if o.HoleLimit == 0 {
		o.HoleLimit = HoleLimit
	}
	if o.Stations == 0 {
		o.Stations = 40
	}
	if o.Stations < 2 || o.Stations > maxStations {
		return nil, Mending{}, fmt.Errorf("%w: %d stations asked for: from 2 to %d", ErrTooFew, o.Stations, maxStations)
	}
	out, ends, sides, err := m.mend(o.HoleLimit)
	if err != nil {
		return nil, out, err
	}
	noise, side := m.scatter()
	out.Noise = noise
	if noise > noisy*side {
		m.smooth(smoothTurns)
		out.Smoothed = true
	}
	t, err := m.tubeWithin(out.Smoothed, o.Along, ends, sides)
	if err != nil {
		return nil, out, err
	}
	for _, c := range sides {
		out.OpenEnds = append(out.OpenEnds, c.middle)
	}
	if err := t.settle(o.Stations); err != nil {
		return nil, out, err
	}
	out.Warnings = t.warnings
	if o.Reverse {
		t.reverse()
	}
	st, err := t.stations(o.Stations)
	if err != nil {
		return nil, out, err
	}
	p, err := New(st)
	if err != nil {
		return nil, out, fmt.Errorf("the sections of the mesh: %w", err)
	}
	return p, out, straightEnough(p, out)
}

// tube is a centreline in the making.
type tube struct {
	mesh     *Mesh
	cut      *Cutter
	rough    bool // the mesh was noisy: smooth the centreline too
	walled   bool // the mesh is that of a part with a wall round the passage, open at its ends
	bore     float64
	line     []Vec  // points along the centreline, ends included
	ways     []Vec  // directions there
	caps     [2]lid // how it ends
	warnings []string
}

// lid is an end of the tube.
type lid struct {
	at     Vec   // middle of the end
	normal Vec   // along the centreline, from the first end to the last
	square bool  // the end is square to the tube, and so a section itself
	inside bool  // the end of the line lies before the end of the tube, and is whole
	facing []int // the triangles it is made of
}

// section returns the outline of the passage in the plane through at: of the inner outlines of a wall that round at, else of the outer ones
// that round at, else the nearest.
func (t *tube) section(at, normal Vec) (Loop, bool) {
	return choose(t.cut.Cut(at, normal))
}

func choose(loops []Loop) (best Loop, ok bool) {
	rank := 4
	nearest := math.Inf(1)
	for _, l := range loops {
		if l.Area == 0 {
			continue
		}
		r := 3
		inside := l.Contains(Point{})
		switch {
		case inside && l.Area < 0:
			r = 1
		case inside:
			r = 2
		case l.Area < 0:
			r = 4
		}
		d := math.Hypot(l.Centre[0], l.Centre[1])
		if r < rank || r == rank && d < nearest {
			best, rank, nearest, ok = l, r, d, true
		}
	}
	best.Area = math.Abs(best.Area)
	return best, ok
}

// lift returns the point in space of a point in the plane through at.
func lift(at, normal Vec, p Point) Vec {
	e1, e2 := Frame(normal)
	return at.Plus(e1.Times(p[0])).Plus(e2.Times(p[1]))
}

// recentre moves a point to the middle of its section and turns the normal along the line of the middles close by, a few times.
func (t *tube) recentre(at, normal Vec, times int) (Vec, Vec, Loop, bool) {
	const jump = 0.3 // change of area between close sections that says one of them is no section of the tube [-]
	for range times {
		l, ok := t.section(at, normal)
		if !ok {
			return at, normal, l, false
		}
		at = lift(at, normal, l.Centre)
		d := 0.15 * math.Sqrt(l.Area)
		f, ok1 := t.section(at.Plus(normal.Times(d)), normal)
		b, ok2 := t.section(at.Minus(normal.Times(d)), normal)
		if !ok1 || !ok2 || math.Abs(f.Area-l.Area) > jump*l.Area || math.Abs(b.Area-l.Area) > jump*l.Area {
			continue
		}
		next := lift(at.Plus(normal.Times(d)), normal, f.Centre).Minus(lift(at.Minus(normal.Times(d)), normal, b.Centre)).Unit()
		if next.Dot(normal) > 0.5 {
			normal = next
		}
	}
	l, ok := t.section(at, normal)
	return at, normal, l, ok
}

// trace finds the centreline roughly, from its middle to both ends.
func (t *tube) trace(way Way) error {
	at, along, length, err := t.mesh.firstGuess(way)
	if err != nil {
		return err
	}
	at, along, l, ok := t.recentre(at, along, 12)
	if !ok {
		return fmt.Errorf("%w: nothing closed is cut near %s: give the axis it runs along", ErrNoTube, mmAt(at))
	}
	t.bore = 2 * math.Sqrt(l.Area/math.Pi)
	if t.bore > length {
		return fmt.Errorf("%w: near %s it is wider, %.1f mm, than it is long, %.1f mm: give the axis it runs along", ErrNoTube, mmAt(at), 1e3*t.bore, 1e3*length)
	}
	t.walled = t.within(at, along)
	forth, last, err := t.march(at, along, length)
	if err != nil {
		return err
	}
	back, first, err := t.march(at, along.Times(-1), length)
	if err != nil {
		return err
	}
	first.normal = first.normal.Times(-1)
	t.caps = [2]lid{first, last}
	t.line = reversed(back)
	t.line = append(t.line, at)
	t.line = append(t.line, forth...)
	return nil
}

// march follows the tube from a point inside along a direction to its end. It returns the points passed and the end itself.
func (t *tube) march(at, along Vec, length float64) ([]Vec, lid, error) {
	var out []Vec
	var turn Vec // by how much the direction changed of late
	step := min(length/60, t.bore/8)
	const most = 4000 // steps [-]: a tube a hundred times as long as wide takes a thousand
	for range most {
		l, ok := t.section(at, along)
		if !ok {
			return nil, lid{}, fmt.Errorf("%w: it is lost near %s", ErrNoTube, mmAt(at))
		}
		if t.walled && !t.within(at.Plus(along.Times(step)), along) {
			end := t.mouth(at, along, step)
			return append(out, end.at), end, nil
		}
		hit, far, ok := t.cut.index.ray(t.mesh, at, along)
		if !ok && t.walled {
			hit, far = 0, math.Inf(1)
		} else if !ok {
			return nil, lid{}, fmt.Errorf("%w: it has no end beyond %s", ErrOpen, mmAt(at))
		}
		bore := 2 * math.Sqrt(l.Area/math.Pi)
		if end, ok := t.obliqueLid(hit, far, along, l.Area); ok {
			return append(out, end.at), end, nil
		}
		if far < max(2*step, bore/4) {
			if end, ok := t.lidAt(hit, along, l.Area); ok {
				return append(out, end.at), end, nil
			}
			if far < step {
				return nil, lid{}, fmt.Errorf("%w: it narrows to a point, or its end is cut at more than %.0f° to its run, near %s: cut it off squarer", ErrNoTube, steepest, mmAt(at))
			}
		}
		next := at.Plus(along.Times(step))
		var way Vec
		if far > bore/2 {
			next, way, _, ok = t.recentre(next, along, 2)
			turn = turn.Times(0.8).Plus(way.Minus(along).Times(0.2))
		} else {
			// So near to an end that the sections close by could be cut off: go on turning as before.
			way = along.Plus(turn).Unit()
			if l, ok = t.section(next, way); ok {
				next = lift(next, way, l.Centre)
			}
		}
		if !ok || way.Dot(along) < 0.5 {
			return nil, lid{}, fmt.Errorf("%w: it is lost near %s", ErrNoTube, mmAt(next))
		}
		if next.Minus(at).Dot(along) < step/4 {
			return nil, lid{}, fmt.Errorf("%w: it turns back sharper than can be followed near %s", ErrNoTube, mmAt(next))
		}
		at, along = next, way
		out = append(out, at)
	}
	return nil, lid{}, fmt.Errorf("%w: it does not end: is it a ring?", ErrNoTube)
}

// within reports whether the inner outline of a wall goes round a point.
func (t *tube) within(at, normal Vec) bool {
	for _, l := range t.cut.Cut(at, normal) {
		if l.Area < 0 && l.Contains(Point{}) {
			return true
		}
	}
	return false
}

// mouth returns the open end of a passage through a part, which lies less than a step beyond at: the plane of the rim, from the triangles
// that face outward there.
func (t *tube) mouth(at, along Vec, step float64) lid {
	lo, hi := 0.0, step
	for range 30 {
		if mid := (lo + hi) / 2; t.within(at.Plus(along.Times(mid)), along) {
			lo = mid
		} else {
			hi = mid
		}
	}
	end := at.Plus(along.Times(lo))
	if l, ok := t.section(end, along); ok {
		end = lift(end, along, l.Centre)
	}
	const outward, reach = 0.9, 0.75 // cosine of 26° [-], distance from the end over the bore [-]
	var normal, middle Vec
	var facing []int
	area := 0.0
	for i := range t.mesh.Triangles {
		c := t.mesh.centre(i)
		if d := c.Minus(end); d.Norm() > reach*t.bore || math.Abs(d.Dot(along)) > 0.2*t.bore {
			continue
		}
		if n := t.mesh.normal(i); n.Dot(along) > outward*n.Norm() {
			a := n.Norm()
			normal, middle, area = normal.Plus(n), middle.Plus(c.Times(a)), area+a
			facing = append(facing, i)
		}
	}
	out := lid{at: end, normal: along, facing: facing}
	if area > 0 {
		out.normal = normal.Unit()
		out.at = end.Plus(along.Times(middle.Times(1/area).Minus(end).Dot(out.normal) / along.Dot(out.normal)))
	}
	out.square = t.isSquare(out)
	return out
}

// lidAt returns the end of a tube whose triangle hit was met along a direction: the triangles connected to it that face that way.
func (t *tube) lidAt(hit int, along Vec, section float64) (lid, bool) {
	const facing = 0.7071 // cosine of 45° [-]
	m := t.mesh
	if n := m.normal(hit); n.Dot(along) < facing*n.Norm() {
		// A noisy end may have triangles that look aside: any of its neighbours will do.
		if hit = t.facingNear(hit, along, facing); hit < 0 {
			return lid{}, false
		}
	}
	patch := t.patch(hit, along, facing)
	if flat := patch.normal.Norm(); flat < 0.5*section || flat > 3*section {
		return lid{}, false
	}
	patch.normal = patch.normal.Unit()
	patch.square = t.isSquare(patch)
	return patch, true
}

// steepest is the angle off square up to which a flat end is found [°].
const steepest = 60.0

// obliqueLid returns a flat end that is cut at an angle to the tube and comes so close that sections would soon be cut off by it and
// their middles lead into its tip: the connected triangles that face as the one met does, and as much of them as the section is wide.
func (t *tube) obliqueLid(hit int, far float64, along Vec, section float64) (lid, bool) {
	const (
		flat    = 0.94 // cosine of 20°, which the triangles of one flat end face within [-]
		oblique = 0.97 // cosine of 14°, above which an end is square enough to walk up to [-]
	)
	m, bore := t.mesh, 2*math.Sqrt(section/math.Pi)
	way := m.normal(hit).Unit()
	tilt := way.Dot(along)
	if tilt > oblique || tilt < math.Cos(steepest*math.Pi/180) || far > bore*(0.25+math.Sqrt(1-tilt*tilt)/tilt/2) {
		return lid{}, false
	}
	patch := t.patch(hit, way, flat)
	if across := patch.normal.Dot(along) / section; across < 0.75 || across > 1.3 {
		return lid{}, false
	}
	patch.normal = patch.normal.Unit()
	patch.square = t.isSquare(patch) // a bend may be met before its last degrees are walked
	return patch, true
}

// patch returns the triangles connected to one that face along a direction within an angle of a given cosine, their middle, and the sum
// of their normals, each as long as its area.
func (t *tube) patch(hit int, along Vec, facing float64) lid {
	m := t.mesh
	seen := map[int32]bool{int32(hit): true}
	stack := []int32{int32(hit)}
	var out lid
	area := 0.0
	for len(stack) > 0 {
		s := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		n := m.normal(int(s)).Times(0.5)
		a := n.Norm()
		out.normal = out.normal.Plus(n)
		out.at = out.at.Plus(m.centre(int(s)).Times(a))
		out.facing = append(out.facing, int(s))
		area += a
		for k := range int32(3) {
			f := t.cut.twin[3*s+k]
			if f < 0 || seen[f/3] {
				continue
			}
			if g := m.normal(int(f / 3)); g.Dot(along) >= facing*g.Norm() {
				seen[f/3] = true
				stack = append(stack, f/3)
			}
		}
	}
	out.at = out.at.Times(1 / area)
	return out
}

// isSquare reports whether an end is square to its tube: sections parallel to it, just inside, must have their middles in line square
// to it.
func (t *tube) isSquare(l lid) bool {
	const near, deep, within = 0.05, 0.25, 8 * math.Pi / 180 // depths over the bore [-], angle [rad]
	var middle [2]Vec
	for i, d := range [2]float64{near, deep} {
		at := l.at.Minus(l.normal.Times(d * t.bore))
		s, ok := t.section(at, l.normal)
		if !ok {
			return false
		}
		middle[i] = lift(at, l.normal, s.Centre)
	}
	return middle[0].Minus(middle[1]).angleTo(l.normal) < within
}

// facingNear returns a triangle within two neighbours of one that faces along a direction, or −1.
func (t *tube) facingNear(hit int, along Vec, facing float64) int {
	edge := []int32{int32(hit)}
	for range 3 {
		var next []int32
		for _, s := range edge {
			for k := range int32(3) {
				f := t.cut.twin[3*s+k]
				if f < 0 {
					continue
				}
				if g := t.mesh.normal(int(f / 3)); g.Dot(along) >= facing*g.Norm() {
					return int(f / 3)
				}
				next = append(next, f/3)
			}
		}
		edge = next
	}
	return -1
}
