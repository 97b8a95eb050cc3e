package capture

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// Limits of the life signs. They are set so that a fault is named within two seconds at 5 Hz and more, and so that none of
// them is named in an hour of a sound bench; TestSoundBenchIsQuiet holds the second part.
const (
	silentAfter   = 800 * time.Millisecond
	firstAfter    = 1500 * time.Millisecond // for the first sample of all
	bucket        = 100 * time.Millisecond
	buckets       = 60
	frozenAfter   = 700 * time.Millisecond
	stillAfter    = 10 * time.Second // for a sensor that has not moved since it was first seen: it may only be coarse
	frozenChance  = 14.0             // −ln of the chance of a run of equal samples that counts as frozen [-]
	frozenRuns    = 3.0              // length of a frozen run over the longest before [-]
	spikeLimit    = 12.0             // distance from the median of five over its usual size [-]
	spikeWindow   = 2 * time.Second
	spikesAtLeast = 2 // in spikeWindow
	outRun        = 3 // samples in a row
	rateLimit     = 0.25
	relearnAfter  = 20 * time.Second
)

// signs are the life signs of one channel: a pure watcher that is fed samples and asked what is wrong.
type signs struct {
	low, high float64 // range in the unit of the sensor; NaN: none
	rests     bool    // equal samples are no fault: a slow or coarse sensor
	atRest    bool    // silence is no fault
	rate      float64 // samples a second that should come [Hz]; 0: not known yet
	declared  bool    // rate was said, not learned

	started, last time.Duration // of watching, of the last sample
	any           bool

	count      [buckets]int  // samples by tenth of a second
	head       int64         // number of the newest bucket
	first      time.Duration // first sample since the last silence
	wrongSince time.Duration
	learning   float64 // rate seen a second ago
	learnedAt  time.Duration

	value       float64 // of the last sample
	run         int     // equal samples in a row
	runSince    time.Duration
	longest     float64 // run before the present one, slowly forgotten
	pairs, same float64 // forgetting counts of neighbours and of equal ones before the present run

	window  [5]float64 // last five samples
	filled  int
	usual   float64 // usual distance from the median of five
	spikes  []time.Duration
	outside int // samples in a row
	outHigh bool
}

// add takes samples in the order of their times.
func (g *signs) add(times []time.Duration, values []float64) {
	for i, t := range times {
		g.arrived(t)
		if v := values[i]; !math.IsNaN(v) {
			g.repeats(t, v)
			g.ranges(v)
			g.jumps(t, v)
		}
	}
}

func (g *signs) arrived(t time.Duration) {
	if !g.any || t-g.last > g.silence() {
		g.first, g.learning = t, 0
		g.wrongSince = 0
	}
	g.any, g.last = true, t
	b := int64(t / bucket)
	g.forward(b)
	if g.head-b < buckets {
		g.count[b%buckets]++
	}
}

// forward empties the buckets up to b.
func (g *signs) forward(b int64) {
	if b-g.head > buckets {
		g.head = b - buckets
	}
	for g.head < b {
		g.head++
		g.count[g.head%buckets] = 0
	}
}

// silence is how long no sample may come.
func (g *signs) silence() time.Duration {
	if g.rate > 0 {
		return max(silentAfter, time.Duration(4/g.rate*float64(time.Second)))
	}
	return firstAfter
}

func (g *signs) repeats(t time.Duration, v float64) {
	const forget = 0.998 // some five hundred samples are remembered
	if g.run > 0 && v == g.value {
		g.run++
		return
	}
	if g.run > 0 && !g.frozen(g.last) { // a run has ended: it becomes history
		f := math.Pow(forget, float64(g.run))
		g.pairs = g.pairs*f + float64(g.run)
		g.same = g.same*f + float64(min(g.run, 50)-1)
		g.longest = max(float64(g.run), 0.9995*g.longest)
	}
	g.value, g.run, g.runSince = v, 1, t
}

func (g *signs) frozen(now time.Duration) bool {
	if g.rests || g.atRest || g.run < 6 || g.last-g.runSince < frozenAfter || now-g.last > g.silence() {
		return false
	}
	if g.pairs < 10 { // nothing is known of how it moves
		return g.run >= 40 && g.last-g.runSince >= stillAfter
	}
	p := (g.same + 1) / (g.pairs + 2)
	// Neighbours are not independent: a run must also stand out from those before.
	return float64(g.run)*-math.Log(p) > frozenChance && float64(g.run) > frozenRuns*g.longest
}

func (g *signs) ranges(v float64) {
	span := g.high - g.low
	slack := 0.0
	if g.low == 0 {
		slack = 0.01 * span // noise and zero of a sensor that begins at nothing
	}
	switch {
	case v >= g.high:
		g.outside, g.outHigh = g.outside+1, true
	case v < g.low-slack || (g.low != 0 && v <= g.low):
		g.outside, g.outHigh = g.outside+1, false
	default:
		g.outside = 0
	}
}

