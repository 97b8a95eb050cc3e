package engine

import (
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
)

// bandPair is an engine before and after its runners were made to flow better.
func bandPair(t testing.TB, e *Engine) (before, after *Engine) {
	t.Helper()
	a := math.Pi / 4 * 0.040 * 0.040
	flow := func(f float64) Flowed {
		v := make([]float64, e.Cylinders())
		for i := range v {
			v[i] = f * a
		}
		return Flowed{Runners: v}
	}
	before, _, err := e.Tie(flow(0.70), 0)
	if err != nil {
		t.Fatal(err)
	}
	after, _, err = e.Tie(flow(0.76), 0)
	if err != nil {
		t.Fatal(err)
	}
	return before, after
}

// What is common to both rounds cancels: the band on the gain is narrower than that on either curve; the value lies within its band; the
// same seed gives the same band whatever the number of workers.
func TestBands(t *testing.T) {
	before, after := bandPair(t, single(t))
	speeds := rpm(3000, 6000, 1000)
	a, err := Pull(t.Context(), before, speeds, Options{Mesh: CoarseMesh}, nil)
	if err != nil {
		t.Fatal(err)
	}
	b, err := Pull(t.Context(), after, speeds, Options{Mesh: CoarseMesh}, nil)
	if err != nil {
		t.Fatal(err)
	}
	opt := func(workers int) BandOptions {
		return BandOptions{Samples: 8, Speeds: 2, Workers: workers, Rand: rand.New(rand.NewPCG(1, 2))}
	}
	got, err := Bands(t.Context(), before, after, a, b, opt(1))
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range got {
		t.Logf("%.0f rpm: before %.1f (%.1f to %.1f), gain %.2f (%.2f to %.2f) N·m", p.Speed*60, p.Before.Value, p.Before.Lo, p.Before.Hi, p.Gain.Value, p.Gain.Lo, p.Gain.Hi)
		w, g := p.Before.Hi-p.Before.Lo, p.Gain.Hi-p.Gain.Lo
		if g >= w/2 || w <= 0 || g <= 0 {
			t.Errorf("width of the gain's band %.2f, of the curve's %.2f", g, w)
		}
		if p.Before.Value != a[i].Torque || p.Gain.Value != b[i].Torque-a[i].Torque || p.Gain.Lo > p.Gain.Value || p.Gain.Hi < p.Gain.Value {
			t.Errorf("%+v", p)
		}
	}
	again, err := Bands(t.Context(), before, after, a, b, opt(2))
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, again) {
		t.Error("the band depends on the number of workers")
	}
	if _, err := Bands(t.Context(), before, after, a, b[1:], opt(1)); !errors.Is(err, ErrSpeeds) {
		t.Errorf("unlike pulls: %v", err)
	}
}

// Every column of the draws holds every slice of probability once.
func TestLatin(t *testing.T) {
	const n = 20
	z := latin(n, 3, rand.New(rand.NewPCG(3, 4)))
	for j := range 3 {
		seen := [n]bool{}
		for i := range z {
			p := 0.5 * math.Erfc(-z[i][j]/math.Sqrt2)
			seen[int(p*n)] = true
		}
		for k, s := range seen {
			if !s {
				t.Errorf("column %d misses slice %d", j, k)
			}
		}
	}
}
