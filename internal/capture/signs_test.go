package capture

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// feed plays samples into life signs at a rate and gathers what was named, looking twenty times a second.
func feed(g *signs, rate float64, seconds float64, sample func(i int, t float64) (v float64, ok bool)) map[Kind]time.Duration {
	named := make(map[Kind]time.Duration)
	period := time.Duration(float64(time.Second) / rate)
	n := int(seconds * rate)
	next := time.Duration(0)
	for i := range n {
		at := time.Duration(i) * period
		for ; next <= at; next += frameEvery {
			for k := range g.check(next) {
				if _, ok := named[k]; !ok {
					named[k] = next
				}
			}
		}
		if v, ok := sample(i, at.Seconds()); ok {
			g.add([]time.Duration{at}, []float64{v})
		}
	}
	return named
}

// A sound bench of any usual kind has no fault named in ten minutes: coarse and fine sensors, noise with memory, drift, and
// the steps of openings that are opened and closed.
func TestSoundBenchIsQuiet(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name              string
		rate, noise, step float64 // samples a second; noise and step of the sensor [Pa]
		memory            float64 // of the noise [s]
	}{
		{"20 Hz", 20, 1.5, 0.5, 0.08},
		{"5 Hz, coarse", 5, 1, 2, 0.3},
		{"1 kHz", 1000, 3, 0.1, 0.1},
		{"50 Hz, very coarse", 50, 1.5, 5, 0.1},
		{"20 Hz, fine", 20, 0.01, 1e-4, 0.05},
		{"2 Hz", 2, 5, 1, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(7, uint64(c.rate)))
			g := &signs{low: 0, high: 5000}
			keep := math.Exp(-1 / (c.rate * c.memory))
			x := 0.0
			named := feed(g, c.rate, 600, func(_ int, at float64) (float64, bool) {
				x = keep*x + c.noise*math.Sqrt(1-keep*keep)*rng.NormFloat64()
				level := 1900.0
				if int(at/30)%3 == 2 { // blanked, every minute and a half
					level = 12
				}
				level += 0.01 * at
				return math.Round((level+x)/c.step) * c.step, true
			})
			if len(named) > 0 {
				t.Errorf("named %v", named)
			}
		})
	}
}

// Each fault of a channel is named within two seconds from 5 Hz to 1 kHz.
func TestFaultsOfAChannel(t *testing.T) {
	t.Parallel()
	const begins = 20.0 // [s]
	for _, rate := range []float64{5, 20, 100, 1000} {
		for _, c := range []struct {
			want Kind
			bad  func(i int, v float64) (float64, bool)
		}{
			{Unplugged, func(int, float64) (float64, bool) { return 0, false }},
			{Frozen, func(int, float64) (float64, bool) { return 1901.5, true }},
			{OutOfRange, func(int, float64) (float64, bool) { return 5000, true }},
			{OutOfRange, func(int, float64) (float64, bool) { return -300, true }},
			{WrongRate, func(i int, v float64) (float64, bool) { return v, i%2 == 0 }},
			{Spikes, func(i int, v float64) (float64, bool) {
				if i%max(4, int(rate/4)) == 0 {
					v += 400
				}
				return v, true
			}},
		} {
			t.Run(fmt.Sprintf("%s at %g Hz", c.want, rate), func(t *testing.T) {
				t.Parallel()
				rng := rand.New(rand.NewPCG(3, uint64(rate)))
				g := &signs{low: 0, high: 5000}
				named := feed(g, rate, begins+6, func(i int, at float64) (float64, bool) {
					v := math.Round(2*(1900+3*rng.NormFloat64())) / 2
					if at >= begins {
						return c.bad(i, v)
					}
					return v, true
				})
				if c.want == Unplugged { // nothing is fed any more that would let time pass
					for at := time.Duration(begins * float64(time.Second)); at < 26*time.Second; at += frameEvery {
						if _, ok := g.check(at)[Unplugged]; ok {
							named[Unplugged] = at
							break
						}
					}
				}
				at, ok := named[c.want]
				if took := at.Seconds() - begins; !ok || took < 0 || took > within2 {
					t.Errorf("named after %.2f s (%v), all: %v", took, ok, named)
				}
				if c.want == WrongRate && len(named) > 1 {
					t.Errorf("named besides: %v", named)
				}
			})
		}
	}
}

