package wave_test

import (
	"fmt"
	"sync"
	"testing"

	"runnel/wave"
)

// A runner between a room and a box, through an effective area of 600 mm². The
// ideal nozzle would pass 124.7 kg/(m² s) (28 inH2O), 0.0748 kg/s; entry and wall cost 2 % of it.
func ExampleBuilder() {
	air := wave.ConstantGas(1.4, 287.05)
	b := wave.NewBuilder(air)
	runner := b.Pipe(wave.Duct{Name: "runner", Length: 0.35, Area: wave.Round(0.04), Mesh: 0.005, Friction: wave.Rough(20e-6)}, 101325, 293.15, 0)
	room := wave.NewRoom(air, 101325, 293.15, 0)
	box := wave.NewRoom(air, 94350, 293.15, 0)
	b.Join(
		&wave.Mouth{Pipe: runner.Left(), Vessel: room, EntryLoss: 0.05},
		&wave.Orifice{Pipe: runner.Right(), Vessel: box, Opening: wave.Fixed(6e-4)},
	)
	net, err := b.Build()
	if err != nil {
		fmt.Println(err)
		return
	}
	flow, err := net.SteadyFlow(runner.Right(), wave.Steady{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d cells of %.1f mm, %.4f kg/s\n", runner.Cells(), 1e3*runner.CellLength(), flow.Mass)
	// Output: 70 cells of 5.0 mm, 0.0731 kg/s
}

// TestNetworksRunInParallel: networks that share a gas may run in different
// goroutines; the race detector watches, and both give the same flow.
func TestNetworksRunInParallel(t *testing.T) {
	air := wave.ConstantGas(1.4, 287.05)
	var masses [4]float64
	var wg sync.WaitGroup
	for i := range masses {
		wg.Go(func() {
			b := wave.NewBuilder(air)
			p := b.Pipe(wave.Duct{Name: "p", Length: 0.3, Area: wave.Round(0.04), Cells: 20}, 1e5, 300, 0)
			b.Join(&wave.Mouth{Pipe: p.Left(), Vessel: wave.NewRoom(air, 1.2e5, 300, 0)}, &wave.Closed{Pipe: p.Right()})
			net, err := b.Build()
			if err != nil {
				t.Error(err)
				return
			}
			if err := net.Advance(0.01); err != nil {
				t.Error(err)
			}
			masses[i] = p.Mass()
		})
	}
	wg.Wait()
	for _, m := range masses[1:] {
		if m != masses[0] {
			t.Errorf("masses %v differ", masses)
		}
	}
}
