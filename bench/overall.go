package bench

import (
	"fmt"
	"slices"
	"strings"

	"runnel/measure"
)

// CompareOpenings compares the mean over the openings of a piece before and after a change. Only openings that were flowed on
// both sides count, so that the mean is of the same ones; the k-th repeats of all of them make the k-th repeat of the mean, and
// the openings with the fewest repeats set their number. Inputs that the openings share stay shared.
//
// It returns the openings that went in. Errors: those of Compare; measure.ErrTooFew when no opening was flowed on both sides.
func CompareOpenings(before, after []Reading, opt CompareOptions) (Verdict, []string, error) {
	b, a := byOpening(before), byOpening(after)
	var both []string
	for name := range b {
		if len(a[name]) > 0 {
			both = append(both, name)
		}
	}
	slices.Sort(both)
	if len(both) == 0 {
		return Verdict{}, nil, fmt.Errorf("no opening was flowed both before and after: %w", measure.ErrTooFew)
	}
	// The openings may be of several sittings: each reading is carried over to the bench of one before means are taken.
	to := a[both[0]][0]
	several := sittings(slices.Concat(before, after)) > 1
	opt.bridged = distinct(append(toBench(b, &to, several), toBench(a, &to, several)...))
	was, err := means(b, both)
	if err != nil {
		return Verdict{}, nil, err
	}
	is, err := means(a, both)
	if err != nil {
		return Verdict{}, nil, err
	}
	v, err := Compare(was, is, opt)
	return v, both, err
}

// toBench carries readings over to the bench as it stood when another was taken, and returns the bridges it took, in order of their
// names; several says that the comparison is of several sittings.
func toBench(by map[string][]Reading, to *Reading, several bool) []Bridge {
	var taken []Bridge
	for name, rs := range by {
		rs = slices.Clone(rs)
		for i := range rs {
			if several {
				rs[i].Budget = withoutOff(rs[i].Budget)
			}
			br := benchBridge(&rs[i], to)
			if br == nil {
				continue
			}
			if !slices.ContainsFunc(taken, func(x Bridge) bool { return x.Name == br.Name }) {
				taken = append(taken, *br)
			}
			rs[i].Budget, rs[i].Sitting, rs[i].Bench = apply(rs[i].Budget, []Bridge{*br}), to.Sitting, to.Bench
		}
		by[name] = rs
	}
	slices.SortFunc(taken, func(x, y Bridge) int { return strings.Compare(x.Name, y.Name) })
	return taken
}

func byOpening(readings []Reading) map[string][]Reading {
	by := map[string][]Reading{}
	for _, r := range readings {
		by[r.Opening] = append(by[r.Opening], r)
	}
	return by
}

// means returns one reading a repeat: the mean over the openings.
func means(by map[string][]Reading, openings []string) ([]Reading, error) {
	repeats := len(by[openings[0]])
	for _, o := range openings {
		repeats = min(repeats, len(by[o]))
	}
	first := by[openings[0]][0]
	out := make([]Reading, 0, repeats)
	for k := range repeats {
		m := by[openings[0]][k]
		m.ID, m.Opening, m.EffectiveArea, m.Marks, m.Warnings = fmt.Sprintf("mean of repeat %d", k+1), "all openings", 0, nil, nil
		factors, budgets := make([]float64, 0, len(openings)), make([]measure.Budget, 0, len(openings))
		for _, o := range openings {
			r := by[o][k]
			like := r
			like.Opening = first.Opening
			if d := unlike(&like, &first); len(d) > 0 {
				return nil, &UnlikeError{distinct(d)}
			}
			m.EffectiveArea += r.EffectiveArea / float64(len(openings))
			m.Marks, m.Warnings = append(m.Marks, r.Marks...), append(m.Warnings, r.Warnings...)
			factors, budgets = append(factors, 1/float64(len(openings))), append(budgets, r.Budget)
		}
		var err error
		if m.Budget, err = measure.Linear("mean effective area", "m²", factors, budgets...); err != nil {
			return nil, err
		}
		m.URel = m.Budget.Relative()
		out = append(out, m)
	}
	return out, nil
}
