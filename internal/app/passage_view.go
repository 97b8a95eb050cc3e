package app

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"slices"

	"runnel/internal/fault"
	"runnel/internal/store"
	"runnel/passage"
)

// A MeshView is a surface to be looked at: corners, triangles and how far along the centreline each corner lies.
type MeshView struct {
	Points [][3]float32 // corners [m]
	Along  []float32    // distance along the centreline [m]
	Index  []uint32     // three corners a triangle
}

// viewLimit is the number of triangles beyond which the picture of a mesh is drawn coarser; the sections are not.
const viewLimit = 150_000

// Bytes writes the view for a page: the numbers of corners and of triangles, then corners, distances and triangles, little endian.
func (v MeshView) Bytes() []byte {
	out := make([]byte, 0, 8+16*len(v.Points)+4*len(v.Index))
	put := func(x uint32) { out = binary.LittleEndian.AppendUint32(out, x) }
	put(uint32(len(v.Points)))
	put(uint32(len(v.Index) / 3))
	for _, p := range v.Points {
		for _, x := range p {
			put(math.Float32bits(x))
		}
	}
	for _, s := range v.Along {
		put(math.Float32bits(s))
	}
	for _, i := range v.Index {
		put(i)
	}
	return out
}

// viewOf makes the view of a mesh, coarser when it is very fine.
func viewOf(m *passage.Mesh, p *passage.Passage) MeshView {
	points, index := m.Points, make([]uint32, 0, 3*len(m.Triangles))
	for _, t := range m.Triangles {
		index = append(index, uint32(t[0]), uint32(t[1]), uint32(t[2]))
	}
	if len(m.Triangles) > viewLimit {
		lo, hi := m.Box()
		// Triangles of a closed surface of area S with corners a grid d apart: about 2·S/d².
		d := math.Sqrt(2 * m.Surface() / viewLimit)
		points, index = gathered(points, index, lo, min(d, hi.Minus(lo).Norm()/20))
	}
	st := p.Stations()
	v := MeshView{Index: index, Points: make([][3]float32, len(points)), Along: make([]float32, len(points))}
	for i, q := range points {
		v.Points[i] = [3]float32{float32(q[0]), float32(q[1]), float32(q[2])}
		v.Along[i] = float32(alongOf(st, q))
	}
	return v
}

// gathered puts the corners within each cube of side d at their middle.
func gathered(points []passage.Vec, index []uint32, lo passage.Vec, d float64) ([]passage.Vec, []uint32) {
	cell := map[[3]int32]uint32{}
	to := make([]uint32, len(points))
	var mid []passage.Vec
	var n []float64
	for i, p := range points {
		k := [3]int32{int32((p[0] - lo[0]) / d), int32((p[1] - lo[1]) / d), int32((p[2] - lo[2]) / d)}
		c, ok := cell[k]
		if !ok {
			c = uint32(len(mid))
			cell[k] = c
			mid, n = append(mid, passage.Vec{}), append(n, 0)
		}
		to[i] = c
		mid[c] = mid[c].Plus(p)
		n[c]++
	}
	for i := range mid {
		mid[i] = mid[i].Times(1 / n[i])
	}
	var out []uint32
	for t := 0; t+2 < len(index); t += 3 {
		a, b, c := to[index[t]], to[index[t+1]], to[index[t+2]]
		if a != b && b != c && c != a {
			out = append(out, a, b, c)
		}
	}
	return mid, out
}

// alongOf is how far along the centreline the point nearest to q lies [m].
func alongOf(st []passage.Station, q passage.Vec) float64 {
	best, at := math.Inf(1), 0.0
	for i := 1; i < len(st); i++ {
		a, d := st[i-1].Centre, st[i].Centre.Minus(st[i-1].Centre)
		t := min(max(q.Minus(a).Dot(d)/max(d.Dot(d), 1e-300), 0), 1)
		r := q.Minus(a.Plus(d.Times(t)))
		if e := r.Dot(r); e < best {
			best, at = e, st[i-1].At+t*(st[i].At-st[i-1].At)
		}
	}
	return at
}

// PassageView returns what a page draws of a state: its mesh, or a tube made of its stations.
func (a *App) PassageView(ctx context.Context, id, piece, opening, round string) (MeshView, error) {
	b, err := a.Passage(ctx, id, piece, opening)
	if err != nil {
		return MeshView{}, err
	}
	s, ok := b.State(round)
	if !ok {
		return MeshView{}, fault.Errorf(fault.NotFound, "nothing is known of this passage in round %q", round)
	}
	if s.MeshID == 0 {
		return tubeOf(s.Passage), nil
	}
	files, err := a.store.Attachments(ctx, id, piece, opening)
	if err != nil {
		return MeshView{}, err
	}
	i := slices.IndexFunc(files, func(f store.Attachment) bool { return f.ID == s.MeshID })
	if i < 0 {
		return tubeOf(s.Passage), nil
	}
	c, err := a.cutMesh(ctx, files[i])
	return c.View, err
}

const (
	tubeRings = 121
	tubeSides = 64
)

