package measure

import (
	"errors"
	"math"
	"slices"
	"testing"
)

func faultsOf(s Settled, kind FaultKind) []Fault {
	var out []Fault
	for _, f := range s.Faults {
		if f.Kind == kind {
			out = append(out, f)
		}
	}
	return out
}

func TestSettleSpikes(t *testing.T) {
	for _, phi := range []float64{0, 0.9} {
		x := ar1(newRand(9), 5000, phi, 100, 1)
		at := []int{0, 700, 701, 702, 1500, 2600, 2601, 4999}
		for k, i := range at {
			x[i] += 40 + float64(k)
		}
		s := settleOK(t, clockOf(len(x), 0.01), x, SettleOptions{})
		if s.Spikes < len(at) || s.Spikes > len(at)+1 {
			t.Errorf("phi %v: %d spikes left out, %d were put in: %v", phi, s.Spikes, len(at), faultsOf(s, FaultSpike))
		}
		for _, i := range at {
			hit := slices.ContainsFunc(faultsOf(s, FaultSpike), func(f Fault) bool {
				return f.From-1e-9 <= 0.01*float64(i) && 0.01*float64(i) <= f.To+1e-9
			})
			if !hit {
				t.Errorf("phi %v: the spike at sample %d is not named", phi, i)
			}
		}
		near(t, "mean", s.Mean, 100, 0, 4*s.U)
	}
	// A change of level is not a spike, however sharp.
	tm, x := shaped(0, 3, func(s float64) float64 {
		if s > 30 {
			return 50
		}
		return 0
	})
	if s := settleOK(t, tm, x, SettleOptions{}); s.Spikes != 0 {
		t.Errorf("a change of level is called %d spikes", s.Spikes)
	}
	// A great many spikes are counted without a list of them all.
	x = ar1(newRand(10), 20000, 0, 100, 1)
	for i := 50; i < len(x); i += 100 {
		x[i] += 60
	}
	s := settleOK(t, clockOf(len(x), 0.001), x, SettleOptions{})
	spikes := faultsOf(s, FaultSpike)
	if s.Spikes != 200 || len(spikes) != maxListed || spikes[len(spikes)-1].More != 200-maxListed {
		t.Errorf("200 spikes: counted %d, listed %d, more %d", s.Spikes, len(spikes), spikes[len(spikes)-1].More)
	}
}

func TestSettleFrozen(t *testing.T) {
	tm, x := shaped(0.5, 4, func(float64) float64 { return 0 })
	for i := 1000; i < 1300; i++ {
		x[i] = x[999]
	}
	s := settleOK(t, tm, x, SettleOptions{})
	f := faultsOf(s, FaultFrozen)
	if len(f) != 1 || f[0].From != tm[999] || f[0].To != tm[1299] || f[0].Count != 301 {
		t.Fatalf("frozen from 19.98 to 25.98 s: %v", f)
	}
	if !s.Steady || s.From < tm[1299] {
		t.Errorf("steady %v from %v s, want the longer part after the frozen one", s.Steady, s.From)
	}

	// A coarse converter repeats values without being frozen, and so does a slow
	// sensor polled fast.
	coarse := ar1(newRand(5), 3000, 0.5, 100, 1)
	for i := range coarse {
		coarse[i] = math.Round(coarse[i])
	}
	held := make([]float64, 3000)
	for i := range held {
		held[i] = coarse[i/25] + 0.01*float64(i/25%7)
	}
	for name, x := range map[string][]float64{"coarse": coarse, "held": held} {
		if s := settleOK(t, tm, x, SettleOptions{}); len(faultsOf(s, FaultFrozen)) != 0 {
			t.Errorf("%s converter called frozen: %v", name, s.Faults)
		}
	}
	for i := 2000; i < 2200; i++ {
		coarse[i] = 100
	}
	if s := settleOK(t, tm, coarse, SettleOptions{}); len(faultsOf(s, FaultFrozen)) != 1 {
		t.Errorf("200 equal samples of a coarse converter: %v", s.Faults)
	}

	flat := make([]float64, 3000)
	if _, err := Settle(tm, flat, SettleOptions{}); !errors.Is(err, ErrFrozen) {
		t.Errorf("all equal: %v, want ErrFrozen", err)
	}
	if s := settleOK(t, tm, flat, SettleOptions{Rests: true}); s.Mean != 0 || s.U != 0 || s.WaverRel != 0 {
		t.Errorf("a resting sensor: %+v", s)
	}
}

