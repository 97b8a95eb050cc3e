package passage

import (
	"errors"
	"fmt"
	"math"
)

// Reasons why a section or a passage cannot be.
var (
	ErrShape    = errors.New("no such section")
	ErrZeroArea = errors.New("area is not above zero")
	ErrOrder    = errors.New("stations are out of order")
	ErrTooFew   = errors.New("too few stations")
	ErrWall     = errors.New("wall thickness cannot be")
)

// A Section is the shape of the passage in the plane normal to its centreline.
type Section struct {
	Shape     string  // "round", "rectangle", "ellipse", "d", "area" or "outline"
	Area      float64 // open area [m²]
	Perimeter float64 // wetted perimeter [m]
	Width     float64 // greatest width, in the plane of the bend where that is known [m]; 0: not known
	Height    float64 // greatest height, across the width [m]; 0: not known
	U         float64 // standard uncertainty of Area, relative [-]; 0: not stated
	Outline   []Point // closed outline about the centre, anticlockwise, without repeating the first point; nil for "area"
}

// HydraulicDiameter returns Dh = 4·Area/Perimeter [m]. Definition.
func (s Section) HydraulicDiameter() float64 { return 4 * s.Area / s.Perimeter }

// EquivalentDiameter returns the diameter of the circle of the same area [m]. Definition.
func (s Section) EquivalentDiameter() float64 { return math.Sqrt(4 * s.Area / math.Pi) }

// Roundness returns the perimeter of the circle of the same area over the perimeter [-]: 1 for a circle, less for all else.
// Definition.
func (s Section) Roundness() float64 { return 2 * math.Sqrt(math.Pi*s.Area) / s.Perimeter }

func goodLength(x float64) bool { return x > 0 && !math.IsInf(x, 1) }

// outlinePoints is the number of points a smooth outline is drawn with [-].
const outlinePoints = 128

// Round returns a circular section of diameter d [m]. It returns ErrShape, wrapped.
func Round(d float64) (Section, error) {
	s, err := Ellipse(d, d)
	s.Shape = "round"
	return s, err
}

// Ellipse returns an elliptical section of the given full width and height [m].
//
//	A = π·w·h/4;  P = 4·a·E(e) by the arithmetic-geometric mean, to round-off
//
// It returns ErrShape, wrapped. Source: Gauss; Abramowitz and Stegun, 17.6.
func Ellipse(w, h float64) (Section, error) {
	if !goodLength(w) || !goodLength(h) {
		return Section{}, fmt.Errorf("%w: ellipse of %.6g mm by %.6g mm: write both above zero", ErrShape, 1e3*w, 1e3*h)
	}
	s := Section{Shape: "ellipse", Area: math.Pi / 4 * w * h, Perimeter: ellipsePerimeter(w/2, h/2), Width: w, Height: h}
	for i := range outlinePoints {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / outlinePoints)
		s.Outline = append(s.Outline, Point{w / 2 * cos, h / 2 * sin})
	}
	return s, nil
}

// ellipsePerimeter returns the perimeter [m] of an ellipse of half axes a and b.
func ellipsePerimeter(a, b float64) float64 {
	x, y := max(a, b), min(a, b)
	sum, power := (x*x+y*y)/2, 0.5
	for x-y > 1e-15*x {
		x, y, power = (x+y)/2, math.Sqrt(x*y), 2*power
		c := x*x - y*y // square of half the difference before this step
		sum -= power * c
	}
	return 2 * math.Pi * sum / x
}

// Rectangle returns a rectangle of width w and height h with its four corners rounded to radius r [m].
//
//	A = w·h − (4 − π)·r²;  P = 2·(w + h) − (8 − 2π)·r
//
// It returns ErrShape, wrapped; r may be from 0 to half the shorter side. Definition.
func Rectangle(w, h, r float64) (Section, error) { return RectangleOf(w, h, [4]float64{r, r, r, r}) }

