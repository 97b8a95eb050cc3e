package measure

import (
	"fmt"
	"sort"

	"runnel/unit"
)

// A FaultKind names what is wrong with a stretch of a trace.
type FaultKind string

// The kinds of fault that a trace can have.
const (
	FaultSpike     FaultKind = "spike"          // a few samples far from both neighbourhoods
	FaultFrozen    FaultKind = "frozen sensor"  // one value repeated beyond chance
	FaultClipped   FaultKind = "clipped sensor" // samples at the end of the sensor's range
	FaultEmpty     FaultKind = "empty cells"    // not a number, or infinite
	FaultDropOut   FaultKind = "drop-out"       // samples missing, time running on
	FaultClockStep FaultKind = "clock step"     // time running back, or jumping out of proportion
	FaultNoTime    FaultKind = "no time"        // a sample whose time is not a number
	FaultMoving    FaultKind = "moving level"   // the level moves, or differs from that of the steady part
	FaultDrift     FaultKind = "slow drift"     // a trend within the steady part
)

// A Fault is one thing found wrong with a trace, and where.
type Fault struct {
	Kind    FaultKind `json:"kind"`
	Channel string    `json:"channel,omitempty"` // channel, empty when it concerns the clock of all
	From    float64   `json:"from_s"`            // time of its first sample [s]
	To      float64   `json:"to_s"`              // time of its last sample [s]
	Count   int       `json:"count"`             // samples concerned, or samples missing in a drop-out
	More    int       `json:"more,omitempty"`    // further faults of this kind not listed one by one
}

// maxListed is how many faults of one kind are listed one by one on a channel.
const maxListed = 50

// addFault appends f unless its kind is already listed maxListed times on its
// channel; then the last of that kind counts it.
func addFault(faults []Fault, f Fault) []Fault {
	listed, last := 0, -1
	for i := range faults {
		if faults[i].Kind == f.Kind && faults[i].Channel == f.Channel {
			listed++
			last = i
		}
	}
	if listed < maxListed {
		return append(faults, f)
	}
	faults[last].More++
	faults[last].To = f.To
	faults[last].Count += f.Count
	return faults
}

// sortFaults puts faults in the order of their time.
func sortFaults(faults []Fault) {
	sort.SliceStable(faults, func(i, j int) bool { return faults[i].From < faults[j].From })
}

// Gathered puts the faults of one kind on one channel together, in the order of their first: from the first sample of the first to the
// last of the last, More of them. A trace with a spike a second is told in one line and not in sixty.
func Gathered(faults []Fault) []Fault {
	var out []Fault
	for _, f := range faults {
		at := -1
		for i, o := range out {
			if o.Kind == f.Kind && o.Channel == f.Channel {
				at = i
			}
		}
		if at < 0 {
			out = append(out, f)
			continue
		}
		o := &out[at]
		o.From, o.To, o.Count, o.More = min(o.From, f.From), max(o.To, f.To), o.Count+f.Count, o.More+1+f.More
	}
	return out
}

// Words tells a fault, or a gathered one: "spike on meter_dp at 2.00 s, left out", "drop-out from 7.98 s to 13.00 s, 250 samples missing".
func (f Fault) Words() string {
	seconds := func(t float64) string { return unit.Time.Format(t, "s", 2) }
	what, on, where, how := string(f.Kind), "", "from "+seconds(f.From)+" to "+seconds(f.To), fmt.Sprintf("%d samples left out", f.Count)
	if f.Channel != "" {
		on = " on " + f.Channel
	}
	switch f.Kind {
	case FaultSpike, FaultEmpty, FaultFrozen, FaultClipped, FaultNoTime:
		if f.Count == 1 {
			where, how = "at "+seconds(f.From), "left out"
		}
	case FaultDropOut:
		how = fmt.Sprintf("%d samples missing", f.Count)
	case FaultClockStep:
		how = "the time of the trace jumps there"
	case FaultMoving, FaultDrift:
		how = fmt.Sprintf("%d samples", f.Count)
	}
	if f.More > 0 && f.More+1 < f.Count {
		how += fmt.Sprintf(", in %d places", f.More+1)
	}
	return what + on + " " + where + ", " + how
}
