package rig

import (
	"math"
	"testing"
)

// Without the blower the sensors show their zeros; with it again the test pressure comes back.
func TestBlower(t *testing.T) {
	r, err := New(Options{Seed: 3})
	if err != nil {
		t.Fatal(err)
	}
	mean := func(channel, n int) float64 {
		sum := 0.0
		for range n {
			s, _, err := r.Step(0.05)
			if err != nil {
				t.Fatal(err)
			}
			sum += s.Values[channel]
		}
		return sum / float64(n)
	}
	if _, err := r.Do("blower off"); err != nil {
		t.Fatal(err)
	}
	mean(0, 40) // the hoses empty
	// Noise of 1.1 Pa over 400 samples leaves 0.06 Pa, drift of 0.2 mPa/s some 0.02 Pa, the step of 0.5 Pa little.
	if m := mean(0, 400); math.Abs(m-r.Truth().MeterZero) > 0.3 {
		t.Errorf("the meter shows %.2f Pa, its zero is %.2f Pa", m, r.Truth().MeterZero)
	}
	if r.Truth().MassFlow != 0 {
		t.Errorf("%g kg/s without a blower", r.Truth().MassFlow)
	}
	if _, err := r.Do("blower on"); err != nil {
		t.Fatal(err)
	}
	mean(1, 200)
	if d := mean(1, 100); math.Abs(d-28) > 0.3 {
		t.Errorf("the test pressure comes back to %.2f inH2O", d)
	}
	if _, err := r.Do("blower half"); err == nil {
		t.Error("half a blower")
	}
}
