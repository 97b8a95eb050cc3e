package passage_test

import (
	"errors"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"runnel/passage"
)

// drawn is a picture of a thing given by a signed distance to its outline [pixels], below zero inside, with soft edges a pixel wide,
// grain, and optionally a grid.
type drawn struct {
	w, h         int
	thing        func(x, y float64) float64
	slice, base  float64 // grey levels
	grain        float64
	pitch, slant float64 // of a grid, 0: none
}

func (d drawn) image() *image.Gray {
	rng := rand.New(rand.NewPCG(5, 9))
	img := image.NewGray(image.Rect(0, 0, d.w, d.h))
	sin, cos := math.Sincos(d.slant)
	for y := range d.h {
		for x := range d.w {
			v := d.base
			if d.pitch > 0 {
				u, w := float64(x)*cos+float64(y)*sin, -float64(x)*sin+float64(y)*cos
				line := func(c float64) float64 { return math.Abs(math.Remainder(c, d.pitch)) }
				if near := min(line(u), line(w)); near < 2 {
					v -= 0.5 * min(1, 2-near) * math.Copysign(1, d.base-0.5)
				}
			}
			s := d.thing(float64(x), float64(y))
			in := min(max(0.5-s, 0), 1)
			v = v*(1-in) + d.slice*in + d.grain*rng.NormFloat64()
			img.SetGray(x, y, color.Gray{Y: uint8(255*min(max(v, 0), 1) + 0.5)})
		}
	}
	return img
}

func disc(cx, cy, r float64) func(x, y float64) float64 {
	return func(x, y float64) float64 { return math.Hypot(x-cx, y-cy) - r }
}

func union(a, b func(x, y float64) float64) func(x, y float64) float64 {
	return func(x, y float64) float64 { return min(a(x, y), b(x, y)) }
}

// A drawn disc of known size: area π·r² within 0.2 % and inside its stated uncertainty at two standard uncertainties, perimeter within
// 0.6 %, either shade, with grain and with specks of dirt.
func TestTraceDisc(t *testing.T) {
	const r, pixel = 150.3, 0.0001
	bar := passage.Scale{Bar: [2]passage.Point{{20, 30}, {420, 30}}, Length: 400 * pixel}
	for name, d := range map[string]drawn{
		"dark on light": {500, 460, disc(240.4, 230.7, r), 0.15, 0.85, 0, 0, 0},
		"light on dark": {500, 460, disc(240.4, 230.7, r), 0.8, 0.2, 0, 0, 0},
		"grain":         {500, 460, disc(240.4, 230.7, r), 0.25, 0.75, 0.05, 0, 0},
		"a speck":       {500, 460, union(disc(240.4, 230.7, r), disc(40, 400, 9)), 0.15, 0.85, 0.02, 0, 0},
		"weak":          {500, 460, disc(240.4, 230.7, r), 0.45, 0.7, 0.02, 0, 0},
	} {
		got, err := passage.TraceSlice(d.image(), bar)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		want := math.Pi * r * r * pixel * pixel
		near(t, name+": area", got.Area/want, 1, 0.002)
		near(t, name+": perimeter", got.Perimeter/(2*math.Pi*r*pixel), 1, 0.006)
		if off := math.Abs(got.Area/want - 1); off > 2*got.UArea {
			t.Errorf("%s: area is off by %g, uncertainty %g", name, off, got.UArea)
		}
		near(t, name+": width", got.Width, 2*r*pixel, 2*pixel)
	}
}

// An outline that is no circle: a rectangle with rounded corners, area and perimeter in closed form; grain must not lengthen it.
func TestTraceRectangle(t *testing.T) {
	const w, h, r, pixel = 320.0, 200.0, 40.0, 0.00012
	box := func(x, y float64) float64 {
		dx, dy := math.Abs(x-260)-w/2+r, math.Abs(y-200)-h/2+r
		return math.Hypot(max(dx, 0), max(dy, 0)) + min(max(dx, dy), 0) - r
	}
	got, err := passage.TraceSlice(drawn{520, 400, box, 0.1, 0.9, 0.04, 0, 0}.image(), passage.Scale{Pixel: pixel, UPixel: 0.001})
	if err != nil {
		t.Fatal(err)
	}
	want, err := passage.Rectangle(w*pixel, h*pixel, r*pixel)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "area", got.Area/want.Area, 1, 0.002)
	near(t, "perimeter", got.Perimeter/want.Perimeter, 1, 0.01)
	if got.UArea < 0.002 {
		t.Errorf("uncertainty %g is below that of the scale", got.UArea)
	}
}

