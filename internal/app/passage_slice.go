package app

import (
	"bytes"
	"fmt"
	"image"
	_ "image/gif"  // a picture of a slice may be a GIF
	_ "image/jpeg" // or a JPEG
	_ "image/png"  // or a PNG
	"math"
	"strconv"
	"strings"

	"runnel/internal/fault"
	"runnel/passage"
	"runnel/unit"
)

// A SliceAnswer is the section traced on one picture.
type SliceAnswer struct {
	File       string          `json:"file"`
	Area       float64         `json:"area_m2"`              // [m²]
	UArea      float64         `json:"u_area_rel"`           // its standard uncertainty, relative [-]
	Perimeter  float64         `json:"perimeter_m"`          // [m]
	UPerimeter float64         `json:"u_perimeter_rel"`      // relative [-]
	Hydraulic  float64         `json:"hydraulic_diameter_m"` // [m]
	Width      float64         `json:"width_m"`              // [m]
	Height     float64         `json:"height_m"`             // [m]
	Pixel      float64         `json:"pixel_m"`              // size of a pixel [m]
	Threshold  float64         `json:"threshold"`            // grey level of the outline [-]
	Parts      []PartAnswer    `json:"uncertainty"`
	Outline    []passage.Point `json:"outline_m"`
	Pixels     []passage.Point `json:"outline_pixels"`
	Others     []string        `json:"left_out"`
	Warnings   []string        `json:"warnings"`
	Section    passage.Section `json:"-"`
	Size       image.Point     `json:"-"`
	Scale      passage.Scale   `json:"-"`
}

// DPIDoubt is the standard uncertainty taken of the pitch of a flatbed scanner's pixels, relative [-]: common practice, no source.
const DPIDoubt = 0.002

// ParseScale reads the scale of a picture as it is typed: "600 dpi", "grid 5 mm", "bar 120,80 920,80 50 mm", or the size of a pixel
// "0.05 mm". u is the relative standard uncertainty of a pixel's size [-]; 0: 0.2 %.
func ParseScale(typed string, u float64) (passage.Scale, error) {
	typed = strings.TrimSpace(typed)
	if u == 0 {
		u = DPIDoubt
	}
	bad := func(what string) (passage.Scale, error) {
		return passage.Scale{}, fault.Errorf(fault.Invalid, `scale %q: %s: write "600 dpi", "grid 5 mm", "bar 120,80 920,80 50 mm" or the size of a pixel like "0.05 mm"`, typed, what)
	}
	if typed == "" {
		return passage.Scale{}, fault.Errorf(fault.Invalid, `%w: write --scale "600 dpi" for a flatbed scan, "grid 5 mm" for a printed grid, or "bar 120,80 920,80 50 mm" with both ends of a bar in pixels and its length`, passage.ErrNoScale)
	}
	low := strings.ToLower(typed)
	if text, ok := strings.CutSuffix(low, "dpi"); ok {
		dpi, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
		if err != nil || !(dpi >= 10 && dpi <= 20000) {
			return bad("that is no number of pixels an inch")
		}
		return passage.Scale{Pixel: unit.Inch / dpi, UPixel: u}, nil
	}
	if text, ok := strings.CutPrefix(low, "grid"); ok {
		pitch, err := unit.Length.Parse(strings.TrimSpace(text))
		if err != nil || !(pitch > 0) {
			return bad("the pitch of the grid is missing")
		}
		return passage.Scale{Grid: pitch}, nil
	}
	if text, ok := strings.CutPrefix(low, "bar"); ok {
		words := strings.Fields(text)
		if len(words) < 3 {
			return bad("a bar needs both its ends and its length")
		}
		a, okA := pixelAt(words[0])
		b, okB := pixelAt(words[1])
		length, err := unit.Length.Parse(strings.Join(words[2:], " "))
		if !okA || !okB || err != nil || !(length > 0) {
			return bad("a bar needs both its ends in pixels and its length")
		}
		return passage.Scale{Bar: [2]passage.Point{a, b}, Length: length}, nil
	}
	pixel, err := unit.Length.Parse(low)
	if err != nil || !(pixel > 0) {
		return bad("that is no scale")
	}
	if pixel > largestPixel {
		return bad("a pixel of that size would hold a whole runner")
	}
	return passage.Scale{Pixel: pixel, UPixel: u}, nil
}

