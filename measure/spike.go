package measure

import (
	"math"
	"slices"
)

const (
	spikeSigma  = 6 // a spike stands this many local standard deviations off; common practice, no source
	spikeSide   = 9 // good samples looked at on each side
	spikeLength = 3 // most samples in a row that are still one spike
)

// spiked leaves out spikes: at most three samples in a row, further than six
// robust standard deviations from the median of the nine good samples before
// them and from the median of the nine after them. A change of level is no
// spike, because it agrees with what comes after. The standard deviation is the
// greater of the one of the steps of the whole trace (by their median, so that
// the spikes do not count) and that of the two neighbourhoods.
//
// Source: the identifier of Hampel, J. Am. Stat. Assoc. 69 (1974) 383, on two
// one-sided windows.
func (s *screen) spiked(c clock) {
	sigma := s.stepSigma()
	if sigma == 0 {
		return
	}
	// A jump of five sigma begins a candidate; the medians decide.
	jump := (spikeSigma - 1) * sigma
	prev := -1
	for i := 0; i < len(s.X); i++ {
		if s.bad[i] {
			continue
		}
		if prev < 0 || math.Abs(s.X[i]-s.X[prev]) > jump {
			if n := s.spikeAt(i, sigma); n > 0 {
				s.leaveOut(c, run{i, i + n}, FaultSpike, false)
				s.spikes += n
				i += n - 1
				continue
			}
		}
		prev = i
	}
}

// spikeAt returns the length of the spike that begins at sample i, or 0.
func (s *screen) spikeAt(i int, sigma float64) int {
	var lb, rb [spikeSide]float64
	left := s.neighbours(i-1, -1, lb[:0])
	for n := 1; n <= spikeLength && i+n <= len(s.X); n++ {
		if s.bad[i+n-1] {
			return 0
		}
		right := s.neighbours(i+n, 1, rb[:0])
		if len(left)+len(right) < spikeSide {
			return 0
		}
		if s.allOff(run{i, i + n}, left, sigma) && s.allOff(run{i, i + n}, right, sigma) {
			if i+n == len(s.X) || n == spikeLength || s.back(s.X[i+n], left, right, sigma) {
				return n
			}
		}
	}
	return 0
}

// back says whether v, the sample after a spike, is again of the neighbourhood
// before it, or of the one after it when there is none before.
func (s *screen) back(v float64, left, right []float64, sigma float64) bool {
	if len(left) < spikeSide/2 {
		left = right
	}
	return !s.off(v, left, sigma)
}

// allOff says whether every sample of r is off the neighbourhood near. An empty
// or too short one, at an end of the trace, has no objection.
func (s *screen) allOff(r run, near []float64, sigma float64) bool {
	for k := r.i; k < r.j; k++ {
		if len(near) >= spikeSide/2 && !s.off(s.X[k], near, sigma) {
			return false
		}
	}
	return true
}

func (s *screen) off(v float64, near []float64, sigma float64) bool {
	if len(near) == 0 {
		return true
	}
	var buf [spikeSide]float64
	d := buf[:copy(buf[:], near)]
	m := medianInPlace(d)
	for i := range d {
		d[i] = math.Abs(d[i] - m)
	}
	local := sigmaPerMAD * medianInPlace(d)
	return math.Abs(v-m) > spikeSigma*max(sigma, local)
}

// neighbours collects up to spikeSide good samples from i on in direction dir,
// stopping where the sensor was not measuring.
func (s *screen) neighbours(i, dir int, dst []float64) []float64 {
	for ; i >= 0 && i < len(s.X) && len(dst) < spikeSide; i += dir {
		if !s.bad[i] {
			dst = append(dst, s.X[i])
		}
	}
	return dst
}

// stepSigma returns a robust standard deviation of the noise of the channel
// [unit of x] from the differences of neighbours that are not zero, at most some
// four thousand of them spread over the trace, or 0.
func (s *screen) stepSigma() float64 {
	stride := max(1, len(s.X)/4096)
	d := make([]float64, 0, len(s.X)/stride+1)
	for i := 0; i+1 < len(s.X); i += stride {
		if !s.bad[i] && !s.bad[i+1] && s.X[i+1] != s.X[i] {
			d = append(d, math.Abs(s.X[i+1]-s.X[i]))
		}
	}
	if len(d) == 0 {
		return 0
	}
	slices.Sort(d)
	return sigmaPerMAD * d[len(d)/2] / math.Sqrt2
}
