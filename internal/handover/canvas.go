package handover

import "runnel/internal/plot"

// pt is how many points a px of a figure takes on paper [pt/px].
const pt = 0.75

// canvas draws figures on a page of paper, with its upper left corner at x, y [pt].
type canvas struct {
	p    *press
	x, y float64
}

func (c canvas) at(p plot.Pt) (x, y float64) { return c.x + pt*p.X, c.y + pt*p.Y }

// Open does nothing: paper has nowhere to point at.
func (c canvas) Open(string) {}

// Close does nothing.
func (c canvas) Close() {}

func (c canvas) stroke(s plot.Stroke) {
	k := paperColour(s.Ink, s.Ink.Light())
	c.p.pdf.SetDrawColor(int(k.R), int(k.G), int(k.B))
	c.p.pdf.SetLineWidth(pt * s.Width)
	if s.Dash {
		c.p.pdf.SetDashPattern([]float64{6 * pt, 4 * pt}, 0)
	} else {
		c.p.pdf.SetDashPattern([]float64{}, 0)
	}
}

func (c canvas) fill(f plot.Fill) {
	k := paperColour(f.Ink, f.Ink.Light())
	c.p.pdf.SetFillColor(int(k.R), int(k.G), int(k.B))
	c.p.alpha(f.Alpha)
}

// paperColour is the colour of an ink on white paper.
func paperColour(k plot.Ink, light plot.RGB) plot.RGB {
	if k == plot.Paper {
		return plot.RGB{R: 255, G: 255, B: 255}
	}
	return light
}

// Line draws an open line.
func (c canvas) Line(pts []plot.Pt, s plot.Stroke) {
	if len(pts) < 2 {
		return
	}
	c.p.alpha(1)
	c.stroke(s)
	c.path(pts)
	c.p.pdf.DrawPath("D")
	c.p.pdf.SetDashPattern([]float64{}, 0)
}

func (c canvas) path(pts []plot.Pt) {
	for i, p := range pts {
		x, y := c.at(p)
		if i == 0 {
			c.p.pdf.MoveTo(x, y)
		} else {
			c.p.pdf.LineTo(x, y)
		}
	}
}

// Area fills an outline.
func (c canvas) Area(pts []plot.Pt, f plot.Fill) {
	if len(pts) < 3 {
		return
	}
	c.fill(f)
	c.path(pts)
	c.p.pdf.ClosePath()
	c.p.pdf.DrawPath("F")
	c.p.alpha(1)
}

// Boxes fills boxes.
func (c canvas) Boxes(boxes []plot.Box, f plot.Fill) {
	c.fill(f)
	for _, b := range boxes {
		x, y := c.at(plot.Pt{X: b.X, Y: b.Y})
		c.p.pdf.Rect(x, y, pt*b.W, pt*b.H, "F")
	}
	c.p.alpha(1)
}

// Circle draws a disc.
func (c canvas) Circle(at plot.Pt, radius float64, f plot.Fill, s plot.Stroke) {
	c.fill(f)
	x, y := c.at(at)
	c.p.pdf.Circle(x, y, pt*radius, "F")
	c.p.alpha(1)
	if s.Width > 0 {
		c.stroke(s)
		c.p.pdf.Circle(x, y, pt*radius, "D")
	}
}

// Text writes a line.
func (c canvas) Text(at plot.Pt, s string, face plot.Face) {
	k := paperColour(face.Ink, face.Ink.LightWord())
	if face.On {
		k = face.Ink.LightOn()
	}
	w := pt * c.Width(s, face)
	x, y := c.at(at)
	switch face.Anchor {
	case plot.Start:
	case plot.Middle:
		x -= w / 2
	case plot.End:
		x -= w
	}
	c.p.font(face.Bold, pt*face.Size)
	c.p.colour(k)
	c.p.pdf.Text(x, y, s)
}

// Width measures a line with the metrics of the face.
func (c canvas) Width(s string, face plot.Face) float64 {
	c.p.font(face.Bold, pt*face.Size)
	return c.p.pdf.GetStringWidth(s) / pt
}