// RectangleOf returns a rectangle of width w and height h with a radius of its own at each corner [m], anticlockwise from the
// lower left. Two corners of one side may not overlap. It returns ErrShape, wrapped. Definition.
func RectangleOf(w, h float64, r [4]float64) (Section, error) {
	if !goodLength(w) || !goodLength(h) {
		return Section{}, fmt.Errorf("%w: rectangle of %.6g mm by %.6g mm: write both above zero", ErrShape, 1e3*w, 1e3*h)
	}
	s := Section{Shape: "rectangle", Area: w * h, Perimeter: 2 * (w + h), Width: w, Height: h}
	for i, side := range [4]float64{w, h, w, h} {
		if !(r[i] >= 0) || r[i]+r[(i+1)%4] > side*(1+1e-12) {
			return Section{}, fmt.Errorf("%w: corner radii of %.6g mm and %.6g mm do not fit on a side of %.6g mm", ErrShape, 1e3*r[i], 1e3*r[(i+1)%4], 1e3*side)
		}
		s.Area -= (1 - math.Pi/4) * r[i] * r[i]
		s.Perimeter -= (2 - math.Pi/2) * r[i]
	}
	corner := [4]Point{{-w / 2, -h / 2}, {w / 2, -h / 2}, {w / 2, h / 2}, {-w / 2, h / 2}}
	sign := [4]Point{{1, 1}, {-1, 1}, {-1, -1}, {1, -1}}
	for i := range 4 {
		c := Point{corner[i][0] + sign[i][0]*r[i], corner[i][1] + sign[i][1]*r[i]}
		s.Outline = append(s.Outline, arc(c, r[i], math.Pi+float64(i)*math.Pi/2, math.Pi/2, outlinePoints/4)...)
	}
	return s, nil
}

// arc returns points along a circle about c from an angle on, ends included; one point when the radius is zero.
func arc(c Point, r, from, turn float64, n int) []Point {
	if r == 0 {
		return []Point{c}
	}
	out := make([]Point, 0, n+1)
	for i := range n + 1 {
		sin, cos := math.Sincos(from + turn*float64(i)/float64(n))
		out = append(out, Point{c[0] + r*cos, c[1] + r*sin})
	}
	return out
}

// DShape returns a section with a flat floor of width w and a round roof, h high in all [m]: straight sides up to a half circle when
// h ≥ w/2, else half an ellipse; the two corners at the floor are rounded to radius r [m].
//
//	h ≥ w/2:  A = w·(h − w/2) + π·w²/8 − (2 − π/2)·r²;  P = w + 2·(h − w/2) + π·w/2 − (4 − π)·r
//
// It returns ErrShape, wrapped; r may be from 0 to the height of the straight sides and half the width. Definition.
func DShape(w, h, r float64) (Section, error) {
	if !goodLength(w) || !goodLength(h) {
		return Section{}, fmt.Errorf("%w: D-shape of %.6g mm by %.6g mm: write both above zero", ErrShape, 1e3*w, 1e3*h)
	}
	rise := min(h, w/2)
	side := h - rise
	if !(r >= 0) || r > side*(1+1e-12) || r > w/2*(1+1e-12) {
		return Section{}, fmt.Errorf("%w: floor corners of %.6g mm do not fit below straight sides %.6g mm high", ErrShape, 1e3*r, 1e3*side)
	}
	s := Section{Shape: "d", Width: w, Height: h}
	s.Area = w*side + math.Pi/4*w*rise - (2-math.Pi/2)*r*r
	s.Perimeter = w + 2*side + ellipsePerimeter(w/2, rise)/2 - (4-math.Pi)*r
	base := -h / 2
	s.Outline = append(s.Outline, arc(Point{-w/2 + r, base + r}, r, math.Pi, math.Pi/2, outlinePoints/8)...)
	s.Outline = append(s.Outline, arc(Point{w/2 - r, base + r}, r, 1.5*math.Pi, math.Pi/2, outlinePoints/8)...)
	for i := range outlinePoints/2 + 1 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / outlinePoints)
		s.Outline = append(s.Outline, Point{w / 2 * cos, base + side + rise*sin})
	}
	return s, nil
}

