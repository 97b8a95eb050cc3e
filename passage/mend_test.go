package passage_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"runnel/passage"
)

// clone returns a mesh of its own.
func clone(m *passage.Mesh) *passage.Mesh {
	return &passage.Mesh{Points: append([]passage.Vec(nil), m.Points...), Triangles: append([][3]int32(nil), m.Triangles...)}
}

// bend returns the surface of a quarter bend of bore radius r and centreline radius bendBig, n segments round and k along, with both ends
// closed when caps is set, as the analytic torus: length bendBig·π/2, area π·r².
func bend(r float64, n, k int, caps bool) *passage.Mesh {
	const big = bendBig
	m := &passage.Mesh{}
	for i := range k + 1 {
		s, c := math.Sincos(math.Pi / 2 * float64(i) / float64(k))
		for j := range n {
			sv, cv := math.Sincos(2 * math.Pi * float64(j) / float64(n))
			q := big + r*cv
			m.Points = append(m.Points, passage.Vec{q * s, q * c, r * sv})
		}
	}
	id := func(i, j int) int32 { return int32(i*n + j%n) }
	for i := range k {
		for j := range n {
			m.Triangles = append(m.Triangles, [3]int32{id(i, j), id(i+1, j+1), id(i+1, j)}, [3]int32{id(i, j), id(i, j+1), id(i+1, j+1)})
		}
	}
	if caps {
		for _, end := range [2]int{0, k} {
			s, c := math.Sincos(math.Pi / 2 * float64(end) / float64(k))
			m.Points = append(m.Points, passage.Vec{big * s, big * c, 0})
			hub := int32(len(m.Points) - 1)
			for j := range n {
				t := [3]int32{hub, id(end, j), id(end, j+1)}
				if end == 0 {
					t[1], t[2] = t[2], t[1]
				}
				m.Triangles = append(m.Triangles, t)
			}
		}
	}
	if m.Volume() < 0 {
		for i := range m.Triangles {
			t := &m.Triangles[i]
			t[1], t[2] = t[2], t[1]
		}
	}
	return m
}

const (
	bendR   = 0.019
	bendBig = 0.055
)

// checkBend compares a passage with the analytic bend.
func checkBend(t *testing.T, name string, p *passage.Passage, tolArea, tolLength, tolPerimeter, tolAngle float64) {
	t.Helper()
	near(t, name+": length", p.Length()/(bendBig*math.Pi/2), 1, tolLength)
	for i, s := range p.Stations() {
		near(t, fmt.Sprintf("%s: area of station %d", name, i), s.Area/(math.Pi*bendR*bendR), 1, tolArea)
		near(t, fmt.Sprintf("%s: perimeter of station %d", name, i), s.Perimeter/(2*math.Pi*bendR), 1, tolPerimeter)
	}
	angle := 0.0
	for _, b := range p.Bends() {
		angle += b.Angle
	}
	near(t, name+": angle", angle, math.Pi/2, tolAngle)
}

