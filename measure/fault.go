package measure

import "sort"

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