// largestPixel is the size of a pixel beyond which a slice cannot be traced [m].
const largestPixel = 5e-3

func pixelAt(s string) (passage.Point, bool) {
	x, y, ok := strings.Cut(s, ",")
	if !ok {
		return passage.Point{}, false
	}
	a, err1 := strconv.ParseFloat(x, 64)
	b, err2 := strconv.ParseFloat(y, 64)
	return passage.Point{a, b}, err1 == nil && err2 == nil && !math.IsNaN(a+b) && !math.IsInf(a+b, 0)
}

// readPicture decodes a picture that is not too large.
func readPicture(name string, data []byte) (image.Image, error) {
	c, kind, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return nil, fault.Errorf(fault.Invalid, "%s is no picture that can be read: save it as PNG or JPEG", name)
	}
	if c.Width*c.Height > passage.MaxPixels {
		return nil, fault.Errorf(fault.Invalid, "%s has %d million pixels, more than %d million: scan it at a lower resolution", name, c.Width*c.Height/1e6, passage.MaxPixels/1_000_000)
	}
	img, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, fault.Errorf(fault.Invalid, "%s breaks off in the middle of its %s data: save it again", name, kind)
	}
	return img, nil
}

// TraceSlice traces the slice on a picture.
func TraceSlice(name string, data []byte, scale passage.Scale) (SliceAnswer, error) {
	img, err := readPicture(name, data)
	if err != nil {
		return SliceAnswer{}, err
	}
	s, err := passage.TraceSlice(img, scale)
	if err != nil {
		return SliceAnswer{}, fault.Errorf(fault.Invalid, "%s: %w", name, err)
	}
	a := sliceAnswer(name, s)
	a.Size, a.Scale = img.Bounds().Size(), scale
	return a, nil
}

// OutlinedSlice makes a section of an outline drawn by hand over a picture, with pixels of a size [m] and the relative standard
// uncertainty of that [-].
func OutlinedSlice(name string, outline []passage.Point, pixel, uPixel float64) (SliceAnswer, error) {
	const hand = 1.5 // how far off a point is drawn [pixels]: own judgement
	s, err := passage.SliceFromPixels(outline, pixel, uPixel, hand)
	if err != nil {
		return SliceAnswer{}, fault.Errorf(fault.Invalid, "%s: %w", name, err)
	}
	return sliceAnswer(name, s), nil
}

func sliceAnswer(name string, s passage.Slice) SliceAnswer {
	return SliceAnswer{
		File: name, Area: s.Area, UArea: s.UArea, Perimeter: s.Perimeter, UPerimeter: s.UPerimeter, Hydraulic: s.HydraulicDiameter(), Width: s.Width, Height: s.Height,
		Pixel: s.Pixel, Threshold: s.Threshold, Parts: parts(s.Parts), Outline: s.Outline, Pixels: s.Pixels, Others: orEmpty(s.Others), Warnings: orEmpty(s.Warnings), Section: s.Section,
	}
}

// StationSheet writes sections at places along the centreline [m] as typed stations, so that a ledger can be drawn up from them. It
// returns passage.ErrOrder, wrapped, when the places are not in order.
func StationSheet(at []float64, s []passage.Section, note string) (string, error) {
	var b strings.Builder
	if note != "" {
		b.WriteString("# " + note + "\n")
	}
	b.WriteString("s_mm,shape,area_mm2,perimeter_mm,width_mm,height_mm,u_area_percent\n")
	for i := range at {
		if i > 0 && !(at[i] > at[i-1]) {
			return "", fault.Errorf(fault.Invalid, "%w: %.6g mm comes after %.6g mm: give the places from the entry on, each once", passage.ErrOrder, 1e3*at[i], 1e3*at[i-1])
		}
		fmt.Fprintf(&b, "%.6g,area,%.7g,%.7g,%.6g,%.6g,%.3g\n", 1e3*at[i], 1e6*s[i].Area, 1e3*s[i].Perimeter, 1e3*s[i].Width, 1e3*s[i].Height, 100*s[i].U)
	}
	return b.String(), nil
}
