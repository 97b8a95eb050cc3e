package measure

import (
	"encoding/json"
	"math"
)

// orNull is a number on the wire, null where it is infinite or not a number.
type orNull float64

// MarshalJSON writes the number, or null.
func (v orNull) MarshalJSON() ([]byte, error) {
	if notFinite(float64(v)) {
		return []byte("null"), nil
	}
	return json.Marshal(float64(v))
}

// lineWire is a Line on the wire. The unit of estimate and u is in its own field,
// because a budget mixes quantities.
type lineWire struct {
	Quantity     string   `json:"quantity"`
	Key          string   `json:"key,omitempty"`
	Pool         string   `json:"pool,omitempty"`
	Unit         string   `json:"unit"`
	Kind         Kind     `json:"kind"`
	Distribution Shape    `json:"distribution"`
	Estimate     float64  `json:"estimate"`
	U            float64  `json:"u"`
	Dof          *float64 `json:"dof"` // null: infinitely many
	Sensitivity  float64  `json:"sensitivity"`
}

// MarshalJSON writes the line with infinitely many degrees of freedom as null.
func (l Line) MarshalJSON() ([]byte, error) {
	w := lineWire{l.Quantity, l.Key, l.Pool, l.Unit, l.Kind, l.Distribution, l.Estimate, l.U, nil, l.Sensitivity}
	if dof := l.dof(); !math.IsInf(dof, 1) {
		w.Dof = &dof
	}
	return json.Marshal(w)
}

// UnmarshalJSON reads what MarshalJSON writes.
func (l *Line) UnmarshalJSON(data []byte) error {
	var w lineWire
	if err := json.Unmarshal(data, &w); err != nil {
		return err
	}
	*l = Line{w.Quantity, w.Key, w.Pool, w.Unit, w.Kind, w.Distribution, w.Estimate, w.U, math.Inf(1), w.Sensitivity}
	if w.Dof != nil {
		l.Dof = *w.Dof
	}
	return nil
}

// MarshalJSON writes the comparison with its verdict in words, and with
// infinitely many degrees of freedom as null.
func (c Comparison) MarshalJSON() ([]byte, error) {
	type plain Comparison
	return json.Marshal(struct {
		plain
		Dof  orNull `json:"dof"`
		Word string `json:"word"`
	}{plain(c), orNull(c.Dof), c.Say()})
}