// Open ends, triangles the wrong way round, doubled triangles, a split seam and small strays are mended and said; the passage is the same.
func TestMeshMending(t *testing.T) {
	clean := bend(bendR, 96, 72, true)
	for name, spoil := range map[string]struct {
		do   func(*passage.Mesh)
		said func(passage.Mending) bool
	}{
		"clean": {func(*passage.Mesh) {}, func(m passage.Mending) bool { return m.Flipped == 0 && m.HolesClosed == 0 }},
		"open ends": {
			func(m *passage.Mesh) { *m = *bend(bendR, 96, 72, false) },
			func(m passage.Mending) bool { return len(m.OpenEnds) == 2 },
		},
		"a third turned over": {
			func(m *passage.Mesh) {
				for i := 0; i < len(m.Triangles); i += 3 {
					m.Triangles[i][0], m.Triangles[i][1] = m.Triangles[i][1], m.Triangles[i][0]
				}
			},
			func(m passage.Mending) bool { return m.Flipped == (len(clean.Triangles)+2)/3 },
		},
		"inside out": {
			func(m *passage.Mesh) {
				for i := range m.Triangles {
					m.Triangles[i][0], m.Triangles[i][1] = m.Triangles[i][1], m.Triangles[i][0]
				}
			},
			func(m passage.Mending) bool { return m.Flipped == len(clean.Triangles) },
		},
		"doubled": {
			func(m *passage.Mesh) { m.Triangles = append(m.Triangles, m.Triangles[100:130]...) },
			func(m passage.Mending) bool { return m.Doubled == 30 },
		},
		"missing triangles": {
			func(m *passage.Mesh) { m.Triangles = append(m.Triangles[:5000], m.Triangles[5004:]...) },
			func(m passage.Mending) bool { return m.HolesClosed >= 1 && m.WidestHole < 0.01 },
		},
		"a stray": {
			func(m *passage.Mesh) {
				k := int32(len(m.Points))
				m.Points = append(m.Points, passage.Vec{0.2, 0, 0}, passage.Vec{0.201, 0, 0}, passage.Vec{0.2, 0.001, 0}, passage.Vec{0.2, 0, 0.001})
				m.Triangles = append(m.Triangles, [3]int32{k, k + 2, k + 1}, [3]int32{k, k + 1, k + 3}, [3]int32{k + 1, k + 2, k + 3}, [3]int32{k, k + 3, k + 2})
			},
			func(m passage.Mending) bool { return len(m.Strays) == 1 && strings.Contains(m.Strays[0], "x 200.") },
		},
		"a seam split by rounding": {
			func(m *passage.Mesh) {
				// The last hundred triangles get corners of their own, off by 20 nm.
				for i := len(m.Triangles) - 400; i < len(m.Triangles)-300; i++ {
					for k := range 3 {
						m.Points = append(m.Points, m.Points[m.Triangles[i][k]].Plus(passage.Vec{2e-8, 0, 0}))
						m.Triangles[i][k] = int32(len(m.Points) - 1)
					}
				}
			},
			func(m passage.Mending) bool { return m.HolesClosed == 0 && len(m.OpenEnds) == 0 },
		},
	} {
		m := clone(clean)
		spoil.do(m)
		p, said, err := passage.FromMesh(m, passage.MeshOptions{Stations: 15})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if !spoil.said(said) {
			t.Errorf("%s: %+v", name, said)
		}
		checkBend(t, name, p, 0.002, 0.002, 0.002, 0.03)
	}
}

// A scan: every corner off by 3 % of the bore's radius in a random direction, two patches 10 mm wide missing, both ends open or rough.
// Areas must be right within 2 %, the length within 1 %; the perimeter, which noise lengthens, within 3 % after smoothing,
// the angle within 5°, since what lies a bore before each end is extended from the rest.
func TestMeshOfAScan(t *testing.T) {
	for seed := range uint64(3) {
		rng := rand.New(rand.NewPCG(seed, 7))
		m := bend(bendR, 96, 72, seed != 1)
		patches := []passage.Vec{
			{(bendBig + bendR) * math.Sin(0.5), (bendBig + bendR) * math.Cos(0.5), 0},
			{bendBig * math.Sin(1.1), bendBig * math.Cos(1.1), bendR},
		}
		keep := m.Triangles[:0]
		for _, tr := range m.Triangles {
			c := m.Points[tr[0]].Plus(m.Points[tr[1]]).Plus(m.Points[tr[2]]).Times(1. / 3)
			if c.Minus(patches[0]).Norm() > 0.005 && c.Minus(patches[1]).Norm() > 0.005 {
				keep = append(keep, tr)
			}
		}
		removed := len(m.Triangles) - len(keep)
		m.Triangles = keep
		for i := range m.Points {
			for k := range 3 {
				m.Points[i][k] += 0.03 * bendR / math.Sqrt(3) * rng.NormFloat64()
			}
		}
		p, said, err := passage.FromMesh(m, passage.MeshOptions{Stations: 15})
		if err != nil {
			t.Errorf("seed %d: %v", seed, err)
			continue
		}
		if removed < 100 || said.HolesClosed < 2 || !said.Smoothed {
			t.Errorf("seed %d: removed %d triangles, said %+v", seed, removed, said)
		}
		// Scatter along the normal is 3 % of the radius over √3.
		near(t, "noise found over noise made", said.Noise/(0.03*bendR/math.Sqrt(3)), 1, 0.35)
		checkBend(t, fmt.Sprintf("seed %d", seed), p, 0.02, 0.01, 0.03, 0.09)
	}
}

