package passage

import (
	"fmt"
	"image"
	"math"
)

const lineShare = 0.12 // width of a grid line over the pitch, at most [-]

// grey is a picture in grey levels, 0 black to 1 white.
type grey struct {
	w, h int
	v    []float32
}

func newGrey(img image.Image) (*grey, error) {
	if img == nil {
		return nil, fmt.Errorf("%w: there is no picture", ErrPicture)
	}
	b := img.Bounds()
	w, h := b.Dx(), b.Dy()
	if w < 16 || h < 16 {
		return nil, fmt.Errorf("%w: it has %d by %d pixels", ErrPicture, w, h)
	}
	if w > MaxPixels/h {
		return nil, fmt.Errorf("%w: it has %d by %d pixels, at most %d million are read: make it smaller", ErrPicture, w, h, MaxPixels/1_000_000)
	}
	g := &grey{w: w, h: h, v: make([]float32, w*h)}
	switch p := img.(type) {
	case *image.Gray:
		for y := range h {
			row := p.Pix[(y+b.Min.Y-p.Rect.Min.Y)*p.Stride+b.Min.X-p.Rect.Min.X:]
			for x := range w {
				g.v[y*w+x] = float32(row[x]) / 255
			}
		}
	case *image.YCbCr:
		for y := range h {
			for x := range w {
				g.v[y*w+x] = float32(p.Y[p.YOffset(x+b.Min.X, y+b.Min.Y)]) / 255
			}
		}
	default:
		for y := range h {
			for x := range w {
				r, gr, bl, _ := img.At(x+b.Min.X, y+b.Min.Y).RGBA()
				g.v[y*w+x] = (0.299*float32(r) + 0.587*float32(gr) + 0.114*float32(bl)) / 65535 // luma of ITU-R BT.601
			}
		}
	}
	return g, nil
}

// blur smooths by the weights 1 2 1 both ways, which takes the noise of single pixels off and shifts no straight edge.
func (g *grey) blur() {
	row := make([]float32, max(g.w, g.h))
	line := func(n int, at func(int) *float32) {
		for i := range n {
			a, b, c := at(max(i-1, 0)), at(i), at(min(i+1, n-1))
			row[i] = (*a + 2**b + *c) / 4
		}
		for i := range n {
			*at(i) = row[i]
		}
	}
	for y := range g.h {
		line(g.w, func(x int) *float32 { return &g.v[y*g.w+x] })
	}
	for x := range g.w {
		line(g.h, func(y int) *float32 { return &g.v[y*g.w+x] })
	}
}

func (g *grey) invert() {
	for i, v := range g.v {
		g.v[i] = 1 - v
	}
}

// otsu returns the threshold that parts the grey levels best, the mean levels below and above it, and the share of the scatter that the
// parting explains [-].
func (g *grey) otsu() (level, dark, light, part float64) {
	const bins = 512
	var n [bins]float64
	for _, v := range g.v {
		n[min(int(v*bins), bins-1)]++
	}
	total, sum, square := 0.0, 0.0, 0.0
	for i, c := range n {
		x := (float64(i) + 0.5) / bins
		total += c
		sum += c * x
		square += c * x * x
	}
	scatter := square/total - sq(sum/total)
	if scatter <= 1e-12 {
		return 0.5, sum / total, sum / total, 0
	}
	best, first, last := 0.0, 0, 0
	below, belowSum := 0.0, 0.0
	for i := range bins - 1 {
		below += n[i]
		belowSum += n[i] * (float64(i) + 0.5) / bins
		if below == 0 || below == total {
			continue
		}
		d := belowSum/below - (sum-belowSum)/(total-below)
		switch b := below * (total - below) / total / total * d * d; {
		case b > best*(1+1e-12):
			best, first, last = b, i, i
			dark, light = belowSum/below, (sum-belowSum)/(total-below)
		case b >= best*(1-1e-12):
			last = i // an empty stretch parts alike all along: its middle is taken
		}
	}
	// The edge of a thing is half the way between both levels, wherever the counts would put it within the gap.
	level = (float64(first+last)/2 + 1) / bins
	if mid := (dark + light) / 2; last > first || math.Abs(mid-level) < 0.25*(light-dark) {
		level = mid
	}
	return level, dark, light, best / scatter
}

// edgeShare returns the share of the pixels along the edge of the picture that are lighter than a level [-]; five frames are looked at,
// up to a twentieth of the picture inside, as a line of a grid may run along one of them.
func (g *grey) edgeShare(level float64) float64 {
	light, all := 0, 0
	look := func(x, y int) {
		all++
		if float64(g.v[y*g.w+x]) > level {
			light++
		}
	}
	for k := range 5 {
		in := k * min(g.w, g.h) / 97
		for x := in; x < g.w-in; x++ {
			look(x, in)
			look(x, g.h-1-in)
		}
		for y := in; y < g.h-in; y++ {
			look(in, y)
			look(g.w-1-in, y)
		}
	}
	return float64(light) / float64(all)
}

// closeLines takes dark lines up to k pixels wide off a light ground, or light lines off a dark one: the ground is what is most along the
// edge of the picture.
func (g *grey) closeLines(k int) {
	if k < 1 {
		return
	}
	level, _, _, _ := g.otsu()
	light := g.edgeShare(level) > 0.5
	g.extreme(k, light)
	g.extreme(k, !light)
}

// extreme replaces every pixel by the largest, or the least, within k pixels each way, in time that does not grow with k.
// Source: van Herk, Pattern Recognit. Lett. 13 (1992) 517.
func (g *grey) extreme(k int, largest bool) {
	pick := func(a, b float32) float32 { return min(a, b) }
	if largest {
		pick = func(a, b float32) float32 { return max(a, b) }
	}
	n := max(g.w, g.h)
	win := 2*k + 1
	in, left, right := make([]float32, n+4*k+win), make([]float32, n+4*k+win), make([]float32, n+4*k+win)
	line := func(n int, at func(int) *float32) {
		m := n + 2*k
		for i := range m {
			in[i] = *at(min(max(i-k, 0), n-1))
		}
		for i := range m {
			left[i] = in[i]
			if i%win != 0 {
				left[i] = pick(left[i-1], in[i])
			}
		}
		for i := m - 1; i >= 0; i-- {
			right[i] = in[i]
			if (i+1)%win != 0 && i+1 < m {
				right[i] = pick(right[i+1], in[i])
			}
		}
		for i := range n {
			*at(i) = pick(right[i], left[i+2*k])
		}
	}
	for y := range g.h {
		line(g.w, func(x int) *float32 { return &g.v[y*g.w+x] })
	}
	for x := range g.w {
		line(g.h, func(y int) *float32 { return &g.v[y*g.w+x] })
	}
}
