package measure

import (
	"fmt"
	"math"
	"slices"
)

// A Member is one of several like things, as a runner of a manifold, with its
// repeated values.
type Member struct {
	Name   string
	Values []float64 // repeats [unit of x], at least one
}

// An Odd is how far one member stands from the others.
type Odd struct {
	Name string  `json:"name"`
	Rel  float64 `json:"rel"`  // its mean less that of the other members that match, over the mean of all [-]
	T    float64 `json:"t"`    // that difference over its standard uncertainty [-]
	P    float64 `json:"p"`    // two-sided probability by chance when it was looked at, corrected for the number of members [-]
	Odd  bool    `json:"odd"`  // P is below the level asked for
	Mean float64 `json:"mean"` // its mean [unit of x]
	U    float64 `json:"u"`    // standard uncertainty of its mean from the scatter of repeats [unit of x], 0 if unknown
}

// A Match is how evenly several members read.
type Match struct {
	Mean      float64 `json:"mean"`       // mean of the members' means [unit of x]
	SpreadRel float64 `json:"spread_rel"` // (greatest − least)/mean [-]
	SD        float64 `json:"sd"`         // standard deviation of the members' means [unit of x]
	SDRel     float64 `json:"sd_rel"`     // SD over the mean [-]
	// SpreadNoise is the spread that repeat scatter alone would show on average
	// between equal members [-]; 0 if unknown.
	SpreadNoise float64 `json:"spread_noise_rel"`
	Members     []Odd   `json:"members"`
	Basis       string  `json:"basis"` // scatter that the members were judged by

	Effects  *OneWay   `json:"-"` // random effects; nil when no member has repeats
	Warnings []Warning `json:"warnings,omitempty"`
}

// The scatters by which members can be judged odd.
const (
	BasisRepeats = "scatter of the repeats" // differs from the others beyond the noise of reading it
	BasisMembers = "scatter of the others"  // stands out of a bunch; no repeats were made
)

// MatchMembers compares members and marks the odd ones out at the level alpha [-],
// 0.05 when 0: with that probability any member at all of an even set is called
// odd.
//
// With repeats, a member is odd when its mean differs from the mean of the others
// by more than the pooled scatter of repeats explains. Without, when it stands out
// of the scatter of the others (the externally studentised deviation). The oddest
// is looked at first, its probability multiplied by the number of members still
// in; if it is odd it is set aside and the rest are looked at again, so that one
// bad member does not make the good ones look odd. Fewer than half are set aside.
//
//	t_i = (m_i − m_{others})/(s_w·sqrt(1/n_i + Σ_{j≠i}(1/n_j)/(k − 1)²)),  ν = N − k
//	t_i = (m_i − m_{others})/(s_{others}·sqrt(1 + 1/(k − 1))),              ν = k − 2
//
// Members equal to the last digit are evenly matched, not an error; that they are
// is a warning. Sources: Holm, Scand. J. Stat. 6 (1979) 65; Cook and Weisberg,
// Residuals and Influence in Regression (1982), 2.2.2. Errors: ErrTooFew below two
// members, ErrNotFinite, ErrNotPositive for a mean of all that is not.
func MatchMembers(members []Member, alpha float64) (Match, error) {
	var m Match
	if err := atLeast("members", len(members), 2); err != nil {
		return m, err
	}
	if alpha == 0 {
		alpha = 0.05
	}
	groups := make([][]float64, len(members))
	means := make([]float64, len(members))
	values := 0
	for i, mb := range members {
		if err := atLeast(fmt.Sprintf("values of %q", mb.Name), len(mb.Values), 1); err != nil {
			return m, err
		}
		if err := finite(fmt.Sprintf("%q", mb.Name), mb.Values); err != nil {
			return m, err
		}
		groups[i], means[i] = mb.Values, Mean(mb.Values)
		values += len(mb.Values)
	}
	m.Mean = Mean(means)
	if !(m.Mean > 0) {
		return m, fmt.Errorf("mean of all members is %v: %w", m.Mean, ErrNotPositive)
	}
	m.SD = SD(means)
	m.SDRel = m.SD / m.Mean
	m.SpreadRel = (slices.Max(means) - slices.Min(means)) / m.Mean
	if m.SpreadRel == 0 {
		m.Warnings = append(m.Warnings, Warning{Limit: "members that differ in some digit; equal readings from", Got: float64(len(members))})
	}
	m.Basis = BasisMembers
	if values > len(members) {
		w, err := RandomEffects(groups)
		if err != nil {
			return m, err
		}
		m.Effects, m.Basis = &w, BasisRepeats
		m.SpreadNoise = meanRange(len(members)) * math.Sqrt(w.VarWithin/w.N0) / m.Mean
	}
	m.Members = studentised(members, means, m, alpha)
	return m, nil
}

