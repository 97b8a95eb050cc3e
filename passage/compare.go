package passage

import (
	"errors"
	"fmt"
	"math"
)

// ErrCompare says that two states of a passage cannot be laid over each other.
var ErrCompare = errors.New("passages cannot be compared")

// Densities of alloys that passages are made of [kg/m³], from memory: foundry tables give them within about 1 %.
const (
	DensityAluminium = 2680 // cast aluminium with 7 % silicon, A356
	DensityMagnesium = 1810 // cast magnesium, AZ91
	DensityIron      = 7150 // grey cast iron
)

// An Alignment says how the second passage is laid along the first.
type Alignment int

// Ways of laying one passage along another.
const (
	AlignBest  Alignment = iota // where their shapes agree best
	AlignEntry                  // entries together
	AlignExit                   // exits together
)

// A Difference is what was taken off or put on between two states of one passage.
type Difference struct {
	Shift    float64 // distance along the second passage less distance along the first, of the same place [m]
	Length   float64 // length that both share [m]
	Removed  float64 // volume taken off where the second is wider [m³]
	Added    float64 // volume put on where the second is narrower [m³]
	Mass     float64 // mass taken off less mass put on [kg]
	Places   []Change
	Warnings []string
}

// A Change is the difference at one place.
type Change struct {
	At     float64 // distance along the first passage [m]
	Before float64 // section before [m²]
	After  float64 // section after [m²]
	Depth  float64 // mean depth taken off all round; below zero: put on [m]
	Volume float64 // taken off from the first place to this one, less what was put on [m³]
	Wall   float64 // wall left: measured before, less the depth [m]; 0: not measured
}

// Compare lays two states of one passage over each other along their centrelines and says what was taken off, at the stations of both
// between which they overlap; density is that of the material [kg/m³].
//
// The depth t is that of an even cut all round, P·t + π·t² = ΔA, with the perimeter P before. Aligned for best agreement, the shift is the one within a
// tenth of the length at which the logarithm of the ratio of areas varies least; the length of a cut-off flange stays out of it. It
// returns ErrCompare, wrapped. A depth beyond the wall that was measured is warned of with its place: one of the two is wrong, or the
// wall is through. Source: own method; volumes by the trapezoidal rule over 400 places.
func Compare(before, after *Passage, how Alignment, density float64) (Difference, error) {
	if before == nil || after == nil {
		return Difference{}, fmt.Errorf("%w: both states are needed", ErrCompare)
	}
	if !(density > 0) || math.IsInf(density, 1) {
		return Difference{}, fmt.Errorf("%w: density is %g kg/m³", ErrCompare, density)
	}
	var out Difference
	switch how {
	case AlignEntry:
		out.Shift = after.Start() - before.Start()
	case AlignExit:
		out.Shift = after.End() - before.End()
	case AlignBest:
		out.Shift = bestShift(before, after)
	default:
		panic("passage: no such alignment")
	}
	lo, hi := max(before.Start(), after.Start()-out.Shift), min(before.End(), after.End()-out.Shift)
	out.Length = hi - lo
	if short := min(before.Length(), after.Length()); !(out.Length > 0.5*short) {
		return Difference{}, fmt.Errorf("%w: laid over each other they share %.1f mm of %.1f mm: are they the same passage?", ErrCompare, 1e3*out.Length, 1e3*short)
	}
	if d := after.Length() - before.Length(); math.Abs(d) > 0.02*before.Length() {
		out.Warnings = append(out.Warnings, fmt.Sprintf("the second is %.1f mm longer than the first: what lies beyond the shared %.1f mm is left out", 1e3*d, 1e3*out.Length))
	}
	out.measure(before, after, lo, hi)
	out.Mass = density * (out.Removed - out.Added)
	return out, nil
}

const comparePlaces = 400 // places of the comparison [-]

func (d *Difference) measure(before, after *Passage, lo, hi float64) {
	thin := math.Inf(1)
	thinAt := 0.0
	last := 0.0
	for i := range comparePlaces + 1 {
		at := lo + (hi-lo)*float64(i)/comparePlaces
		b, a := before.Place(at), after.Place(at+d.Shift)
		change := a.Area - b.Area
		c := Change{At: at, Before: b.Area, After: a.Area, Depth: cutDepth(change, b.Perimeter)}
		if i > 0 {
			// Both parts of a step across zero are counted on their own.
			step := (hi - lo) / comparePlaces
			up, down := trapezoid(last, change, step)
			d.Removed += up
			d.Added += down
			c.Volume = d.Places[i-1].Volume + up - down
		}
		if before.HasWall() {
			c.Wall = b.Wall - c.Depth
			if c.Wall < thin {
				thin, thinAt = c.Wall, at
			}
		}
		d.Places = append(d.Places, c)
		last = change
	}
	if thin <= 0 {
		d.Warnings = append(d.Warnings, fmt.Sprintf("at %.1f mm the section moved %.2f mm further than the wall measured before: measure the wall again", 1e3*thinAt, -1e3*thin))
	}
}

// trapezoid returns the areas above and below zero between two values a step apart.
func trapezoid(a, b, step float64) (up, down float64) {
	if (a < 0) == (b < 0) {
		v := (a + b) / 2 * step
		return max(v, 0), max(-v, 0)
	}
	z := a / (a - b) * step
	x, y := a*z/2, b*(step-z)/2
	return max(x, 0) + max(y, 0), max(-x, 0) + max(-y, 0)
}

// cutDepth returns the depth t all round by which a section of a perimeter grew [m]: P·t + π·t² = ΔA.
func cutDepth(change, perimeter float64) float64 {
	root := perimeter*perimeter + 4*math.Pi*change
	if root < 0 {
		return -perimeter / (2 * math.Pi) // more put on than there was
	}
	return 2 * change / (perimeter + math.Sqrt(root))
}

// bestShift returns the shift at which ln(after/before) varies least along what both share.
func bestShift(before, after *Passage) float64 {
	base := after.Start() - before.Start()
	reach := 0.1 * max(before.Length(), after.Length())
	varies := func(shift float64) float64 {
		lo, hi := max(before.Start(), after.Start()-shift), min(before.End(), after.End()-shift)
		if hi-lo < 0.8*min(before.Length(), after.Length()) {
			return math.Inf(1)
		}
		const n = 200
		var sum, square float64
		for i := range n {
			at := lo + (hi-lo)*(float64(i)+0.5)/n
			x := math.Log(after.Place(at+shift).Area / before.Place(at).Area)
			sum += x
			square += x * x
		}
		return square/n - sq(sum/n)
	}
	// No shift is taken unless it agrees clearly better than none: a plain straight duct says nothing of where it lies.
	best, least := base, varies(base)
	floor := math.Max(0.9*least, 0)
	const steps = 100
	for i := -steps; i <= steps; i++ {
		shift := base + reach*float64(i)/steps
		if v := varies(shift); v < least && v < floor-1e-10 {
			best, least = shift, v
		}
	}
	if best == base {
		return base
	}
	a, b := best-reach/steps, best+reach/steps
	const golden = 0.6180339887498949
	for range 40 {
		c, d := b-golden*(b-a), a+golden*(b-a)
		if varies(c) < varies(d) {
			b = d
		} else {
			a = c
		}
	}
	return (a + b) / 2
}

func sq(x float64) float64 { return x * x }
