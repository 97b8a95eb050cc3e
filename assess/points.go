package assess

import (
	"math"

	"runnel/engine"
)

// Points turns the points of a pull into their wire form, without a band.
func Points(ps []engine.Point) []Point {
	out := make([]Point, len(ps))
	for i, p := range ps {
		out[i] = Point{
			Speed: round(p.Speed*60, 6), Torque: p.Torque, TorqueLo: p.Torque, TorqueHi: p.Torque, Power: p.Power / 1e3, VE: p.VE,
			IMEP: p.IMEP / 1e5, FMEP: p.FMEP / 1e5, AirFlow: p.AirFlow, Settled: p.Settled, Cycles: p.Cycles,
			Cylinders: make([]Cylinder, len(p.Cylinders)),
		}
		for k, c := range p.Cylinders {
			out[i].Cylinders[k] = Cylinder{Number: k + 1, VE: c.VE, IMEP: c.IMEP / 1e5, Peak: c.PeakPressure / 1e5, Residual: c.Residual}
		}
	}
	return out
}

// round returns x rounded to the given number of decimals, to take binary dust off a converted speed.
func round(x float64, decimals int) float64 {
	f := math.Pow(10, float64(decimals))
	return math.Round(x*f) / f
}
