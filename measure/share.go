package measure

import (
	"fmt"
)

// A Cancelled is an input that two readings share, and what is left of it in
// their ratio.
type Cancelled struct {
	Key      string  `json:"key"`
	Quantity string  `json:"quantity"`
	After    float64 `json:"u_rel_after"`  // its contribution to the later reading, over the reading [-]
	Before   float64 `json:"u_rel_before"` // its contribution to the earlier reading, over the reading [-]
	Left     float64 `json:"u_rel_left"`   // their difference: its contribution to the ratio, over the ratio [-]
}

// Ratio returns the budget of after/before. Lines with one key are one input: its
// relative contributions are subtracted before anything is squared, so that what
// is the same in both readings cancels exactly, and the ratio of a reading with
// itself is 1 with no uncertainty. The shared inputs are listed, whether they
// cancel in full or in part.
//
//	r = y2/y1,  u_r/r = [Σ_k (c_k2·u_k2/y2 − c_k1·u_k1/y1)²]^½
//
// Correlations within either budget are kept. Two lines with one key must mean
// the same deviation of the same input; where their u differ they are taken to
// move in step (r = 1). Source: JCGM 100:2008, 5.2.2 and F.1.2.3. Errors: a value
// that is zero, and those of Budget.Check.
func Ratio(after, before Budget) (Budget, []Cancelled, error) {
	for _, b := range []Budget{after, before} {
		if err := b.Check(); err != nil {
			return Budget{}, nil, err
		}
		if b.Value == 0 {
			return Budget{}, nil, fmt.Errorf("ratio with a value of zero, %q: %w", b.Quantity, ErrNotPositive)
		}
	}
	r := after.Value / before.Value
	out := Budget{Quantity: "ratio", Unit: "1", Value: r}
	rel, at := out.join([]Budget{after, before}, func(k int, cu float64) float64 {
		if k == 0 {
			return cu / after.Value
		}
		return -(cu / before.Value) // divided, so that equal ones cancel to the last bit
	})
	for i := range out.Lines {
		out.Lines[i].Sensitivity = 0
		if out.Lines[i].U > 0 {
			out.Lines[i].Sensitivity = r * rel[i] / out.Lines[i].U
		}
	}
	return out, cancelled(after, before, at), nil
}

// cancelled lists the keys that both budgets have.
func cancelled(after, before Budget, at map[string]int) []Cancelled {
	part := func(b Budget, key string) (sum float64, quantity string, found bool) {
		for _, l := range b.Lines {
			if l.Key == key {
				sum += l.Contribution() / b.Value
				quantity, found = l.Quantity, true
			}
		}
		return sum, quantity, found
	}
	var all []Cancelled
	for _, l := range after.Lines {
		if _, ok := at[l.Key]; !ok || l.Key == "" {
			continue
		}
		delete(at, l.Key) // each key once
		b, _, found := part(before, l.Key)
		if !found {
			continue
		}
		a, quantity, _ := part(after, l.Key)
		all = append(all, Cancelled{Key: l.Key, Quantity: quantity, After: a, Before: b, Left: a - b})
	}
	return all
}

// Linear returns the budget of Σ a_b·y_b, as for a mean, a difference or a
// leakage taken off: factors a [unit of result / unit of budget], one for each
// budget. Lines with one key are one input, as in Ratio.
//
// Source: JCGM 100:2008, 5.2.2. Errors: those of Budget.Check.
func Linear(quantity, unit string, factors []float64, budgets ...Budget) (Budget, error) {
	if len(factors) != len(budgets) {
		panic("measure: factors and budgets differ in number")
	}
	out := Budget{Quantity: quantity, Unit: unit}
	for i, b := range budgets {
		if err := b.Check(); err != nil {
			return Budget{}, err
		}
		out.Value += factors[i] * b.Value
	}
	weight, _ := out.join(budgets, func(k int, cu float64) float64 { return factors[k] * cu })
	for i := range out.Lines {
		out.Lines[i].Sensitivity = 0
		if out.Lines[i].U > 0 {
			out.Lines[i].Sensitivity = weight[i] / out.Lines[i].U
		}
	}
	return out, nil
}

// join puts the lines of all budgets into b, one for each key, with their
// correlations, and returns for each line the sum over the budgets k of
// scale(k, c·u), and the place of each key.
func (b *Budget) join(budgets []Budget, scale func(k int, cu float64) float64) (sum []float64, at map[string]int) {
	at = map[string]int{}
	paired := map[[2]int]bool{}
	for k, part := range budgets {
		place := make([]int, len(part.Lines))
		for i, l := range part.Lines {
			j, ok := at[l.Key]
			if !ok {
				j = len(b.Lines)
				b.Lines = append(b.Lines, l)
				sum = append(sum, 0)
				if l.Key != "" {
					at[l.Key] = j
				}
			}
			if b.Lines[j].U == 0 { // an input known exactly here, less so there
				b.Lines[j].U, b.Lines[j].Dof = l.U, l.Dof
			}
			sum[j] += scale(k, l.Contribution())
			place[i] = j
		}
		for _, p := range part.Correlation {
			ij := [2]int{min(place[p.I], place[p.J]), max(place[p.I], place[p.J])}
			if ij[0] != ij[1] && !paired[ij] {
				paired[ij] = true
				b.Correlation = append(b.Correlation, Pair{I: ij[0], J: ij[1], R: p.R})
			}
		}
		b.Warnings = append(b.Warnings, part.Warnings...)
	}
	return sum, at
}