// studentised parts the odd members from the core, one at a time, the oddest
// first, and then places every member against the core.
func studentised(members []Member, means []float64, m Match, alpha float64) []Odd {
	k := len(members)
	core := make([]bool, k)
	odd := make([]Odd, k)
	for i, mb := range members {
		core[i] = true
		odd[i] = Odd{Name: mb.Name, Mean: means[i], P: 1}
		if m.Effects != nil {
			odd[i].U = math.Sqrt(m.Effects.VarWithin / float64(len(mb.Values)))
		}
	}
	worst := 0.0 // corrected probabilities do not fall from one step to the next
	for left := k; k-left < (k-1)/2; left-- {
		at, p := -1, 1.0
		for i := range members {
			if _, _, q := m.against(i, core, members, means); core[i] && q < p {
				at, p = i, q
			}
		}
		worst = max(worst, min(1, float64(left)*p))
		if at < 0 || worst >= alpha {
			break
		}
		core[at], odd[at].Odd, odd[at].P = false, true, worst
	}
	left := 0
	for _, in := range core {
		if in {
			left++
		}
	}
	for i := range odd {
		diff, t, p := m.against(i, core, members, means)
		odd[i].Rel, odd[i].T = diff/m.Mean, t
		if core[i] {
			odd[i].P = max(worst, min(1, float64(left)*p))
		}
	}
	return odd
}

// against compares member i with the mean of the other members of the core:
// difference, studentised difference and its two-sided probability.
func (m Match) against(i int, core []bool, members []Member, means []float64) (diff, t, p float64) {
	var others []float64
	inv := 0.0
	for j, in := range core {
		if in && j != i {
			others = append(others, means[j])
			inv += 1 / float64(len(members[j].Values))
		}
	}
	k := float64(len(others))
	diff = means[i] - Mean(others)
	var u, nu float64
	if m.Effects != nil {
		u = math.Sqrt(m.Effects.VarWithin * (1/float64(len(members[i].Values)) + inv/(k*k)))
		nu = m.Effects.DofW
	} else if len(others) > 1 {
		u, nu = SD(others)*math.Sqrt(1+1/k), k-1
	}
	switch {
	case u > 0:
		return diff, diff / u, TTwoSided(diff/u, nu)
	case diff != 0 && nu > 0: // nothing else scatters at all
		return diff, math.Copysign(math.MaxFloat64, diff), 0
	}
	return diff, 0, 1
}

// Holm returns the probabilities p [-] corrected for their number, in the same
// order, so that comparing each with a level keeps the chance of any false alarm
// below that level.
//
//	p'_(i) = max_{j≤i} min(1, (k − j + 1)·p_(j)), p_(1) the least
//
// Source: Holm, Scand. J. Stat. 6 (1979) 65.
func Holm(p []float64) []float64 {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case p[a] < p[b]:
			return -1
		case p[a] > p[b]:
			return 1
		}
		return 0
	})
	out := make([]float64, len(p))
	run := 0.0
	for j, i := range order {
		run = max(run, min(1, float64(len(p)-j)*p[i]))
		out[i] = run
	}
	return out
}

// meanRange returns the mean range of n independent standard normal values [-]:
// the constant d2 of the control chart.
//
//	d2 = ∫ 1 − Φ(x)^n − (1 − Φ(x))^n dx
//
// Source: Tippett, Biometrika 17 (1925) 364.
func meanRange(n int) float64 {
	const h = 1.0 / 64
	sum := 0.0
	for x := -9.0; x <= 9; x += h {
		p := 0.5 * math.Erfc(-x/math.Sqrt2)
		sum += 1 - math.Pow(p, float64(n)) - math.Pow(1-p, float64(n))
	}
	return sum * h
}