// A slice on a printed grid of known pitch, straight and turned by 3°: the pitch is found within 0.2 %, the lines do not join the outline.
func TestTraceOnGrid(t *testing.T) {
	for _, slant := range []float64{0, 0.052} {
		d := drawn{900, 700, disc(450.2, 350.1, 180.5), 0.12, 0.9, 0.02, 52.4, slant}
		got, err := passage.TraceSlice(d.image(), passage.Scale{Grid: 0.005})
		if err != nil {
			t.Errorf("slant %g: %v", slant, err)
			continue
		}
		near(t, "pixel", got.Pixel/(0.005/52.4), 1, 0.002)
		want := math.Pi * 180.5 * 180.5 * (0.005 / 52.4) * (0.005 / 52.4)
		near(t, "area", got.Area/want, 1, 0.006)
		if off := math.Abs(got.Area/want - 1); off > 2.5*got.UArea {
			t.Errorf("slant %g: area is off by %g, uncertainty %g", slant, off, got.UArea)
		}
	}
}

// What cannot be traced is refused with what to do.
func TestTraceRefuses(t *testing.T) {
	good := drawn{300, 300, disc(150, 150, 80), 0.1, 0.9, 0, 0, 0}
	flat := drawn{300, 300, disc(150, 150, 80), 0.50, 0.52, 0.02, 0, 0}
	cut := drawn{300, 300, disc(20, 150, 80), 0.1, 0.9, 0, 0, 0}
	px := passage.Scale{Pixel: 1e-4}
	for name, tt := range map[string]struct {
		img   image.Image
		scale passage.Scale
		want  error
		says  string
	}{
		"no scale":  {good.image(), passage.Scale{}, passage.ErrNoScale, "scale bar"},
		"short bar": {good.image(), passage.Scale{Bar: [2]passage.Point{{1, 1}, {3, 1}}, Length: 0.01}, passage.ErrNoScale, "whole bar"},
		"no grid":   {good.image(), passage.Scale{Grid: 0.005}, passage.ErrNoScale, "no regular grid"},
		"too alike": {flat.image(), px, passage.ErrContrast, "other shade"},
		"cut off":   {cut.image(), px, passage.ErrPicture, "edge of the picture"},
		"nothing":   {nil, px, passage.ErrPicture, "no picture"},
		"tiny":      {image.NewGray(image.Rect(0, 0, 4, 4)), px, passage.ErrPicture, "4 by 4"},
		"black":     {image.NewGray(image.Rect(0, 0, 100, 100)), px, passage.ErrContrast, ""},
		"huge":      {&hugeImage{}, px, passage.ErrPicture, "make it smaller"},
	} {
		if _, err := passage.TraceSlice(tt.img, tt.scale); !errors.Is(err, tt.want) || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

type hugeImage struct{ image.Gray }

func (hugeImage) Bounds() image.Rectangle { return image.Rect(0, 0, 1<<20, 1<<20) }

// A dragged outline: a square of 100 pixels of 0.2 mm; a crossing one is refused.
func TestSliceFromPixels(t *testing.T) {
	got, err := passage.SliceFromPixels([]passage.Point{{0, 0}, {100, 0}, {100, 100}, {0, 100}}, 2e-4, 0.002, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "area", got.Area, 4e-4, 1e-15)
	near(t, "perimeter", got.Perimeter, 0.08, 1e-15)
	// Scale 2 × 0.2 %; four points off by 0.5 pixel each: 0.5·400/√4/10⁴ = 1 %.
	near(t, "uncertainty", got.UArea, math.Hypot(0.004, 0.01), 1e-12)
	if _, err := passage.SliceFromPixels([]passage.Point{{0, 0}, {100, 100}, {100, 0}, {0, 100}}, 2e-4, 0, 0); !errors.Is(err, passage.ErrShape) {
		t.Errorf("crossing: %v", err)
	}
	if _, err := passage.SliceFromPixels(nil, 0, 0, 0); !errors.Is(err, passage.ErrNoScale) {
		t.Errorf("no scale: %v", err)
	}
}

// Whatever the pixels, no panic, and a section that is one.
func FuzzTraceSlice(f *testing.F) {
	f.Add([]byte{0, 255, 0, 255, 128}, uint8(20))
	small := drawn{24, 24, disc(12, 12, 7), 0.1, 0.9, 0, 0, 0}.image()
	f.Add(small.Pix, uint8(24))
	f.Fuzz(func(t *testing.T, pix []byte, width uint8) {
		if len(pix) > 1<<14 {
			return // what goes wrong goes wrong on small pictures too, and a thousand times as often in the same time
		}
		w := max(int(width), 1)
		h := len(pix) / w
		img := image.NewGray(image.Rect(0, 0, w, h))
		copy(img.Pix, pix)
		for _, scale := range []passage.Scale{{Pixel: 1e-4}, {Grid: 0.005}} {
			got, err := passage.TraceSlice(img, scale)
			if err == nil && !(got.Area > 0 && got.Perimeter > 0 && got.UArea > 0) {
				t.Errorf("%+v", got)
			}
		}
	})
}
