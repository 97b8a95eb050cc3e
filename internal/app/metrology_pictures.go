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
