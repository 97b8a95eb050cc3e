package plot

import "math"

// A Figure is the description of one picture. Numbers are in the units the axes name, ready to be read.
type Figure struct {
	Title  string // what is shown
	Desc   string // the same for those who cannot see it, with the finding in words
	X, Y   Axis
	Layers []Layer // drawn in order, shades first
	Width  float64 // [px], default 640
	Height float64 // [px], default 340
}

// Defaults of a figure.
const (
	DefaultWidth  = 640.0 // [px]
	DefaultHeight = 340.0 // [px]
)

// An Axis is one axis of a figure. With names it is an axis of places, 0, 1, 2 …, the first on top or at the left.
type Axis struct {
	Label   string    // what, "Flow"
	Unit    string    // unit, "L/s"; empty for a pure number
	Names   []string  // names of the places
	Include []float64 // values the axis must hold, in Unit
	Ticks   []float64 // where to write a number, in Unit; empty: chosen
	Hide    bool      // neither numbers nor grid
}

// title is what stands at the axis: "Flow, L/s".
func (a Axis) title() string {
	if a.Unit == "" || a.Label == "" {
		return a.Label + a.Unit
	}
	return a.Label + ", " + a.Unit
}

// A Layer is one set of marks in a figure: Line, Band, Points, Bars, Shade, Rule, Cells.
type Layer interface {
	// reach widens r so that it holds the layer.
	reach(r *reach)
	// draw draws the layer.
	draw(c Canvas, f frame)
	// ends returns the labels that stand beyond the right edge.
	ends() []endLabel
}

// Along names an axis.
type Along int

// The axes.
const (
	AlongX Along = iota
	AlongY
)

// A Line is a curve through points; it breaks where a value is not a number.
type Line struct {
	X     []float64 // [unit of the x axis]
	Y     []float64 // [unit of the y axis]
	Ink   Ink
	Dash  bool
	Thin  bool
	Label string // written at its right end
	Note  string // what it is, for a reader who points at it
}

// A Band is the area between two curves.
type Band struct {
	X     []float64 // [unit of the x axis]
	Lo    []float64 // [unit of the y axis]
	Hi    []float64 // [unit of the y axis]
	Ink   Ink
	Solid bool   // a part of a whole and not an uncertainty
	Label string // written at its right end
	Note  string
}

// Points are marks with intervals.
type Points struct {
	Along Along // the axis the intervals lie along
	Dots  []Dot
}

// A Dot is one of Points.
type Dot struct {
	X     float64 // [unit of the x axis]
	Y     float64 // [unit of the y axis]
	Lo    float64 // lower end of the interval [unit of its axis]; equal to Hi: none
	Hi    float64 // upper end [unit of its axis]
	Shape Shape
	Ink   Ink
	Label string // written beside it
	Note  string
}

// Shape is the outline of a dot.
type Shape int

// The shapes.
const (
	Disc Shape = iota
	Ring
	Up
	Down
	Square
	Tick // a short line across, for a mean
	Bare // no mark, only the label
)

// Bars are bars from one value to another.
type Bars struct {
	Along Along   // the axis the bars lie along
	Thick float64 // thickness [unit of the other axis], default 0.62
	Bars  []Bar
}

// A Bar is one of Bars.
type Bar struct {
	At    float64 // place on the other axis [unit of that axis]
	From  float64 // [unit of the axis the bars lie along]
	To    float64 // [unit of the axis the bars lie along]
	Ink   Ink
	In    string // written in the bar when it fits
	Label string // written behind its end
	Note  string
}

// A Shade marks a range of one axis over the whole of the other.
type Shade struct {
	Along Along
	From  float64 // [unit of the axis]
	To    float64 // [unit of the axis]
	Ink   Ink
	Label string
	Foot  bool // the label stands at the foot, where a curve runs along the top
}

// A Rule is a straight line across the figure at one value.
type Rule struct {
	Along Along   // the axis the value lies on
	At    float64 // [unit of the axis]
	Ink   Ink
	Dash  bool
	Label string
}

// Cells is a map of a value over both axes: teal below Mid, copper above.
type Cells struct {
	X     []float64   // edges of the columns [unit of the x axis]
	Y     []float64   // edges of the rows [unit of the y axis]
	V     [][]float64 // value of each cell by row and column [unit of the key]
	Mid   float64     // value without colour [unit of the key]
	Span  float64     // distance from Mid of the full colour [unit of the key]
	Label string      // what the value is
	Unit  string      // unit of the key
}

// A reach is the range of values that a figure must hold.
type reach struct{ xlo, xhi, ylo, yhi float64 }

func newReach() reach {
	return reach{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func (r *reach) x(v float64) {
	if finite(v) {
		r.xlo, r.xhi = min(r.xlo, v), max(r.xhi, v)
	}
}

func (r *reach) y(v float64) {
	if finite(v) {
		r.ylo, r.yhi = min(r.ylo, v), max(r.yhi, v)
	}
}

func (r *reach) on(a Along, v float64) {
	if a == AlongX {
		r.x(v)
	} else {
		r.y(v)
	}
}

func (l Line) reach(r *reach) {
	for i := range min(len(l.X), len(l.Y)) {
		if finite(l.X[i]) && finite(l.Y[i]) {
			r.x(l.X[i])
			r.y(l.Y[i])
		}
	}
}

func (b Band) reach(r *reach) {
	for i := range b.len() {
		r.x(b.X[i])
		r.y(b.Lo[i])
		r.y(b.Hi[i])
	}
}

func (b Band) len() int { return min(len(b.X), len(b.Lo), len(b.Hi)) }

func (p Points) reach(r *reach) {
	for _, d := range p.Dots {
		r.x(d.X)
		r.y(d.Y)
		if d.Lo != d.Hi {
			r.on(p.Along, d.Lo)
			r.on(p.Along, d.Hi)
		}
	}
}

func (b Bars) reach(r *reach) {
	for _, bar := range b.Bars {
		r.on(b.Along, bar.From)
		r.on(b.Along, bar.To)
		r.on(1-b.Along, bar.At-b.thick()/2)
		r.on(1-b.Along, bar.At+b.thick()/2)
	}
}

func (b Bars) thick() float64 {
	if b.Thick > 0 {
		return b.Thick
	}
	return 0.62
}

func (s Shade) reach(*reach) {}

func (u Rule) reach(r *reach) { r.on(u.Along, u.At) }

func (m Cells) reach(r *reach) {
	for _, v := range m.X {
		r.x(v)
	}
	for _, v := range m.Y {
		r.y(v)
	}
}
