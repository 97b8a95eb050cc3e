package measure

import (
	"fmt"
	"slices"
)

// SettleOptions tells Settle what is known of the sensor and the trace. The zero
// value is a sensor of unknown range whose steady part must be at least a quarter
// of the trace.
type SettleOptions struct {
	Low      float64 // lower end of the sensor's range [unit of x]; the range is used only if High > Low
	High     float64 // upper end of the sensor's range [unit of x]
	Rests    bool    // equal samples are no fault, as of a slow or coarse sensor
	MinShare float64 // least share of the trace that a steady part must be [-]; 0 means 0.25
	MinTime  float64 // least length of a steady part [s]; 0 means no limit
}

// Settled is the mean of the steady part of one channel and how sure it is.
type Settled struct {
	Name     string  `json:"channel,omitempty"`
	Mean     float64 `json:"mean"`          // mean of the steady part [unit of x]
	U        float64 `json:"u"`             // standard uncertainty of Mean, autocorrelation counted [unit of x]
	Dof      float64 `json:"dof"`           // degrees of freedom of U [-]
	SD       float64 `json:"sd"`            // standard deviation of the samples [unit of x]
	N        int     `json:"n"`             // samples in the mean
	NEff     float64 `json:"n_eff"`         // effective number of independent samples [-]
	Peak     float64 `json:"peak"`          // 98 % quantile of the steady part: what the eye reads as the top of the needle [unit of x]
	WaverRel float64 `json:"waver_rel"`     // 2·SD/|Mean|, the waver of the needle [-]
	DriftRel float64 `json:"drift_rel"`     // change along the steady part by its straight line, over |Mean| [-]
	From     float64 `json:"steady_from_s"` // start of the steady part [s]
	To       float64 `json:"steady_to_s"`   // end of the steady part [s]
	Steady   bool    `json:"steady"`        // false: the numbers are of all usable samples, and no steady part was found
	Spikes   int     `json:"spikes"`        // samples left out of the whole trace as spikes

	Faults   []Fault   `json:"faults,omitempty"`
	Warnings []Warning `json:"warnings,omitempty"`
}

// Joint is the settled means of several channels over one common steady part.
type Joint struct {
	Channels []Settled `json:"channels"`      // in the order given
	From     float64   `json:"steady_from_s"` // start of the steady part [s]
	To       float64   `json:"steady_to_s"`   // end of the steady part [s]
	Steady   bool      `json:"steady"`
	Index    []int     `json:"-"` // places of the samples that the means were taken over

	// Correlation holds the correlation coefficients of the channels' means [-].
	Correlation [][]float64 `json:"correlation"`
	// Faults are those of the clock; each channel has its own.
	Faults []Fault `json:"faults,omitempty"`

	clock   clock
	screens []screen
}

// peakQuantile is the share of the steady samples [-] that lie below the peak the
// eye reads; two standard deviations above the mean of normal noise.
const peakQuantile = 0.98

// Settle finds the steady part of the trace x [unit of x] sampled at the times t
// [s], and its mean with its standard uncertainty.
//
// The trace is screened first: empty cells, stretches at the end of the sensor's
// range, frozen stretches and spikes are left out and named, as are drop-outs and
// steps of the clock. What is left is thinned beyond its autocorrelation time and
// judged by the R-statistic with the fast and the slow filter. The uncertainty is
//
//	u² = s²/n_eff,  n_eff = n/(1 + 2Σρ_k)
//
// with the sum cut by Geyer's rule and freed of the bias of a short series; a drift
// that is more than chance adds drift²/12. A trace is cut only where what is left out is further off than a slow needle would be by chance, and where
// the part kept holds twenty autocorrelation times: the stretch that wavers least is not the surest. When no steady part is found Steady is
// false, and the numbers are those of all usable samples.
//
// Meant for 10 Hz to 1 kHz and 5 s to 10 min; t and x must be equally long.
// Errors: ErrTooFew below two usable samples, ErrFrozen, ErrClipped, ErrClock.
// Sources: Cao and Rhinehart, J. Process Control 5 (1995) 363; Geyer, Statistical
// Science 7 (1992) 473.
func Settle(t, x []float64, opt SettleOptions) (Settled, error) {
	j, err := SettleJoint(t, []Channel{{X: x, Low: opt.Low, High: opt.High, Rests: opt.Rests}}, opt)
	if err != nil {
		return Settled{}, err
	}
	s := j.Channels[0]
	s.Faults = append(slices.Clone(j.Faults), s.Faults...)
	sortFaults(s.Faults)
	return s, nil
}

