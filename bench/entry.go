package bench

import (
	"math"

	"gonum.org/v1/gonum/interp"
)

// An entryLaw is one published loss coefficient of a flush entry, on the velocity head in the pipe, over r/D.
type entryLaw func(r float64) float64

// entryLaws are the published laws that the spread is taken over. The first is the one that is used; it is also what the
// tables for ducts print, with ±10 %.
func entryLaws() []entryLaw {
	return []entryLaw{
		// Idelchik, Handbook of Hydraulic Resistance (1966), diagram 3-3; the same numbers in Crane TP-410, flush rounded.
		digitised([]float64{0, 0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.10, 0.12, 0.16, 0.20},
			[]float64{0.50, 0.44, 0.37, 0.31, 0.26, 0.22, 0.20, 0.15, 0.12, 0.09, 0.06, 0.03}),
		entryRennels,
		entrySwamee,
		// Miller, Internal Flow Systems (1990), digitised.
		digitised([]float64{0, 0.01, 0.02, 0.05, 0.10, 0.12, 0.15, 0.20, 0.30},
			[]float64{0.5093, 0.4224, 0.3567, 0.2085, 0.0821, 0.0679, 0.0620, 0.0586, 0.0553}),
		// Harris, Pumping Engineer (1930), digitised.
		digitised([]float64{0, 0.01, 0.02, 0.05, 0.10, 0.12, 0.15, 0.20},
			[]float64{0.44, 0.35, 0.28, 0.13, 0.0486, 0.03, 0.0066, 0}),
	}
}

// digitised returns the monotone curve through points read off a printed one; it stays at its ends beyond them.
func digitised(x, y []float64) entryLaw {
	c := &interp.FritschButland{}
	if err := c.Fit(x, y); err != nil {
		panic("bench: a printed entry curve does not rise in r/D: " + err.Error())
	}
	return c.Predict
}

// entryRennels is the loss coefficient of a rounded entry.
//
//	K = 0.0696(1 − 0.569r/D)λ² + (λ − 1)²,  λ = 1 + 0.622(1 − 0.30·sqrt(r/D) − 0.70r/D)⁴
//
// Constant above r/D = 1. Source: Rennels and Hudson, Pipe Flow (2012), ch. 9.
func entryRennels(r float64) float64 {
	r = min(r, 1)
	a := 1 - 0.30*math.Sqrt(r) - 0.70*r
	l := 1 + 0.622*a*a*a*a
	return 0.0696*(1-0.569*r)*l*l + (l-1)*(l-1)
}

// entrySwamee is K = 0.5/(1 + 36(r/D)^1.2). Source: Swamee and Sharma, Design of Water Supply Pipe Networks (2008).
func entrySwamee(r float64) float64 { return 0.5 / (1 + 36*math.Pow(r, 1.2)) }

// EntryLoss returns the loss coefficient K [-] of an entry that is flush with a wall, on the velocity head behind it, with an
// edge rounded to radius over bore ratio [-], and its standard uncertainty [-]: the published spread, rectangular, with the
// 10 % of the printed table.
//
// Source: Idelchik 1966 for K; Rennels and Hudson 2012, Swamee and Sharma 2008, Miller 1990 and Harris 1930 for the spread.
func EntryLoss(ratio float64) (k, u float64) {
	return spread(func(law entryLaw) float64 { return law(ratio) })
}

// EntryChange returns the change of the loss coefficient [-] when the ratio of edge radius to bore goes from one value to
// another [-], and its standard uncertainty [-]. The laws differ less in a change than in themselves, so the spread is that of
// their changes.
//
// Source: as EntryLoss.
func EntryChange(from, to float64) (dk, u float64) {
	return spread(func(law entryLaw) float64 { return law(to) - law(from) })
}

// spread returns what the law in use says and its standard uncertainty: the greatest distance of another law as the bound of
// a rectangle, and the 10 % of the printed table as that of another.
func spread(of func(entryLaw) float64) (v, u float64) {
	laws := entryLaws()
	v = of(laws[0])
	far := 0.0
	for _, law := range laws[1:] {
		far = max(far, math.Abs(of(law)-v))
	}
	return v, math.Hypot(far, 0.1*v) / math.Sqrt(3)
}

// AreaWithEntry returns the effective area [m²] of a piece, now area [m²], after the loss coefficient of its
// entry changes by dk [-] on the velocity head in a bore [m].
//
//	1/Ae'² = 1/Ae² + ΔK/A²,  A = π/4·bore²
//
// It is NaN when the loss taken away is more than the piece has. Valid for a small pressure drop; at 28 inH2O the error of the
// change is a few per cent of itself. Source: sum of loss coefficients on one mass flow (Definition of K).
func AreaWithEntry(area, dk, bore float64) float64 {
	a := math.Pi / 4 * bore * bore
	return area / math.Sqrt(1+dk*area*area/(a*a))
}
