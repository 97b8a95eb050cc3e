package wave

import (
	"math"
	"testing"
)

// tube runs a shock tube of unit length with closed ends and returns its pipe.
func tube(t testing.TB, gas *Gas, cells int, end float64, start func(x float64) Fill) *Pipe {
	t.Helper()
	b := NewBuilder(gas)
	p := b.PipeWith(Duct{Name: "tube", Length: 1, Area: Uniform(1), Cells: cells}, start)
	b.Join(&Closed{p.Left()}, &Closed{p.Right()})
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	if err := net.Advance(end); err != nil {
		t.Fatal(err)
	}
	return p
}

func TestSmoke(t *testing.T) {
	gas := ConstantGas(1.4, 1)
	for _, n := range []int{100, 200, 400} {
		p := tube(t, gas, n, 0.2, func(x float64) Fill {
			if x < 0.5 {
				return Fill{P: 1, T: 1}
			}
			return Fill{P: 0.1, T: 0.8}
		})
		i := int(0.6 * float64(n))
		t.Log(n, p.Cell(i), math.Abs(p.Cell(i).P-0.30313))
	}
}
