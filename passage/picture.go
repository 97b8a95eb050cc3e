package passage

import (
	"errors"
	"fmt"
	"image"
	"math"
)

// Reasons why a slice cannot be traced on a picture.
var (
	ErrNoScale  = errors.New("picture has no scale")
	ErrPicture  = errors.New("no slice is found on the picture")
	ErrContrast = errors.New("slice and ground are too alike")
)

// MaxPixels is the number of pixels a picture may have [-].
const MaxPixels = 64_000_000

// A Scale says how large a pixel is, one of three ways.
type Scale struct {
	Pixel  float64  // size of a pixel [m], where it is known, as from a flatbed scanner
	UPixel float64  // its standard uncertainty, relative [-]
	Bar    [2]Point // ends of the scale bar on the picture [pixels], where a bar is used
	Length float64  // length of the bar [m]
	Grid   float64  // pitch of the grid printed on the ground [m], found on the picture, where a grid is used
}

// A Slice is the section traced on a picture.
type Slice struct {
	Section

	Pixels     []Point  // the outline on the picture [pixels], for drawing over it and dragging
	Pixel      float64  // size of a pixel [m]
	Threshold  float64  // grey level of the outline, 0 black to 1 white [-]
	UArea      float64  // standard uncertainty of the area, relative [-]; the same as Section.U
	UPerimeter float64  // standard uncertainty of the perimeter, relative [-]
	Parts      []Part   // where UArea comes from, each relative to the area
	Others     []string // other things on the picture that were left out, with size and place
	Warnings   []string
}

const (
	speck      = 0.02 // area over that of the largest outline below which a thing is a speck [-]
	bandShare  = 0.15 // how far the threshold may be off, over the step from slice to ground [-]
	barEnd     = 0.7  // standard uncertainty of where a bar ends [pixels]
	mostPoints = 720  // points of an outline [-]
)

// TraceSlice traces the outline of a cut mould slice on a contrasting ground. The threshold between both is Otsu's; the outline runs
// between pixels by straight interpolation (marching squares); the ground is what touches the edge of the picture most. Lines of a
// printed grid are taken out first, being thin. The largest thing on the picture is the slice; the others are reported.
//
// The uncertainty has three parts: the scale, the threshold (the outline traced again a little higher and lower) and the pixels.
//
// It returns ErrNoScale, ErrContrast or ErrPicture, wrapped, with what to do. Source: Otsu, IEEE Trans. SMC 9 (1979) 62; Lorensen
// and Cline's marching cubes in the plane.
func TraceSlice(img image.Image, scale Scale) (Slice, error) {
	g, err := newGrey(img)
	if err != nil {
		return Slice{}, err
	}
	var out Slice
	uScale, err := out.measure(g, scale)
	if err != nil {
		return Slice{}, err
	}
	if scale.Grid > 0 {
		g.closeLines(int(math.Ceil(lineShare * scale.Grid / out.Pixel)))
	}
	g.blur()
	level, dark, light, part := g.otsu()
	out.Threshold = level
	if light-dark < 0.08 || part < 0.6 {
		return Slice{}, fmt.Errorf("%w: grey levels are about %.2f and %.2f of 1: put the slice on a ground of the other shade and light it evenly", ErrContrast, dark, light)
	}
	if g.edgeShare(level) > 0.5 {
		g.invert() // the ground is the lighter: now the slice is
		level, dark, light = 1-level, 1-light, 1-dark
	}
	best, err := out.largest(g, level)
	if err != nil {
		return Slice{}, err
	}
	if err := out.build(best, out.Pixel); err != nil {
		return Slice{}, err
	}
	out.doubt(g, level, light-dark, uScale, best)
	return out, nil
}

// SliceFromPixels makes a section of an outline on a picture that was drawn or dragged by hand [pixels], with pixels of a size [m] and
// relative standard uncertainty uPixel [-] of it; hand is the standard uncertainty of one point [pixels]. It returns what FromOutline
// returns.
func SliceFromPixels(outline []Point, pixel, uPixel, hand float64) (Slice, error) {
	if !goodLength(pixel) {
		return Slice{}, fmt.Errorf("%w: a pixel of %g m: draw along the bar and type its length", ErrNoScale, pixel)
	}
	var out Slice
	out.Pixel = pixel
	if err := out.build(outline, pixel); err != nil {
		return Slice{}, err
	}
	n := float64(len(outline))
	// Each point drawn off by a moves the area by a·P/n; the errors of n points add by squares.
	points := hand * pixel * out.Perimeter / math.Sqrt(n) / out.Area
	out.Parts = []Part{{"scale", 2 * uPixel}, {"points drawn by hand", points}}
	out.UArea = math.Hypot(2*uPixel, points)
	out.UPerimeter = math.Hypot(uPixel, hand*pixel*math.Sqrt(2*n)/out.Perimeter)
	out.U = out.UArea
	return out, nil
}

// build fills the section from an outline on the picture.
func (s *Slice) build(outline []Point, pixel float64) error {
	p := make([]Point, len(outline))
	for i, q := range outline {
		p[i] = Point{q[0] * pixel, -q[1] * pixel} // rows of a picture count downward
	}
	sec, err := FromOutline(p)
	if err != nil {
		return fmt.Errorf("%w: %w", ErrPicture, err)
	}
	s.Section = sec
	s.Pixels = outline
	return nil
}

