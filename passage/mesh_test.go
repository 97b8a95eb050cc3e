package passage_test

import (
	"bytes"
	"math"
	"os"
	"testing"

	"runnel/internal/tabletest"
	"runnel/passage"
)

func readMesh(t testing.TB, name string) *passage.Mesh {
	t.Helper()
	raw, err := os.ReadFile("testdata/meshes/" + name + ".stl")
	if err != nil {
		t.Fatal(err)
	}
	m, err := passage.ReadSTL(bytes.NewReader(raw), mm)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// Meshes of an independent generator: volume of the facets to the 1e-5 of the file; against the analytic shape, areas, length and
// perimeter within 0.2 % (facets alone take 0.07 %), and the integral of the areas within 0.1 % of the mesh's own volume.
func TestMeshesAgainstGeometry(t *testing.T) {
	sections := tabletest.Read(t, "testdata/geometry_sections.csv", 1)
	for _, r := range tabletest.Read(t, "testdata/geometry.csv", 1) {
		name := r["name"]
		m := readMesh(t, name)
		want := r.Num(t, "mesh_volume_mm3") * 1e-9
		near(t, name+": mesh volume", m.Volume()/want, 1, 1e-5)
		p, mend, err := passage.FromMesh(m, passage.MeshOptions{Stations: 81})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if len(mend.Warnings)+len(mend.Strays)+mend.Flipped+mend.HolesClosed > 0 || mend.Smoothed {
			t.Errorf("%s: a clean mesh was mended: %+v", name, mend)
		}
		length := r.Num(t, "centreline_length_mm") * mm
		near(t, name+": length", p.Length()/length, 1, 0.002)
		near(t, name+": volume", p.Volume()/want, 1, 0.001)
		checked := 0
		for _, s := range sections {
			if s["name"] != name {
				continue
			}
			checked++
			// The file's sections count from the end where x is least; ours may count from the other.
			point := passage.Vec{s.Num(t, "x_mm") * mm, s.Num(t, "y_mm") * mm, s.Num(t, "z_mm") * mm}
			at := nearestAt(p, point)
			got := p.Place(at)
			near(t, name+" u "+s["u"]+": area", got.Area/s.Num(t, "area_mm2")*1e6, 1, 0.002)
			near(t, name+" u "+s["u"]+": perimeter", got.Perimeter/s.Num(t, "perimeter_mm")*1e3, 1, 0.002)
		}
		if checked != 9 {
			t.Errorf("%s: %d sections checked", name, checked)
		}
		t.Logf("%s: length %.5f, volume %.5f", name, p.Length()/length, p.Volume()/want)
	}
}

// nearestAt returns the distance along the centreline at which it comes nearest to a point [m].
func nearestAt(p *passage.Passage, q passage.Vec) float64 {
	best, far := 0.0, math.Inf(1)
	st := p.Stations()
	for i := 1; i < len(st); i++ {
		a, b := st[i-1], st[i]
		d := b.Centre.Minus(a.Centre)
		u := min(max(q.Minus(a.Centre).Dot(d)/d.Dot(d), 0), 1)
		if f := a.Centre.Plus(d.Times(u)).Minus(q).Norm(); f < far {
			best, far = a.At+u*(b.At-a.At), f
		}
	}
	return best
}
