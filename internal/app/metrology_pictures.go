package app

import (
	"runnel/internal/plot"
	"runnel/unit"
)

// ResidualPicture draws the residuals of a calibration over the flow read, with two standard uncertainties of each point and
// of the curve.
func ResidualPicture(a CalibrationAnswer, s unit.System) plot.Figure {
	style := s.Flow()
	f := plot.Figure{
		Title: "Residuals of the calibration",
		Desc:  "Known flow over the curve, less one, for each plate with two standard uncertainties; the band is that of the curve. Model: " + a.Model + ".",
		X:     plot.Axis{Label: "Flow read", Unit: style.Unit}, Y: plot.Axis{Label: "Residual", Unit: "%", Include: []float64{-0.5, 0.5}},
	}
	points := sortedBy(a.Points, func(p CalibratedPoint) float64 { return p.Read })
	band, dots := plot.Band{Ink: plot.Before, Note: "two standard uncertainties of the curve"}, make([]plot.Dot, 0, len(points))
	for _, p := range points {
		x, y, u := style.Value(p.Read), 100*p.Residual, 200*p.UPoint
		band.X, band.Lo, band.Hi = append(band.X, x), append(band.Lo, -200*p.UCurve), append(band.Hi, 200*p.UCurve)
		d := plot.Dot{X: x, Y: y, Lo: y - u, Hi: y + u, Ink: plot.After, Label: p.Plate, Note: p.Plate + ": " + plot.Signed(y, 2) + " %"}
		if y > u || y < -u {
			d.Ink, d.Shape = plot.Accent, plot.Square
		}
		dots = append(dots, d)
	}
	f.Layers = []plot.Layer{band, plot.Rule{Along: plot.AlongY, Ink: plot.Muted}, plot.Points{Along: plot.AlongY, Dots: dots}}
	return f
}

// CurvePicture draws the curve of a calibration as what it adds to a reading, with two standard uncertainties, and the plates on
// it: known over read, less one, of each.
func CurvePicture(a CalibrationAnswer, s unit.System) plot.Figure {
	style := s.Flow()
	f := plot.Figure{
		Title: "What the curve adds to a reading",
		Desc:  "The line is the curve over the flow read, as known over read less one, with two standard uncertainties; each dot is a plate with two of its own. Model: " + a.Model + ".",
		X:     plot.Axis{Label: "Flow read", Unit: style.Unit}, Y: plot.Axis{Label: "Known over read, less one", Unit: "%", Include: []float64{0}},
	}
	line := plot.Line{Ink: plot.After, Label: "curve"}
	band := plot.Band{Ink: plot.After, Note: "two standard uncertainties of the curve"}
	for i := range curveSteps {
		read := a.Low + (a.High-a.Low)*float64(i)/(curveSteps-1)
		known, u := a.At(read)
		x, y := style.Value(read), 100*(known/read-1)
		line.X, line.Y = append(line.X, x), append(line.Y, y)
		band.X, band.Lo, band.Hi = append(band.X, x), append(band.Lo, y-200*u/read), append(band.Hi, y+200*u/read)
	}
	var dots []plot.Dot
	for _, p := range sortedBy(a.Points, func(p CalibratedPoint) float64 { return p.Read }) {
		y, u := 100*(p.Known/p.Read-1), 200*p.UPoint*p.Known/p.Read
		dots = append(dots, plot.Dot{X: style.Value(p.Read), Y: y, Lo: y - u, Hi: y + u, Ink: plot.Before, Label: p.Plate, Note: p.Plate + ": " + plot.Signed(y, 2) + " %"})
	}
	f.Layers = []plot.Layer{band, plot.Rule{Along: plot.AlongY, Ink: plot.Muted}, line, plot.Points{Along: plot.AlongY, Dots: dots}}
	return f
}

// curveSteps is the number of points that a curve is drawn through.
const curveSteps = 61