// measure finds the size of a pixel and its relative standard uncertainty.
func (s *Slice) measure(g *grey, scale Scale) (float64, error) {
	switch {
	case scale.Pixel > 0:
		if !goodLength(scale.Pixel) || !(scale.UPixel >= 0) {
			return 0, fmt.Errorf("%w: a pixel of %g m ± %g", ErrNoScale, scale.Pixel, scale.UPixel)
		}
		s.Pixel = scale.Pixel
		return scale.UPixel, nil
	case scale.Length > 0:
		long := math.Hypot(scale.Bar[0][0]-scale.Bar[1][0], scale.Bar[0][1]-scale.Bar[1][1])
		if !(long >= 10) || !goodLength(scale.Length) {
			return 0, fmt.Errorf("%w: a bar of %.1f pixels and %g m: draw along the whole bar", ErrNoScale, long, scale.Length)
		}
		s.Pixel = scale.Length / long
		return math.Sqrt2 * barEnd / long, nil
	case scale.Grid > 0:
		pitch, u, ok := g.gridPitch()
		if !ok || !goodLength(scale.Grid) {
			return 0, fmt.Errorf("%w: no regular grid is seen on the ground: draw along a known length instead", ErrNoScale)
		}
		s.Pixel = scale.Grid / pitch
		return u, nil
	}
	return 0, fmt.Errorf("%w: draw along the scale bar and type its length, or give the pitch of the grid", ErrNoScale)
}

// largest returns the outline of the largest thing and reports the others.
func (s *Slice) largest(g *grey, level float64) ([]Point, error) {
	loops := g.outlines(level)
	best, second := -1, -1
	for i, l := range loops {
		switch a := l.Area; {
		case best < 0 || a > loops[best].Area:
			best, second = i, best
		case second < 0 || a > loops[second].Area:
			second = i
		}
	}
	if best < 0 || loops[best].Area < 100 {
		return nil, fmt.Errorf("%w: nothing larger than a few pixels stands out from the ground", ErrPicture)
	}
	l := loops[best]
	for _, p := range l.Points {
		if p[0] <= 1 || p[1] <= 1 || p[0] >= float64(g.w)-2 || p[1] >= float64(g.h)-2 {
			return nil, fmt.Errorf("%w: the largest thing is cut off by the edge of the picture at %.0f, %.0f: photograph all of it, with ground all round", ErrPicture, p[0], p[1])
		}
	}
	if second >= 0 && loops[second].Area > 0.7*l.Area {
		s.Warnings = append(s.Warnings, fmt.Sprintf("two things of nearly the same size are on the picture; the one round %.0f, %.0f was traced, not that round %.0f, %.0f", l.Centre[0], l.Centre[1], loops[second].Centre[0], loops[second].Centre[1]))
	}
	for i, o := range loops {
		const told = 20
		if i != best && o.Area > speck*l.Area && len(s.Others) < told {
			s.Others = append(s.Others, fmt.Sprintf("%.3g mm² round %.0f, %.0f", 1e6*o.Area*s.Pixel*s.Pixel, o.Centre[0], o.Centre[1]))
		}
	}
	return thinned(l.Points), nil
}

// doubt fills the uncertainties: outline is traced again with the threshold up and down by a share of the step.
func (s *Slice) doubt(g *grey, level, step, uScale float64, outline []Point) {
	area, _ := loopArea(outline)
	area = math.Abs(area)
	long := s.Perimeter / s.Pixel
	var a, p [2]float64
	for i, sign := range [2]float64{1, -1} {
		l, ok := nearestLoop(g.outlines(level+sign*bandShare*step), outline)
		if !ok {
			a[i], p[i] = area, long
			s.Warnings = append(s.Warnings, "the outline is lost when the threshold moves a little: light the slice more evenly")
			continue
		}
		a[i], p[i] = l.Area, l.Perimeter
	}
	threshold := math.Abs(a[0]-a[1]) / area / sqrt12
	pixels := math.Sqrt(long) / sqrt12 / area // every pixel along the outline off by an even spread of one
	s.Parts = []Part{{"scale", 2 * uScale}, {"threshold", threshold}, {"pixels", pixels}}
	for _, part := range s.Parts {
		s.UArea = math.Hypot(s.UArea, part.U)
	}
	s.U = s.UArea
	// The jagged path of pixels is smoothed by the interpolation; what is left of it was found below 0.5 % on drawn shapes.
	s.UPerimeter = math.Hypot(math.Hypot(uScale, math.Abs(p[0]-p[1])/long/sqrt12), 0.005/math.Sqrt(3))
}

// nearestLoop returns the loop about the same middle and of the most alike area.
func nearestLoop(loops []Loop, like []Point) (Loop, bool) {
	area, c := loopArea(like)
	area = math.Abs(area)
	best, ok := Loop{}, false
	for _, l := range loops {
		near := math.Hypot(l.Centre[0]-c[0], l.Centre[1]-c[1]) < 0.2*math.Sqrt(area)
		if near && math.Abs(l.Area-area) < 0.3*area && (!ok || math.Abs(l.Area-area) < math.Abs(best.Area-area)) {
			best, ok = l, true
		}
	}
	return best, ok
}

// thinned returns at most mostPoints points of an outline, none of the way between two of them far from straight: points are taken at
// equal steps along it.
func thinned(p []Point) []Point {
	if len(p) <= mostPoints {
		return p
	}
	total := 0.0
	for i, a := range p {
		b := p[(i+1)%len(p)]
		total += math.Hypot(b[0]-a[0], b[1]-a[1])
	}
	step := total / mostPoints
	out := make([]Point, 0, mostPoints)
	next, gone := 0.0, 0.0
	for i, a := range p {
		b := p[(i+1)%len(p)]
		d := math.Hypot(b[0]-a[0], b[1]-a[1])
		for next <= gone+d && len(out) < mostPoints && d > 0 {
			u := (next - gone) / d
			out = append(out, Point{a[0] + u*(b[0]-a[0]), a[1] + u*(b[1]-a[1])})
			next += step
		}
		gone += d
	}
	return out
}
