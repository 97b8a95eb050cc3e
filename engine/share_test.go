//go:build unix

package engine

import (
	"slices"
	"testing"
)

// BenchmarkShare measures the share of a step that is not the pipe kernel: boundaries, cylinders and pipe walls of the
// eight-cylinder engine with headers at 15 mm. Steps and the kernel alone run in short turns, so that whatever else the machine
// does slows both alike, and the middle one of the shares of all cycles counts.
func BenchmarkShare(b *testing.B) {
	e := eightWithHeaders(b)
	m, err := e.build(DefaultMesh)
	if err != nil {
		b.Fatal(err)
	}
	m.start()
	m.set(5000. / 60)
	for range 8 { // until the engine repeats itself, near enough
		if err := m.cycle(); err != nil {
			b.Fatal(err)
		}
	}
	const turn = 50 // steps
	var shares, whole []float64
	for b.Loop() {
		m.net.SetTime(0)
		var steps, kernel, n float64
		for end := 2 / m.speed; m.net.Time() < end; n += turn {
			from := cpu(b)
			for range turn {
				if _, err := m.net.Step(); err != nil {
					b.Fatal(err)
				}
			}
			mid := cpu(b)
			for range turn {
				m.net.Sweep()
			}
			steps += float64((mid - from).Nanoseconds())
			kernel += float64((cpu(b) - mid).Nanoseconds())
		}
		shares, whole = append(shares, 1-kernel/steps), append(whole, steps/n)
	}
	slices.Sort(shares)
	slices.Sort(whole)
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(whole[len(whole)/2], "ns/step")
	b.ReportMetric(shares[len(shares)/2], "others/step")
}
