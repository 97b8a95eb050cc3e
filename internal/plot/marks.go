package plot

import "math"

func (l Line) draw(c Canvas, f frame) {
	s := Stroke{Ink: l.Ink, Width: 2, Dash: l.Dash}
	if l.Thin {
		s.Width = 1
	}
	c.Open(l.Note)
	var run []Pt
	flush := func() {
		if len(run) > 1 {
			c.Line(run, s)
		} else if len(run) == 1 {
			c.Circle(run[0], s.Width, Fill{Ink: l.Ink, Alpha: 1}, Stroke{})
		}
		run = nil
	}
	for i := range min(len(l.X), len(l.Y)) {
		if !finite(l.X[i]) || !finite(l.Y[i]) {
			flush()
			continue
		}
		run = append(run, f.pt(l.X[i], l.Y[i]))
	}
	flush()
	c.Close()
}

func (l Line) ends() []endLabel {
	if l.Label == "" {
		return nil
	}
	for i := min(len(l.X), len(l.Y)) - 1; i >= 0; i-- {
		if finite(l.X[i]) && finite(l.Y[i]) {
			return []endLabel{{text: l.Label, y: l.Y[i], ink: l.Ink}}
		}
	}
	return nil
}

func (b Band) draw(c Canvas, f frame) {
	fill := Fill{Ink: b.Ink, Alpha: 0.2}
	if b.Solid {
		fill.Alpha = 1
	}
	c.Open(b.Note)
	start := 0
	for i := 0; i <= b.len(); i++ {
		if i < b.len() && finite(b.X[i]) && finite(b.Lo[i]) && finite(b.Hi[i]) {
			continue
		}
		if i-start > 1 {
			b.outline(c, f, start, i, fill)
		}
		start = i + 1
	}
	c.Close()
}

func (b Band) outline(c Canvas, f frame, from, to int, fill Fill) {
	pts := make([]Pt, 0, 2*(to-from))
	for i := from; i < to; i++ {
		pts = append(pts, f.pt(b.X[i], b.Hi[i]))
	}
	for i := to - 1; i >= from; i-- {
		pts = append(pts, f.pt(b.X[i], b.Lo[i]))
	}
	c.Area(pts, fill)
	if b.Solid {
		c.Line(pts[:to-from], Stroke{Ink: Paper, Width: 1.2})
	}
}

func (b Band) ends() []endLabel {
	i := b.len() - 1
	if b.Label == "" || i < 0 {
		return nil
	}
	ink := b.Ink
	if b.Solid {
		ink = Text
	}
	return []endLabel{{text: b.Label, y: (b.Lo[i] + b.Hi[i]) / 2, ink: ink}}
}

func (p Points) draw(c Canvas, f frame) {
	for _, d := range p.Dots {
		if !finite(d.X) || !finite(d.Y) {
			continue
		}
		c.Open(d.Note)
		at := f.pt(d.X, d.Y)
		right := at.X + 5
		if d.Lo != d.Hi && finite(d.Lo) && finite(d.Hi) {
			right = max(right, p.interval(c, f, d, at))
		}
		drawShape(c, at, d.Shape, d.Ink)
		if d.Label != "" {
			face := Face{Ink: d.Ink, Size: sizeSmall}
			if w := c.Width(d.Label, face); right+4+w > f.box.X+f.box.W+8 && p.Along == AlongY {
				face.Anchor = End
				right = at.X - 13
			}
			c.Text(Pt{right + 4, at.Y + sizeSmall*0.36}, d.Label, face)
		}
		c.Close()
	}
}

// interval draws the interval of d and returns how far it reaches to the right.
func (p Points) interval(c Canvas, f frame, d Dot, at Pt) float64 {
	s := Stroke{Ink: d.Ink, Width: 1.5}
	lo, hi := f.along(p.Along).at(d.Lo), f.along(p.Along).at(d.Hi)
	const half = 3
	if p.Along == AlongX {
		c.Line([]Pt{{lo, at.Y}, {hi, at.Y}}, s)
		c.Line([]Pt{{lo, at.Y - half}, {lo, at.Y + half}}, s)
		c.Line([]Pt{{hi, at.Y - half}, {hi, at.Y + half}}, s)
		return max(lo, hi)
	}
	c.Line([]Pt{{at.X, lo}, {at.X, hi}}, s)
	c.Line([]Pt{{at.X - half, lo}, {at.X + half, lo}}, s)
	c.Line([]Pt{{at.X - half, hi}, {at.X + half, hi}}, s)
	return at.X + half
}

func drawShape(c Canvas, at Pt, shape Shape, ink Ink) {
	full, rim := Fill{Ink: ink, Alpha: 1}, Stroke{Ink: Paper, Width: 1}
	x, y := at.X, at.Y
	switch shape {
	case Disc:
		c.Circle(at, 4, full, rim)
	case Ring:
		c.Circle(at, 3.5, Fill{Ink: Paper, Alpha: 1}, Stroke{Ink: ink, Width: 1.8})
	case Up:
		c.Area([]Pt{{x, y - 5.5}, {x + 5, y + 3.5}, {x - 5, y + 3.5}}, full)
	case Down:
		c.Area([]Pt{{x, y + 5.5}, {x + 5, y - 3.5}, {x - 5, y - 3.5}}, full)
	case Square:
		c.Area([]Pt{{x - 3.5, y - 3.5}, {x + 3.5, y - 3.5}, {x + 3.5, y + 3.5}, {x - 3.5, y + 3.5}}, full)
	case Tick:
		c.Line([]Pt{{x, y - 7}, {x, y + 7}}, Stroke{Ink: ink, Width: 2.5})
	case Bare:
	}
}

