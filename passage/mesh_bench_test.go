package passage_test

import (
	"bytes"
	"math"
	"testing"

	"runnel/passage"
)

// BenchmarkCut is 200 sections, each oblique to all axes, of a mesh of 500 000 triangles, its index made anew each time.
func BenchmarkCut(b *testing.B) {
	m := bend(bendR, 500, 500, false)
	b.Logf("%d triangles", len(m.Triangles))
	for b.Loop() {
		c := passage.NewCutter(m)
		if n := cutAll(c); n != 200 {
			b.Fatalf("%d outlines", n)
		}
	}
}

// BenchmarkCutWarm is the same without making the index.
func BenchmarkCutWarm(b *testing.B) {
	c := passage.NewCutter(bend(bendR, 500, 500, false))
	for b.Loop() {
		cutAll(c)
	}
}

func cutAll(c *passage.Cutter) int {
	n := 0
	for i := range 200 {
		s, co := math.Sincos(0.1 + 1.35*float64(i)/199)
		at := passage.Vec{bendBig * s, bendBig * co, 0.001}
		n += len(c.Cut(at, passage.Vec{co, -s, 0.12}))
	}
	return n
}

func BenchmarkFromMesh500k(b *testing.B) {
	m := bend(bendR, 500, 500, true)
	for b.Loop() {
		if _, _, err := passage.FromMesh(clone(m), passage.MeshOptions{Stations: 200}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadSTL500k(b *testing.B) {
	data := writeSTL(bend(bendR, 500, 500, true), false)
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, err := passage.ReadSTL(bytes.NewReader(data), mm); err != nil {
			b.Fatal(err)
		}
	}
}

// Cutting allocates nothing once its buffers have grown.
func TestCutAllocates(t *testing.T) {
	c := passage.NewCutter(bend(bendR, 64, 64, true))
	at := passage.Vec{bendBig * math.Sin(0.5), bendBig * math.Cos(0.5), 0}
	cut := func() { c.Cut(at, passage.Vec{0.9, -0.4, 0.1}) }
	cut()
	if n := testing.AllocsPerRun(50, cut); n > 2 { // the two closures of the walk through the index
		t.Errorf("%g allocations", n)
	}
}