// SettleJoint finds the part of a trace in which every channel that decides is
// steady, and the means of all channels over it, so that a derived quantity (a
// flow per sample) and the channels it came from are averaged over the same
// samples. A sample that is bad in one deciding channel is left out of all. Of
// opt only MinShare and MinTime are used. See Settle.
func SettleJoint(t []float64, channels []Channel, opt SettleOptions) (Joint, error) {
	for _, ch := range channels {
		if len(ch.X) != len(t) {
			panic(fmt.Sprintf("measure: channel %q has %d samples and the clock has %d", ch.Name, len(ch.X), len(t)))
		}
	}
	c, err := readClock(t)
	if err != nil {
		return Joint{}, err
	}
	screens := make([]screen, len(channels))
	var lead []screen
	for k, ch := range channels {
		screens[k] = screenChannel(ch, c)
		if !ch.Follows {
			lead = append(lead, screens[k])
		}
	}
	if len(lead) == 0 {
		panic("measure: no channel decides where the trace is steady")
	}
	for _, s := range lead {
		if err := s.usable(); err != nil {
			return Joint{}, err
		}
	}
	found, bad := settleWindow(c, lead, opt)
	j, err := found.fill(c, screens)
	if err != nil || !j.tooSlow(screens, countGood(bad)) {
		return j, err
	}
	return found.unsteady(c, bad).fill(c, screens)
}

// tooSlow says whether a steady part that is not the whole trace holds so few autocorrelation times of a deciding channel that
// what was left out may have been the same needle wavering: the part with the least waver was picked, and its mean would be claimed too sure.
func (j Joint) tooSlow(screens []screen, good int) bool {
	if !j.Steady || len(j.Index) == good {
		return false
	}
	for k, s := range screens {
		if !s.Follows && j.Channels[k].NEff < partTimes {
			return true
		}
	}
	return false
}

// partTimes is the number of autocorrelation times that a steady part of a longer trace must hold: own simulation of first-order
// series, repeated by a test.
const partTimes = 20

// unsteady is the trace without a steady part: the numbers will be those of all its good samples.
func (j Joint) unsteady(c clock, bad []bool) Joint {
	j.Steady, j.Index = false, make([]int, 0, countGood(bad))
	for i, b := range bad {
		if !b {
			j.Index = append(j.Index, i)
		}
	}
	if n := len(j.Index); n > 0 {
		j.Faults = addFault(slices.Clone(c.faults), Fault{Kind: FaultMoving, From: c.t[j.Index[0]], To: c.t[j.Index[n-1]], Count: n})
	}
	return j
}

// usable returns the reason why a channel has fewer than two good samples.
func (s screen) usable() error {
	if good := countGood(s.bad); good < 2 {
		return s.unusable(good)
	}
	return nil
}

// unusable names why only so many samples of a channel are good.
func (s screen) unusable(good int) error {
	reason := ErrTooFew
	for _, f := range s.faults {
		if f.Kind == FaultFrozen {
			reason = ErrFrozen
		}
		if f.Kind == FaultClipped {
			reason = ErrClipped
		}
	}
	name := ""
	if s.Name != "" {
		name = fmt.Sprintf("channel %q, ", s.Name)
	}
	return fmt.Errorf("%s%d of %d samples usable: %w", name, good, len(s.bad), reason)
}

// countGood returns how many samples are not bad.
func countGood(bad []bool) int {
	good := 0
	for _, b := range bad {
		if !b {
			good++
		}
	}
	return good
}

