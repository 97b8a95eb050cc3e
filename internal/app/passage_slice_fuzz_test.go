package app_test

import (
	"bytes"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"testing"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/passage"
)

// FuzzReadPicture holds the reader of pictures to its word: whatever the bytes, a slice with an area or an error that says what to do.
func FuzzReadPicture(f *testing.F) {
	img := image.NewPaletted(image.Rect(0, 0, 24, 24), color.Palette{color.Gray{Y: 230}, color.Gray{Y: 40}})
	for y := 8; y < 16; y++ {
		for x := 8; x < 16; x++ {
			img.SetColorIndex(x, y, 1)
		}
	}
	var g, j bytes.Buffer
	if err := gif.Encode(&g, img, nil); err != nil {
		f.Fatal(err)
	}
	if err := jpeg.Encode(&j, img, nil); err != nil {
		f.Fatal(err)
	}
	f.Add(g.Bytes())
	f.Add(j.Bytes())
	f.Add(j.Bytes()[:j.Len()/2])
	f.Fuzz(func(t *testing.T, data []byte) {
		if c, _, err := image.DecodeConfig(bytes.NewReader(data)); len(data) > 1<<14 || err == nil && c.Width*c.Height > 1<<18 {
			return // a head alone may name a large picture, which takes its time and teaches nothing
		}
		s, err := app.TraceSlice("p", data, passage.Scale{Pixel: 1e-4})
		if err != nil {
			if fault.KindOf(err) != fault.Invalid {
				t.Errorf("%v", err)
			}
			return
		}
		if !(s.Area > 0) || !(s.Perimeter > 0) || len(s.Pixels) < 3 {
			t.Errorf("area %g, perimeter %g, %d points", s.Area, s.Perimeter, len(s.Pixels))
		}
	})
}
