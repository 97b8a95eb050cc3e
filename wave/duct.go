package wave

import (
	"errors"
	"fmt"
	"math"
	"sort"
)

// ErrDuct reports a duct whose description cannot be used.
var ErrDuct = errors.New("duct unusable")

// Length of the outer gas that swings with an open end, per radius [-].
const (
	unflanged = 0.6133 // Levine & Schwinger, Phys. Rev. 73 (1948) 383, from memory
	flanged   = 0.8217 // Norris & Sheng, J. Sound Vib. 135 (1989) 85, from memory
)

// EndCorrectionUnflanged returns the end correction [m] of an open pipe of
// radius r [m] that stands free: 0.6133·r, for long waves (ka ≪ 1).
// Source: Levine & Schwinger, Phys. Rev. 73 (1948) 383 (from memory).
func EndCorrectionUnflanged(r float64) float64 { return unflanged * r }

// EndCorrectionFlanged returns the end correction [m] of an open pipe of radius
// r [m] that ends in a wall: 0.8217·r, for long waves (ka ≪ 1).
// Source: Norris & Sheng, J. Sound Vib. 135 (1989) 85 (from memory).
func EndCorrectionFlanged(r float64) float64 { return flanged * r }

// A Duct describes one pipe from x = 0 (its left end) to x = Length (its right end).
type Duct struct {
	Name   string
	Length float64                 // [m], > 0
	Area   func(x float64) float64 // flow area [m²] at x [m], > 0

	Cells int     // number of cells [-]; 0 takes it from Mesh
	Mesh  float64 // wanted cell length [m], used when Cells is 0

	// ExtendLeft and ExtendRight lengthen the duct beyond its ends at constant
	// area: the end corrections of open ends.
	ExtendLeft  float64 // [m], ≥ 0
	ExtendRight float64 // [m], ≥ 0

	Diameter func(x float64) float64 // hydraulic diameter [m] at x [m]; nil: that of a circle of the same area
	Friction Friction                // wall friction; nil: none
	Wall     *Wall                   // wall heat; nil: adiabatic
	Losses   []Loss                  // extra losses spread along the duct
}

// A Loss is a loss coefficient spread evenly over a stretch of a duct. It adds
// K·½ρu² of total-pressure loss, with the local velocity head.
type Loss struct {
	From float64 // start of the stretch [m]
	To   float64 // end of the stretch [m], > From
	K    float64 // loss coefficient of the whole stretch [-], ≥ 0
}

// Uniform returns the area function of a straight duct of area a [m²].
func Uniform(a float64) func(x float64) float64 {
	return func(float64) float64 { return a }
}

// Round returns the area function of a straight round duct of diameter d [m].
func Round(d float64) func(x float64) float64 { return Uniform(math.Pi / 4 * d * d) }

// Taper returns the area function [m²] of a round duct whose diameter [m] runs
// straight from d0 at x = 0 to d1 at x = length [m].
func Taper(d0, d1, length float64) func(x float64) float64 {
	return func(x float64) float64 {
		d := d0 + (d1-d0)*min(max(x/length, 0), 1)
		return math.Pi / 4 * d * d
	}
}

// A Station is a measured section of a duct.
type Station struct {
	X    float64 // distance from the left end [m]
	Area float64 // flow area [m²]
}

// Stations returns the area function through measured sections: between two of
// them the square root of the area (the mean width) runs straight, beyond the
// first and last it is constant. It panics when there is none.
func Stations(s []Station) func(x float64) float64 {
	if len(s) == 0 {
		panic("wave: no stations")
	}
	s = append([]Station(nil), s...)
	sort.SliceStable(s, func(i, j int) bool { return s[i].X < s[j].X })
	return func(x float64) float64 {
		i := sort.Search(len(s), func(i int) bool { return s[i].X > x })
		if i == 0 {
			return s[0].Area
		}
		if i == len(s) {
			return s[i-1].Area
		}
		a, b := s[i-1], s[i]
		f := (x - a.X) / (b.X - a.X)
		w := (1-f)*math.Sqrt(a.Area) + f*math.Sqrt(b.Area)
		return w * w
	}
}

// cells returns the number of cells the duct asks for.
func (d *Duct) cells() int {
	if d.Cells > 0 {
		return d.Cells
	}
	return max(minCells, int(math.Ceil(d.total()/d.Mesh-1e-9)))
}

// minCells is the least number of cells of a pipe: slopes need neighbours.
const minCells = 3

// total returns the length with the end corrections [m].
func (d *Duct) total() float64 { return d.Length + d.ExtendLeft + d.ExtendRight }

// check returns what is wrong with the description.
func (d *Duct) check() error {
	switch {
	case !(d.Length > 0) || math.IsInf(d.Length, 0):
		return fmt.Errorf("%w: %q: length %g m, want > 0", ErrDuct, d.Name, d.Length)
	case d.Area == nil:
		return fmt.Errorf("%w: %q: no area", ErrDuct, d.Name)
	case d.Cells < 0 || d.Cells > 0 && d.Cells < minCells:
		return fmt.Errorf("%w: %q: %d cells, want at least %d", ErrDuct, d.Name, d.Cells, minCells)
	case d.Cells == 0 && !(d.Mesh > 0):
		return fmt.Errorf("%w: %q: neither cells nor mesh given", ErrDuct, d.Name)
	case !(d.ExtendLeft >= 0) || !(d.ExtendRight >= 0):
		return fmt.Errorf("%w: %q: negative extension", ErrDuct, d.Name)
	}
	for _, l := range d.Losses {
		if !(l.To > l.From) || !(l.K >= 0) || math.IsInf(l.K, 0) {
			return fmt.Errorf("%w: %q: loss K %g from %g m to %g m", ErrDuct, d.Name, l.K, l.From, l.To)
		}
	}
	n := d.cells()
	for i := range 2*n + 1 {
		x := float64(i) / float64(2*n) * d.Length
		if a := d.Area(x); !(a > 0) || math.IsInf(a, 0) {
			return fmt.Errorf("%w: %q: area %g m² at %g m", ErrDuct, d.Name, a, x)
		}
	}
	return nil
}

// areaAt returns the area [m²] at distance s [m] from the extended left end.
func (d *Duct) areaAt(s float64) float64 {
	return d.Area(min(max(s-d.ExtendLeft, 0), d.Length))
}

// diameterAt returns the hydraulic diameter [m] at distance s [m] from the extended left end.
func (d *Duct) diameterAt(s float64) float64 {
	if d.Diameter != nil {
		return d.Diameter(min(max(s-d.ExtendLeft, 0), d.Length))
	}
	return math.Sqrt(4 / math.Pi * d.areaAt(s))
}

// lossPer returns the mean loss coefficient per length [1/m] between s0 and s1
// [m] from the extended left end.
func (d *Duct) lossPer(losses []Loss, s0, s1 float64) float64 {
	sum := 0.0
	for _, l := range losses {
		if over := min(s1, l.To+d.ExtendLeft) - max(s0, l.From+d.ExtendLeft); over > 0 {
			sum += l.K * over / (l.To - l.From)
		}
	}
	return sum / (s1 - s0)
}
