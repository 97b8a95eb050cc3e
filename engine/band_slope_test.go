package engine

import (
	"math"
	"math/rand/v2"
	"testing"

	"runnel/measure"
)

// Of a quantity that is linear in what is drawn, the width is 1.96 times the root sum of squares of its slopes whatever the draws; scatter that no
// slope explains is added with its few degrees of freedom. Too few draws for slopes: the draws' own variance, JCGM 100:2008 4.2.
func TestRegressionHalf(t *testing.T) {
	slope := []float64{3, 0, -4, 0, 0, 0, 0, 0, 0, 0, 12}
	value := func(z []float64) float64 {
		v := 7.0
		for j, b := range slope {
			v += b * z[j]
		}
		return v
	}
	for seed := range uint64(5) {
		draws := latin(24, len(slope), rand.New(rand.NewPCG(seed, 1)))
		v := make([]float64, len(draws))
		for s, z := range draws {
			v[s] = value(z)
		}
		middle, half := newRegression(draws).half(v)
		near(t, "middle", middle, 7, 1e-9)
		near(t, "half width", half, measure.TQuantile(0.975, 1e6)*13, 1e-6)

		r := rand.New(rand.NewPCG(seed, 2))
		for s := range v {
			v[s] += 5 * r.NormFloat64()
		}
		if _, got := newRegression(draws).half(v); got < 1.5*13 || got > 3.5*13 {
			t.Errorf("seed %d: half width %.1f with scatter of 5 on slopes of 13", seed, got)
		}
	}
	few := latin(8, len(slope), rand.New(rand.NewPCG(1, 1)))
	v := []float64{1, 2, 3, 4, 5, 6, 7, 8}
	middle, half := newRegression(few).half(v)
	near(t, "mean of eight", middle, 4.5, 1e-12)
	near(t, "half width of eight", half, measure.TQuantile(0.975, 7)*math.Sqrt(6*(1+1.0/8)), 1e-12) // the variance of 1…8 is 6
}

// The band is the engine's, not the seed's: its width moves by less than a sixth from seed to seed.
func TestBandSeeds(t *testing.T) {
	if testing.Short() {
		t.Skip("four bands")
	}
	e := single(t)
	p := pullOf(t, e, rpm(3000, 6000, 1500))
	var first []Interval
	for seed := range uint64(4) {
		got, err := (*Fit)(nil).Band(t.Context(), e, p, BandOptions{Rand: rand.New(rand.NewPCG(seed, 9))})
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = got
		}
		for i, b := range got {
			w, was := b.Hi-b.Lo, first[i].Hi-first[i].Lo
			t.Logf("seed %d, %.0f rpm: %.1f N·m (%.1f to %.1f)", seed, p[i].Speed*60, b.Value, b.Lo, b.Hi)
			if math.Abs(w/was-1) > 1.0/6 {
				t.Errorf("seed %d, %.0f rpm: a band %.2f wide, %.2f with the first seed", seed, p[i].Speed*60, w, was)
			}
		}
	}
}

// The measured torque of the published small engine on ethanol, torres2024_gx160_wot_E100.csv, lies within the band of its pull. The
// spread of the heat set free was chosen for that: the test holds it there and is no outside check.
func TestBandHoldsGX160(t *testing.T) {
	if testing.Short() {
		t.Skip("two bands")
	}
	check := func(name string, e *Engine, speeds, torque []float64) {
		p := pullOf(t, e, speeds)
		band, err := (*Fit)(nil).Band(t.Context(), e, p, BandOptions{Rand: rand.New(rand.NewPCG(1, 1))})
		if err != nil {
			t.Fatal(err)
		}
		for i, b := range band {
			t.Logf("%s, %.0f rpm: %.2f N·m (%.2f to %.2f), measured %.2f", name, speeds[i]*60, b.Value, b.Lo, b.Hi, torque[i])
			if torque[i] < b.Lo || torque[i] > b.Hi {
				t.Errorf("%s, %.0f rpm: measured %.2f N·m, band %.2f to %.2f", name, speeds[i]*60, torque[i], b.Lo, b.Hi)
			}
		}
	}
	card := gx160(t)
	e, err := FromCard(card, Flowed{})
	if err != nil {
		t.Fatal(err)
	}
	var torque []float64
	for _, r := range rows(t, "torres2024_gx160_wot_E100.csv")[:5] {
		torque = append(torque, num(t, r["torque_Nm"]))
	}
	check("ethanol", e, rpm(2000, 4000, 500), torque)
}
