package plot

// A CheckPoint is one flow of the check plate in order of time.
type CheckPoint struct {
	Label     string  // sitting
	Deviation float64 // read over known, less one [-]
	Smoothed  float64 // exponentially weighted mean of the deviations [-]; NaN: none
}

// ControlChart draws the deviations of the check plate against their limit [-] in order of time [%].
func ControlChart(points []CheckPoint, limit float64) Figure {
	f := Figure{
		Title: "Check plate, in order of time", Desc: "Read over known, less one; beyond the dashed limits a sitting is marked.",
		Y:      Axis{Label: "Deviation", Unit: "%", Include: []float64{-120 * limit, 120 * limit}},
		Height: 260,
	}
	line, smooth := Line{Ink: Before, Thin: true}, Line{Ink: Accent, Dash: true, Label: "smoothed"}
	var dots []Dot
	for i, p := range points {
		x, y := float64(i), 100*p.Deviation
		f.X.Names = append(f.X.Names, p.Label)
		line.X, line.Y = append(line.X, x), append(line.Y, y)
		smooth.X, smooth.Y = append(smooth.X, x), append(smooth.Y, 100*p.Smoothed)
		d := Dot{X: x, Y: y, Ink: After, Note: p.Label + ": " + Signed(y, 2) + " %"}
		if limit > 0 && (p.Deviation > limit || p.Deviation < -limit) {
			d.Ink, d.Shape, d.Label = Loss, Square, Signed(y, 2)+" %"
			f.Desc += " " + p.Label + " lies outside: " + Signed(y, 2) + " %."
		}
		dots = append(dots, d)
	}
	f.Layers = []Layer{Rule{Along: AlongY, Ink: Muted}, line, smooth, Points{Along: AlongY, Dots: dots}}
	if limit > 0 {
		f.Layers = append(f.Layers,
			Rule{Along: AlongY, At: 100 * limit, Ink: Loss, Dash: true, Label: "limit"},
			Rule{Along: AlongY, At: -100 * limit, Ink: Loss, Dash: true, Label: "limit"})
	}
	return f
}
