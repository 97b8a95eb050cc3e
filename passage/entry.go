package passage

import (
	"errors"
	"fmt"
	"math"
)

const sqrt12 = 3.4641016151377544 // √12 [-], the width of an even spread over its standard deviation

func hypot(a, b float64) float64 { return math.Hypot(a, b) }

// ErrNegative says that a length, radius or angle below zero was given.
var ErrNegative = errors.New("below zero or not a number")

// entryTable is K of a rounded entry flush with a wall, over r/D. Source: handbook table (the same numbers in Idelchik and in
// Crane TP-410 for flush rounded entries), stated to ±10 %.
func entryTable(rOverD float64) float64 {
	x := [...]float64{0, 0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.10, 0.12, 0.16, 0.20}
	y := [...]float64{0.50, 0.44, 0.37, 0.31, 0.26, 0.22, 0.20, 0.15, 0.12, 0.09, 0.06, 0.03}
	return straight(x[:], y[:], rOverD)
}

// entryHarris is the lowest published set, over r/D. Source: Harris (1930), as digitised by an open library of fittings.
func entryHarris(rOverD float64) float64 {
	x := [...]float64{0, 0.01, 0.02, 0.05, 0.10, 0.12, 0.15, 0.20}
	y := [...]float64{0.44, 0.35, 0.28, 0.13, 0.0486, 0.0300, 0.0066, 0}
	return straight(x[:], y[:], rOverD)
}

// entryMiller is over r/D. Source: Miller, Internal Flow Systems (1990), as digitised by an open library of fittings.
func entryMiller(rOverD float64) float64 {
	x := [...]float64{0, 0.01, 0.02, 0.05, 0.10, 0.12, 0.15, 0.20, 0.30}
	y := [...]float64{0.5093, 0.4224, 0.3567, 0.2085, 0.0821, 0.0679, 0.0620, 0.0586, 0.0553}
	return straight(x[:], y[:], rOverD)
}

// EntryRennels returns K [-], on the velocity head of the pipe, of an entry flush with a wall and rounded with radius over bore
// rOverD [-].
//
//	λ = 1 + 0.622·(1 − 0.30·√(r/D) − 0.70·r/D)⁴
//	K = 0.0696·(1 − 0.569·r/D)·λ² + (λ − 1)²
//
// Valid for 0 ≤ r/D ≤ 1; beyond 1 the value at 1 holds. Source: Rennels and Hudson, Pipe Flow (Wiley 2012), ch. 9.
func EntryRennels(rOverD float64) float64 {
	x := min(rOverD, 1)
	l := 1 + 0.622*math.Pow(1-0.30*math.Sqrt(x)-0.70*x, 4)
	return 0.0696*(1-0.569*x)*l*l + (l-1)*(l-1)
}

// EntrySwamee returns K [-], on the velocity head of the pipe, of an entry with radius over bore rOverD [-].
//
//	K = 0.5/(1 + 36·(r/D)^1.2)
//
// Source: Swamee and Sharma, Design of Water Supply Pipe Networks (2008).
func EntrySwamee(rOverD float64) float64 { return 0.5 / (1 + 36*math.Pow(rOverD, 1.2)) }

// EntryLoss returns the loss coefficient of an entry from still air, flush with a wall, on the velocity head of the bore behind it,
// for the radius of its edge over that bore, rOverD [-]; 0 is a bare, sharp entry. K is the tabulated handbook value, straight
// between its points; Lo and Hi are the lowest and highest of the table ±10 %, Rennels and Hudson, Miller, Swamee and Sharma, and
// Harris.
//
// It returns ErrNegative below zero. Source: handbook table of flush rounded entries (Idelchik; Crane TP-410).
func EntryLoss(rOverD float64) (Coefficient, error) {
	if !(rOverD >= 0) || math.IsInf(rOverD, 1) {
		return Coefficient{}, fmt.Errorf("entry radius over bore is %g: %w: write 0 for a bare entry", rOverD, ErrNegative)
	}
	c := Coefficient{K: entryTable(rOverD), Source: "Idelchik; Crane TP-410: flush rounded entry"}
	c.Lo, c.Hi = 0.9*c.K, 1.1*c.K
	for _, k := range [...]float64{EntryRennels(rOverD), EntrySwamee(rOverD), entryMiller(rOverD), entryHarris(rOverD)} {
		c.Lo, c.Hi = min(c.Lo, k), max(c.Hi, k)
	}
	return c, nil
}

// ThinEntryLoss returns the loss coefficient of a bare pipe that stands out into still air with wall thickness over bore
// tOverD [-], on the velocity head of the pipe.
//
//	K = 1.12 − 22·t/D + 216·(t/D)² + 80·(t/D)³,  t/D ≤ 0.05;  0.57 beyond
//
// The ideal limit of a very thin wall is 1 (Borda). It returns ErrNegative below zero.
// Source: Rennels and Hudson, Pipe Flow (Wiley 2012), ch. 9.
func ThinEntryLoss(tOverD float64) (Coefficient, error) {
	if !(tOverD >= 0) || math.IsInf(tOverD, 1) {
		return Coefficient{}, fmt.Errorf("wall over bore is %g: %w", tOverD, ErrNegative)
	}
	c := Coefficient{K: 0.57, Source: "Rennels and Hudson (2012): pipe standing out into the room"}
	if t := tOverD; t <= 0.05 {
		c.K = 1.12 - 22*t + 216*t*t + 80*t*t*t
	}
	c.Lo, c.Hi = min(0.5, c.K), max(1, c.K)
	if tOverD > 0.02 {
		c.Hi = max(c.K, 0.767) // the thicker the wall, the nearer to a flush entry
	}
	return c, nil
}

// straight interpolates in a table along straight lines, holding the end values outside it.
func straight(x, y []float64, at float64) float64 {
	if at <= x[0] {
		return y[0]
	}
	for i := 1; i < len(x); i++ {
		if at <= x[i] {
			return y[i-1] + (at-x[i-1])/(x[i]-x[i-1])*(y[i]-y[i-1])
		}
	}
	return y[len(y)-1]
}
