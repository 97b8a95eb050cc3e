package wave

import (
	"math"
	"testing"
)

// TestWallsAgree: the vector kernel and the plain one give the same friction and wall heat, from still to turbulent gas, in a bank
// of unlike pipes. The two logarithms leave 1e-10 between them.
func TestWallsAgree(t *testing.T) {
	if KernelName() == plain.name {
		t.Skip("this build has the plain kernel only")
	}
	for name, gas := range twoGases(t) {
		warm := &Wall{Temperature: func(x float64) float64 { return 350 + 50*x }}
		b := NewBuilder(gas)
		for _, d := range []Duct{
			{Friction: Rough(2e-5), Wall: warm, Losses: []Loss{{0.2, 0.5, 0.7}}},
			{Friction: Rough(0), Wall: warm},
			{Friction: Rough(3e-4)},
			{Wall: warm},
		} {
			d.Length, d.Cells, d.Area = 1, 60, Taper(0.03, 0.05, 1)
			p := b.PipeWith(d, func(x float64) Fill {
				return Fill{P: 1e5, T: 300 + 900*x, U: 200 * x * x * x * x * math.Cos(40*x), Y: x}
			})
			b.Join(&Closed{p.Left()}, &Closed{p.Right()})
		}
		net, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		bk := net.banks[0]
		bestKernel().walls(bk)
		got := append([]wall(nil), bk.wall...)
		plainWalls(bk)
		worst := 0.0
		for i, w := range bk.wall {
			for l := range lanes {
				for _, v := range [][2]float64{{got[i].drag[l], w.drag[l]}, {got[i].heat[l], w.heat[l]}} {
					worst = max(worst, math.Abs(v[0]-v[1])/max(math.Abs(v[1]), 1e-12))
				}
			}
			if w.drag[0] <= 0 || w.heat[1] == 0 || w.heat[2] != 0 || w.drag[3] != 0 {
				t.Fatalf("%s gas, cell %d: drag %v, heat %v", name, i, w.drag, w.heat)
			}
		}
		t.Logf("%s gas: worst difference %.1e", name, worst)
		if !(worst <= 1e-10) {
			t.Errorf("%s gas: walls differ by %.2e", name, worst)
		}
	}
}

// TestSweepKeepsTheGas: the kernel alone, which is there for measuring, changes nothing that a step would notice.
func TestSweepKeepsTheGas(t *testing.T) {
	net, _ := manyJoints(t, ConstantGas(1.4, 287), false)
	if err := net.Advance(2e-3); err != nil {
		t.Fatal(err)
	}
	was := net.Snapshot()
	for range 50 {
		net.Sweep()
	}
	for k, f := range net.Snapshot().pipes {
		for i, c := range f.cells {
			o := was.pipes[k].cells[i]
			if math.Abs(c.P/o.P-1) > 1e-6 || math.Abs(c.U-o.U) > 1e-4 {
				t.Fatalf("pipe %d cell %d: %+v, was %+v", k, i, c, o)
			}
		}
	}
}
