package app

import (
	"cmp"
	"fmt"
	"slices"

	"runnel/gas"
	"runnel/internal/fault"
	"runnel/measure"
)

// invalid gives an error of a computation the kind of a bad input, since that is what makes these computations fail.
func invalid(err error) error { return fault.As(fault.Invalid, err) }

// gasWords writes limits that were left.
func gasWords(ws []gas.Warning) []string {
	out := []string{}
	for _, w := range ws {
		out = addNew(out, "limit not met: "+w.String())
	}
	return out
}

// measureWords writes limits that were left.
func measureWords(ws []measure.Warning) []string {
	out := []string{}
	for _, w := range ws {
		out = addNew(out, fmt.Sprintf("limit not met: %s (got %.4g)", w.Limit, w.Got))
	}
	return out
}

func addNew(list []string, s string) []string {
	if slices.Contains(list, s) {
		return list
	}
	return append(list, s)
}

// sortedBy returns the values in the order of a key.
func sortedBy[T any, K cmp.Ordered](list []T, key func(T) K) []T {
	out := slices.Clone(list)
	slices.SortStableFunc(out, func(a, b T) int { return cmp.Compare(key(a), key(b)) })
	return out
}
