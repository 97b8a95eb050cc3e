package plot

import (
	"math"
	"slices"

	"runnel/unit"
)

// A WaveMap is the pressure in a runner over one cycle.
type WaveMap struct {
	Position []float64   // edges of the cells along the runner, from the plenum [m]
	Angle    []float64   // edges of the steps [° crank]
	Pressure [][]float64 // absolute, by step and cell [Pa]
	Ambient  float64     // absolute pressure drawn without colour [Pa]
	Events   []WaveEvent // valve events
}

// A WaveEvent is an instant of the cycle with a name.
type WaveEvent struct {
	Name  string  // "intake opens"
	Angle float64 // [° crank]
}

// Waves draws the pressure along a runner over crank angle: copper above ambient, teal below.
func Waves(m WaveMap, s unit.System) Figure {
	length, style := s.Length(), gauge(s)
	swing := 0.0
	cells := Cells{Y: m.Angle, Mid: 0, Label: "Pressure above ambient", Unit: style.Unit}
	for _, x := range m.Position {
		cells.X = append(cells.X, length.Value(x))
	}
	for _, row := range m.Pressure {
		over := make([]float64, len(row))
		for i, p := range row {
			over[i] = style.Value(p - m.Ambient)
			if finite(over[i]) {
				swing = max(swing, math.Abs(over[i]))
			}
		}
		cells.V = append(cells.V, over)
	}
	cells.Span = niceStep(swing)
	f := Figure{
		Title: "Pressure along the runner over one cycle",
		Desc:  "Position along the runner against crank angle; colour is pressure above (copper) or below (teal) ambient. Largest swing " + Number(swing, 1) + " " + style.Unit + ".",
		X:     Axis{Label: "From the plenum", Unit: length.Unit}, Y: Axis{Label: "Crank angle", Unit: "°"},
		Layers: []Layer{cells}, Height: 480,
	}
	if len(m.Angle) > 1 && slices.Max(m.Angle)-slices.Min(m.Angle) >= 360 {
		row := m.Angle[1] - m.Angle[0] // the last edge may lie half a row before the end of the cycle
		for v := math.Ceil(slices.Min(m.Angle)/90) * 90; v <= slices.Max(m.Angle)+row; v += 90 {
			f.Y.Ticks = append(f.Y.Ticks, v)
		}
	}
	for _, e := range m.Events {
		f.Layers = append(f.Layers, Rule{Along: AlongY, At: e.Angle, Ink: Text, Dash: true, Label: e.Name})
	}
	return f
}