// What cannot be mended is refused with the place named.
func TestMeshRefusals(t *testing.T) {
	clean := bend(bendR, 48, 36, true)
	moved := func(by passage.Vec) *passage.Mesh {
		m := clone(clean)
		k := int32(len(m.Points))
		for _, p := range clean.Points {
			m.Points = append(m.Points, p.Plus(by))
		}
		for _, t := range clean.Triangles {
			m.Triangles = append(m.Triangles, [3]int32{t[0] + k, t[1] + k, t[2] + k})
		}
		return m
	}
	moebius := &passage.Mesh{}
	const n = 60
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / n)
		sh, ch := math.Sincos(math.Pi * float64(i) / n)
		for _, w := range []float64{-0.01, 0.01} {
			moebius.Points = append(moebius.Points, passage.Vec{(0.05 + w*ch) * c, (0.05 + w*ch) * s, w * sh})
		}
	}
	for i := range int32(n) {
		a, b, c, d := 2*i, 2*i+1, 2*i+2, 2*i+3
		if i == n-1 {
			c, d = 1, 0
		}
		moebius.Triangles = append(moebius.Triangles, [3]int32{a, b, c}, [3]int32{b, d, c})
	}
	torn := clone(clean)
	keep := torn.Triangles[:0]
	for _, tr := range torn.Triangles {
		c := torn.Points[tr[0]]
		if c.Minus(passage.Vec{(bendBig + bendR) * math.Sin(0.8), (bendBig + bendR) * math.Cos(0.8), 0}).Norm() > 0.014 {
			keep = append(keep, tr)
		}
	}
	torn.Triangles = keep
	flat := &passage.Mesh{Points: []passage.Vec{{0, 0, 0}, {0.1, 0, 0}, {0, 0.1, 0}}, Triangles: [][3]int32{{0, 1, 2}}}
	for name, tt := range map[string]struct {
		m    *passage.Mesh
		want error
		says string
	}{
		"two tubes":     {moved(passage.Vec{0.2, 0, 0}), passage.ErrTwoTubes, "one tube in a file"},
		"a large tear":  {torn, passage.ErrOpen, "in the side of the tube"},
		"a Möbius band": {moebius, passage.ErrNotManifold, "Möbius"},
		"one triangle":  {flat, passage.ErrNoTube, ""},
		"few stations":  {clone(clean), nil, ""},
		"empty":         {&passage.Mesh{}, passage.ErrNoTube, "no triangle"},
	} {
		o := passage.MeshOptions{Stations: 10}
		if name == "few stations" {
			o.Stations = 1
			tt.want = passage.ErrTooFew
		}
		_, _, err := passage.FromMesh(tt.m, o)
		if !errors.Is(err, tt.want) || err != nil && (!strings.Contains(err.Error(), tt.says) || !strings.Contains(err.Error(), " ")) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// walled is a bend with a wall 3 mm thick, open at both ends, as the scan of a part.
func walled() *passage.Mesh {
	inner, m := bend(bendR, 96, 72, false), bend(bendR+0.003, 96, 72, false)
	k := int32(len(m.Points))
	m.Points = append(m.Points, inner.Points...)
	for _, tr := range inner.Triangles {
		m.Triangles = append(m.Triangles, [3]int32{tr[0] + k, tr[2] + k, tr[1] + k})
	}
	for _, end := range [2]int32{0, 72} {
		for j := range int32(96) {
			a, b := end*96+j, end*96+(j+1)%96
			t1, t2 := [3]int32{a, b, b + k}, [3]int32{a, b + k, a + k}
			if end == 0 {
				t1[1], t1[2], t2[1], t2[2] = t1[2], t1[1], t2[2], t2[1]
			}
			m.Triangles = append(m.Triangles, t1, t2)
		}
	}
	return m
}

// A tube with a wall of its own: of the two outlines, one within the other, the inner is the passage.
func TestMeshOfAWall(t *testing.T) {
	m := walled()
	loops := passage.NewCutter(m).Cut(passage.Vec{bendBig * math.Sin(0.7), bendBig * math.Cos(0.7), 0}, passage.Vec{math.Cos(0.7), -math.Sin(0.7), 0})
	if len(loops) != 2 {
		t.Fatalf("%d outlines", len(loops))
	}
	sum := loops[0].Area + loops[1].Area
	near(t, "area of the wall, by signs", math.Abs(sum)/(math.Pi*((bendR+0.003)*(bendR+0.003)-bendR*bendR)), 1, 0.002)
	p, _, err := passage.FromMesh(m, passage.MeshOptions{Stations: 15})
	if err != nil {
		t.Fatal(err)
	}
	checkBend(t, "inner", p, 0.002, 0.002, 0.002, 0.03)
	for i, s := range p.Stations() {
		near(t, fmt.Sprintf("wall at station %d", i), s.Wall, 0.003, 2e-5) // two polygons of 96 sides: r·(π/96)²/2 = 11 µm
	}
}

// Turning, shifting and scaling a mesh changes nothing but the frame.
func TestMeshFrameInvariance(t *testing.T) {
	base := bend(bendR, 48, 36, true)
	for i, p := range base.Points {
		p[2] *= 1 + 4*p[0] // an oval that widens along the bend
		base.Points[i] = p
	}
	want, _, err := passage.FromMesh(clone(base), passage.MeshOptions{Stations: 21})
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(11, 3))
	for range 12 {
		axis := passage.Vec{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()}.Unit()
		angle := 2 * math.Pi * rng.Float64()
		scale := math.Exp(1.8*rng.Float64() - 0.9)
		shift := passage.Vec{4*rng.Float64() - 2, 4*rng.Float64() - 2, 4*rng.Float64() - 2}
		m := clone(base)
		sin, cos := math.Sincos(angle)
		for i, p := range m.Points {
			// Rodrigues
			q := p.Times(cos).Plus(axis.Cross(p).Times(sin)).Plus(axis.Times(axis.Dot(p) * (1 - cos)))
			m.Points[i] = q.Times(scale).Plus(shift)
		}
		got, _, err := passage.FromMesh(m, passage.MeshOptions{Stations: 21})
		if err != nil {
			t.Fatal(err)
		}
		a, b := want.Stations(), got.Stations()
		if math.Abs(b[0].Area/scale/scale/a[0].Area-1) > 0.01 { // it may count from the other end
			for i, j := 0, len(b)-1; i < j; i, j = i+1, j-1 {
				b[i], b[j] = b[j], b[i]
			}
		}
		// The centreline settles to 2e-5 rad; areas follow within 2e-4.
		if q := got.Length() / scale / want.Length(); math.Abs(q-1) > 2e-4 {
			t.Errorf("length %g", q)
		}
		for i := range a {
			if q := b[i].Area / scale / scale / a[i].Area; math.Abs(q-1) > 3e-4 {
				t.Errorf("area of station %d: %g", i, q)
			}
			if q := b[i].Perimeter / scale / a[i].Perimeter; math.Abs(q-1) > 3e-4 {
				t.Errorf("perimeter of station %d: %g", i, q)
			}
		}
	}
}
