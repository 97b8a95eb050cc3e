package measure

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func settleOK(t *testing.T, tm, x []float64, opt SettleOptions) Settled {
	t.Helper()
	s, err := Settle(tm, x, opt)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Rates and lengths that benches have. A steady trace with noise that hangs
// together must be called steady, whole or nearly, and its interval must hold the
// truth as often as it says: over all the cases of a row, 95 % within four
// binomial deviations, and a margin of 3 % where the trace holds fewer than thirty
// autocorrelation times, for which the lag sum is known to be short.
func TestSettleSteady(t *testing.T) {
	for _, c := range []struct {
		n      int
		step   float64
		phi    float64
		runs   int
		margin float64
	}{
		{50, 0.1, 0, 300, 0},           // 10 Hz, 5 s
		{50, 0.1, 0.3, 300, 0.03},      // 10 Hz, 5 s
		{600, 0.1, 0.6, 200, 0},        // 10 Hz, 1 min
		{6000, 0.1, 0.8, 40, 0},        // 10 Hz, 10 min
		{5000, 0.001, 0.9, 80, 0},      // 1 kHz, 5 s
		{5000, 0.001, 0.98, 100, 0.03}, // 1 kHz, 5 s, damped 50 ms
		{60000, 0.001, 0.98, 12, 0},    // 1 kHz, 1 min
	} {
		t.Run(fmt.Sprintf("n=%d phi=%v", c.n, c.phi), func(t *testing.T) {
			rng := newRand(uint64(c.n) + uint64(100*c.phi))
			steady, held, share := 0, 0, 0.0
			tm := clockOf(c.n, c.step)
			for range c.runs {
				s := settleOK(t, tm, ar1(rng, c.n, c.phi, 100, 1), SettleOptions{})
				if s.Steady {
					steady++
				}
				if math.Abs(s.Mean-100) <= CoverageFactor(0.95, s.Dof)*s.U {
					held++
				}
				share += float64(s.N) / float64(c.n) / float64(c.runs)
			}
			if float64(steady) < 0.95*float64(c.runs) {
				t.Errorf("called steady %d times of %d", steady, c.runs)
			}
			if share < 0.85 {
				t.Errorf("keeps %.0f %% of a steady trace", 100*share)
			}
			p := float64(held) / float64(c.runs)
			if tol := 4 * math.Sqrt(0.95*0.05/float64(c.runs)); p < 0.95-tol-c.margin {
				t.Errorf("the 95 %% interval held the truth in %.1f %%", 100*p)
			}
		})
	}
}

// A slow needle: few autocorrelation times in a trace, n(1 − φ)/(1 + φ). To pick the stretch that wavers least would claim its mean
// too sure; a trace that is not shown to move is averaged whole. Where it holds ten times or more the interval must hold the truth in 92 % at least,
// with five in 90 %; what a simulation of 1000 traces may fall short of that is three binomial deviations.
func TestSettleSlowNeedle(t *testing.T) {
	for _, c := range []struct {
		n    int
		phi  float64
		want float64
	}{
		{50, 0.5, 0.92},
		{100, 0.8, 0.92},
		{200, 0.9, 0.92},
		{500, 0.9, 0.92},
		{500, 0.95, 0.92},
		{50, 0.8, 0.90},
		{100, 0.9, 0.90},
		{200, 0.95, 0.90},
	} {
		const runs = 1000
		rng := newRand(uint64(c.n) + uint64(100*c.phi))
		tm, held, steady := clockOf(c.n, 0.1), 0, 0
		for range runs {
			s := settleOK(t, tm, ar1(rng, c.n, c.phi, 100, 1), SettleOptions{})
			if math.Abs(s.Mean-100) <= CoverageFactor(0.95, s.Dof)*s.U {
				held++
			}
			if s.Steady {
				steady++
			}
		}
		p := float64(held) / runs
		if tol := 3 * math.Sqrt(c.want*(1-c.want)/runs); p < c.want-tol {
			t.Errorf("%d samples, lag-1 correlation %v: the 95 %% interval held the truth in %.1f %%", c.n, c.phi, 100*p)
		}
		t.Logf("%d samples, lag-1 correlation %v: held %.1f %%, called steady %.1f %%", c.n, c.phi, 100*p, 100*float64(steady)/runs)
	}
}

// A needle so slow that its trace holds few autocorrelation times has no part that can be told from the rest: after a step the numbers are
// those of all samples, and the trace is not called steady; with time enough the part after the step is found.
func TestSettleSlowStep(t *testing.T) {
	trace := func(n int, seed uint64) []float64 {
		x := ar1(newRand(seed), n, 0.95, 100, 1)
		for i := range n / 3 {
			x[i] -= 15
		}
		return x
	}
	short, long := 0, 0
	const runs = 20
	for seed := range uint64(runs) {
		if s := settleOK(t, clockOf(300, 0.1), trace(300, seed), SettleOptions{}); !s.Steady && s.N == 300 {
			short++
		}
		s := settleOK(t, clockOf(6000, 0.1), trace(6000, seed), SettleOptions{})
		if s.Steady && s.From > 190 && s.From < 300 {
			long++
		}
	}
	if short < runs-2 || long < runs-2 {
		t.Errorf("of %d traces %d short ones were called unsteady, in %d long ones the part after the step was found", runs, short, long)
	}
}

// shaped is a minute at 50 Hz of unit noise on a level of 100, plus shape(t).
func shaped(phi float64, seed uint64, shape func(t float64) float64) (tm, x []float64) {
	tm = clockOf(3000, 0.02)
	x = ar1(newRand(seed), len(tm), phi, 100, 1)
	for i, v := range tm {
		x[i] += shape(v)
	}
	return tm, x
}

// Where the steady part lies is known by construction; slack is what the filters
// may take from it (some ten thinned samples) and may leave in of what moves.
func TestSettleFindsSteadyPart(t *testing.T) {
	for _, phi := range []float64{0, 0.8} {
		for seed := uint64(1); seed <= 5; seed++ {
			t.Run(fmt.Sprintf("phi=%v seed=%d", phi, seed), func(t *testing.T) {
				start, x := shaped(phi, seed, func(s float64) float64 { return -50 * math.Exp(-s/4) })
				s := settleOK(t, start, x, SettleOptions{})
				// Below a fifth of the noise after 4·ln(50/0.2) = 22 s; then comes what
				// the filters take.
				if !s.Steady || s.From < 12 || s.From > 46 || s.To < 59 {
					t.Errorf("start-up: steady %v from %v to %v s", s.Steady, s.From, s.To)
				}
				near(t, "start-up mean", s.Mean, 100, 0, 0.15+4*s.U)

				tm, x := shaped(phi, seed+50, func(s float64) float64 {
					if s > 36 {
						return 4
					}
					return 0
				})
				s = settleOK(t, tm, x, SettleOptions{})
				if !s.Steady || s.From > 1 || s.To < 30 || s.To > 36.5 {
					t.Errorf("step at 36 s: steady %v from %v to %v s", s.Steady, s.From, s.To)
				}
				near(t, "step mean", s.Mean, 100, 0, 0.05+4*s.U)

				tm, x = shaped(phi, seed+100, func(s float64) float64 { return 0.2 * s })
				if s = settleOK(t, tm, x, SettleOptions{}); s.Steady || len(s.Faults) == 0 {
					t.Errorf("a ramp of 12 standard deviations: steady %v from %v to %v s, faults %v", s.Steady, s.From, s.To, s.Faults)
				}
				if k := CoverageFactor(0.95, s.Dof) * s.U; math.Abs(s.Mean-106) > k {
					t.Errorf("the interval ±%v of an unsteady trace does not reach its middle", k)
				}

				tm, x = shaped(phi, seed+150, func(s float64) float64 { return 2 * math.Sin(2*math.Pi*s/1.5) })
				s = settleOK(t, tm, x, SettleOptions{})
				if !s.Steady || s.To-s.From < 50 {
					t.Errorf("a needle that swings about a level: steady %v from %v to %v s", s.Steady, s.From, s.To)
				}
				near(t, "swinging mean", s.Mean, 100, 0, 0.1+4*s.U)
				// s² = σ² + A²/2
				same(t, "waver", s.WaverRel, 2*math.Sqrt(1+2)/100, 0.15)
			})
		}
	}
}

// What a start-up leaves in the mean is less than the uncertainty says. The bias
// is in standard uncertainties, averaged over seeds.
func TestSettleStartUpBias(t *testing.T) {
	for _, phi := range []float64{0, 0.8} {
		z := 0.0
		const runs = 60
		for seed := range uint64(runs) {
			tm, x := shaped(phi, 1000+seed, func(s float64) float64 { return -50 * math.Exp(-s/4) })
			s := settleOK(t, tm, x, SettleOptions{})
			z += (s.Mean - 100) / s.U / runs
		}
		if math.Abs(z) > 0.8 {
			t.Errorf("phi %v: the start-up leaves %.2f standard uncertainties in the mean", phi, z)
		}
	}
}

// The numbers of a steady part of independent samples against plain statistics.
func TestSettleNumbers(t *testing.T) {
	x := ar1(newRand(8), 4000, 0, 100, 0.25)
	s := settleOK(t, clockOf(len(x), 0.01), x, SettleOptions{})
	if !s.Steady || s.N != len(x) {
		t.Fatalf("steady %v with %d of %d samples", s.Steady, s.N, len(x))
	}
	same(t, "mean", s.Mean, Mean(x), 1e-14)
	same(t, "sd", s.SD, SD(x), 1e-12)
	// A small scatter on a large level keeps its digits: ±0.1 on 10⁷ is ±0.1.
	m, sd := moments([]float64{1e7 + 0.125, 1e7 - 0.125, 1e7 + 0.125, 1e7 - 0.125, 1e7})
	same(t, "mean on a large level", m, 1e7, 1e-15)
	same(t, "sd on a large level", sd, 0.125, 1e-14)
	same(t, "u", s.U, SD(x)/math.Sqrt(4000), 0.1) // τ of white noise is estimated, not known
	same(t, "waver", s.WaverRel, 2*SD(x)/Mean(x), 1e-12)
	near(t, "peak", s.Peak, 100+2.0537*0.25, 0, 0.03) // 98 % point of the normal distribution
	// Common practice, no source: the average over a steady needle lies about half
	// a percent under its peak. A check on sign and range only.
	if r := s.Peak/s.Mean - 1; r < 0.002 || r > 0.01 {
		t.Errorf("peak lies %.2f %% above the mean", 100*r)
	}
	near(t, "from", s.From, 0, 0, 0)
	near(t, "to", s.To, 39.99, 1e-12, 0)
}

// No trace whatever makes Settle panic, hang or return what is not a number.
func TestSettleAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.OneOf(rapid.Float64Range(-2, 2), rapid.Float64(), rapid.SampledFrom([]float64{0, 1, nan(), math.Inf(1)}))
		x := rapid.SliceOfN(value, 0, 120).Draw(t, "x")
		tm := make([]float64, len(x))
		step := rapid.SampledFrom([]float64{0.01, 0.01, 0.01, 0, -0.5, 7, nan()})
		for i := range tm {
			if i > 0 {
				tm[i] = tm[i-1] + step.Draw(t, "step")
			}
			if math.IsNaN(tm[i]) && rapid.Bool().Draw(t, "again") {
				tm[i] = float64(i)
			}
		}
		s, err := Settle(tm, x, SettleOptions{})
		if err != nil {
			return
		}
		huge := slices.ContainsFunc(x, func(v float64) bool { return math.Abs(v) > 1e140 })
		for _, v := range []float64{s.Mean, s.U, s.SD, s.NEff, s.Peak, s.Dof, s.From, s.To} {
			if notFinite(v) && !huge { // the square of 1e155 is infinite
				t.Fatalf("not finite: %+v", s)
			}
		}
	})
}

