package web

import (
	"strconv"

	"runnel/internal/app"
)

// A reasonForm is a small form that asks why.
type reasonForm struct {
	Here, Do, Tag, Step string
	At                  string // which record or reading
	Field               field
	Open                bool // it was just sent and something is wrong with it
	May                 bool // a skip is allowed
	Skipped             bool
	Un                  *reasonForm // takes the skip back
}

// Hidden is what a form of the walk carries unseen.
func (p walkPage) Hidden(do, step string) reasonForm {
	return reasonForm{Here: p.Here, Do: do, Tag: p.Tag, Step: step}
}

func (p walkPage) reason(do, step, at, label, hint string) reasonForm {
	f := p.Hidden(do, step)
	f.At = at
	f.Field = p.Field(do, "why", label, hint, "")
	f.Open = p.Do == do && p.Typed.Get("step") == step && (at == "" || p.Typed.Get("at") == at || p.Typed.Get("reading") == at)
	if !f.Open {
		f.Field.Value, f.Field.Wrong = "", ""
	}
	f.Field.ID = do + "-" + step + "-" + at + "-why"
	return f
}

// SkipOf is the form that skips a step.
func (p walkPage) SkipOf(key string) reasonForm {
	f := p.reason("skip", key, "", "Why is it skipped?", "the plate is at the calibration shop")
	f.May, f.Skipped = p.CanSkip(key), p.Step(key).State == app.StepSkipped
	un := p.Hidden("unskip", key)
	f.Un = &un
	return f
}

// StrikeOf is the form that takes a record out.
func (p walkPage) StrikeOf(key string, at int) reasonForm {
	return p.reason("strike", key, strconv.Itoa(at), "Why is it taken out?", "typed wrong")
}

// VoidOf is the form that voids a reading.
func (p walkPage) VoidOf(reading string) reasonForm {
	return p.reason("void", app.StepReadings, reading, "Why does it not count?", "the clay had come loose")
}
