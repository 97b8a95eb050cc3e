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
	Rel  float64 `json:"rel"`  // its mean less the mean of the others, over the mean of all [-]
	T    float64 `json:"t"`    // that difference over its standard uncertainty [-]
	P    float64 `json:"p"`    // two-sided probability of T by chance, corrected for the number of members [-]
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
// 0.05 when 0, over all members together, by Holm's correction.
//
// With repeats, a member is odd when its mean differs from the mean of the others
// by more than the pooled scatter of repeats explains. Without, when it stands out
// of the scatter of the others (the externally studentised deviation).
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

// studentised tests each member against the others.
func studentised(members []Member, means []float64, m Match, alpha float64) []Odd {
	k := float64(len(members))
	odd := make([]Odd, len(members))
	inv := 0.0
	for _, mb := range members {
		inv += 1 / float64(len(mb.Values))
	}
	for i, mb := range members {
		others := slices.Delete(slices.Clone(means), i, i+1)
		diff := means[i] - Mean(others)
		o := Odd{Name: mb.Name, Mean: means[i], Rel: diff / m.Mean, P: 1}
		var u, nu float64
		if m.Effects != nil {
			own := 1 / float64(len(mb.Values))
			s := math.Sqrt(m.Effects.VarWithin)
			u, nu = s*math.Sqrt(own+(inv-own)/((k-1)*(k-1))), m.Effects.DofW
			o.U = s * math.Sqrt(own)
		} else if len(others) > 1 {
			u, nu = SD(others)*math.Sqrt(1+1/(k-1)), k-2
		}
		switch {
		case u > 0:
			o.T = diff / u
			o.P = TTwoSided(o.T, nu)
		case diff != 0 && nu > 0: // nothing else scatters at all
			o.T, o.P = math.Copysign(math.MaxFloat64, diff), 0
		}
		odd[i] = o
	}
	p := make([]float64, len(odd))
	for i := range odd {
		p[i] = odd[i].P
	}
	for i, v := range Holm(p) {
		odd[i].P, odd[i].Odd = v, v < alpha
	}
	return odd
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
