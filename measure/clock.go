package measure

import (
	"fmt"
	"math"
	"slices"
)

// A clock is what the times of a trace tell before any channel is read.
type clock struct {
	t      []float64 // times as given [s]
	step   float64   // median time between samples [s]
	bad    []bool    // samples without a time; nil when there are none
	breaks []int     // indices before which time does not run on
	faults []Fault
}

// dropOutSteps is how many median steps a gap must exceed to be a drop-out; a
// logger's jitter stays below it. Common practice, no source.
const dropOutSteps = 2.5

// readClock finds the median step, the drop-outs and the clock steps of t. A
// forward gap as long as all the rest of the trace cannot be told from a clock
// put forward, and is called a clock step; shorter ones are drop-outs.
func readClock(t []float64) (clock, error) {
	c := clock{t: t}
	if err := atLeast("samples of a trace, which should last 5 s and more", len(t), 2); err != nil {
		return c, err
	}
	c.step = medianStep(t)
	if !(c.step > 0) {
		return c, fmt.Errorf("%d samples from %v s to %v s: %w", len(t), t[0], t[len(t)-1], ErrClock)
	}
	limit := dropOutSteps * c.step
	prev := -1
	for i, v := range t {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			if c.bad == nil {
				c.bad = make([]bool, len(t))
			}
			c.bad[i] = true
			c.faults = addFault(c.faults, c.timeless(i, prev))
			continue
		}
		if prev >= 0 {
			if d := v - t[prev]; d <= 0 || d > limit {
				c.gap(prev, i, d)
			}
		}
		prev = i
	}
	return c, nil
}

// gap notes that the time from sample i to sample j does not run on as it should.
func (c *clock) gap(i, j int, d float64) {
	f := Fault{Kind: FaultDropOut, From: c.t[i], To: c.t[j], Count: int(math.Round(d/c.step)) - (j - i)}
	if rest := c.step * float64(len(c.t)); d <= 0 || d >= rest {
		f.Kind, f.Count = FaultClockStep, 1
		c.breaks = append(c.breaks, j)
	}
	if f.Count > 0 {
		c.faults = addFault(c.faults, f)
	}
}

// timeless is the fault of sample i, placed at the last sample that had a time.
func (c *clock) timeless(i, prev int) Fault {
	at := 0.0
	if prev >= 0 {
		at = c.t[prev]
	}
	for j := i; j < len(c.t) && prev < 0; j++ {
		if !math.IsNaN(c.t[j]) && !math.IsInf(c.t[j], 0) {
			at = c.t[j]
			break
		}
	}
	return Fault{Kind: FaultNoTime, From: at, To: at, Count: 1}
}

// medianStep returns the median of the positive steps of t [s], from at most some
// two thousand of them spread over the trace, or 0.
func medianStep(t []float64) float64 {
	stride := max(1, len(t)/2048)
	d := make([]float64, 0, len(t)/stride+1)
	for i := 0; i+1 < len(t); i += stride {
		if s := t[i+1] - t[i]; s > 0 && !math.IsInf(s, 0) {
			d = append(d, s)
		}
	}
	if len(d) == 0 {
		return 0
	}
	slices.Sort(d)
	return d[len(d)/2]
}

// TraceLimits warns of a trace that is much slower, quicker, shorter or longer than those that Settle is meant for: most often its times
// are not in the unit that its column names. t are the times of its samples [s]. A tenth of
// what is said is let pass, since a logger keeps its rate and its length no better.
func TraceLimits(t []float64) []Warning {
	step := medianStep(t)
	if !(step > 0) {
		return nil
	}
	var w []Warning
	if rate := 1 / step; rate < 9 || rate > 1100 {
		w = append(w, Warning{Limit: "trace: 10 to 1000 samples a second (is its time in the unit that its column names?); samples a second", Got: rate})
	}
	if long := step * float64(len(t)); long < 4.5 || long > 660 {
		w = append(w, Warning{Limit: "trace: 5 s to 10 min long [s]", Got: long})
	}
	return w
}
