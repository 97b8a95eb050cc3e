package plottest

import (
	"bytes"
	"math"
	"testing"

	"runnel/internal/plot"
)

// Canvas checks a canvas. fresh returns a new one, and what closes it and returns what was written.
func Canvas(t *testing.T, fresh func() (c plot.Canvas, finish func() []byte)) {
	t.Helper()
	t.Run("width", func(t *testing.T) { width(t, fresh) })
	t.Run("every mark leaves a mark", func(t *testing.T) { marks(t, fresh) })
	t.Run("the same drawing twice", func(t *testing.T) { twice(t, fresh) })
}

func width(t *testing.T, fresh func() (plot.Canvas, func() []byte)) {
	c, _ := fresh()
	face := plot.Face{Ink: plot.Text, Size: 12}
	if w := c.Width("", face); w != 0 {
		t.Errorf("nothing is %v wide", w)
	}
	short, long := c.Width("ab", face), c.Width("ab cd", face)
	if short <= 0 || long <= short {
		t.Errorf("%q is %v wide, %q %v", "ab", short, "ab cd", long)
	}
	twice := face
	twice.Size *= 2
	if w := c.Width("ab", twice); math.Abs(w-2*short) > 1e-6*short {
		t.Errorf("twice the size is %v wide, once %v", w, short)
	}
	bold := face
	bold.Bold = true
	if w := c.Width("ab", bold); w < short {
		t.Errorf("bold is %v wide, plain %v", w, short)
	}
	for _, digit := range "1234567890" {
		if w, zero := c.Width(string(digit), face), c.Width("0", face); math.Abs(w-zero) > 1e-9 {
			t.Errorf("digit %c is %v wide, 0 is %v: columns of numbers would not align", digit, w, zero)
		}
	}
	// A sans-serif letter is between a quarter and a whole of its size wide, here with room for any face.
	if em := short / 2 / face.Size; em < 0.25 || em > 1 {
		t.Errorf("a letter is %v of its size wide", em)
	}
}

func marks(t *testing.T, fresh func() (plot.Canvas, func() []byte)) {
	fill, stroke := plot.Fill{Ink: plot.After, Alpha: 0.5}, plot.Stroke{Ink: plot.Before, Width: 1.5, Dash: true}
	_, nothing := fresh()
	empty := len(nothing())
	for name, draw := range map[string]func(plot.Canvas){
		"line":   func(c plot.Canvas) { c.Line([]plot.Pt{{X: 1, Y: 1}, {X: 30, Y: 20}}, stroke) },
		"area":   func(c plot.Canvas) { c.Area([]plot.Pt{{X: 1, Y: 1}, {X: 30, Y: 20}, {X: 1, Y: 20}}, fill) },
		"boxes":  func(c plot.Canvas) { c.Boxes([]plot.Box{{X: 1, Y: 1, W: 10, H: 10}}, fill) },
		"circle": func(c plot.Canvas) { c.Circle(plot.Pt{X: 20, Y: 20}, 5, fill, stroke) },
		"text":   func(c plot.Canvas) { c.Text(plot.Pt{X: 20, Y: 20}, "±5 %", plot.Face{Ink: plot.Text, Size: 12}) },
	} {
		c, finish := fresh()
		draw(c)
		if len(finish()) <= empty {
			t.Errorf("%s left nothing", name)
		}
	}
}

func twice(t *testing.T, fresh func() (plot.Canvas, func() []byte)) {
	f := plot.Figure{
		Title: "Every kind of layer", X: plot.Axis{Label: "x", Unit: "mm"}, Y: plot.Axis{Label: "y", Unit: "kPa"},
		Layers: []plot.Layer{
			plot.Shade{Along: plot.AlongX, From: 1, To: 2, Ink: plot.After, Label: "shade"},
			plot.Cells{X: []float64{0, 1, 2, 3}, Y: []float64{0, 1, 2}, V: [][]float64{{1, 2, 3}, {-1, -2, 0}}, Span: 3, Unit: "kPa"},
			plot.Band{X: []float64{0, 3}, Lo: []float64{0, 1}, Hi: []float64{1, 2}, Ink: plot.Before, Label: "band"},
			plot.Line{X: []float64{0, 3}, Y: []float64{0.5, 1.5}, Ink: plot.After, Label: "line"},
			plot.Points{Along: plot.AlongY, Dots: []plot.Dot{{X: 1, Y: 1, Lo: 0.5, Hi: 1.5, Shape: plot.Up, Ink: plot.Gain, Label: "dot"}, {X: 2, Y: 1, Shape: plot.Ring}}},
			plot.Bars{Along: plot.AlongY, Bars: []plot.Bar{{At: 2.5, To: 1, Ink: plot.Part2, In: "in", Label: "bar"}}},
			plot.Rule{Along: plot.AlongY, At: 1, Ink: plot.Accent, Dash: true, Label: "rule"},
		},
	}
	a, finishA := fresh()
	f.Draw(a)
	b, finishB := fresh()
	f.Draw(b)
	if one, two := finishA(), finishB(); !bytes.Equal(one, two) || len(one) == 0 {
		t.Errorf("the same figure took %d bytes, then %d others", len(one), len(two))
	}
}
