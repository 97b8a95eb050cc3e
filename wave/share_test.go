//go:build unix

package wave

import (
	"math"
	"slices"
	"testing"
)

// swinging is an opening that opens and shuts.
type swinging struct{ most, period, phase float64 }

// Areas returns most·sin² over the first half of the period, then 0.
func (s swinging) Areas(t float64) (out, in float64) {
	_, f := math.Modf(t/s.period + s.phase)
	if f > 0.4 {
		return 0, 0
	}
	v := math.Sin(math.Pi * f / 0.4)
	return s.most * v * v, s.most * v * v
}

// eight returns pipes and joints of an eight-cylinder engine at 15 mm: eight
// runners on a plenum with a throttle, eight primaries to the open, two
// valves on each of eight volumes that stand for the cylinders.
func eight(t testing.TB, gas *Gas) *Network {
	t.Helper()
	b := NewBuilder(gas)
	room := NewRoom(gas, 1e5, 300, 0)
	plenum := NewVolume(gas, 4e-3, 1e5, 300, 0)
	duct := b.Pipe(Duct{Name: "duct", Length: 0.3, Area: Round(0.07), Mesh: 0.015, Friction: Rough(2e-5)}, 1e5, 300, 0)
	b.Join(&Mouth{Pipe: duct.Left(), Vessel: room, EntryLoss: 0.1}, &Orifice{Pipe: duct.Right(), Vessel: plenum, Opening: Fixed(3e-3)})
	const period = 0.02
	for k := range 8 {
		ph := float64(k) / 8
		in := b.Pipe(Duct{Name: "runner", Length: 0.4, Area: Taper(0.042, 0.038, 0.4), Mesh: 0.015, Friction: Rough(2e-5)}, 1e5, 300, 0)
		ex := b.Pipe(Duct{Name: "primary", Length: 0.8, Area: Round(0.04), Mesh: 0.015, Friction: Rough(2e-5)}, 1e5, 700, 1)
		cyl := NewVolume(gas, 5e-4, 1.5e5+2e4*float64(k), 900, 0.8)
		b.Join(
			&Mouth{Pipe: in.Left(), Vessel: plenum, EntryLoss: 0.1},
			&Orifice{Pipe: in.Right(), Vessel: cyl, Opening: swinging{8e-4, period, ph}},
			&Orifice{Pipe: ex.Left(), Vessel: cyl, Opening: swinging{6e-4, period, ph + 0.45}},
			&Mouth{Pipe: ex.Right(), Vessel: room},
		)
	}
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return net
}

// BenchmarkStep measures a step of an eight-cylinder engine's pipes, and the
// share of it that is not the pipe kernel: joints, vessels, walls. Steps and the
// kernel alone run in short turns, so that whatever else the machine does slows
// both alike, and the middle one of the shares counts.
func BenchmarkStep(b *testing.B) {
	for name, gas := range twoGases(b) {
		b.Run(name, func(b *testing.B) {
			net := eight(b, gas)
			const turns, turn = 40, 50
			var shares, whole []float64
			for b.Loop() {
				var steps, kernel float64
				for range turns {
					from := cpu(b)
					for range turn {
						if _, err := net.Step(); err != nil {
							b.Fatal(err)
						}
					}
					mid := cpu(b)
					for range turn {
						net.Sweep()
					}
					steps += float64((mid - from).Nanoseconds())
					kernel += float64((cpu(b) - mid).Nanoseconds())
				}
				shares, whole = append(shares, 1-kernel/steps), append(whole, steps/(turns*turn))
			}
			slices.Sort(shares)
			slices.Sort(whole)
			step := whole[len(whole)/2]
			used, stepped := net.Cells()
			b.ReportMetric(0, "ns/op")
			b.ReportMetric(step, "ns/step")
			b.ReportMetric(shares[len(shares)/2], "joints/step")
			b.ReportMetric(step/float64(used), "ns/cell")
			b.ReportMetric(float64(used)/float64(stepped), "lanes-used")
		})
	}
}

// BenchmarkJoints measures one solution of the joints that a step of an
// engine's network has most of, with a state that changes as it does there.
func BenchmarkJoints(b *testing.B) {
	gas := ConstantGas(1.4, 287)
	for _, c := range []struct {
		name string
		p, u float64
		run  func(p *Port, v *State)
	}{
		{"mouth-out", 1.05e5, 40, func(p *Port, v *State) { solveMouth(p, v, 0.1) }},
		{"mouth-in", 0.95e5, -60, func(p *Port, v *State) { solveMouth(p, v, 0.1) }},
		{"valve-out", 1.2e5, 60, func(p *Port, v *State) { solveOrifice(p, v, 4e-4, 4e-4) }},
		{"valve-in", 0.9e5, -60, func(p *Port, v *State) { solveOrifice(p, v, 4e-4, 4e-4) }},
		{"valve-in-choked", 0.4e5, -100, func(p *Port, v *State) { solveOrifice(p, v, 4e-4, 4e-4) }},
		{"valve-shut", 1e5, 10, func(p *Port, _ *State) { (&Orifice{Opening: Fixed(0)}).Solve([]*Port{p}, 0, 0) }},
	} {
		b.Run(c.name, func(b *testing.B) {
			v := gas.At(1e5, 300, 0)
			p := Port{Area: 1.2e-3, Rho: c.p / (287 * 310), P: c.p, U: c.u, Beta: 2.5, Gamma: 1.4}
			best := math.Inf(1)
			for b.Loop() {
				from := cpu(b)
				for i := range 20000 {
					f := math.Abs(float64(i%400)-200) / 200
					p.P = c.p * (1 + 0.05*f)
					p.U = c.u * (1 + 0.1*f)
					c.run(&p, &v)
				}
				best = min(best, float64((cpu(b)-from).Nanoseconds())/20000)
			}
			b.ReportMetric(0, "ns/op")
			b.ReportMetric(best, "ns/joint")
		})
	}
}
