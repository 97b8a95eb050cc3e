package measure

import "math"

// A bunch is members of which some are set aside.
type bunch struct {
	mean []float64 // [unit of x]
	u    []float64 // standard uncertainty of each mean [unit of x], 0 if unknown
	dof  []float64 // degrees of freedom of u [-]
	in   []bool    // not set aside
}

func newBunch(members []Member, means []float64, m Match) bunch {
	b := bunch{mean: means}
	for _, mb := range members {
		u, dof := mb.U, math.Inf(1)
		if m.Effects != nil {
			if w := math.Sqrt(m.Effects.VarWithin / float64(len(mb.Values))); w >= u {
				u, dof = w, m.Effects.DofW
			}
		}
		b.u, b.dof, b.in = append(b.u, u), append(b.dof, dof), append(b.in, true)
	}
	return b
}

// judge parts the odd members from the rest, and places every member against them.
func (b bunch) judge(m *Match, opt MatchOptions) {
	order, p := b.standOut(opt.Alpha)
	for again := true; again; { // who is no odd one goes back among the others
		again = false
		for _, i := range order {
			if diff, half, q := b.repeats(i); !b.in[i] &&
				(q*float64(len(b.in)) >= opt.Alpha || math.Abs(diff)-half <= opt.Smallest*m.Mean) {
				b.in[i], again = true, true
			}
		}
	}
	left := 0.0
	for _, in := range b.in {
		if in {
			left++
		}
	}
	for i := range m.Members {
		diff, half, q := b.repeats(i)
		t, alone := b.others(i)
		o := &m.Members[i]
		o.Mean, o.U, o.Rel, o.Half, o.T = b.mean[i], b.u[i], diff/m.Mean, half/m.Mean, t
		o.Odd, o.P = !b.in[i], min(1, left*alone)
		if o.Odd {
			o.P = p[i]
		}
		if b.u[i] > 0 {
			o.P = max(o.P, min(1, q*float64(len(b.in))))
		}
	}
}

// standOut sets aside the members that stand out of the scatter of the others, and
// returns those that were looked at in turn and the corrected probabilities of
// those that are now aside [-].
func (b bunch) standOut(alpha float64) (order []int, p map[int]float64) {
	all := len(b.mean)
	p = map[int]float64{}
	found, ways := 0, 1.0
	for s := range (all - 1) / 2 {
		at, least, most := -1, 1.0, 0.0
		for i := range b.mean {
			if !b.in[i] {
				continue
			}
			if t, q := b.others(i); q < least || q == least && math.Abs(t) > most {
				at, least, most = i, q, math.Abs(t)
			}
		}
		if at < 0 {
			break
		}
		ways *= float64(all - s)
		times := float64(all - s)
		if found < s {
			times = ways
		}
		order = append(order, at)
		b.in[at] = false
		if q := min(1, times*least); q < alpha {
			for _, i := range order[found:] {
				p[i] = q
			}
			found = s + 1
		}
	}
	for _, i := range order[found:] {
		b.in[i] = true
	}
	return order[:found], p
}

// others compares member i with the others of the bunch by their own scatter:
// studentised difference [-] and its two-sided probability [-].
func (b bunch) others(i int) (t, p float64) {
	var others []float64
	for j, in := range b.in {
		if in && j != i {
			others = append(others, b.mean[j])
		}
	}
	k := float64(len(others))
	if k < 2 {
		return 0, 1
	}
	diff := b.mean[i] - Mean(others)
	if u := SD(others) * math.Sqrt(1+1/k); u > 0 {
		return diff / u, TTwoSided(diff/u, k-1)
	}
	if diff != 0 { // the others do not scatter at all
		return math.Copysign(math.MaxFloat64, diff), 0
	}
	return 0, 1
}

// repeats compares member i with the mean of the others of the bunch by the
// scatter of repeats: difference and half-width of its 95 % interval [unit of x],
// and the two-sided probability of such a difference [-]. Of what is unknown the
// half-width is 0 and the probability 0.
func (b bunch) repeats(i int) (diff, half, p float64) {
	k, sum := 0.0, 0.0
	for j, in := range b.in {
		if in && j != i {
			k, sum = k+1, sum+b.mean[j]
		}
	}
	diff = b.mean[i] - sum/k
	v := b.u[i] * b.u[i]
	nu := b.dof[i]
	for j, in := range b.in {
		if in && j != i {
			v += b.u[j] * b.u[j] / (k * k)
			nu = min(nu, b.dof[j]) // the scatter of repeats is pooled: one estimate
		}
	}
	if !(v > 0) {
		return diff, 0, 0
	}
	u := math.Sqrt(v)
	return diff, CoverageFactor(0.95, nu) * u, TTwoSided(diff/u, nu)
}
