package plot

import "math"

func (f Figure) size() (w, h float64) {
	w, h = f.Width, f.Height
	if w <= 0 {
		w = DefaultWidth
	}
	if h <= 0 {
		h = DefaultHeight
	}
	return w, h
}

// Size returns width and height of the figure [px].
func (f Figure) Size() (width, height float64) { return f.size() }

// Draw draws the figure on a canvas.
func (f Figure) Draw(c Canvas) {
	w, _ := f.size()
	if f.Title != "" {
		face := Face{Ink: Text, Size: sizeTitle, Bold: true}
		for i, line := range f.titleLines(c) {
			c.Text(Pt{0, sizeTitle + float64(i)*lineTitle}, line, face)
		}
	}
	fr, px, py, ends := f.layout(c)
	for _, l := range f.Layers {
		if s, ok := l.(Shade); ok {
			s.draw(c, fr)
		}
	}
	f.grid(c, fr, px, py)
	for _, l := range f.Layers {
		if _, ok := l.(Shade); !ok {
			l.draw(c, fr)
		}
	}
	f.axes(c, fr, px, py)
	drawEnds(c, fr, ends, w)
}

// lineTitle is the distance of two lines of a title [px].
const lineTitle = sizeTitle + 3

// titleLines breaks the title where it is wider than the figure.
func (f Figure) titleLines(c Canvas) []string {
	w, _ := f.size()
	return fit(c, f.Title, Face{Size: sizeTitle, Bold: true}, w, 2)
}

// layout finds the plot area: what is left when all that is written round it has its place.
func (f Figure) layout(c Canvas) (fr frame, px, py axisPlan, ends []endLabel) {
	w, h := f.size()
	r := newReach()
	for _, l := range f.Layers {
		l.reach(&r)
		ends = append(ends, l.ends()...)
	}
	top := 4.0
	if f.Title != "" {
		top += sizeTitle + 6 + float64(len(f.titleLines(c))-1)*lineTitle
	}
	if f.Y.title() != "" {
		top += sizeLabel + 6
	}
	bottom := 6.0
	if f.X.title() != "" {
		bottom += sizeLabel + 6
	}
	if !f.X.Hide {
		bottom += sizeLabel + 6
	}
	label := Face{Size: sizeLabel}
	right := 10.0
	for _, e := range ends {
		right = max(right, min(c.Width(e.text, label)+12, 0.34*w))
	}
	py = plan(f.Y, r.ylo, r.yhi, max(2, int((h-top-bottom)/48)), 0.06)
	left := 2.0
	for _, t := range py.text {
		left = max(left, min(c.Width(t, label), 0.3*w)+8)
	}
	if len(f.X.Names) > 0 {
		bottom += sizeLabel
	}
	// Labels beside marks may reach beyond the edge: the plot area gives way until they fit.
	for range 4 {
		px = plan(f.X, r.xlo, r.xhi, max(2, int((w-left-right)/86)), padding(f.Layers))
		fr.box = Box{left, top, max(w-left-right, 20), max(h-top-bottom, 20)}
		fr.x = scale{px.lo, px.hi, fr.box.X, fr.box.X + fr.box.W}
		fr.y = scale{py.lo, py.hi, fr.box.Y + fr.box.H, fr.box.Y}
		if len(f.Y.Names) > 0 {
			fr.y.from, fr.y.to = fr.y.to, fr.y.from
		}
		over := 0.0
		for _, l := range f.Layers {
			if m, ok := l.(interface{ rightmost(Canvas, frame) float64 }); ok {
				over = max(over, m.rightmost(c, fr)-w)
			}
		}
		if over <= 0 {
			break
		}
		right += over + 1
	}
	return fr, px, py, ends
}

// padding is the part of the x range left free at both ends, where marks and not only lines may stand there [-].
func padding(layers []Layer) float64 {
	for _, l := range layers {
		switch l := l.(type) {
		case Points:
			return 0.04
		case Bars:
			if l.Along == AlongX {
				return 0.04
			}
		}
	}
	return 0
}