// settleWindow finds the common steady part of the deciding channels, or all
// their good samples; it returns too which are bad in any of them.
func settleWindow(c clock, lead []screen, opt SettleOptions) (j Joint, bad []bool) {
	bad = make([]bool, len(c.t))
	breaks := slices.Clone(c.breaks)
	for _, s := range lead {
		for i, b := range s.bad {
			bad[i] = bad[i] || b
		}
		breaks = append(breaks, s.breaks...)
	}
	j = Joint{Faults: c.faults}
	var best []int32
	for _, s := range segments(lead, bad, breaks) {
		r, marked := s.longest()
		if r.j-r.i < leastBlocks {
			continue
		}
		end := r.j * s.size
		if r.j == len(s.block[0]) {
			end = len(s.index)
		}
		idx := s.index[r.i*s.size : end]
		if marked && r.j-r.i < len(s.block[0]) {
			j.Faults = s.outside(c, idx, j.Faults)
		}
		if len(idx) > len(best) {
			best = idx
		}
	}
	share := opt.MinShare
	if share == 0 {
		share = 0.25
	}
	j.Steady = float64(len(best)) >= share*float64(len(bad)) && len(best) >= leastBlocks &&
		c.t[best[len(best)-1]]-c.t[best[0]] >= opt.MinTime
	if j.Steady {
		j.Index = make([]int, len(best))
		for k, i := range best {
			j.Index[k] = int(i)
		}
		return j, bad
	}
	return j.unsteady(c, bad), bad
}

// outside notes the parts of a segment before and after its steady part.
func (s segment) outside(c clock, steady []int32, faults []Fault) []Fault {
	add := func(i, j int32, n int) {
		if n > 0 {
			faults = addFault(faults, Fault{Kind: FaultMoving, From: c.t[i], To: c.t[j], Count: n})
		}
	}
	first, last := steady[0], steady[len(steady)-1]
	a, _ := slices.BinarySearch(s.index, first)
	b, _ := slices.BinarySearch(s.index, last)
	add(s.index[0], first, a)
	add(last, s.index[len(s.index)-1], len(s.index)-1-b)
	return faults
}

// samples returns the good samples of a channel over the steady part; not a copy
// when they lie together.
func (j Joint) samples(s screen) []float64 {
	first, last := j.Index[0], j.Index[len(j.Index)-1]
	if last-first == len(j.Index)-1 && !slices.Contains(s.bad[first:last+1], true) {
		return s.X[first : last+1]
	}
	y := make([]float64, 0, len(j.Index))
	for _, i := range j.Index {
		if !s.bad[i] {
			y = append(y, s.X[i])
		}
	}
	return y
}

// fill averages every channel over the steady part.
func (j Joint) fill(c clock, screens []screen) (Joint, error) {
	if err := atLeast("samples that are good in every channel", len(j.Index), 2); err != nil {
		return Joint{}, err
	}
	j.From, j.To = c.t[j.Index[0]], c.t[j.Index[len(j.Index)-1]]
	j.clock, j.screens = c, screens
	steady := j.Steady
	for _, s := range screens {
		st, drifts, err := j.average(s)
		if err != nil {
			return Joint{}, err
		}
		if drifts && steady {
			j.Steady = false
		}
		j.Channels = append(j.Channels, st)
	}
	for k := range j.Channels {
		j.Channels[k].Steady = j.Steady
	}
	j.Correlation = j.meanCorrelation(screens)
	sortFaults(j.Faults)
	return j, nil
}

// average takes the mean of a channel over the steady part, and says whether a deciding one drifts.
func (j Joint) average(s screen) (st Settled, drifts bool, err error) {
	y := j.samples(s)
	if len(y) < 2 {
		return Settled{}, false, fmt.Errorf("over the steady part: %w", s.unusable(len(y)))
	}
	st = settled(y)
	st.Name, st.From, st.To = s.Name, j.From, j.To
	st.Spikes, st.Faults = s.spikes, slices.Clone(s.faults)
	drifts = !s.Follows && st.drifts(y)
	sortFaults(st.Faults)
	return st, drifts, nil
}

// With averages one more channel, which follows, over the steady part that was found: the same answer as SettleJoint with
// that channel from the start, without looking for the steady part anew. Errors: ErrTooFew, ErrFrozen, ErrClipped.
func (j Joint) With(ch Channel) (Joint, error) {
	if len(ch.X) != len(j.clock.t) {
		panic(fmt.Sprintf("measure: channel %q has %d samples and the clock has %d", ch.Name, len(ch.X), len(j.clock.t)))
	}
	ch.Follows = true
	s := screenChannel(ch, j.clock)
	st, _, err := j.average(s)
	if err != nil {
		return Joint{}, err
	}
	st.Steady = j.Steady
	j.Channels = append(slices.Clone(j.Channels), st)
	j.screens = append(slices.Clone(j.screens), s)
	j.Correlation = j.meanCorrelation(j.screens)
	return j, nil
}
