package passage

import "math"

// outlines returns the closed outlines round all that is lighter than a level, outer ones only, with the pixel as the unit. Outlines that
// run into the edge of the picture are closed along it.
//
// Corner values are those at pixel centres; the picture is taken to be darker than the level beyond its edge.
func (g *grey) outlines(level float64) []Loop {
	w, h := g.w+1, g.h+1 // cells between pixel centres, one more each side
	at := func(x, y int) float64 {
		if x < 0 || y < 0 || x >= g.w || y >= g.h {
			return level - 0.5
		}
		return float64(g.v[y*g.w+x]) - level
	}
	// Sides of cells: horizontal ones (0) from (x−1, y−1) to (x, y−1), vertical ones (1) from (x−1, y−1) to (x−1, y).
	seen := make([]bool, w*h)
	var out []Loop
	for y := range h - 1 {
		for x := range w - 1 {
			// Begin where the way goes from dark to light along a row: every outer outline has such a place.
			if seen[y*w+x] || at(x-1, y) >= 0 || at(x, y) < 0 {
				continue
			}
			if l, ok := followSquares(at, seen, x, y, w); ok {
				out = append(out, l)
			}
		}
	}
	return out
}

// followSquares follows an outline from the side between pixel (x−1, y), dark, and (x, y), light, keeping the light on the right hand in
// the sense of the picture.
func followSquares(at func(x, y int) float64, seen []bool, x, y, w int) (Loop, bool) {
	// A side is a light pixel and the way to its dark neighbour.
	type side struct {
		x, y int // light pixel
		d    int // 0 right, 1 down, 2 left, 3 up: where the dark one is
	}
	dx, dy := [4]int{1, 0, -1, 0}, [4]int{0, 1, 0, -1}
	start := side{x, y, 2}
	s := start
	var p []Point
	for {
		a, b := at(s.x, s.y), at(s.x+dx[s.d], s.y+dy[s.d])
		u := a / (a - b)
		p = append(p, Point{float64(s.x) + u*float64(dx[s.d]), float64(s.y) + u*float64(dy[s.d])})
		if s.d == 2 {
			seen[s.y*w+s.x] = true
		}
		// Look at the two pixels ahead, turning clockwise on the picture: along t.
		t := (s.d + 1) % 4
		ahead := at(s.x+dx[t], s.y+dy[t]) >= 0
		aside := at(s.x+dx[t]+dx[s.d], s.y+dy[t]+dy[s.d]) >= 0
		switch {
		case ahead && aside:
			s = side{s.x + dx[t] + dx[s.d], s.y + dy[t] + dy[s.d], (s.d + 3) % 4}
		case ahead:
			s = side{s.x + dx[t], s.y + dy[t], s.d}
		case aside && saddle(at, s.x, s.y, dx[t], dy[t], dx[s.d], dy[s.d]):
			s = side{s.x + dx[t] + dx[s.d], s.y + dy[t] + dy[s.d], (s.d + 3) % 4}
		default:
			s = side{s.x, s.y, t}
		}
		if s == start {
			break
		}
	}
	l := Loop{Points: p}
	l.Area, l.Centre = loopArea(p)
	for i, a := range p {
		b := p[(i+1)%len(p)]
		l.Perimeter += math.Hypot(b[0]-a[0], b[1]-a[1])
	}
	if len(p) < 3 || l.Area <= 0 {
		return l, false // the outline of a hole runs the other way
	}
	return l, true
}

// saddle reports whether the middle of four pixels, light and dark crosswise, is light.
func saddle(at func(x, y int) float64, x, y, tx, ty, dx, dy int) bool {
	return at(x, y)+at(x+tx, y+ty)+at(x+dx, y+dy)+at(x+tx+dx, y+ty+dy) >= 0
}
