package wave

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestStillGasStaysStill: gas at rest at one pressure stays at rest, exactly,
// in any duct, with any joints, whatever its temperature along the duct. The
// condition is exact for the equations, so the velocity must be zero.
func TestStillGasStaysStill(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gas := ConstantGas(rapid.Float64Range(1.1, 1.67).Draw(t, "gamma"), 287)
		p0 := rapid.Float64Range(2e4, 5e5).Draw(t, "p")
		n := rapid.IntRange(3, 40).Draw(t, "n")
		diam := rapid.SliceOfN(rapid.Float64Range(0.01, 0.2), n, n).Draw(t, "d")
		temp := rapid.SliceOfN(rapid.Float64Range(200, 1500), n, n).Draw(t, "T")
		b := NewBuilder(gas)
		area := func(x float64) float64 {
			d := diam[min(int(x*float64(n)), n-1)]
			return d * d
		}
		d := Duct{Name: "a", Length: 1, Cells: n, Area: area, Friction: Rough(1e-5), Losses: []Loss{{0.2, 0.7, 3}}}
		p := b.PipeWith(d, func(x float64) Fill {
			return Fill{P: p0, T: temp[min(int(x*float64(n)), n-1)]}
		})
		room := NewRoom(gas, p0, 300, 0)
		left := []Joint{
			&Closed{p.Left()},
			&Mouth{Pipe: p.Left(), Vessel: room, EntryLoss: 0.5},
			&Orifice{Pipe: p.Left(), Vessel: room, Opening: Fixed(1e-4)},
		}
		b.Join(left[rapid.IntRange(0, len(left)-1).Draw(t, "left")])
		b.Join(&Mouth{Pipe: p.Right(), Vessel: NewVolume(gas, 1e-3, p0, 400, 0)})
		net, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		for range 20 {
			if _, err := net.Step(); err != nil {
				t.Fatal(err)
			}
		}
		for i := range n {
			if u := p.Cell(i).U; math.Abs(u) > 1e-12 {
				t.Fatalf("cell %d: u = %g m/s", i, u)
			}
		}
	})
}
