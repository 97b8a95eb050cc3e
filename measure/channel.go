package measure

import "math"

// A Channel is one sensor's samples in a trace, and what is known of the sensor.
type Channel struct {
	Name string
	X    []float64 // samples, NaN where a cell was empty [unit of x]
	Low  float64   // lower end of the sensor's range [unit of x]; the range is used only if High > Low
	High float64   // upper end of the sensor's range [unit of x]

	// Rests says that equal samples are no fault: a slow or coarse sensor, as of
	// the air of the room.
	Rests bool
	// Follows says that the channel is averaged over the steady part but has no
	// say in where that is.
	Follows bool
}

// screen is a channel with its bad samples marked.
type screen struct {
	Channel
	bad    []bool // samples left out
	breaks []int  // indices before which the sensor was not measuring
	faults []Fault
	spikes int // samples left out as spikes
}

// run is a stretch of samples from i up to but not including j.
type run struct{ i, j int }

// screenChannel marks what is wrong with ch: empty cells, clipped and frozen
// stretches, spikes, in that order, each looked for in what the former left.
func screenChannel(ch Channel, c clock) screen {
	s := screen{Channel: ch, bad: make([]bool, len(ch.X))}
	copy(s.bad, c.bad)
	s.empty(c)
	s.clipped(c)
	if !ch.Rests {
		s.frozen(c)
	}
	s.spiked(c)
	return s
}

// leaveOut marks the samples of r and notes why; a barrier also parts the trace.
func (s *screen) leaveOut(c clock, r run, kind FaultKind, barrier bool) {
	for i := r.i; i < r.j; i++ {
		s.bad[i] = true
	}
	s.faults = addFault(s.faults, Fault{Kind: kind, Channel: s.Name, From: c.at(r.i), To: c.at(r.j - 1), Count: r.j - r.i})
	if barrier {
		s.breaks = append(s.breaks, r.i, r.j)
	}
}

// at returns the time of sample i [s], or of the nearest earlier one that has one.
func (c clock) at(i int) float64 {
	for j := i; j >= 0; j-- {
		if c.bad == nil || !c.bad[j] {
			return c.t[j]
		}
	}
	return 0
}

// empty leaves out what is not a finite number.
func (s *screen) empty(c clock) {
	for i := 0; i < len(s.X); i++ {
		if notFinite(s.X[i]) {
			j := i
			for j < len(s.X) && notFinite(s.X[j]) {
				j++
			}
			s.leaveOut(c, run{i, j}, FaultEmpty, false)
			i = j
		}
	}
}

func notFinite(v float64) bool { return v-v != 0 }

// chance is the probability [-] with which a sound trace may be called frozen.
const chance = 1e-4

// frozen leaves out runs of one value that are longer than chance allows. If a
// share q of neighbours are equal, as they are with a coarse converter or a slow
// sensor polled fast, the longest run of n samples stays below ln(n/α)/ln(1/q)
// but for the probability α; the run must also last 10 samples and a quarter of
// a second. A trace that is one value from end to end is frozen at any length.
//
// Source: Erdős and Rényi, J. Anal. Math. 23 (1970) 103, for the longest run.
func (s *screen) frozen(c clock) {
	long, samples, runs := s.equalRuns(max(10, int(math.Ceil(0.25/c.step))))
	if runs == 1 && samples > 1 {
		s.leaveOutEqual(c)
		return
	}
	taken := make([]bool, len(long))
	for found := true; found; {
		found = false // each pass leaves the runs found so far out of q
		for k, r := range long {
			// The run under test does not vouch for itself: a freeze that fills most of a trace would hide in its own q.
			if n := r.j - r.i; !taken[k] && float64(n) > longestByChance(samples-n, runs-1) {
				taken[k], found = true, true
				samples -= n
				runs--
			}
		}
	}
	for k, r := range long {
		if taken[k] {
			s.leaveOut(c, r, FaultFrozen, true)
		}
	}
}

// longestByChance bounds the longest run of equal values among samples that fall
// into runs runs.
func longestByChance(samples, runs int) float64 {
	if samples < 2 || runs >= samples {
		return 0
	}
	q := float64(samples-runs) / float64(samples)
	return math.Log(float64(samples)/chance) / -math.Log(q)
}

// leaveOutEqual leaves out all that is good, as one frozen stretch.
func (s *screen) leaveOutEqual(c clock) {
	r := run{len(s.X), 0}
	for i := range s.X {
		if !s.bad[i] {
			r.i, r.j = min(r.i, i), max(r.j, i+1)
		}
	}
	s.leaveOut(c, r, FaultFrozen, true)
}

// equalRuns returns the runs of equal good samples that are no shorter than
// least, in order, and the number of good samples and of all their runs.
func (s *screen) equalRuns(least int) (long []run, samples, runs int) {
	for i := 0; i < len(s.X); {
		if s.bad[i] {
			i++
			continue
		}
		j := i + 1
		for j < len(s.X) && s.X[j] == s.X[i] && !s.bad[j] {
			j++
		}
		if j-i >= least {
			long = append(long, run{i, j})
		}
		samples += j - i
		runs++
		i = j
	}
	return long, samples, runs
}
