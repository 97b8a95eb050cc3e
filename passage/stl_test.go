package passage_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"runnel/passage"
)

// writeSTL writes a mesh as STL, for tests.
func writeSTL(m *passage.Mesh, ascii bool) []byte {
	var b bytes.Buffer
	if ascii {
		b.WriteString("solid test\n")
	} else {
		b.Write(make([]byte, 80))
		_ = binary.Write(&b, binary.LittleEndian, uint32(len(m.Triangles)))
	}
	for _, t := range m.Triangles {
		if ascii {
			b.WriteString("facet normal 0 0 0\nouter loop\n")
		} else {
			b.Write(make([]byte, 12))
		}
		for _, v := range t {
			p := m.Points[v].Times(1e3)
			if ascii {
				fmt.Fprintf(&b, "vertex %g %g %g\n", float32(p[0]), float32(p[1]), float32(p[2]))
			} else {
				_ = binary.Write(&b, binary.LittleEndian, [3]float32{float32(p[0]), float32(p[1]), float32(p[2])})
			}
		}
		if ascii {
			b.WriteString("endloop\nendfacet\n")
		} else {
			b.Write([]byte{0, 0})
		}
	}
	if ascii {
		b.WriteString("endsolid test\n")
	}
	return b.Bytes()
}

// Both kinds of STL give the same mesh; a binary file may begin with the word solid.
func TestReadSTLKinds(t *testing.T) {
	m := bend(bendR, 24, 18, true)
	bin := writeSTL(m, false)
	copy(bin, "solid made by a program")
	a, err := passage.ReadSTL(bytes.NewReader(bin), mm)
	if err != nil {
		t.Fatal(err)
	}
	b, err := passage.ReadSTL(bytes.NewReader(writeSTL(m, true)), mm)
	if err != nil {
		t.Fatal(err)
	}
	if len(a.Points) != len(m.Points) || len(a.Triangles) != len(m.Triangles) || len(b.Points) != len(a.Points) || len(b.Triangles) != len(a.Triangles) {
		t.Errorf("%d points and %d triangles, binary %d and %d, ASCII %d and %d", len(m.Points), len(m.Triangles), len(a.Points), len(a.Triangles), len(b.Points), len(b.Triangles))
	}
	near(t, "volume", a.Volume()/m.Volume(), 1, 1e-6)
	near(t, "volume", b.Volume()/a.Volume(), 1, 1e-6)
}

func TestReadSTLRefuses(t *testing.T) {
	bin := writeSTL(bend(bendR, 12, 6, true), false)
	bad := append([]byte(nil), bin...)
	binary.LittleEndian.PutUint32(bad[96:], math.Float32bits(float32(math.NaN())))
	huge := append([]byte(nil), bin...)
	binary.LittleEndian.PutUint32(huge[80:], 3_000_000)
	for name, tt := range map[string]struct {
		data []byte
		want error
		says string
	}{
		"empty":        {nil, passage.ErrSTL, "ends after 0 bytes"},
		"head only":    {bin[:50], passage.ErrSTL, "head alone"},
		"cut short":    {bin[:len(bin)-10], passage.ErrSTL, "not copied whole"},
		"nan":          {bad, passage.ErrSTL, "triangle 1"},
		"too many":     {huge, passage.ErrTooLarge, "thin it out"},
		"no triangles": {make([]byte, 84), passage.ErrSTL, "no triangle"},
		"word":         {[]byte("solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 x 0\n"), passage.ErrSTL, `line 4: "x" is not a number`},
		"two numbers":  {[]byte("solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0\n"), passage.ErrSTL, "line 4"},
		"two corners":  {[]byte("solid a\nfacet\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nendloop\n"), passage.ErrSTL, "2 of three"},
		"ends early":   {[]byte("solid a\nfacet\nouter loop\nvertex 0 0 0\n"), passage.ErrSTL, "within a triangle"},
	} {
		if _, err := passage.ReadSTL(bytes.NewReader(tt.data), mm); !errors.Is(err, tt.want) || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := passage.ReadSTL(bytes.NewReader(bin), 0); !errors.Is(err, passage.ErrSTL) {
		t.Errorf("no unit: %v", err)
	}
}

func FuzzReadSTL(f *testing.F) {
	m := bend(bendR, 5, 3, true)
	f.Add(writeSTL(m, false))
	f.Add(writeSTL(m, true))
	f.Add([]byte("solid\nfacet\nvertex 1 2 3\nendloop"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<15 {
			return // small meshes go wrong in all the ways large ones do
		}
		m, err := passage.ReadSTL(bytes.NewReader(data), mm)
		if err != nil {
			return
		}
		for _, tr := range m.Triangles {
			for _, v := range tr {
				if v < 0 || int(v) >= len(m.Points) {
					t.Fatal("a triangle has a corner that is not there")
				}
			}
		}
		p, _, err := passage.FromMesh(m, passage.MeshOptions{Stations: 5})
		if err == nil && !(p.Length() > 0) {
			t.Errorf("length %g", p.Length())
		}
	})
}

// A passage of 200 mm called millimetres is taken as such; the same numbers over 25.4 are suspected to be inches, and asked about.
func TestSuspectUnit(t *testing.T) {
	for _, tt := range []struct {
		diagonal float64
		named    string
		unit     string
		certain  bool
	}{
		{200, "mm", "mm", true},
		{200 / 25.4, "mm", "in", false},
		{200 / 25.4, "in", "in", true},
		{200, "", "mm", true},
		{0.2, "", "m", true},
		{200 / 25.4, "", "in", false},
		{0.2, "mm", "m", false},
		{1e9, "mm", "mm", false},
		{1e9, "", "mm", false},
	} {
		unit, certain, ask := passage.SuspectUnit(tt.diagonal, tt.named)
		if unit != tt.unit || certain != tt.certain || certain != (ask == "") {
			t.Errorf("%g %q: %q, %v, %q", tt.diagonal, tt.named, unit, certain, ask)
		}
	}
}
