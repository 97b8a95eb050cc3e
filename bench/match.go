package bench

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"runnel/measure"
)

// A Match says how evenly the openings of a piece flow.
type Match struct {
	measure.Match // of the flows at the reference [m³/s]

	Openings  []MatchedOpening // in the order of the piece
	NotFlowed []string         // openings that were not flowed
	MeanLo    float64          // lower end of the 95 % interval of the mean of all openings, flowed or not [m³/s]
	MeanHi    float64          // upper end of it [m³/s]
	SpreadLo  float64          // lower end of an interval that holds the spread of all openings with at least 95 %, relative [-]
	SpreadHi  float64          // upper end of it [-]
	RunnerSD  float64          // standard deviation between openings, repeat scatter taken out, over the mean [-]
	RepeatSD  float64          // standard deviation of repeats over the mean [-]; of one reading's own lines when there are no repeats
	Bridged   []Bridge         // as for a verdict
	Note      string           // what the numbers rest on, in words

	meanVariance float64 // variance of the mean of one opening's readings, over the openings [m⁶/s²]
}

// A MatchedOpening is one opening of a match.
type MatchedOpening struct {
	Opening string
	Flow    float64 // mean of its readings at the reference [m³/s]
	Lo95    float64 // lower end of its 95 % interval; what all openings share is left out [m³/s]
	Hi95    float64 // upper end of it [m³/s]
	N       int     // readings
	Dev     float64 // from the mean of the openings that were flowed, relative [-]
	Apart   float64 // from the mean of the other openings that are not odd, over the mean of all [-]
	Half    float64 // half-width of the 95 % interval of Apart by repeats, over the mean of all [-]
	Odd     bool    // an odd one out: see measure.MatchMembers

	u   float64 // standard uncertainty of Flow as in its interval [m³/s]
	dof float64 // its degrees of freedom [-]
}

// MatchOpenings compares the openings of a piece in one round. readings are those of all its openings, all the openings of
// the piece in its order; opt says when one is odd.
//
// Rig cards must match as for a verdict, but for the opening; test pressure and entry are bridged to the first reading. The
// openings are a random sample of such openings (one-way random effects). When only n of N were flowed, the mean of all is
// uncertain by those that were not:
//
//	u² = s²/n·(1 − n/N) + s_w²/(r·N)
//
// with s the standard deviation of the openings' means, s_w that of repeats and r repeats each.
//
// Errors: *UnlikeError; measure.ErrTooFew below two openings. Source: measure.MatchMembers; Cochran, Sampling Techniques (1977),
// 2.6, for the share that was not flowed.
func MatchOpenings(readings []Reading, openings []string, opt measure.MatchOptions) (Match, error) {
	var m Match
	by, err := m.group(readings)
	if err != nil {
		return m, err
	}
	var members []measure.Member
	for _, name := range ordered(openings, by) {
		rs := by[name]
		if len(rs) == 0 {
			m.NotFlowed = append(m.NotFlowed, name)
			continue
		}
		values, sum := make([]float64, 0, len(rs)), 0.0
		for _, r := range rs {
			values = append(values, r.flow)
			sum += r.own * r.own
		}
		own := measure.Mean(values) * math.Sqrt(sum) / float64(len(rs))
		members = append(members, measure.Member{Name: name, Values: values, U: own})
	}
	if m.Match, err = measure.MatchMembers(members, opt); err != nil {
		return m, err
	}
	m.intervals(by)
	m.predict()
	m.note()
	if d := sittings(readings); d > 1 {
		m.Note += fmt.Sprintf("; flowed in %d sittings, each with its own drift of the bench", d)
	}
	return m, nil
}

// A sample is one reading of an opening.
type sample struct {
	flow float64 // at the reference, bridged [m³/s]
	own  float64 // relative standard uncertainty by the reading's own lines [-]
}

// group sorts readings by opening, carried over to the set-up of the first.
func (m *Match) group(readings []Reading) (map[string][]sample, error) {
	by := map[string][]sample{}
	days := sittings(readings)
	var refused []Difference
	for i := range readings {
		r := &readings[i]
		like := *r
		like.Opening = readings[0].Opening
		refused = append(refused, unlike(&like, &readings[0])...)
		br, no := bridges(r, &readings[0], nil)
		refused = append(refused, no...)
		factor := 1.0
		for _, b := range br {
			factor *= b.Factor
			if !slices.ContainsFunc(m.Bridged, func(x Bridge) bool { return x.Name == b.Name }) {
				m.Bridged = append(m.Bridged, b)
			}
		}
		by[r.Opening] = append(by[r.Opening], sample{r.Flow * factor, ownRelative(r.Budget, days > 1)})
	}
	if len(refused) > 0 {
		return nil, &UnlikeError{distinct(refused)}
	}
	return by, nil
}

// ownRelative returns the relative standard uncertainty of a budget by its reading's own lines alone [-], and, among readings of several
// sittings, by that of the bench in its sitting.
func ownRelative(b measure.Budget, several bool) float64 {
	sum := 0.0
	for _, l := range b.Lines {
		if isOwn(l) || several && strings.HasPrefix(l.Key, benchPrefix) {
			sum += l.Contribution() * l.Contribution()
		}
	}
	for _, p := range b.Correlation {
		if isOwn(b.Lines[p.I]) && isOwn(b.Lines[p.J]) {
			sum += 2 * p.R * b.Lines[p.I].Contribution() * b.Lines[p.J].Contribution()
		}
	}
	return math.Sqrt(max(0, sum)) / math.Abs(b.Value)
}

