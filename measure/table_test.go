package measure

import (
	"math"
	"math/rand/v2"
	"testing"
)

// near fails the test unless got is within rel of want, or within abs.
func near(t testing.TB, what string, got, want, rel, abs float64) {
	t.Helper()
	if got == want || math.Abs(got-want) <= rel*math.Abs(want)+abs {
		return
	}
	t.Errorf("%s = %.15g, want %.15g within %g relative or %g", what, got, want, rel, abs)
}

// same fails the test unless got is within rel of want.
func same(t testing.TB, what string, got, want, rel float64) {
	t.Helper()
	near(t, what, got, want, rel, 0)
}

// newRand returns a generator with a fixed seed.
func newRand(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0x5eed)) }

// ar1 simulates a first-order autoregressive series of mean mu and marginal
// standard deviation sd.
func ar1(rng *rand.Rand, n int, phi, mu, sd float64) []float64 {
	x := make([]float64, n)
	z := rng.NormFloat64()
	for i := range x {
		if i > 0 {
			z = phi*z + math.Sqrt(1-phi*phi)*rng.NormFloat64()
		}
		x[i] = mu + sd*z
	}
	return x
}

// clockOf returns n times step seconds apart.
func clockOf(n int, step float64) []float64 {
	t := make([]float64, n)
	for i := range t {
		t[i] = float64(i) * step
	}
	return t
}
