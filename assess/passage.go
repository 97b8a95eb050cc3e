package assess

import (
	"math"

	"runnel/engine"
	"runnel/wave"
)

// PassageArea returns the section [m²] of a cylinder's intake passage, 1 for the first, over the distance [m] from the runner's
// mouth to the valve, as the pull takes it.
func PassageArea(e *engine.Engine, cylinder int) func(x float64) float64 {
	r, in := e.Inlet.Runners[cylinder-1], e.Inlet
	round := func(d float64) float64 { return math.Pi / 4 * d * d }
	st := []wave.Station{{X: 0, Area: round(r.Entry)}, {X: r.Length, Area: round(r.Exit)}}
	if n := len(r.Shape); n > 0 {
		st = nil
		for _, s := range r.Shape {
			st = append(st, wave.Station{X: s.X * r.Length / r.Shape[n-1].X, Area: s.Area})
		}
	}
	if in.PortLength > 0 && in.PortBore > 0 {
		st = append(st, wave.Station{X: r.Length + in.PortLength, Area: round(in.PortBore)})
	}
	return wave.Stations(st)
}
