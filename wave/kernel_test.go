package wave

import (
	"fmt"
	"math"
	"testing"
)

// fourTubes returns a network of four closed pipes with n cells, each with a
// shock tube of its own strength.
func fourTubes(t testing.TB, gas *Gas, n int, plainGo bool) *Network {
	t.Helper()
	b := NewBuilder(gas)
	b.Plain = plainGo
	for k := range lanes {
		d := Duct{Name: fmt.Sprint(k), Length: 1 + 0.01*float64(k), Area: Taper(0.04, 0.05, 1), Cells: n, Friction: Rough(2e-5)}
		p := b.PipeWith(d, func(x float64) Fill {
			f := Fill{P: 1e5, T: 300, Y: 0.2}
			if x < 0.5 {
				f = Fill{P: 1e5 + 5e4*float64(k+1), T: 400, Y: 0.8}
			}
			return f
		})
		b.Join(&Closed{p.Left()}, &Closed{p.Right()})
	}
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return net
}

// twoGases returns a constant gas and one with specific heats that vary.
func twoGases(t testing.TB) map[string]*Gas {
	t.Helper()
	return map[string]*Gas{"constant": ConstantGas(1.4, 287.05), "varying": testGas(t)}
}

// testGas returns a gas of plausible, invented specific heats.
func testGas(t testing.TB) *Gas {
	t.Helper()
	cp := func(lo, rise float64) func(float64) float64 {
		return func(T float64) float64 {
			x := T / 900
			return lo + rise*x*x/(1+x*x)
		}
	}
	g, err := NewGas(Component{R: 287.05, Cp: cp(1000, 260)}, Component{R: 291, Cp: cp(1030, 420)})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// BenchmarkKernel measures the two passes of the kernel alone, in ns per cell
// and step, four pipes in lockstep.
func BenchmarkKernel(b *testing.B) {
	for name, gas := range twoGases(b) {
		for _, n := range []int{50, 100, 400} {
			for _, k := range []kernel{plain, bestKernel()} {
				net := fourTubes(b, gas, n, k.name == plain.name)
				b.Run(fmt.Sprintf("%s/N=%d/%s", name, n, k.name), func(b *testing.B) {
					bk := net.banks[0]
					dt := net.Next() * 0.5
					for b.Loop() {
						k.faces(bk, dt, false)
						k.update(bk, dt)
					}
					b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n*lanes), "ns/cell")
				})
			}
		}
	}
}

func TestStepAllocatesNothing(t *testing.T) {
	for name, gas := range twoGases(t) {
		net := fourTubes(t, gas, 30, false)
		if a := testing.AllocsPerRun(50, func() {
			if _, err := net.Step(); err != nil {
				t.Fatal(err)
			}
		}); a != 0 {
			t.Errorf("%s: a step allocates %g times, want 0", name, a)
		}
	}
}

var _ = math.Pi
