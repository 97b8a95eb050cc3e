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
	U      float64   // standard uncertainty of their mean that is known otherwise [unit of x]; counts where the repeats show less, or are none; 0: unknown
}

// MatchOptions says when a member is called odd. The zero value is the 5 % level
// and any difference at all.
type MatchOptions struct {
	Alpha    float64 // chance that any member at all of an even set is called odd [-]; 0 means 0.05
	Smallest float64 // smallest difference worth claiming, relative [-]
}

// An Odd is how far one member stands from the others.
type Odd struct {
	Name string  `json:"name"`
	Rel  float64 `json:"rel"`      // its mean less that of the other members that are not odd, over the mean of all [-]
	Half float64 `json:"rel_half"` // half-width of the 95 % interval of Rel by the scatter of repeats, over the mean of all [-]; 0 if unknown
	T    float64 `json:"t"`        // that difference over its standard deviation by the scatter of the others [-]
	P    float64 `json:"p"`        // two-sided probability by chance, the greater of the two tests, corrected for the number of members [-]
	Odd  bool    `json:"odd"`      // P is below the level asked for, and the interval of Rel lies beyond the smallest difference
	Mean float64 `json:"mean"`     // its mean [unit of x]
	U    float64 `json:"u"`        // standard uncertainty of its mean [unit of x], 0 if unknown
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

// The scatters by which members are judged odd.
const (
	BasisBoth    = "scatter of the others and that of the repeats" // stands out of the bunch, and beyond the noise of reading it
	BasisMembers = "scatter of the others"                         // stands out of the bunch; no repeats were made
)

// MatchMembers compares members and marks the odd ones out.
//
// No two runners are alike; one that differs from the others as they differ among
// themselves is not odd, however surely it differs. So a member is called odd only
// when three things hold. It stands out of the scatter of the others:
//
//	t_i = (m_i − m_{others})/(s_{others}·sqrt(1 + 1/k)),  ν = k − 1,  k others
//
// it differs from them beyond the scatter of repeats, as far as that is known:
//
//	t_i = (m_i − m_{others})/u,  u² = s_w²/n_i + Σ_{others} s_w²/n_j/k²,  ν = N − K
//
// and the 95 % interval of the latter lies wholly beyond the smallest difference
// worth claiming.
//
// The one farthest out of the scatter of the others is set aside and the rest are
// looked at again, up to fewer than half, so that one bad member neither hides
// another nor lends it company. The probability of standing out is multiplied by
// the number of members still in; where two or more stand out only together, one
// hiding the other, by the number of ways to have chosen them in turn. That of the
// repeats is multiplied by the number of all. Members equal to the last digit are
// evenly matched, not an error; that they are is a warning.
//
// Sources: Cook and Weisberg, Residuals and Influence in Regression (1982), 2.2.2,
// for the externally studentised deviation; Rosner, Technometrics 25 (1983) 165,
// for the order in which to set aside and to test; Holm, Scand. J. Stat. 6 (1979)
// 65. The false alarms are counted by a simulation in the tests. Errors: ErrTooFew
// below two members, ErrNotFinite, ErrNotPositive for a mean of all that is not.
func MatchMembers(members []Member, opt MatchOptions) (Match, error) {
	var m Match
	if err := atLeast("members", len(members), 2); err != nil {
		return m, err
	}
	if opt.Alpha == 0 {
		opt.Alpha = 0.05
	}
	groups := make([][]float64, len(members))
	means := make([]float64, len(members))
	values := 0
	for i, mb := range members {
		if err := atLeast(fmt.Sprintf("values of %q", mb.Name), len(mb.Values), 1); err != nil {
			return m, err
		}
		if err := finite(fmt.Sprintf("%q", mb.Name), append([]float64{mb.U}, mb.Values...)); err != nil {
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
		m.Effects, m.Basis = &w, BasisBoth
		m.SpreadNoise = meanRange(len(members)) * math.Sqrt(w.VarWithin/w.N0) / m.Mean
	}
	for _, mb := range members {
		m.Members = append(m.Members, Odd{Name: mb.Name})
	}
	newBunch(members, means, m).judge(&m, opt)
	return m, nil
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