// rightmost is how far the labels beside the dots reach to the right [px].
func (p Points) rightmost(c Canvas, f frame) float64 {
	out := 0.0
	for _, d := range p.Dots {
		if d.Label == "" || p.Along == AlongY || !finite(d.X) {
			continue
		}
		x := f.x.at(d.X) + 5
		if finite(d.Hi) && d.Hi != d.Lo {
			x = max(x, f.x.at(d.Hi))
		}
		out = max(out, x+4+c.Width(d.Label, Face{Size: sizeSmall}))
	}
	return out
}

func (p Points) ends() []endLabel { return nil }

func (b Bars) draw(c Canvas, f frame) {
	taken := Pt{math.Inf(-1), math.NaN()}
	for _, bar := range b.Bars {
		if !finite(bar.From) || !finite(bar.To) || !finite(bar.At) {
			continue
		}
		c.Open(bar.Note)
		box := f.rect(b.Along, bar.From, bar.To, bar.At-b.thick()/2, bar.At+b.thick()/2)
		c.Boxes([]Box{box}, Fill{Ink: bar.Ink, Alpha: 1})
		mid := Pt{box.X + box.W/2, box.Y + box.H/2 + sizeSmall*0.36}
		if bar.In != "" {
			taken = b.inside(c, f, bar, box, taken)
		}
		if bar.Label != "" {
			b.label(c, bar, box, mid)
		}
		c.Close()
	}
}

// inside writes the text of a bar in it, or over it when it does not fit and the place is free. It returns the end of what
// is written over the bars.
func (b Bars) inside(c Canvas, f frame, bar Bar, box Box, taken Pt) Pt {
	const least = 90 // px that a shortened text still needs
	face := Face{Ink: bar.Ink, Size: sizeSmall, On: true, Anchor: Middle}
	w := c.Width(bar.In, face)
	if box.H >= sizeSmall && (w+6 <= box.W || box.W > least) {
		at := Pt{box.X + box.W/2, box.Y + box.H/2 + sizeSmall*0.36}
		c.Text(at, clip(c, bar.In, face, box.W-6), face)
		return taken
	}
	at := Pt{box.X, box.Y - 3}
	if b.Along != AlongX || (at.Y == taken.Y && at.X < taken.X+8) {
		return taken
	}
	face = Face{Ink: Text, Size: sizeSmall}
	text := clip(c, bar.In, face, f.box.X+f.box.W-at.X)
	c.Text(at, text, face)
	return Pt{at.X + c.Width(text, face), at.Y}
}

func (b Bars) label(c Canvas, bar Bar, box Box, mid Pt) {
	face := Face{Ink: Text, Size: sizeSmall}
	if b.Along == AlongX {
		c.Text(Pt{box.X + box.W + 5, mid.Y}, bar.Label, face)
		return
	}
	face.Anchor = Middle
	c.Text(Pt{mid.X, box.Y - 4}, bar.Label, face)
}

// rightmost is how far the labels behind the bars reach to the right [px].
func (b Bars) rightmost(c Canvas, f frame) float64 {
	out := 0.0
	for _, bar := range b.Bars {
		if bar.Label != "" && b.Along == AlongX {
			out = max(out, f.x.at(max(bar.From, bar.To))+5+c.Width(bar.Label, Face{Size: sizeSmall}))
		}
	}
	return out
}

func (b Bars) ends() []endLabel { return nil }

func (s Shade) draw(c Canvas, f frame) {
	sc := f.along(s.Along)
	from, to := clamp(s.From, sc.lo, sc.hi), clamp(s.To, sc.lo, sc.hi)
	var box Box
	if s.Along == AlongX {
		box = f.rect(AlongX, from, to, f.y.lo, f.y.hi)
	} else {
		box = f.rect(AlongY, from, to, f.x.lo, f.x.hi)
	}
	c.Open(s.Label)
	c.Boxes([]Box{box}, Fill{Ink: s.Ink, Alpha: 0.13})
	if s.Label != "" {
		face := Face{Ink: Muted, Size: sizeSmall, Anchor: Middle}
		x := box.X + box.W/2
		half := c.Width(s.Label, face) / 2
		x = clamp(x, f.box.X+half, f.box.X+f.box.W-half)
		y := box.Y + sizeSmall + 2
		if s.Foot {
			y = box.Y + box.H - 6
		}
		c.Text(Pt{x, y}, s.Label, face)
	}
	c.Close()
}

func clamp(v, lo, hi float64) float64 { return math.Max(math.Min(v, hi), lo) }

func (s Shade) ends() []endLabel { return nil }

func (u Rule) draw(c Canvas, f frame) {
	sc := f.along(u.Along)
	if !finite(u.At) || u.At < sc.lo || u.At > sc.hi {
		return
	}
	s := Stroke{Ink: u.Ink, Width: 1.2, Dash: u.Dash}
	b, at := f.box, sc.at(u.At)
	c.Open(u.Label)
	if u.Along == AlongY {
		c.Line([]Pt{{b.X, at}, {b.X + b.W, at}}, s)
	} else {
		c.Line([]Pt{{at, b.Y}, {at, b.Y + b.H}}, s)
		if u.Label != "" {
			face := Face{Ink: u.Ink, Size: sizeSmall}
			x := at + 4
			if x+c.Width(u.Label, face) > b.X+b.W+8 {
				face.Anchor, x = End, at-4
			}
			c.Text(Pt{x, b.Y + sizeSmall}, u.Label, face)
		}
	}
	c.Close()
}

func (u Rule) ends() []endLabel {
	if u.Along == AlongY && u.Label != "" {
		return []endLabel{{text: u.Label, y: u.At, ink: u.Ink}}
	}
	return nil
}