// ordered returns the openings of the piece, then those that it does not name but that were flowed, by name.
func ordered(openings []string, by map[string][]sample) []string {
	all := slices.Clone(openings)
	var more []string
	for name := range by {
		if !slices.Contains(openings, name) {
			more = append(more, name)
		}
	}
	slices.Sort(more)
	return append(all, more...)
}

// intervals fills in the openings: by the pooled scatter of repeats, or without repeats by the own lines of each reading.
func (m *Match) intervals(by map[string][]sample) {
	pooled, nu := 0.0, math.Inf(1)
	if m.Effects != nil {
		pooled, nu = math.Sqrt(m.Effects.VarWithin), m.Effects.DofW
	}
	own := 0.0
	for _, o := range m.Members {
		rs := by[o.Name]
		sum := 0.0
		for _, r := range rs {
			sum += r.own * r.own
		}
		own += sum / float64(len(rs)) / float64(len(m.Members))
		u, dof := pooled/math.Sqrt(float64(len(rs))), nu
		// Repeats that agree better than their own lines allow, as equal ones do, do not make the bench better than it is.
		if mine := o.Mean * math.Sqrt(sum) / float64(len(rs)); u < mine {
			u, dof = mine, math.Inf(1)
		}
		m.meanVariance += u * u / float64(len(m.Members))
		k := measure.CoverageFactor(0.95, dof)
		m.Openings = append(m.Openings, MatchedOpening{
			Opening: o.Name, Flow: o.Mean, Lo95: o.Mean - k*u, Hi95: o.Mean + k*u, N: len(rs), Dev: o.Mean/m.Mean - 1, Apart: o.Rel, Half: o.Half, Odd: o.Odd,
			u: u, dof: dof,
		})
	}
	m.RepeatSD = max(pooled/m.Mean, math.Sqrt(own))
	if m.Effects != nil {
		m.RepeatSD = pooled / m.Mean
	}
	noise := 0.0 // variance that repeats leave in the mean of an opening
	for _, o := range m.Openings {
		noise += m.RepeatSD * m.RepeatSD / float64(o.N) / float64(len(m.Openings))
	}
	m.RunnerSD = math.Sqrt(max(0, m.SDRel*m.SDRel-noise))
}

// predict finds the mean of all openings, flowed or not, and the range that the spread of all is expected in.
func (m *Match) predict() {
	n, total := float64(len(m.Members)), float64(len(m.Members)+len(m.NotFlowed))
	repeats := 0.0
	for _, o := range m.Openings {
		repeats += float64(o.N) / n
	}
	noise := m.RepeatSD * m.Mean
	// As for one opening, repeats that agree better than their own lines allow do not make the mean surer than it is.
	u := math.Sqrt(m.SD*m.SD/n*(1-n/total) + max(noise*noise/repeats, m.meanVariance)/total)
	k := measure.CoverageFactor(0.95, n-1)
	if len(m.NotFlowed) == 0 {
		k = measure.CoverageFactor(0.95, math.Inf(1))
		if m.Effects != nil {
			k = measure.CoverageFactor(0.95, m.Effects.DofW)
		}
	}
	m.MeanLo, m.MeanHi = m.Mean-k*u, m.Mean+k*u
	m.spreadInterval()
	if len(m.NotFlowed) > 0 {
		// The spread cannot shrink. Each opening that was not flowed lies within the prediction interval of one more opening,
		// at a level that holds for all of them together.
		each := 1 - 0.05/float64(len(m.NotFlowed))
		reach := measure.CoverageFactor(each, n-1) * m.SD * math.Sqrt(1+1/n)
		lo, hi := m.Mean-reach, m.Mean+reach
		for _, o := range m.Openings {
			lo, hi = min(lo, o.Flow), max(hi, o.Flow)
		}
		m.SpreadHi = max(m.SpreadHi, (hi-lo)/m.Mean)
	}
}

// spreadInterval finds the range that the spread of the openings that were flowed lies in, with 95 % or more. The spread as read is off by
// no more than the errors of any two openings differ, and that is bounded for all m pairs of them together (inequality of
// Bonferroni):
//
//	half-width = max_ij t_{1 − 0.025/m}(ν)·sqrt(u_i² + u_j²)
func (m *Match) spreadInterval() {
	pairs := float64(len(m.Openings)*(len(m.Openings)-1)) / 2
	half := 0.0
	for i, a := range m.Openings {
		for _, b := range m.Openings[:i] {
			half = max(half, measure.CoverageFactor(1-0.05/pairs, min(a.dof, b.dof))*math.Hypot(a.u, b.u))
		}
	}
	half /= m.Mean
	m.SpreadLo, m.SpreadHi = max(0, m.SpreadRel-half), m.SpreadRel+half
}

// note says what the numbers rest on.
func (m *Match) note() {
	m.Note = "judged by the " + m.Basis
	if m.Effects == nil {
		m.Note += " and what is known of each reading; repeat at least one opening to know the noise of a reading"
	}
	if k := len(m.NotFlowed); k > 0 {
		m.Note += fmt.Sprintf("; %d of %d openings were not flowed, and are taken to be like the others", k, k+len(m.Members))
	}
}