func (g *signs) jumps(t time.Duration, v float64) {
	copy(g.window[:], g.window[1:])
	g.window[4] = v
	if g.filled++; g.filled < 5 {
		return
	}
	w := g.window
	slices.Sort(w[:])
	off := math.Abs(g.window[2] - w[2])
	floor := 0.005 * math.Abs(w[2])
	if span := g.high - g.low; span > 0 {
		floor = 0.002 * span
	}
	if g.filled > 20 && off > spikeLimit*g.usual+floor {
		g.spikes = append(g.spikes, t)
		off = 0
	}
	g.usual += max(0.02, 1/float64(g.filled-4)) * (off - g.usual)
	for len(g.spikes) > 0 && t-g.spikes[0] > spikeWindow {
		g.spikes = g.spikes[1:]
	}
}

// seen returns the samples a second over the last full second, or over some more of a slow channel [Hz].
func (g *signs) seen(now time.Duration) float64 {
	g.forward(int64(now / bucket))
	n, over := 0, g.over()
	for b := g.head - int64(over); b < g.head; b++ {
		if b >= 0 {
			n += g.count[b%buckets]
		}
	}
	return float64(n) / (float64(over) * bucket.Seconds())
}

// over is how many buckets the rate is counted over.
func (g *signs) over() int {
	switch {
	case g.rate > 0 && g.rate < 4:
		return 50
	case g.rate > 0 && g.rate < 10:
		return 25
	}
	return 10
}

// pace learns the rate when none was declared, and says whether the rate seen is wrong.
func (g *signs) pace(now time.Duration) (seen float64, wrong bool) {
	window := time.Duration(g.over()) * bucket
	seen = g.seen(now)
	if !g.any || g.atRest || now-g.first < window+2*bucket || now-g.last > g.silence() {
		g.wrongSince = 0
		return seen, false
	}
	if g.rate == 0 {
		g.learn(now, seen)
		return seen, false
	}
	if math.Abs(seen/g.rate-1) <= rateLimit || g.rate*window.Seconds() < 4 {
		g.wrongSince = 0
		return seen, false
	}
	if g.wrongSince == 0 {
		g.wrongSince = now
	}
	if !g.declared && now-g.wrongSince > relearnAfter {
		g.rate, g.learning, g.wrongSince = 0, 0, 0
		return seen, false
	}
	return seen, now-g.wrongSince >= 2*bucket
}

// learn takes the rate once two seconds running agree.
func (g *signs) learn(now time.Duration, seen float64) {
	if now-g.learnedAt < time.Second {
		return
	}
	g.learnedAt = now
	if g.learning > 0 && math.Abs(seen/g.learning-1) < 0.1 {
		g.rate = (seen + g.learning) / 2
	}
	g.learning = seen
}

// check says what is wrong with the channel now, by kind, with the words for it.
func (g *signs) check(now time.Duration) map[Kind]string {
	wrong := make(map[Kind]string)
	if g.atRest {
		return wrong
	}
	if !g.any && now-g.started > max(firstAfter, g.silence()) {
		wrong[Unplugged] = "no sample has come yet: check the cable, the source and its field"
		return wrong
	}
	if g.any && now-g.last > g.silence() {
		wrong[Unplugged] = fmt.Sprintf("no sample for %.1f s: check the cable and the power of the sensor", (now - g.last).Seconds())
		return wrong
	}
	if seen, bad := g.pace(now); bad {
		wrong[WrongRate] = fmt.Sprintf("%.3g samples a second instead of %.3g: check the device's setting, and that no second device sends on this channel", seen, g.rate)
	}
	switch {
	case g.outside >= outRun && g.outHigh:
		wrong[OutOfRange] = "at the upper end of the sensor's range or above it: choose a larger plate, a lower test pressure or another sensor"
	case g.outside >= outRun:
		wrong[OutOfRange] = "at the lower end of the sensor's range or below it: check the hoses, and which tapping they sit on"
	case g.frozen(now):
		wrong[Frozen] = fmt.Sprintf("the same value %d times: check the sensor; a value that does not waver is no steady flow", g.run)
	}
	if len(g.spikes) > 0 && now-g.spikes[0] > spikeWindow {
		g.spikes = slices.DeleteFunc(g.spikes, func(t time.Duration) bool { return now-t > spikeWindow })
	}
	if len(g.spikes) >= spikesAtLeast {
		wrong[Spikes] = fmt.Sprintf("%d spikes in two seconds: check plugs, shielding and hoses", len(g.spikes))
	}
	return wrong
}
