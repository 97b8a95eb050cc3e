package tract

import "testing"

func BenchmarkDraw(b *testing.B) {
	c := Case{Passage: crooked(b), Air: testAir(), Drop: 6974.5, Entry: Entry{Radius: 0.0021}, Roughness: Cast()}
	for b.Loop() {
		if _, err := c.Draw(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSeries(b *testing.B) {
	s := Series{
		Pieces:   []Piece{{Name: "a", Area: 9e-4, Exit: 11e-4, Carried: 0.5}, {Name: "b", Area: 7e-4, Entry: 12e-4}},
		Pressure: 101325, Drop: 6974.5, Gamma: 1.4,
	}
	for b.Loop() {
		if _, err := s.Solve(); err != nil {
			b.Fatal(err)
		}
	}
}
