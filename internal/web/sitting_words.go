package web

import (
	"slices"

	"runnel/internal/app"
	"runnel/job"
	"runnel/unit"
)

// stepTitles are what the steps of a sitting are called.
var stepTitles = map[string]string{
	app.StepAir: "Air", app.StepZero: "Zero", app.StepLeakage: "Leakage", app.StepCheck: "Check plate", app.StepReadings: "Readings",
}

// A stepLine is a step as the page shows it.
type stepLine struct {
	app.Step
	Title string
	Class string // "done", "open", "outside" or "skipped"
	Glyph string
	Turn  bool // it is this step's turn
}

// StepLine is a step by its key.
func (p walkPage) StepLine(key string) stepLine {
	l := stepLine{Step: p.Step(key), Title: stepTitles[key], Turn: key == p.Next || (p.Next == "" && key == app.StepReadings)}
	switch l.State {
	case app.StepDone:
		l.Class, l.Glyph = "done", "same"
	case app.StepOutside:
		l.Class, l.Glyph = "outside", "warn"
	case app.StepSkipped:
		l.Class, l.Glyph = "skipped", "refused"
	case app.StepOpen:
		l.Class, l.Glyph = "open", "open"
	}
	return l
}

// StepLines are the steps in their order.
func (p walkPage) StepLines() []stepLine {
	var out []stepLine
	for _, k := range app.StepKeys() {
		out = append(out, p.StepLine(k))
	}
	return out
}

// NextTitle is what the next step is called.
func (p walkPage) NextTitle() string { return stepTitles[p.Next] }

// CanSkip reports whether a step may be skipped with a reason.
func (p walkPage) CanSkip(key string) bool {
	return key != app.StepAir && key != app.StepReadings && p.Step(key).State == app.StepOpen
}

// RigTitle names a rig card in words.
func (p walkPage) RigTitle(g job.RigCard) string {
	return g.ID + ": " + p.Names.Piece(g.Piece) + ", " + p.Names.Entry(g.ID) + ", " + p.U.TestPressure(g.TestPressure) + " " + p.U.TestPressureUnit()
}

// AllOpenings lists the openings of all pieces, each once.
func (p walkPage) AllOpenings() []string {
	return choicesOf(p.Facts, p.Names).Openings
}

// HasHead reports whether a lift can be asked for.
func (p walkPage) HasHead() bool {
	for _, x := range p.Facts.Pieces {
		if x.Kind == "head" {
			return true
		}
	}
	return false
}

// HasScale reports whether a meter of the bench is read on a percent scale.
func (p walkPage) HasScale() bool { return p.hasMeter(true) }

// HasDifference reports whether a meter of the bench is read as a pressure difference.
func (p walkPage) HasDifference() bool { return p.hasMeter(false) }

func (p walkPage) hasMeter(percent bool) bool {
	return slices.ContainsFunc(p.Facts.Bench.Meters, func(m job.Meter) bool { return (m.Kind == "plate_percent") == percent })
}

// Opening is what the opening of a reading is called.
func (p walkPage) Opening(r job.Reading) string {
	g := p.Names.rig[r.Rig]
	return opening(kindOf(p.Facts, g.Piece), r.Opening)
}

// Examples of what to type, in the reader's units.

func (s show) LikePressure() string    { return like(s, "28 inH2O", "7 kPa") }
func (s show) LikeBarometer() string   { return like(s, "29.9 inHg", "1013 hPa") }
func (s show) LikeTemperature() string { return like(s, "68 °F", "20 °C") }
func (s show) LikeFlow() string        { return like(s, "1.2 cfm", "0.6 L/s") }
func (s show) LikeSmallFlow() string   { return like(s, "0.1 cfm", "0.05 L/s") }
func (s show) LikeArea() string        { return like(s, "0.93 in²", "600 mm²") }
func (s show) LikeLift() string        { return like(s, "0.3 in", "8 mm") }
func (s show) LikeDifference() string  { return like(s, "7.6 inH2O", "1.9 kPa") }

func like(s show, us, metric string) string {
	if s.sys == unit.US {
		return us
	}
	return metric
}