func TestSettleClipped(t *testing.T) {
	tm, x := shaped(0, 6, func(s float64) float64 {
		if s > 40 {
			return 1.5
		}
		return 0
	})
	for i := range x {
		x[i] = min(x[i], 102.5)
	}
	count := 0
	for _, v := range x {
		if v == 102.5 {
			count++
		}
	}
	for name, opt := range map[string]SettleOptions{"range known": {Low: 0, High: 102.5}, "range unknown": {}} {
		s := settleOK(t, tm, x, opt)
		got := 0
		for _, f := range faultsOf(s, FaultClipped) {
			got += f.Count
		}
		if got != count {
			t.Errorf("%s: %d clipped samples named, %d are", name, got, count)
		}
	}
	// Noise that clips often has no steady part left to trust.
	for i := range x {
		x[i] = min(x[i], 100.2)
	}
	if s := settleOK(t, tm, x, SettleOptions{High: 100.2}); s.Steady {
		t.Error("a trace that clips all the time is called steady")
	}
	for i := range x {
		x[i] = 100.2
	}
	if _, err := Settle(tm, x, SettleOptions{High: 100.2}); !errors.Is(err, ErrClipped) {
		t.Errorf("all at the end of the range: %v, want ErrClipped", err)
	}
	// No false alarm on sound noise, fine or coarse.
	for seed := range uint64(40) {
		y := ar1(newRand(seed), 2000, 0.3, 100, 1)
		if s := settleOK(t, clockOf(2000, 0.01), y, SettleOptions{}); len(faultsOf(s, FaultClipped)) != 0 {
			t.Errorf("seed %d: sound noise called clipped", seed)
		}
		for i := range y {
			y[i] = math.Round(5*y[i]) / 5
		}
		if s := settleOK(t, clockOf(2000, 0.01), y, SettleOptions{}); len(faultsOf(s, FaultClipped)) != 0 {
			t.Errorf("seed %d: coarse noise called clipped", seed)
		}
	}
}

func TestSettleClock(t *testing.T) {
	x := ar1(newRand(12), 2000, 0, 100, 1)
	tm := clockOf(2000, 0.01)
	// A second is missing after 5 s, then the clock is put back by 3 s at sample 1400.
	for i := 500; i < len(tm); i++ {
		tm[i]++
	}
	for i := 1400; i < len(tm); i++ {
		tm[i] -= 3
	}
	s := settleOK(t, tm, x, SettleOptions{})
	d, c := faultsOf(s, FaultDropOut), faultsOf(s, FaultClockStep)
	if len(d) != 1 || d[0].Count != 100 || math.Abs(d[0].From-4.99) > 1e-9 || math.Abs(d[0].To-6) > 1e-9 {
		t.Errorf("drop-out of 100 samples after 4.99 s: %v", d)
	}
	if len(c) != 1 || math.Abs(c[0].From-14.99) > 1e-9 || math.Abs(c[0].To-12) > 1e-9 {
		t.Errorf("clock back from 14.99 to 12.00 s: %v", c)
	}
	if !s.Steady || s.To > 15 || s.N != 1400 {
		t.Errorf("steady %v to %v s with %d samples, want the part before the step", s.Steady, s.To, s.N)
	}
	// A jump longer than the whole trace is a clock step, and jitter is no fault.
	tm = clockOf(2000, 0.01)
	rng := newRand(13)
	for i := range tm {
		tm[i] += 0.004 * (rng.Float64() - 0.5)
		if i >= 1500 {
			tm[i] += 3600
		}
	}
	s = settleOK(t, tm, x, SettleOptions{})
	if d, c := faultsOf(s, FaultDropOut), faultsOf(s, FaultClockStep); len(d) != 0 || len(c) != 1 {
		t.Errorf("an hour's jump with jitter: drop-outs %v, steps %v", d, c)
	}
	// Missing cells and missing times.
	tm = clockOf(2000, 0.01)
	x[300], x[301], tm[900] = nan(), math.Inf(1), nan()
	s = settleOK(t, tm, x, SettleOptions{})
	if e := faultsOf(s, FaultEmpty); len(e) != 1 || e[0].Count != 2 {
		t.Errorf("two empty cells: %v", e)
	}
	if e := faultsOf(s, FaultNoTime); len(e) != 1 {
		t.Errorf("a sample without time: %v", e)
	}
	if s.N != 1997 {
		t.Errorf("%d samples used, want 1997", s.N)
	}
}

