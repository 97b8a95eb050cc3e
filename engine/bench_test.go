package engine

import (
	"math/rand/v2"
	"testing"

	"runnel/job"
)

// The twelve-speed sweep of the six-cylinder engine at 15 mm, all workers.
func BenchmarkSweep(b *testing.B) {
	e := six(b)
	for b.Loop() {
		if _, err := Pull(b.Context(), e, rpm(1500, 7000, 500), Options{}, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// The quick answer of a what-if: seven speeds on a coarse mesh from a warm state.
func BenchmarkQuick(b *testing.B) {
	e := six(b)
	w := &Warm{}
	speeds := QuickSpeeds(rpm(1500, 7000, 500))
	if _, err := Pull(b.Context(), e, speeds, Quick(w), nil); err != nil {
		b.Fatal(err)
	}
	longer := []*Engine{e.With(RunnerLonger(0.01)), e}
	i := 0
	for b.Loop() {
		if _, err := Pull(b.Context(), longer[i%2], speeds, Quick(w), nil); err != nil {
			b.Fatal(err)
		}
		i++
	}
}

// Before, after and bands, as a job asks for: the pulls at 15 mm and twelve speeds, as many draws as usual.
func BenchmarkJob(b *testing.B) {
	before, after := bandPair(b, six(b))
	speeds := rpm(1500, 7000, 500)
	for b.Loop() {
		p, err := Pull(b.Context(), before, speeds, Options{}, nil)
		if err != nil {
			b.Fatal(err)
		}
		q, err := Pull(b.Context(), after, speeds, Options{}, nil)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := Bands(b.Context(), before, after, p, q, BandOptions{Rand: rand.New(rand.NewPCG(1, 1))}); err != nil {
			b.Fatal(err)
		}
	}
}

// eightWithHeaders is an invented eight-cylinder engine with headers in two collectors.
func eightWithHeaders(t testing.TB) *Engine {
	t.Helper()
	c := longPassage(0.45)
	c.Outlet = job.OutletCard{PortLength: 0.08, PrimaryLength: 0.8, PrimaryBore: 0.044, Collectors: 2, CollectorLength: 0.6, CollectorBore: 0.070}
	return engineOf(t, c)
}

// Twelve speeds of an eight-cylinder engine with headers at 15 mm.
func BenchmarkEight(b *testing.B) {
	e := eightWithHeaders(b)
	for b.Loop() {
		p, err := Pull(b.Context(), e, rpm(1500, 7000, 500), Options{}, nil)
		if err != nil {
			b.Fatal(err)
		}
		for _, q := range p {
			if !q.Settled {
				b.Fatalf("%.0f rpm did not settle", q.Speed*60)
			}
		}
	}
}
