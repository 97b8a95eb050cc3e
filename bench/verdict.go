package bench

import (
	"fmt"
	"math"
	"slices"

	"runnel/gas"
	"runnel/measure"
)

// CompareOptions tells Compare what to claim and what is known beside the readings. The zero value claims changes above half
// a per cent.
type CompareOptions struct {
	Smallest   float64           // smallest change worth claiming, relative [-]; 0 means 0.005
	SameWithin float64           // width of 'the same within', relative [-]; 0 means Smallest
	Fitted     map[string]Fitted // pieces that may be fitted before the piece, by id

	bridged []Bridge // bridges that were taken before
}

// A Verdict answers whether a change helped: the ratio of effective areas, after over before, with what it rests on.
type Verdict struct {
	measure.Comparison

	Text         string        // the verdict in words, with the width where it needs one
	Bridged      []Bridge      // rules that made unlike readings comparable; empty for like for like
	Marks        []string      // marks of any reading that went in
	NBefore      int           // readings before
	NAfter       int           // readings after
	MeanBefore   float64       // geometric mean of the effective areas before, as measured [m²]
	MeanAfter    float64       // geometric mean of those after [m²]
	LeftWarnings []gas.Warning // limits that were left by any reading that went in, each once
}

// Compare compares readings of one opening before and after a change, like for like.
//
// The rig cards are compared field by field. Test pressure, air, meter, entry and a throttle body are bridged where they differ,
// and the drift of the bench between sittings (see Stability), each with its own uncertainty, towards the set-up of the first reading
// after; anything else is refused. Inputs that the
// readings share by their keys cancel; the others keep their share. The ratio, its interval and the word are those of
// measure.CompareRatio.
//
// Errors: *UnlikeError with the fields; measure.ErrTooFew without readings; those of measure.CompareRatio.
func Compare(before, after []Reading, opt CompareOptions) (Verdict, error) {
	if len(before) == 0 || len(after) == 0 {
		return Verdict{}, fmt.Errorf("%d readings before and %d after: %w", len(before), len(after), measure.ErrTooFew)
	}
	v := Verdict{NBefore: len(before), NAfter: len(after), MeanBefore: geometric(before), MeanAfter: geometric(after)}
	to := &after[0]
	var refused []Difference
	days := sittings(slices.Concat(before, after))
	carry := func(r *Reading) measure.Budget {
		refused = append(refused, unlike(r, to)...)
		br, no := bridges(r, to, opt.Fitted)
		refused = append(refused, no...)
		for _, b := range br {
			if !slices.ContainsFunc(v.Bridged, func(x Bridge) bool { return x.Name == b.Name }) {
				v.Bridged = append(v.Bridged, b)
			}
		}
		if days > 1 {
			return apply(withoutOff(r.Budget), br)
		}
		return apply(r.Budget, br)
	}
	var sides [2][]measure.Budget
	for i, group := range [][]Reading{before, after} {
		for k := range group {
			sides[i] = append(sides[i], carry(&group[k]))
		}
	}
	if len(refused) > 0 {
		return Verdict{}, &UnlikeError{distinct(refused)}
	}
	v.Bridged = append(v.Bridged, opt.bridged...)
	known(sides[0], sides[1])
	c, err := measure.CompareRatio(sides[0], sides[1], measure.CompareOptions{Smallest: opt.Smallest, SameWithin: opt.SameWithin})
	if err != nil {
		return Verdict{}, err
	}
	c.Cancelled = slices.DeleteFunc(c.Cancelled, func(x measure.Cancelled) bool { return x.After == 0 || x.Before == 0 })
	v.Comparison, v.Text = c, c.Say()
	for _, r := range slices.Concat(before, after) {
		for _, m := range r.Marks {
			if !slices.Contains(v.Marks, m) {
				v.Marks = append(v.Marks, m)
			}
		}
		for _, w := range r.Warnings {
			if !slices.ContainsFunc(v.LeftWarnings, func(x gas.Warning) bool { return x.Limit == w.Limit }) {
				v.LeftWarnings = append(v.LeftWarnings, w)
			}
		}
	}
	return v, nil
}

// known makes every keyed input known to the comparison as an input of its own, also where one reading alone has it: what
// has a key, but for a reading's own, is a property of the bench, the day or a bridge, and is not seen in the scatter of repeats. A line without effect
// on a reading of the other side does that.
func known(before, after []measure.Budget) {
	for _, side := range [][2][]measure.Budget{{before, after}, {after, before}} {
		for _, b := range side[0] {
			for _, l := range b.Lines {
				other := &side[1][0]
				if isOwn(l) || slices.ContainsFunc(other.Lines, func(x measure.Line) bool { return x.Key == l.Key }) {
					continue
				}
				l.Sensitivity = 0
				other.Lines = append(slices.Clip(other.Lines), l)
			}
		}
	}
}

// geometric returns the geometric mean of the effective areas [m²].
func geometric(readings []Reading) float64 {
	sum := 0.0
	for _, r := range readings {
		sum += math.Log(r.EffectiveArea)
	}
	return math.Exp(sum / float64(len(readings)))
}

// distinct keeps the first of equal ones.
func distinct[T comparable](all []T) []T {
	var out []T
	for _, d := range all {
		if !slices.Contains(out, d) {
			out = append(out, d)
		}
	}
	return out
}
