package plot

import (
	"math"

	"runnel/unit"
)

// A Profile is a quantity along a passage.
type Profile struct {
	Label    string
	Ink      Ink
	Dash     bool
	Position []float64 // along the centreline [m]
	Value    []float64 // [SI unit of what is drawn]
}

// AreaAlong draws section area along a passage, for each profile [m²].
func AreaAlong(profiles []Profile, s unit.System) Figure {
	return alongPassage("Section area along the passage", "Area", s.Area(), profiles, s)
}

// VelocityAlong draws mean velocity along a passage, for each profile [m/s].
func VelocityAlong(profiles []Profile, s unit.System) Figure {
	style := unit.Style{Dimension: unit.Velocity, Unit: "m/s", Decimals: 0}
	if s == unit.US {
		style.Unit = "ft/s"
	}
	return alongPassage("Mean velocity along the passage", "Velocity", style, profiles, s)
}

func alongPassage(title, what string, style unit.Style, profiles []Profile, s unit.System) Figure {
	length := s.Length()
	f := Figure{
		Title: title, X: Axis{Label: "Along the centreline", Unit: length.Unit}, Y: Axis{Label: what, Unit: style.Unit},
		Height: 260,
	}
	for _, p := range profiles {
		l := Line{Ink: p.Ink, Dash: p.Dash, Label: p.Label, Note: p.Label}
		lo, hi := math.Inf(1), math.Inf(-1)
		for i := range min(len(p.Position), len(p.Value)) {
			v := style.Value(p.Value[i])
			l.X, l.Y = append(l.X, length.Value(p.Position[i])), append(l.Y, v)
			lo, hi = min(lo, v), max(hi, v)
		}
		f.Layers = append(f.Layers, l)
		f.Desc += p.Label + ": " + Number(lo, style.Decimals) + " to " + Number(hi, style.Decimals) + " " + style.Unit + ". "
	}
	return f
}

// A LedgerPart is one kind of loss, summed up along a passage.
type LedgerPart struct {
	Name string
	Loss []float64 // total pressure lost by this cause up to each position [Pa]
}

// LedgerAlong draws the total pressure lost along a passage, the causes stacked on one another.
func LedgerAlong(position []float64, parts []LedgerPart, s unit.System) Figure {
	length, pressure := s.Length(), s.TestPressure()
	pressure.Decimals = 2
	f := Figure{
		Title: "Total pressure lost along the passage, by cause", X: Axis{Label: "Along the centreline", Unit: length.Unit},
		Y: Axis{Label: "Lost so far", Unit: pressure.Unit, Include: []float64{0}}, Desc: "Lost at the end:",
	}
	x := make([]float64, len(position))
	base := make([]float64, len(position))
	for i, p := range position {
		x[i] = length.Value(p)
	}
	for k, part := range parts {
		b := Band{X: x, Ink: Part(k), Solid: true, Label: part.Name, Note: part.Name}
		for i := range min(len(part.Loss), len(x)) {
			top := base[i] + pressure.Value(part.Loss[i])
			b.Lo, b.Hi = append(b.Lo, base[i]), append(b.Hi, top)
			base[i] = top
		}
		f.Layers = append(f.Layers, b)
		if n := len(part.Loss); n > 0 {
			f.Desc += " " + part.Name + " " + pressure.Show(part.Loss[n-1]) + "."
		}
	}
	return f
}
