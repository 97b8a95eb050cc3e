package capture

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"runnel/internal/fault"
	"runnel/job"
)

// history is what a source has yielded, as far back as is kept.
type history struct{ batches []Batch }

func (h *history) add(b Batch, before time.Duration) {
	h.batches = append(h.batches, b)
	k := 0
	for k < len(h.batches) && h.batches[k].Times[len(h.batches[k].Times)-1] < before {
		k++
	}
	if k > 256 { // not at every batch
		h.batches = slices.Delete(h.batches, 0, k)
	}
}

// Now returns the time of the session: the mark a reading begins or ends with.
func (s *Session) Now() time.Duration { return s.cfg.Clock.Mono() }

// Trace cuts the samples from one time of the session to another out of what came in, as a job keeps them: uncorrected, in
// SI, the time counted from the begin. The channel of the meter gives the times; the others are read between their own
// samples when these differ. Where a channel has a gap its cells are empty, and where the meter has one there are no rows.
func (s *Session) Trace(from, to time.Duration) (job.Trace, error) {
	s.mu.Lock()
	var cut []Chunk
	for _, l := range s.lines {
		for _, b := range l.history.batches {
			if n := len(b.Times); n > 0 && b.Times[n-1] >= from-10*time.Second && b.Times[0] <= to+10*time.Second {
				cut = append(cut, Chunk{Source: l.name, Channels: b.Channels, Times: b.Times, Values: b.Values})
			}
		}
	}
	s.mu.Unlock()
	return Assemble(s.cfg.Bench, cut, from, to)
}

// A track is all the samples of one channel.
type track struct {
	card   job.Sensor
	times  []time.Duration
	values []float64
	period time.Duration // median spacing
}

// Assemble makes the trace from one time to another out of chunks, as Session.Trace does out of what came in: so a trace is
// cut anew out of what was kept after a crash.
func Assemble(card job.Bench, chunks []Chunk, from, to time.Duration) (job.Trace, error) {
	tracks := tracksOf(card, chunks)
	lead := leader(tracks, from, to)
	if lead == nil {
		return job.Trace{}, fault.Errorf(fault.NotFound, "no samples from %.1f s to %.1f s of the session", from.Seconds(), to.Seconds())
	}
	a, _ := slices.BinarySearch(lead.times, from)
	b, _ := slices.BinarySearch(lead.times, to+1)
	t := job.Trace{Time: make([]float64, 0, b-a)}
	axis := make([]time.Duration, 0, b-a)
	for _, at := range lead.times[a:b] {
		if len(axis) > 0 && at <= axis[len(axis)-1] {
			at = axis[len(axis)-1] + time.Microsecond // two samples in one instant keep their order
		}
		axis = append(axis, at)
		t.Time = append(t.Time, math.Round((at-from).Seconds()*1e6)/1e6)
	}
	for i := range tracks {
		tr := &tracks[i]
		u, _, err := UnitOf(tr.card)
		if err != nil {
			return job.Trace{}, fmt.Errorf("sensor %q: %w", tr.card.Channel, err)
		}
		ch := job.Channel{Name: tr.card.Channel, Unit: u.Name}
		if tr == lead {
			ch.Values = slices.Clone(tr.values[a:b])
		} else {
			ch.Values = tr.at(axis)
		}
		for k, v := range ch.Values {
			ch.Values[k] = u.ToSI(v)
		}
		t.Channels = append(t.Channels, ch)
	}
	return t, nil
}

// tracksOf gathers the channels of the card that have samples, in the order of the card.
func tracksOf(card job.Bench, chunks []Chunk) []track {
	var out []track
	for _, sensor := range card.Sensors {
		t := track{card: sensor}
		for _, c := range chunks {
			if k := slices.Index(c.Channels, sensor.Channel); k >= 0 {
				t.times, t.values = append(t.times, c.Times...), append(t.values, c.Values[k]...)
			}
		}
		if len(t.times) == 0 {
			continue
		}
		t.sort()
		gaps := make([]time.Duration, 0, len(t.times))
		for i := 1; i < len(t.times); i++ {
			gaps = append(gaps, t.times[i]-t.times[i-1])
		}
		if len(gaps) > 0 {
			slices.Sort(gaps)
			t.period = gaps[len(gaps)/2]
		}
		out = append(out, t)
	}
	return out
}

// sort puts the samples in the order of their times; chunks come in order but for a reconnection.
func (t *track) sort() {
	if slices.IsSorted(t.times) {
		return
	}
	order := make([]int, len(t.times))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(t.times[a], t.times[b]) })
	times, values := make([]time.Duration, len(order)), make([]float64, len(order))
	for i, k := range order {
		times[i], values[i] = t.times[k], t.values[k]
	}
	t.times, t.values = times, values
}

// leader returns the track that gives the times: the meter's, else the one with the most samples in the stretch.
func leader(tracks []track, from, to time.Duration) *track {
	var best *track
	most := 0
	for i := range tracks {
		t := &tracks[i]
		a, _ := slices.BinarySearch(t.times, from)
		b, _ := slices.BinarySearch(t.times, to+1)
		if b == a {
			continue
		}
		if t.card.Role == "meter_dp" || t.card.Role == "meter_reading" {
			return t
		}
		if b-a > most {
			best, most = t, b-a
		}
	}
	return best
}

// at reads a track at other times, along straight lines between samples that follow each other without a gap. Beyond the
// first and the last sample it is held for one spacing. NaN elsewhere.
func (t *track) at(axis []time.Duration) []float64 {
	out := make([]float64, len(axis))
	limit := 3*t.period + 50*time.Millisecond
	k := 0
	for i, at := range axis {
		for k < len(t.times) && t.times[k] < at {
			k++
		}
		switch {
		case k < len(t.times) && t.times[k] == at:
			out[i] = t.values[k]
		case k > 0 && strings.HasPrefix(t.card.Source, "hand:"):
			out[i] = t.values[k-1] // a typed value holds until the next
		case k == 0 || k == len(t.times):
			out[i] = t.edge(k, at, t.period)
		case t.times[k]-t.times[k-1] > limit:
			out[i] = math.NaN()
		default:
			x := float64(at-t.times[k-1]) / float64(t.times[k]-t.times[k-1])
			out[i] = t.values[k-1] + x*(t.values[k]-t.values[k-1])
		}
	}
	return out
}

// edge holds the first or last sample for no longer than a usual spacing.
func (t *track) edge(k int, at, limit time.Duration) float64 {
	near := min(k, len(t.times)-1)
	if d := at - t.times[near]; d > limit || d < -limit {
		return math.NaN()
	}
	return t.values[near]
}
