package measure

// sharedKeys returns the keys that two or more of all the readings have, and those
// of the type B lines of a reading that is alone on its side: no repeat shows what
// they do, not even one of the other side.
func sharedKeys(before, after []Budget) map[string]bool {
	count := map[string]int{}
	for _, group := range [][]Budget{before, after} {
		for _, b := range group {
			met := map[string]bool{}
			for _, l := range b.Lines {
				if l.Key != "" && !met[l.Key] {
					met[l.Key] = true
					count[l.Key]++
					if len(group) == 1 && l.Kind == TypeB {
						count[l.Key]++
					}
				}
			}
		}
	}
	shared := map[string]bool{}
	for key, n := range count {
		if n > 1 {
			shared[key] = true
		}
	}
	return shared
}

// sharedRest returns, as a budget of ln ratio, what the shared inputs leave.
func sharedRest(before, after []Budget, shared map[string]bool) Budget {
	var parts []Budget
	for _, group := range [][]Budget{after, before} {
		for _, b := range group {
			parts = append(parts, b.keep(func(l Line) bool { return shared[l.Key] }))
		}
	}
	out := Budget{Quantity: "shared inputs", Unit: "1"}
	sum, _ := out.join(parts, func(k int, cu float64) float64 {
		if k < len(after) {
			return cu / parts[k].Value / float64(len(after))
		}
		return -(cu / parts[k].Value / float64(len(before)))
	})
	for i := range out.Lines {
		out.Lines[i].Sensitivity = 0
		if out.Lines[i].U > 0 {
			out.Lines[i].Sensitivity = sum[i] / out.Lines[i].U
		}
	}
	return out
}

// sharedList lists the inputs that both sides have, with the mean of their
// relative contributions on each.
func sharedList(before, after []Budget, shared map[string]bool) []Cancelled {
	mean := func(group []Budget, key string) (m float64, quantity string, found bool) {
		for _, b := range group {
			for _, l := range b.Lines {
				if l.Key == key {
					m += l.Contribution() / b.Value / float64(len(group))
					quantity, found = l.Quantity, true
				}
			}
		}
		return m, quantity, found
	}
	var all []Cancelled
	met := map[string]bool{}
	for _, b := range after {
		for _, l := range b.Lines {
			if !shared[l.Key] || met[l.Key] {
				continue
			}
			met[l.Key] = true
			was, _, found := mean(before, l.Key)
			if !found {
				continue
			}
			is, quantity, _ := mean(after, l.Key)
			all = append(all, Cancelled{Key: l.Key, Quantity: quantity, After: is, Before: was, Left: is - was})
		}
	}
	return all
}

// sameReadings reports whether the two sides are the very same readings: of the same values and inputs, each with an input that no other
// reading of its side has.
func sameReadings(before, after []Budget) bool {
	if len(before) != len(after) {
		return false
	}
	count := map[string]int{}
	for _, b := range before {
		for _, l := range b.Lines {
			count[l.Key]++
		}
	}
	for i, b := range before {
		a, own := after[i], false
		if b.Value != a.Value || len(b.Lines) != len(a.Lines) {
			return false
		}
		for k, l := range b.Lines {
			if l.Key == "" || l.Key != a.Lines[k].Key || l.Contribution() != a.Lines[k].Contribution() {
				return false
			}
			own = own || count[l.Key] == 1
		}
		if !own {
			return false
		}
	}
	return true
}