func (f Figure) grid(c Canvas, fr frame, px, py axisPlan) {
	line := Stroke{Ink: Grid, Width: 1}
	b := fr.box
	if len(f.X.Names) == 0 && !f.X.Hide {
		for _, v := range px.at {
			x := fr.x.at(v)
			c.Line([]Pt{{x, b.Y}, {x, b.Y + b.H}}, line)
		}
	}
	if len(f.Y.Names) == 0 && !f.Y.Hide {
		for _, v := range py.at {
			y := fr.y.at(v)
			c.Line([]Pt{{b.X, y}, {b.X + b.W, y}}, line)
		}
	}
	for i := 1; i < len(f.Y.Names); i++ {
		y := fr.y.at(float64(i) - 0.5)
		c.Line([]Pt{{0, y}, {b.X + b.W, y}}, line)
	}
}

func (f Figure) axes(c Canvas, fr frame, px, py axisPlan) {
	b := fr.box
	bottom := b.Y + b.H
	c.Line([]Pt{{b.X, bottom}, {b.X + b.W, bottom}}, Stroke{Ink: Text, Width: 1})
	face := Face{Ink: Muted, Size: sizeLabel, Anchor: Middle}
	lastX, base := math.Inf(-1), bottom+sizeLabel+4
	for i, v := range px.at {
		x := fr.x.at(v)
		lines := 1
		width := b.W
		if len(f.X.Names) > 0 {
			lines, width = 2, b.W/float64(len(f.X.Names))-4
		}
		text := fit(c, px.text[i], face, width, lines)
		if len(text) == 0 || x-c.Width(text[0], face)/2 < lastX+4 {
			continue
		}
		for k, s := range text {
			c.Text(Pt{x, base + float64(k)*(sizeLabel+2)}, s, face)
		}
		lastX = x + c.Width(text[0], face)/2
	}
	if t := f.X.title(); t != "" {
		_, h := f.size()
		c.Text(Pt{b.X + b.W, h - 4}, t, Face{Ink: Muted, Size: sizeLabel, Anchor: End})
	}
	if t := f.Y.title(); t != "" {
		c.Text(Pt{0, b.Y - 9}, t, Face{Ink: Muted, Size: sizeLabel})
	}
	f.yNumbers(c, fr, py)
}

func (f Figure) yNumbers(c Canvas, fr frame, py axisPlan) {
	b := fr.box
	if len(f.Y.Names) > 0 {
		face := Face{Ink: Text, Size: sizeLabel}
		for i, v := range py.at {
			text := fit(c, py.text[i], face, b.X-8, 2)
			y := fr.y.at(v) + sizeLabel*0.36 - float64(len(text)-1)*(sizeLabel+1.5)/2
			for k, s := range text {
				c.Text(Pt{0, y + float64(k)*(sizeLabel+1.5)}, s, face)
			}
		}
		return
	}
	face := Face{Ink: Muted, Size: sizeLabel, Anchor: End}
	for i, v := range py.at {
		c.Text(Pt{b.X - 6, fr.y.at(v) + sizeLabel*0.36}, py.text[i], face)
	}
}

func drawEnds(c Canvas, fr frame, ends []endLabel, width float64) {
	var labels []endLabel
	var ys []float64
	b := fr.box
	for _, e := range ends {
		if e.text == "" || !finite(e.y) {
			continue
		}
		labels = append(labels, e)
		ys = append(ys, fr.y.at(e.y))
	}
	for i, y := range spread(ys, endGap, b.Y+4, b.Y+b.H-2) {
		face := Face{Ink: labels[i].ink, Size: sizeLabel}
		c.Text(Pt{b.X + b.W + 7, y + sizeLabel*0.36}, clip(c, labels[i].text, face, width-b.X-b.W-7), face)
	}
}
