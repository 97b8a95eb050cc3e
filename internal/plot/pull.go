package plot

import (
	"math"

	"runnel/assess"
	"runnel/unit"
)

// powerOf is the power of a torque [N·m] at a speed [rev/min], in W.
func powerOf(torque, speed float64) float64 { return torque * speed * math.Pi / 30 }

// A quantity is what a picture of the pull shows of a point.
type quantity struct {
	title string
	style unit.Style
	of    func(p assess.Point) (v, lo, hi float64) // in SI
}

func torqueOf(s unit.System) quantity {
	return quantity{"Torque", s.Torque(), func(p assess.Point) (v, lo, hi float64) { return p.Torque, p.TorqueLo, p.TorqueHi }}
}

func powerIn(s unit.System) quantity {
	return quantity{"Power", s.Power(), func(p assess.Point) (v, lo, hi float64) {
		return powerOf(p.Torque, p.Speed), powerOf(p.TorqueLo, p.Speed), powerOf(p.TorqueHi, p.Speed)
	}}
}

// Torque draws the predicted torque over speed, before and after, each with its band.
func Torque(p assess.Pull, s unit.System) Figure { return pullOf(p, torqueOf(s)) }

// Power draws the predicted power over speed, before and after, each with its band.
func Power(p assess.Pull, s unit.System) Figure { return pullOf(p, powerIn(s)) }

func pullOf(p assess.Pull, q quantity) Figure {
	f := Figure{
		Title: "Predicted " + lower(q.title) + ", before and after",
		X:     speedAxis(),
		Y:     Axis{Label: q.title, Unit: q.style.Unit},
	}
	before, bandB := curve(p.Before, q, Before, "before")
	after, bandA := curve(p.After, q, After, "after")
	before.Dash = true
	f.Layers = []Layer{bandB, bandA, before, after}
	f.Desc = "Predicted with a one-dimensional gas-dynamic model; bands are what is not known of the engine."
	for _, l := range []Line{before, after} {
		if at, peak, ok := highest(l); ok {
			f.Desc += " Peak " + l.Label + ": " + Number(peak, q.style.Decimals) + " " + q.style.Unit + " at " + Number(at, 0) + " rpm."
		}
	}
	return f
}

func speedAxis() Axis { return Axis{Label: "Speed", Unit: "rpm"} }

func lower(s string) string {
	if s == "" {
		return s
	}
	return string(s[0]|0x20) + s[1:]
}

func curve(points []assess.Point, q quantity, k Ink, label string) (Line, Band) {
	l := Line{Ink: k, Label: label, Note: q.title + " " + label}
	b := Band{Ink: k}
	for _, p := range points {
		v, lo, hi := q.of(p)
		l.X = append(l.X, p.Speed)
		l.Y = append(l.Y, q.style.Value(v))
		if hi > lo {
			b.X = append(b.X, p.Speed)
			b.Lo = append(b.Lo, q.style.Value(lo))
			b.Hi = append(b.Hi, q.style.Value(hi))
		}
	}
	return l, b
}

func highest(l Line) (x, y float64, ok bool) {
	y = math.Inf(-1)
	for i, v := range l.Y {
		if v > y {
			x, y, ok = l.X[i], v, true
		}
	}
	return x, y, ok
}

// TorqueChange draws the change of torque over speed with its 95 % band.
func TorqueChange(p assess.Pull, s unit.System) Figure {
	return changeOf(p, "torque", s.Torque(), func(c assess.Change) (v, lo, hi float64) { return c.Torque, c.TorqueLo, c.TorqueHi })
}

// PowerChange draws the change of power over speed with its 95 % band.
func PowerChange(p assess.Pull, s unit.System) Figure {
	return changeOf(p, "power", s.Power(), func(c assess.Change) (v, lo, hi float64) {
		return 1e3 * c.Power, 1e3 * c.PowerLo, 1e3 * c.PowerHi
	})
}

func changeOf(p assess.Pull, what string, style unit.Style, of func(assess.Change) (v, lo, hi float64)) Figure {
	l := Line{Ink: After, Label: "after − before"}
	b := Band{Ink: After, Note: "95 % band"}
	for _, c := range p.Change {
		v, lo, hi := of(c)
		l.X, b.X = append(l.X, c.Speed), append(b.X, c.Speed)
		l.Y = append(l.Y, style.Value(v))
		b.Lo = append(b.Lo, style.Value(lo))
		b.Hi = append(b.Hi, style.Value(hi))
	}
	f := Figure{
		Title:  "Change of " + what + " with its 95 % band",
		Desc:   "What is not known of the engine is taken alike before and after, so that the band on the difference is narrower than the bands on the curves.",
		X:      speedAxis(),
		Y:      Axis{Label: "Change of " + what, Unit: style.Unit, Include: []float64{0}},
		Layers: []Layer{Rule{Along: AlongY, At: 0, Ink: Muted}, b, l},
		Height: 260,
	}
	if at, peak, ok := highest(l); ok {
		f.Desc += " Largest change: " + Signed(peak, style.Decimals) + " " + style.Unit + " at " + Number(at, 0) + " rpm."
	}
	return f
}