// The unit and the level of a trace do not change what is steady.
func TestSettleInvariant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		scale := rapid.Float64Range(1e-6, 1e6).Draw(t, "scale")
		tm, x := shaped(0.5, seed, func(s float64) float64 { return -20 * math.Exp(-s/5) })
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = scale * v
		}
		a, err := Settle(tm, x, SettleOptions{})
		if err != nil {
			t.Fatal(err)
		}
		b, err := Settle(tm, y, SettleOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if a.From != b.From || a.To != b.To || a.N != b.N || math.Abs(b.U/a.U/scale-1) > 1e-9 {
			t.Fatalf("scaled by %v: %+v became %+v", scale, a, b)
		}
	})
}

// The means of a joint settling are over the same samples, and a quantity derived
// sample by sample has the mean of its own.
func TestSettleJoint(t *testing.T) {
	tm := clockOf(4000, 0.005)
	rng := newRand(31)
	dp, test := ar1(rng, 4000, 0.9, 2000, 40), ar1(rng, 4000, 0.7, 7000, 30)
	room := slices.Repeat([]float64{293.15}, 4000)
	flow := make([]float64, 4000)
	for i := range flow {
		if i < 1200 {
			test[i] -= 2000 * math.Exp(-float64(i)/150) // only the test pressure starts up
		}
		flow[i] = math.Sqrt(dp[i]) * math.Sqrt(7000/test[i])
	}
	dp[2500], flow[2500] = 9000, math.Sqrt(9000)
	test[2600] = nan()
	j, err := SettleJoint(tm, []Channel{
		{Name: "dp", X: dp, Low: 0, High: 10000},
		{Name: "test", X: test},
		{Name: "room", X: room, Rests: true, Follows: true},
		{Name: "flow", X: flow},
	}, SettleOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if !j.Steady || j.From < 2 || j.From > 9 || j.To != tm[3999] {
		t.Errorf("steady %v from %v to %v s", j.Steady, j.From, j.To)
	}
	if slices.Contains(j.Index, 2500) || slices.Contains(j.Index, 2600) {
		t.Error("a sample that is bad in one channel was kept in the others")
	}
	for k, ch := range [][]float64{dp, test, room, flow} {
		sum := 0.0
		for _, i := range j.Index {
			sum += ch[i]
		}
		same(t, j.Channels[k].Name, j.Channels[k].Mean, sum/float64(len(j.Index)), 1e-12)
		if j.Channels[k].From != j.From || j.Channels[k].N != len(j.Index) {
			t.Errorf("%s was averaged over another part", j.Channels[k].Name)
		}
	}
	// flow = √dp·√(7000/test): correlated with dp, against test. To first order the
	// coefficients are ½·20/2000 … in the ratio of the relative uncertainties.
	udp, ut := j.Channels[0].U/2000/2, j.Channels[1].U/7000/2
	near(t, "r(dp, flow)", j.Correlation[0][3], udp/math.Hypot(udp, ut), 0, 0.15)
	if r := j.Correlation[1][3]; r > 0 {
		t.Errorf("r(test, flow) = %v, want it negative", r)
	}
	if j.Correlation[2][2] != 1 || j.Correlation[2][0] != 0 {
		t.Errorf("correlation of a resting channel: %v", j.Correlation[2])
	}
	defer func() {
		if recover() == nil {
			t.Error("a trace without a deciding channel was settled")
		}
	}()
	_, _ = SettleJoint(tm, []Channel{{X: room, Follows: true}}, SettleOptions{})
}

// A channel that is added once the steady part is known has the numbers that it would have had from the start.
func TestJointWith(t *testing.T) {
	tm := clockOf(3000, 0.01)
	rng := newRand(37)
	dp, test := ar1(rng, 3000, 0.9, 2000, 40), ar1(rng, 3000, 0.7, 7000, 30)
	flow := make([]float64, 3000)
	for i := range flow {
		if i < 600 {
			test[i] -= 3000 * math.Exp(-float64(i)/100)
		}
		flow[i] = math.Sqrt(dp[i] * test[i])
	}
	flow[2000], test[2100] = nan(), nan()
	lead := []Channel{{Name: "dp", X: dp}, {Name: "test", X: test}}
	follows := Channel{Name: "flow", X: flow, Rests: true, Follows: true}
	want, err := SettleJoint(tm, append(slices.Clone(lead), follows), SettleOptions{})
	if err != nil {
		t.Fatal(err)
	}
	first, err := SettleJoint(tm, lead, SettleOptions{})
	if err != nil {
		t.Fatal(err)
	}
	got, err := first.With(follows)
	if err != nil {
		t.Fatal(err)
	}
	if !got.Steady || len(got.Index) == 0 || got.Index[0] == 0 {
		t.Errorf("steady %v from sample %d: the test has lost its point", got.Steady, got.Index[0])
	}
	if fmt.Sprint(got.Channels) != fmt.Sprint(want.Channels) || fmt.Sprint(got.Correlation) != fmt.Sprint(want.Correlation) || !slices.Equal(got.Index, want.Index) {
		t.Errorf("with a channel more: %+v\nfrom the start: %+v", got.Channels, want.Channels)
	}
	if len(first.Channels) != 2 || len(first.Correlation) != 2 {
		t.Error("the joint that was asked has changed")
	}
	if _, err := first.With(Channel{X: slices.Repeat([]float64{nan()}, 3000)}); !errors.Is(err, ErrTooFew) {
		t.Errorf("an empty channel: %v, want %v", err, ErrTooFew)
	}
}

func BenchmarkSettleTenMinutesAtOneKilohertz(b *testing.B) {
	x := ar1(newRand(1), 600_000, 0.98, 100, 1)
	tm := clockOf(len(x), 0.001)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Settle(tm, x, SettleOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

// A freeze that fills nearly all of a trace is found all the same: the run under test does not count in its own chance.
func TestFrozenMostOfTheTrace(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	at, x := make([]float64, 300), make([]float64, 300)
	for i := range x {
		at[i], x[i] = 0.05*float64(i), 100+rng.NormFloat64()
		if i >= 10 {
			x[i] = x[9]
		}
	}
	s, err := Settle(at, x, SettleOptions{})
	if err == nil && !slices.ContainsFunc(s.Faults, func(f Fault) bool { return f.Kind == FaultFrozen }) {
		t.Errorf("frozen from 0.5 s to 15 s and taken as %+v", s)
	}
	if err != nil && !errors.Is(err, ErrFrozen) {
		t.Errorf("refused for another reason: %v", err)
	}
}