// tubeOf makes a tube of stations: outlines between stations go over into each other and keep the area there. A centreline that is not
// known in space is laid in a plane with the turns as typed.
func tubeOf(p *passage.Passage) MeshView {
	st := p.Stations()
	var v MeshView
	way := newWay(st)
	for i := range tubeRings {
		s := p.Start() + p.Length()*float64(i)/(tubeRings-1)
		at, across, up := way.at(s)
		for k := range tubeSides {
			r := rim(st, p, s, 2*math.Pi*float64(k)/tubeSides)
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / tubeSides)
			q := at.Plus(across.Times(r * cos)).Plus(up.Times(r * sin))
			v.Points = append(v.Points, [3]float32{float32(q[0]), float32(q[1]), float32(q[2])})
			v.Along = append(v.Along, float32(s))
			if i > 0 {
				a, b := uint32((i-1)*tubeSides+k), uint32((i-1)*tubeSides+(k+1)%tubeSides)
				v.Index = append(v.Index, a, b, a+tubeSides, b, b+tubeSides, a+tubeSides)
			}
		}
	}
	return v
}

// rim is the distance from the centre to the outline at a place and an angle [m].
func rim(st []passage.Station, p *passage.Passage, s, angle float64) float64 {
	i := 1
	for i < len(st)-1 && s > st[i].At {
		i++
	}
	a, b := st[i-1], st[i]
	w := min(max((s-a.At)/(b.At-a.At), 0), 1)
	area := a.Area*(1-w) + b.Area*w
	return (reach(a.Section, angle)*(1-w) + reach(b.Section, angle)*w) * math.Sqrt(p.Place(s).Area/area)
}

// reach is the distance from the centre of a section to its outline at an angle [m]; without an outline that of the ellipse of its width
// and height, or of the circle, of the same area.
func reach(s passage.Section, angle float64) float64 {
	sin, cos := math.Sincos(angle)
	if len(s.Outline) == 0 {
		w, h := s.Width, s.Height
		if w == 0 || h == 0 {
			w, h = 1, 1
		}
		k := math.Sqrt(4 * s.Area / (math.Pi * w * h))
		return k / 2 / math.Hypot(cos/w, sin/h)
	}
	best := 0.0
	for i, a := range s.Outline {
		b := s.Outline[(i+1)%len(s.Outline)]
		// The ray t·(cos, sin) meets a + u·(b−a).
		dx, dy := b[0]-a[0], b[1]-a[1]
		det := cos*dy - sin*dx
		if det == 0 {
			continue
		}
		t := (a[0]*dy - a[1]*dx) / det
		u := (a[0]*sin - a[1]*cos) / det
		if t > best && u >= -1e-9 && u <= 1+1e-9 {
			best = t
		}
	}
	return best
}

// A wayAlong is a centreline to walk along.
type wayAlong struct {
	st    []passage.Station
	space bool
}

func newWay(st []passage.Station) wayAlong {
	w := wayAlong{st: st, space: true}
	for _, s := range st {
		if s.Normal == (passage.Vec{}) {
			w.space = false
		}
	}
	return w
}

// at returns a place of the centreline and two directions across it.
func (w wayAlong) at(s float64) (at, across, up passage.Vec) {
	if !w.space {
		return w.flat(s)
	}
	i := 1
	for i < len(w.st)-1 && s > w.st[i].At {
		i++
	}
	a, b := w.st[i-1], w.st[i]
	t := (s - a.At) / (b.At - a.At)
	at = a.Centre.Times(1 - t).Plus(b.Centre.Times(t))
	n := a.Normal.Times(1 - t).Plus(b.Normal.Times(t)).Unit()
	across, up = passage.Frame(n)
	return at, across, up
}

// flat lays the typed turns in the plane of x and y.
func (w wayAlong) flat(s float64) (at, across, up passage.Vec) {
	const step = 1e-3 // [m]
	x, y, angle := 0.0, 0.0, 0.0
	for i := 1; i < len(w.st); i++ {
		a, b := w.st[i-1], w.st[i]
		long := min(s, b.At) - a.At
		if long <= 0 {
			break
		}
		n := max(1, int(long/step))
		rate := b.Turn / (b.At - a.At)
		for range n {
			d := long / float64(n)
			sin, cos := math.Sincos(angle + rate*d/2)
			x, y, angle = x+d*cos, y+d*sin, angle+rate*d
		}
	}
	sin, cos := math.Sincos(angle)
	return passage.Vec{x, y, 0}, passage.Vec{-sin, cos, 0}, passage.Vec{0, 0, 1}
}

// OutlineAt is the outline of a passage at a place, gone over between stations, about its centre [m].
func OutlineAt(p *passage.Passage, at float64) []passage.Point {
	st := p.Stations()
	for _, s := range st {
		if s.At == at && len(s.Outline) > 0 {
			return s.Outline
		}
	}
	const sides = 96
	at = min(max(at, p.Start()), p.End())
	out := make([]passage.Point, sides)
	for k := range out {
		angle := 2 * math.Pi * float64(k) / sides
		r := rim(st, p, at, angle)
		sin, cos := math.Sincos(angle)
		out[k] = passage.Point{r * cos, r * sin}
	}
	return out
}

// RingAt is where a section lies in the view of a passage: its centre and the two directions of its outline [m].
func RingAt(p *passage.Passage, at float64) [3][3]float64 {
	st := p.Stations()
	for _, s := range st {
		if s.At == at && s.Across != (passage.Vec{}) {
			return [3][3]float64{s.Centre, s.Across, s.Normal.Cross(s.Across)}
		}
	}
	c, e1, e2 := newWay(st).at(at)
	return [3][3]float64{c, e1, e2}
}

// DifferenceWords says in short what was taken off between two states.
func DifferenceWords(d passage.Difference) string {
	out := fmt.Sprintf("%.1f cm³ off", 1e6*d.Removed)
	if d.Added > 5e-8 {
		out += fmt.Sprintf(", %.1f cm³ on", 1e6*d.Added)
	}
	return out + fmt.Sprintf(", %.0f g", 1e3*d.Mass)
}