const within2 = 2.0 // [s]

// A blower that spins up, an opening that is opened: a step is no spike.
func TestStepIsNoSpike(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	g := &signs{low: 0, high: 5000}
	named := feed(g, 50, 60, func(_ int, at float64) (float64, bool) {
		return 1000*math.Floor(math.Mod(at, 8)/2) + 500 + rng.NormFloat64(), true
	})
	if _, ok := named[Spikes]; ok {
		t.Errorf("named %v", named)
	}
}

// A room that stands still is not frozen, and a typed value may be as old as it likes.
func TestRestIsNoFault(t *testing.T) {
	for _, g := range []*signs{{low: math.NaN(), high: math.NaN(), rests: true}, {low: math.NaN(), high: math.NaN(), atRest: true}} {
		if named := feed(g, 5, 60, func(i int, _ float64) (float64, bool) { return 21.5, !g.atRest || i == 0 }); len(named) > 0 {
			t.Errorf("named %v", named)
		}
	}
}

// Whatever the delays of its arrival, the times of a device's samples never fall after it was stamped in order, lie close to
// their arrival, and no step is named.
func TestDeviceClockFollows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		start := time.Duration(rapid.Int64Range(-1e12, 1e12).Draw(t, "offset"))
		fast := 1 + rapid.Float64Range(-1e-4, 1e-4).Draw(t, "error")
		var d DeviceClock
		var now, last time.Duration
		for i := range 200 {
			stamp := start + time.Duration(fast*float64(i)*float64(50*time.Millisecond))
			taken := time.Duration(i) * 50 * time.Millisecond
			now = max(now, taken+time.Duration(rapid.Int64Range(0, int64(40*time.Millisecond)).Draw(t, "delay")))
			at, step := d.At(stamp, now)
			if step != 0 {
				t.Fatalf("a step of %v at sample %d", step, i)
			}
			if i > 0 && at < last-40*time.Millisecond {
				t.Fatalf("time falls from %v to %v", last, at)
			}
			if at > now || now-at > 100*time.Millisecond {
				t.Fatalf("sample %d timed %v, arrived %v", i, at, now)
			}
			last = at
		}
	})
}

func TestDeviceClockSteps(t *testing.T) {
	for _, jump := range []time.Duration{-time.Hour, -time.Second, 2 * time.Second, time.Hour} {
		var d DeviceClock
		steps := 0
		for i := range 100 {
			at := time.Duration(i) * 50 * time.Millisecond
			stamp := at
			if i >= 50 {
				stamp += jump
			}
			_, step := d.At(stamp, at)
			if step != 0 {
				steps++
				if diff := step - jump; diff > 50*time.Millisecond || diff < -50*time.Millisecond {
					t.Errorf("a jump of %v was read as %v", jump, step)
				}
			}
		}
		if steps != 1 {
			t.Errorf("a jump of %v was named %d times", jump, steps)
		}
	}
}

func TestSpread(t *testing.T) {
	got := Spread(time.Second, 1400*time.Millisecond, 4, 0)
	want := []time.Duration{1100 * time.Millisecond, 1200 * time.Millisecond, 1300 * time.Millisecond, 1400 * time.Millisecond}
	if !slices.Equal(got, want) {
		t.Errorf("got %v", got)
	}
	if got := Spread(0, time.Minute, 2, 10*time.Millisecond); got[0] != time.Minute-10*time.Millisecond {
		t.Errorf("with a period: %v", got)
	}
}
