package plot

import (
	"cmp"
	"slices"

	"runnel/assess"
	"runnel/unit"
)

// A LiftCurve is the flow of one opening of a head over valve lift in one round.
type LiftCurve struct {
	Label    string
	Ink      Ink
	Dash     bool
	Readings []assess.Reading // unusable ones are left out
}

// OverLift draws flow over valve lift with 95 % intervals.
func OverLift(curves []LiftCurve, s unit.System) Figure {
	flow, length := s.Flow(), s.Length()
	f := Figure{
		Title: "Flow over valve lift", Desc: "Each dot is one reading with its 95 % interval.",
		X: Axis{Label: "Lift", Unit: length.Unit, Include: []float64{0}}, Y: Axis{Label: "Flow", Unit: flow.Unit, Include: []float64{0}},
	}
	for _, c := range curves {
		rs := slices.Clone(c.Readings)
		slices.SortStableFunc(rs, func(a, b assess.Reading) int { return cmp.Compare(a.Lift, b.Lift) })
		line := Line{Ink: c.Ink, Dash: c.Dash, Label: c.Label}
		var dots []Dot
		for _, r := range rs {
			if !r.Usable {
				continue
			}
			x, y := length.Value(r.Lift), flow.Value(r.Flow)
			line.X, line.Y = append(line.X, x), append(line.Y, y)
			dots = append(dots, Dot{
				X: x, Y: y, Lo: y * (1 - r.UExpandedRel), Hi: y * (1 + r.UExpandedRel), Ink: c.Ink,
				Note: c.Label + ", lift " + length.Show(r.Lift) + ": " + flow.Show(r.Flow) + " ± " + Number(100*r.UExpandedRel, 1) + " %",
			})
		}
		f.Layers = append(f.Layers, line, Points{Along: AlongY, Dots: dots})
	}
	return f
}
