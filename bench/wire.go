package bench

import (
	"encoding/json"
	"math"

	"runnel/measure"
)

// MarshalJSON writes the verdict with its comparison's numbers and what it rests on. Infinitely many degrees of freedom are
// null.
func (v Verdict) MarshalJSON() ([]byte, error) {
	c, err := json.Marshal(v.Comparison)
	if err != nil {
		return nil, err
	}
	var fields map[string]any
	if err := json.Unmarshal(c, &fields); err != nil {
		return nil, err
	}
	bridged := make([]bridgeWire, 0, len(v.Bridged))
	for _, b := range v.Bridged {
		bridged = append(bridged, bridgeWire{b.Name, b.Text, b.Factor, math.Hypot(b.URel, b.Held)})
	}
	cancelled := v.Cancelled
	if cancelled == nil {
		cancelled = []measure.Cancelled{}
	}
	fields["word"], fields["bridged"], fields["cancelled"] = v.Text, bridged, cancelled
	fields["marks"] = append([]string{}, v.Marks...)
	fields["n_before"], fields["n_after"] = v.NBefore, v.NAfter
	fields["mean_before_m2"], fields["mean_after_m2"] = v.MeanBefore, v.MeanAfter
	limits := make([]string, 0, len(v.LeftWarnings)+len(v.Warnings))
	for _, w := range v.Warnings {
		limits = append(limits, w.Limit)
	}
	for _, w := range v.LeftWarnings {
		limits = append(limits, w.String())
	}
	fields["warnings"] = limits
	return json.Marshal(fields)
}

// bridgeWire is a Bridge on the wire.
type bridgeWire struct {
	Name   string  `json:"name"`
	Text   string  `json:"text"`
	Factor float64 `json:"factor"` // [-]
	URel   float64 `json:"u_rel"`  // [-]
}
