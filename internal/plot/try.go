package plot

import (
	"math"

	"runnel/assess"
	"runnel/unit"
)

// TriedTorque draws the torque of an engine as it is and with a change that has not been made.
func TriedTorque(old, changed []assess.Point, s unit.System) Figure {
	return triedOf(old, changed, torqueOf(s))
}

// TriedPower draws the power of an engine as it is and with a change that has not been made.
func TriedPower(old, changed []assess.Point, s unit.System) Figure {
	return triedOf(old, changed, powerIn(s))
}

func triedOf(old, changed []assess.Point, q quantity) Figure {
	f := Figure{
		Title: "Predicted " + lower(q.title) + ", as it is and changed",
		Desc:  "Dashed the engine as it is, solid with the change.",
		X:     speedAxis(),
		Y:     Axis{Label: q.title, Unit: q.style.Unit, Include: triedReach(old, q)},
	}
	was, wasBand := curve(old, q, Before, "as it is")
	was.Dash = true
	f.Layers = []Layer{wasBand, was}
	lines := []Line{was}
	if len(changed) > 0 {
		is, isBand := curve(changed, q, After, "changed")
		f.Layers = []Layer{wasBand, isBand, was, is}
		lines = append(lines, is)
	}
	for _, l := range lines {
		if at, peak, ok := highest(l); ok {
			f.Desc += " Peak " + l.Label + ": " + Number(peak, q.style.Decimals) + " " + q.style.Unit + " at " + Number(at, 0) + " rpm."
		}
	}
	return f
}

// triedReach is the range that the axis holds at least, so that it stays still while a change is dragged.
func triedReach(old []assess.Point, q quantity) []float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range old {
		v, _, _ := q.of(p)
		lo, hi = min(lo, q.style.Value(v)), max(hi, q.style.Value(v))
	}
	if lo > hi {
		return nil
	}
	return []float64{lo - 0.15*(hi-lo) - 0.05*hi, 1.1 * hi}
}

// TriedChange draws the change of torque over speed with its 95 % band.
func TriedChange(change []assess.Change, s unit.System) Figure {
	f := TorqueChange(assess.Pull{Change: change}, s)
	f.Desc = "Changed engine less engine as it is. What is not known of the engine is taken alike for both, so that it cancels as far as it does in truth." + rest(f.Desc)
	for i, l := range f.Layers {
		if line, ok := l.(Line); ok {
			line.Label = "changed − as it is"
			f.Layers[i] = line
		}
	}
	return f
}

// rest is what a description says after its first sentence.
func rest(desc string) string {
	for i := range len(desc) - 2 {
		if desc[i:i+2] == ". " {
			return desc[i+1:]
		}
	}
	return ""
}