// AreaPerimeter returns a section known by its area [m²] and perimeter [m] only. It returns ErrShape, wrapped, when no outline can have
// both: the perimeter is never below that of the circle of the area. Source: the isoperimetric inequality.
func AreaPerimeter(area, perimeter float64) (Section, error) {
	if !goodLength(area) {
		return Section{}, fmt.Errorf("%w: area is %.6g mm²", ErrZeroArea, 1e6*area)
	}
	if least := 2 * math.Sqrt(math.Pi*area); !(perimeter >= least*(1-1e-6)) || math.IsInf(perimeter, 1) {
		return Section{}, fmt.Errorf("%w: a perimeter of %.6g mm cannot go round an area of %.6g mm²: even a circle has %.6g mm", ErrShape, 1e3*perimeter, 1e6*area, 1e3*least)
	}
	return Section{Shape: "area", Area: area, Perimeter: perimeter}, nil
}

// FromOutline returns a section from a closed outline [m], in either sense, without a repeated last point. The centre of the result
// is that of the outline. It returns ErrShape for fewer than three points and for an outline that crosses itself, naming where, and
// ErrZeroArea. Definition.
func FromOutline(p []Point) (Section, error) {
	if len(p) < 3 {
		return Section{}, fmt.Errorf("%w: an outline of %d points: draw at least three", ErrShape, len(p))
	}
	for _, q := range p {
		if math.IsNaN(q[0]+q[1]) || math.IsInf(q[0]+q[1], 0) {
			return Section{}, fmt.Errorf("%w: an outline point is not a number", ErrShape)
		}
	}
	if i, j, at, bad := selfCrossing(p); bad {
		return Section{}, fmt.Errorf("%w: the outline crosses itself between points %d and %d, at %.1f, %.1f mm: move one of them", ErrShape, i+1, j+1, 1e3*at[0], 1e3*at[1])
	}
	area, centre := loopArea(p)
	if math.Abs(area) < 1e-30 {
		return Section{}, fmt.Errorf("%w: the outline encloses nothing", ErrZeroArea)
	}
	s := Section{Shape: "outline", Area: math.Abs(area)}
	lo, hi := Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}
	for i, q := range p {
		n := p[(i+1)%len(p)]
		s.Perimeter += math.Hypot(n[0]-q[0], n[1]-q[1])
		for k := range 2 {
			lo[k], hi[k] = min(lo[k], q[k]), max(hi[k], q[k])
		}
		s.Outline = append(s.Outline, Point{q[0] - centre[0], q[1] - centre[1]})
	}
	s.Width, s.Height = hi[0]-lo[0], hi[1]-lo[1]
	if area < 0 {
		for i, j := 0, len(s.Outline)-1; i < j; i, j = i+1, j-1 {
			s.Outline[i], s.Outline[j] = s.Outline[j], s.Outline[i]
		}
	}
	return s, nil
}

// loopArea returns the signed area [m²] of a closed outline, above zero when anticlockwise, and its centre [m].
func loopArea(p []Point) (area float64, centre Point) {
	o := p[0]
	var cx, cy float64
	for i := range p {
		a, b := p[i], p[(i+1)%len(p)]
		x0, y0, x1, y1 := a[0]-o[0], a[1]-o[1], b[0]-o[0], b[1]-o[1]
		c := x0*y1 - x1*y0
		area += c / 2
		cx += c * (x0 + x1) / 6
		cy += c * (y0 + y1) / 6
	}
	if area == 0 {
		return 0, o
	}
	return area, Point{o[0] + cx/area, o[1] + cy/area}
}
