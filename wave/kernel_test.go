package wave

import (
	"fmt"
	"math"
	"strconv"
	"testing"
)

// fourTubes returns a network of four closed pipes with n cells, each with a
// shock tube of its own strength.
func fourTubes(t testing.TB, gas *Gas, n int, plainGo bool) *Network {
	t.Helper()
	b := NewBuilder(gas)
	b.Plain = plainGo
	for k := range lanes {
		d := Duct{Name: strconv.Itoa(k), Length: 1 + 0.01*float64(k), Area: Taper(0.04, 0.05, 1), Cells: n, Friction: Rough(2e-5)}
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

// BenchmarkKernel measures the two passes of the kernels alone, in ns per cell
// and step of processor time, four pipes in lockstep: the plain kernel and the best of this build
// in turns, the fastest turn of each, so that only their ratio depends little
// on what else the machine does.
func BenchmarkKernel(b *testing.B) {
	for name, gas := range twoGases(b) {
		for _, n := range []int{50, 100, 400} {
			b.Run(fmt.Sprintf("%s/N=%d", name, n), func(b *testing.B) {
				kernels := []kernel{plain, bestKernel()}
				best := []float64{math.Inf(1), math.Inf(1)}
				steps := 400_000/(n*lanes) + 1
				for b.Loop() {
					for i, k := range kernels {
						bk := fourTubes(b, gas, n, true).banks[0]
						dt := 0.5 / bk.maxSpeed()
						from := cpu(b)
						for range steps {
							k.faces(bk, dt, false)
							k.update(bk, dt)
							bk.swap()
						}
						best[i] = min(best[i], float64((cpu(b)-from).Nanoseconds())/float64(steps*n*lanes))
					}
				}
				b.ReportMetric(0, "ns/op")
				b.ReportMetric(best[0], "ns/cell-plain")
				b.ReportMetric(best[1], "ns/cell-best")
				b.ReportMetric(best[1]/best[0], "best/plain")
			})
		}
	}
}

func TestStepAllocatesNothing(t *testing.T) {
	for name, gas := range twoGases(t) {
		net, _ := manyJoints(t, gas, false)
		if a := testing.AllocsPerRun(50, func() {
			if _, err := net.Step(); err != nil {
				t.Fatal(err)
			}
		}); a != 0 {
			t.Errorf("%s: a step allocates %g times, want 0", name, a)
		}
	}
}

// TestKernelsAgree: the vector kernel and the plain one give the same flow
// within 1e-9 after the time of an engine cycle at 6000 rpm, in a network with
// every joint. They differ by rounding only.
func TestKernelsAgree(t *testing.T) {
	if KernelName() == plain.name {
		t.Skip("this build has the plain kernel only")
	}
	for name, gas := range twoGases(t) {
		a, _ := manyJoints(t, gas, true)
		b, _ := manyJoints(t, gas, false)
		if a.Kernel() == b.Kernel() {
			t.Fatal("the same kernel twice")
		}
		for _, n := range []*Network{a, b} {
			if err := n.Advance(0.02); err != nil {
				t.Fatal(err)
			}
		}
		worst := 0.0
		for k, p := range a.Pipes() {
			for i := range p.Cells() {
				f, g := p.Cell(i), b.Pipes()[k].Cell(i)
				worst = max(worst, math.Abs(f.P/g.P-1), math.Abs(f.Rho/g.Rho-1), math.Abs(f.U-g.U)/f.A, math.Abs(f.Y-g.Y))
			}
		}
		t.Logf("%s gas: worst difference %.1e after %d steps", name, worst, a.steps)
		if worst > 1e-9 {
			t.Errorf("%s gas: kernels differ by %.2e", name, worst)
		}
	}
}

// TestLanesAreAlone: a pipe gives the same flow whatever the three others of its
// bank hold. The clock, which both runs share, is rounded differently in the
// two, hence 1e-12 instead of equality.
func TestLanesAreAlone(t *testing.T) {
	gas := testGas(t)
	again := fourTubes(t, gas, 30, false)
	for k := 1; k < lanes; k++ {
		again.Pipes()[k].Fill(func(float64) Fill { return Fill{P: 5e4, T: 250, Y: 0.5} })
	}
	// The step is the shortest of all: give both the steps of the first run.
	ref := fourTubes(t, gas, 30, false)
	for range 300 {
		dt, err := ref.Step()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := again.StepTo(again.Time() + dt); err != nil {
			t.Fatal(err)
		}
	}
	for i := range 30 {
		f, g := ref.Pipes()[0].Cell(i), again.Pipes()[0].Cell(i)
		if math.Abs(f.P/g.P-1) > 1e-12 || math.Abs(f.U-g.U) > 1e-9 || math.Abs(f.Y-g.Y) > 1e-12 {
			t.Fatalf("cell %d: %+v and %+v", i, f, g)
		}
	}
}
