package measure

import (
	"slices"
	"testing"
)

func TestFaultWords(t *testing.T) {
	spikes := make([]Fault, 0, 30)
	for i := range 30 {
		spikes = append(spikes, Fault{Kind: FaultSpike, Channel: "meter_dp", From: float64(i) + 2, To: float64(i) + 2, Count: 1})
	}
	var got []string
	for _, f := range Gathered(append(spikes,
		Fault{Kind: FaultSpike, Channel: "test_dp", From: 2.5, To: 2.5, Count: 1},
		Fault{Kind: FaultDropOut, From: 7.98, To: 13, Count: 250},
		Fault{Kind: FaultEmpty, Channel: "meter_dp", From: 2, To: 3.98, Count: 100},
		Fault{Kind: FaultClockStep, From: 9.98, To: 5, Count: 1},
		Fault{Kind: FaultClipped, Channel: "meter_dp", From: 1, To: 1, Count: 1},
		Fault{Kind: FaultClipped, Channel: "meter_dp", From: 4, To: 9, Count: 60, More: 3},
		Fault{Kind: FaultMoving, From: 0, To: 5, Count: 100},
	)) {
		got = append(got, f.Words())
	}
	want := []string{
		"spike on meter_dp from 2.00 s to 31.00 s, 30 samples left out",
		"spike on test_dp at 2.50 s, left out",
		"drop-out from 7.98 s to 13.00 s, 250 samples missing",
		"empty cells on meter_dp from 2.00 s to 3.98 s, 100 samples left out",
		"clock step from 9.98 s to 5.00 s, the time of the trace jumps there",
		"clipped sensor on meter_dp from 1.00 s to 9.00 s, 61 samples left out, in 5 places",
		"moving level from 0.00 s to 5.00 s, 100 samples",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

// A sensor of a wide range behind an amplifier that clips far below: the stated range must not hide it.
func TestClippedWithinTheRange(t *testing.T) {
	const n = 1500
	at, x := make([]float64, n), make([]float64, n)
	for i := range at {
		at[i] = float64(i) / 50
		x[i] = min(1000+float64((i*7919)%1009)/100, 1007) // whatever is above 1007 is cut off
	}
	s, err := Settle(at, x, SettleOptions{Low: 0, High: 20000})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.ContainsFunc(s.Faults, func(f Fault) bool { return f.Kind == FaultClipped }) {
		t.Errorf("no clipping named: %v", s.Faults)
	}
}

// The traces that settling is meant for pass; times in milliseconds under a header of seconds, and a trace of two seconds, are warned of.
func TestTraceLimits(t *testing.T) {
	for _, c := range []struct {
		rate, long float64 // [Hz], [s]
		want       int
	}{{10, 5, 0}, {1000, 600, 0}, {50e-3, 30e3, 2}, {50, 2, 1}, {2, 100, 1}, {5000, 20, 1}} {
		at := make([]float64, int(c.rate*c.long+0.5))
		for i := range at {
			at[i] = float64(i) / c.rate
		}
		if got := TraceLimits(at); len(got) != c.want {
			t.Errorf("%v Hz, %v s: %v", c.rate, c.long, got)
		}
	}
}
