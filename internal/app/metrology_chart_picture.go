package app

import (
	"slices"

	"runnel/internal/plot"
	"runnel/unit"
)

// ChartPicture draws a check plate in order of time: each flow, the moving average with its limits, the limits of three standard
// deviations, and what breaks a rule with the rule's name.
func ChartPicture(c CheckChart, s unit.System) plot.Figure {
	show, axis := func(v float64) float64 { return 100 * v }, plot.Axis{Label: "Deviation", Unit: "%"}
	if c.Unit != "1" {
		style := s.Flow()
		show, axis = style.Value, plot.Axis{Label: "Flow read", Unit: style.Unit}
	}
	f := plot.Figure{Title: "Check plate, in order of time", Desc: "Each dot is a flow of the check plate.", Y: axis, Height: 320}
	if c.Sigma > 0 {
		f.Desc += " The dashed lines are three standard deviations from the centre, the band is that of the moving average."
	}
	line, average := plot.Line{Ink: plot.Before, Thin: true}, plot.Line{Ink: plot.Accent, Dash: true, Label: "average", Note: "moving average"}
	band := plot.Band{Ink: plot.Accent, Note: "limits of the moving average"}
	dots, broken := make([]plot.Dot, 0, len(c.Points)), c.Broken()
	first := 0.0
	if n := len(c.Points); n > fewNames { // their names would not fit: they are numbered, as in the table
		first = 1
		f.X = plot.Axis{Label: "Number, from " + checkName(c.Points[0]) + " to " + checkName(c.Points[n-1])}
	}
	for i, p := range c.Points {
		x, y := first+float64(i), show(p.Value)
		if first == 0 {
			f.X.Names = append(f.X.Names, checkName(p))
		}
		line.X, line.Y = append(line.X, x), append(line.Y, y)
		average.X, average.Y = append(average.X, x), append(average.Y, show(p.Average))
		band.X, band.Lo, band.Hi = append(band.X, x), append(band.Lo, show(p.AverageLo)), append(band.Hi, show(p.AverageHi))
		d := plot.Dot{X: x, Y: y, Ink: plot.After, Note: checkName(p) + ": " + plot.Signed(y, 2) + " " + axis.Unit}
		for _, signal := range p.Signals {
			d.Ink, d.Shape = plot.Loss, plot.Square
			d.Label += c.Letter(signal)
			if len(p.Signals) == 1 && broken == 1 { // there is room for the words of one
				d.Label += " " + signal
			}
			d.Note += ", " + signal
			f.Desc += " " + checkName(p) + ": " + signal + "."
		}
		dots = append(dots, d)
	}
	if c.Sigma > 0 {
		f.Layers = append(f.Layers, band)
	}
	f.Layers = append(f.Layers, plot.Rule{Along: plot.AlongY, At: show(c.Centre), Ink: plot.Muted, Label: "centre"}, line)
	if c.Sigma > 0 {
		f.Layers = append(f.Layers, average,
			plot.Rule{Along: plot.AlongY, At: show(c.Lo), Ink: plot.Loss, Dash: true, Label: "−3σ"},
			plot.Rule{Along: plot.AlongY, At: show(c.Hi), Ink: plot.Loss, Dash: true, Label: "+3σ"})
	}
	if c.Limit > 0 {
		f.Layers = append(f.Layers,
			plot.Rule{Along: plot.AlongY, At: show(c.Limit), Ink: plot.Muted, Dash: true, Label: "limit of the card"},
			plot.Rule{Along: plot.AlongY, At: show(-c.Limit), Ink: plot.Muted, Dash: true, Label: "limit of the card"})
	}
	f.Layers = append(f.Layers, plot.Points{Along: plot.AlongY, Dots: dots})
	return f
}

// fewNames is how many points of a chart are named below it.
const fewNames = 6

// Broken is how many points break a rule.
func (c CheckChart) Broken() int {
	n := 0
	for _, p := range c.Points {
		if len(p.Signals) > 0 {
			n++
		}
	}
	return n
}

// Letter is the letter that stands for a rule in the picture, "A" for the first.
func (c CheckChart) Letter(rule string) string {
	i := slices.Index(c.Rules, rule)
	if i < 0 {
		return ""
	}
	return string(rune('A' + i))
}

// Breaks reports whether any point breaks a rule.
func (c CheckChart) Breaks(rule string) bool {
	return slices.ContainsFunc(c.Points, func(p CheckPoint) bool { return slices.Contains(p.Signals, rule) })
}

// checkName is what a point of a chart is called: its day, else its label.
func checkName(p CheckPoint) string {
	if p.At.IsZero() {
		return p.Label
	}
	return p.At.Format("2 Jan 06")
}