func TestSettleRefuses(t *testing.T) {
	for _, c := range []struct {
		name string
		t, x []float64
		want error
	}{
		{"nothing", nil, nil, ErrTooFew},
		{"one sample", []float64{0}, []float64{1}, ErrTooFew},
		{"time stands", []float64{1, 1, 1}, []float64{1, 2, 3}, ErrClock},
		{"no times", []float64{nan(), nan()}, []float64{1, 2}, ErrClock},
		{"all empty", clockOf(50, 0.1), slices.Repeat([]float64{nan()}, 50), ErrTooFew},
		{"two equal", clockOf(2, 0.1), []float64{3, 3}, ErrFrozen},
	} {
		if _, err := Settle(c.t, c.x, SettleOptions{}); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	// A following channel that has nothing to average is named.
	x := ar1(newRand(1), 200, 0, 100, 1)
	_, err := SettleJoint(clockOf(200, 0.1), []Channel{{X: x}, {Name: "stuck", X: slices.Repeat([]float64{5}, 200), Follows: true}}, SettleOptions{})
	if !errors.Is(err, ErrFrozen) {
		t.Errorf("a frozen following channel: %v", err)
	}
	// Two samples give a number that does not pretend.
	s := settleOK(t, []float64{0, 1}, []float64{1, 3}, SettleOptions{})
	if s.Steady || s.Mean != 2 || s.U < 1 || s.Dof != 1 {
		t.Errorf("two samples: %+v", s)
	}
	defer func() {
		if recover() == nil {
			t.Error("slices of unequal length were taken")
		}
	}()
	_, _ = Settle(clockOf(3, 1), []float64{1, 2}, SettleOptions{})
}

// A needle that runs up and then is quieter than the steps it is recorded in rests on the greatest value, or on one of two: that is no
// clipping, whether the range of the sensor is known or not.
func TestAQuietNeedleInCoarseStepsIsNotClipped(t *testing.T) {
	const step = 1.22 // of a converter of 12 bits over 5000 Pa [Pa]
	for seed := range uint64(60) {
		r := newRand(seed)
		level := 1700 + step*r.Float64()
		at, x := make([]float64, 400), make([]float64, 400)
		for i := range at {
			at[i] = float64(i) / 20
			x[i] = step * math.Round((level*(1-math.Exp(-2*at[i]))+0.2*step*r.NormFloat64())/step)
		}
		for name, opt := range map[string]SettleOptions{"known": {Low: -100, High: 5000}, "not known": {}} {
			if s := settleOK(t, at, x, opt); len(faultsOf(s, FaultClipped)) > 0 {
				t.Errorf("seed %d, range %s: %.6g Pa are called clipped: %v", seed, name, level, s.Faults)
			}
		}
	}
}
