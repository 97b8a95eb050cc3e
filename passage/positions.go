package passage

import (
	"fmt"
	"math"
)

// TchebycheffRound returns the probe positions of a log-Tchebycheff traverse of a round section of diameter d [m]: perRadius points, 3 to
// 5, on each radius of the given number of diameters. The plain mean of the velocities there is the mean over the section.
// It returns ErrTraverse, wrapped. Source: ISO 3966, log-Tchebycheff method for round ducts; radii from memory, proven here on power-law
// profiles only.
func TchebycheffRound(d float64, perRadius, diameters int) ([]Point, error) {
	radii := map[int][]float64{
		3: {0.3754, 0.7252, 0.9358},
		4: {0.3314, 0.6124, 0.8000, 0.9524},
		5: {0.2866, 0.5700, 0.6892, 0.8472, 0.9622},
	}[perRadius]
	if radii == nil || diameters < 1 || diameters > 12 || !goodLength(d) {
		return nil, fmt.Errorf("%w: %d points a radius on %d diameters of %g m: 3, 4 or 5 points, 1 to 12 diameters", ErrTraverse, perRadius, diameters, d)
	}
	var out []Point
	for i := range 2 * diameters {
		sin, cos := math.Sincos(math.Pi * float64(i) / float64(diameters))
		for _, r := range radii {
			out = append(out, Point{r * d / 2 * cos, r * d / 2 * sin})
		}
	}
	return out, nil
}

// TchebycheffRectangle returns the probe positions of a log-Tchebycheff traverse of a rectangle of width w and height h [m] about its
// middle: nx by ny points, each 5, 6 or 7. The plain mean of the velocities there is the mean over the section.
// It returns ErrTraverse, wrapped. Source: ISO 3966, log-Tchebycheff method for rectangular ducts; places from memory, proven here on
// power-law profiles only.
func TchebycheffRectangle(w, h float64, nx, ny int) ([]Point, error) {
	place := func(n int) []float64 {
		return map[int][]float64{
			5: {0.074, 0.288, 0.5, 0.712, 0.926},
			6: {0.061, 0.235, 0.437, 0.563, 0.765, 0.939},
			7: {0.053, 0.203, 0.366, 0.5, 0.634, 0.797, 0.947},
		}[n]
	}
	x, y := place(nx), place(ny)
	if x == nil || y == nil || !goodLength(w) || !goodLength(h) {
		return nil, fmt.Errorf("%w: %d by %d points in %g by %g m: 5, 6 or 7 points each way", ErrTraverse, nx, ny, w, h)
	}
	var out []Point
	for _, v := range y {
		for _, u := range x {
			out = append(out, Point{(u - 0.5) * w, (v - 0.5) * h})
		}
	}
	return out, nil
}
