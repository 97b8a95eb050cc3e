package plot

import (
	"math"
	"slices"
	"strconv"

	"runnel/assess"
	"runnel/unit"
)

// gauge is how the swing of a pressure about the room's is shown.
func gauge(s unit.System) unit.Style {
	if s == unit.US {
		return unit.Style{Dimension: unit.Pressure, Unit: "psi", Decimals: 1}
	}
	return unit.Style{Dimension: unit.Pressure, Unit: "kPa", Decimals: 1}
}

// IntakePressure draws the pressure in the runner at the intake valve over one cycle, a curve for each state.
func IntakePressure(ds []assess.Ducts, s unit.System) Figure {
	return ductOf(ds, 0, "intake", func(d assess.Ducts) []float64 { return d.Intake }, s)
}

// ExhaustPressure draws the pressure in the exhaust pipe at the exhaust valve over one cycle, a curve for each state.
func ExhaustPressure(ds []assess.Ducts, s unit.System) Figure {
	return ductOf(ds, 1, "exhaust", func(d assess.Ducts) []float64 { return d.Exhaust }, s)
}

func ductOf(ds []assess.Ducts, side int, name string, of func(assess.Ducts) []float64, s unit.System) Figure {
	style := gauge(s)
	f := Figure{
		Title: "Pressure at the " + name + " valve",
		X:     Axis{Label: "Crank", Unit: "°"}, Y: Axis{Label: "Over the room", Unit: style.Unit, Include: []float64{0}},
		Height: 240,
	}
	least, most := 0.0, 0.0
	for i, d := range ds {
		l := Line{Ink: After, Label: d.State, Note: "At the " + name + " valve, " + d.State}
		if d.State == "before" {
			l.Ink, l.Dash = Before, true
		}
		for k, p := range of(d) {
			l.X, l.Y = append(l.X, d.Angle[k]), append(l.Y, style.Value(p-d.Room))
		}
		if len(l.X) == 0 {
			continue
		}
		lo, hi := slices.Min(l.Y), slices.Max(l.Y)
		if i == 0 {
			f.Layers = append(f.Layers, open(d.Opens[side], d.Closes[side], l.X[0], name+" valve open")...)
			f.Layers = append(f.Layers, Rule{Along: AlongY, At: 0, Ink: Muted})
			for a := math.Ceil(l.X[0]/180) * 180; a <= l.X[0]+720; a += 180 {
				f.X.Ticks = append(f.X.Ticks, a)
			}
			f.X.Include = []float64{l.X[0], l.X[0] + 720}
		}
		least, most = min(least, lo), max(most, hi)
		f.Layers = append(f.Layers, l)
		f.Desc += capital(d.State) + " the work: " + Signed(lo, 1) + " to " + Signed(hi, 1) + " " + style.Unit + " over the room. "
	}
	f.Y.Ticks, _ = ticks(least, most, 5)
	return f
}

// open shades the angles at which a valve is open, in a cycle that is shown from an angle on: one shade, or two where it runs over the end.
func open(opens, closes, from float64, label string) []Layer {
	if opens <= closes {
		return []Layer{Shade{Along: AlongX, From: opens, To: closes, Ink: Muted, Label: label}}
	}
	late, early := Shade{Along: AlongX, From: opens, To: from + 720, Ink: Muted}, Shade{Along: AlongX, From: from, To: closes, Ink: Muted}
	if late.To-late.From > early.To-early.From {
		late.Label = label
	} else {
		early.Label = label
	}
	return []Layer{late, early}
}

// Filling draws how far the volumetric efficiency of each cylinder is from the mean of all, over speed.
func Filling(points []assess.Point) Figure {
	f := Figure{
		Title: "VE of each cylinder, from the mean",
		X:     speedAxis(), Y: Axis{Label: "From the mean", Unit: "%", Include: []float64{-1, 1}},
		Layers: []Layer{Rule{Along: AlongY, At: 0, Ink: Muted}}, Height: 260,
	}
	lines := map[int]*Line{}
	most := 0
	for _, p := range points {
		mean := 0.0
		for _, c := range p.Cylinders {
			mean += c.VE / float64(len(p.Cylinders))
		}
		for _, c := range p.Cylinders {
			l := lines[c.Number]
			if l == nil {
				name := strconv.Itoa(c.Number)
				l = &Line{Ink: LineOf(c.Number - 1), Label: name, Note: "Cylinder " + name, Dash: c.Number > 8}
				lines[c.Number], most = l, max(most, c.Number)
			}
			l.X, l.Y = append(l.X, p.Speed), append(l.Y, 100*(c.VE/mean-1))
		}
	}
	for i := 1; i <= most; i++ {
		l := lines[i]
		if l == nil {
			continue
		}
		f.Layers = append(f.Layers, *l)
		f.Desc += "Cylinder " + l.Label + ": " + Signed(slices.Min(l.Y), 1) + " to " + Signed(slices.Max(l.Y), 1) + " %. "
	}
	return f
}
