package measure

import "math"

// clipped leaves out samples at the end of the sensor's range. Where the range is
// known, every sample at or beyond it counts. An end of the trace's own span is taken
// for one, too, since an amplifier may clip before its sensor does, when at least five samples sit exactly on
// it, in at least two visits, three times as many as on the two next values
// together, and the readings are not so coarse that this happens by itself.
func (s *screen) clipped(c clock) {
	if s.High > s.Low {
		s.leaveOutWhere(c, func(v float64) bool { return v >= s.High || v <= s.Low })
	}
	for _, sign := range []float64{1, -1} {
		rail, ok := s.rail(sign)
		if ok && !s.coarse(rail) {
			s.leaveOutWhere(c, func(v float64) bool { return v == rail })
		}
	}
}

// leaveOutWhere leaves out the runs of good samples for which hit is true.
func (s *screen) leaveOutWhere(c clock, hit func(float64) bool) {
	for i := 0; i < len(s.X); i++ {
		if s.bad[i] || !hit(s.X[i]) {
			continue
		}
		j := i
		for j < len(s.X) && !s.bad[j] && hit(s.X[j]) {
			j++
		}
		s.leaveOut(c, run{i, j}, FaultClipped, true)
		i = j
	}
}

// coarse says whether the good samples between the first and the last on a rail show
// fewer than sixteen different values, looked for in at most some thousand of them. The
// run-up before is left out: a needle that is quieter than the steps it is recorded in
// may then rest on the greatest value for good reason.
func (s *screen) coarse(rail float64) bool {
	first, last := -1, -1
	for i, v := range s.X {
		if s.bad[i] || v != rail {
			continue
		}
		if last = i; first < 0 {
			first = i
		}
	}
	seen := map[float64]bool{}
	stride := max(1, (last-first)/1024)
	for i := max(0, first); i <= last && len(seen) < 16; i += stride {
		if !s.bad[i] {
			seen[s.X[i]] = true
		}
	}
	return len(seen) < 16
}

// rail looks for a pile of samples on the greatest value of sign·x.
func (s *screen) rail(sign float64) (float64, bool) {
	level := [3]float64{math.Inf(-1), math.Inf(-1), math.Inf(-1)} // three greatest, falling
	var count [3]int
	for i, v := range s.X {
		v *= sign
		if s.bad[i] || v < level[2] {
			continue
		}
		switch {
		case v == level[0]:
			count[0]++
		case v == level[1]:
			count[1]++
		case v == level[2]:
			count[2]++
		case v > level[0]:
			level[2], level[1], level[0] = level[1], level[0], v
			count[2], count[1], count[0] = count[1], count[0], 1
		case v > level[1]:
			level[2], level[1] = level[1], v
			count[2], count[1] = count[1], 1
		default:
			level[2], count[2] = v, 1
		}
	}
	rail := sign * level[0]
	visits := 0
	for i := range s.X {
		if !s.bad[i] && s.X[i] == rail && (i == 0 || s.X[i-1] != rail) {
			visits++
		}
	}
	return rail, count[0] >= 5 && visits >= 2 && count[0] > 3*(count[1]+count[2])
}
