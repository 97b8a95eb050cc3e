package measure

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/mathext"
)

// A Word is the verdict of a comparison.
type Word string

// The verdicts. Same is completed by the width it holds for: see Comparison.Say.
const (
	ProvenGain Word = "proven gain"      // the interval lies above the smallest change worth claiming
	ProvenLoss Word = "proven loss"      // the interval lies below it, downwards
	NoChange   Word = "no proven change" // neither proven, nor proven to be the same
	Same       Word = "the same"         // two one-sided tests pass
)

// CompareOptions tells CompareRatio what to claim. The zero value claims changes
// above half a percent.
type CompareOptions struct {
	Smallest   float64 // smallest change worth claiming, relative [-]; 0 means 0.005
	SameWithin float64 // width of 'the same within', relative [-]; 0 means Smallest
	RepeatSD   float64 // relative standard deviation of one set-up, known from elsewhere [-]; used where a side has one reading
	RepeatDof  float64 // degrees of freedom of RepeatSD [-]; 0 means infinitely many
	Power      float64 // probability for RepeatsNeeded [-]; 0 means 0.8
}

// A Comparison is how much the later readings differ from the earlier ones.
type Comparison struct {
	Ratio    float64 `json:"ratio"`     // geometric mean after over geometric mean before [-]
	URel     float64 `json:"u_rel"`     // standard uncertainty of ln Ratio [-]
	URandom  float64 `json:"u_random"`  // its part from scatter and settling [-]
	UShared  float64 `json:"u_shared"`  // its part from shared inputs that do not cancel [-]
	Dof      float64 `json:"dof"`       // effective degrees of freedom [-], +Inf where all is taken as known
	K        float64 `json:"k"`         // coverage factor for 95 % [-]
	Lo95     float64 `json:"lo95"`      // lower end of the 95 % interval of the ratio [-]
	Hi95     float64 `json:"hi95"`      // upper end of the 95 % interval of the ratio [-]
	Word     Word    `json:"-"`         // the verdict
	Smallest float64 `json:"smallest"`  // smallest change that it claims, relative [-]
	Within   float64 `json:"within"`    // width for which Same was tested, relative [-]
	Least    float64 `json:"same_from"` // smallest width for which the two one-sided tests pass, relative [-]

	RepeatSD      float64     `json:"repeat_sd"`      // relative standard deviation of one repeat that was used [-]
	RepeatsNeeded int         `json:"repeats_needed"` // repeats on each side that would settle an open verdict if the change is what it looks like; 0: it is settled, NoRepeats: no number does
	Provable      float64     `json:"provable"`       // smallest gain that as many repeats as were made prove with that power, relative [-]; 0 with one on a side
	Cancelled     []Cancelled `json:"cancelled"`      // inputs that the two sides share
	Warnings      []Warning   `json:"warnings"`
}

// Say returns the verdict in words, with the width where it needs one:
// "the same within 0.5 %".
func (c Comparison) Say() string {
	if c.Word != Same {
		return string(c.Word)
	}
	return "the same within " + strconv.FormatFloat(100*c.Within, 'g', 3, 64) + " %"
}

// CompareRatio compares repeated readings before and after a change. Each reading
// is a budget; one made of repeats without further knowledge has no lines.
//
// It works on logarithms: a ratio of positive readings whose errors are relative
// has a symmetric interval there, a gain and the inverse loss are judged alike,
// and to first order it is the delta method. The geometric means of scatters of a
// percent differ from the arithmetic ones by 5·10⁻⁵.
//
//	ln r = mean ln y2 − mean ln y1
//	u² = s1²/n1 + s2²/n2 + Σ_k (c_k2·u_k2/y2 − c_k1·u_k1/y1)²
//
// The sum is over inputs that two or more readings share (lines with one key), and
// over keyed type B lines of a reading that is alone on its side. All other lines
// are each reading's own, and are seen in the scatter of the repeats; they are used instead of it where there is only one reading, or where
// the repeats agree better than they can (below the 0.5 % point of χ²). The
// degrees of freedom are Welch and Satterthwaite's, the sides weighed as of one bench: see alikeDof. Readings compared with themselves
// give exactly 1 ± 0: their scatter is on both sides the same.
//
// Sources: Welch, Biometrika 34 (1947) 28; JCGM 100:2008, 5.2.2 and G.4;
// Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657. Errors: ErrTooFew with no
// reading on a side or nothing known of one, ErrNotPositive for a reading that is
// not, ErrNoScatter for equal repeats of which nothing more is known.
func CompareRatio(before, after []Budget, opt CompareOptions) (Comparison, error) {
	opt = opt.filled()
	var c Comparison
	shared := sharedKeys(before, after)
	var side [2]repeats
	for i, group := range [][]Budget{before, after} {
		s, err := newRepeats(group, shared)
		if err != nil {
			return c, fmt.Errorf("readings %s: %w", [2]string{"before", "after"}[i], err)
		}
		side[i] = s
	}
	terms, dofs, err := c.scatter(&side[0], &side[1], opt)
	if err != nil {
		return c, err
	}
	rest := sharedRest(before, after, shared)
	u, nu := rest.terms()
	terms, dofs = append(terms, u...), append(dofs, nu...)
	c.UShared = rest.Combined()
	c.URel = math.Hypot(c.URandom, c.UShared)
	if c.URel == 0 && len(rest.Lines) == 0 {
		return c, fmt.Errorf("one reading on each side, and no uncertainty is given for either: %w", ErrTooFew)
	}
	c.Dof = alikeDof(c.URel, side, terms, dofs)
	d := side[1].mean - side[0].mean
	if sameReadings(before, after) {
		d, c.URandom, c.UShared, c.URel, c.Dof = 0, 0, 0, 0, math.Inf(1)
	}
	c.K = CoverageFactor(0.95, c.Dof)
	c.Ratio = math.Exp(d)
	c.Lo95, c.Hi95 = math.Exp(d-c.K*c.URel), math.Exp(d+c.K*c.URel)
	c.Cancelled = sharedList(before, after, shared)
	c.judge(d, opt)
	c.plan(side[0].n, side[1].n, opt)
	return c, nil
}

func (o CompareOptions) filled() CompareOptions {
	if o.Smallest == 0 {
		o.Smallest = 0.005
	}
	if o.SameWithin == 0 {
		o.SameWithin = o.Smallest
	}
	if o.Power == 0 {
		o.Power = 0.8
	}
	if o.RepeatDof == 0 {
		o.RepeatDof = math.Inf(1)
	}
	return o
}

// repeats is one side of a comparison, in logarithms.
type repeats struct {
	n      int
	mean   float64 // mean of ln y
	sd     float64 // scatter of ln y; 0 when n is 1
	own    float64 // relative uncertainty of one reading by its own lines, root mean square
	ownDof float64
	used   float64 // relative standard deviation of one reading that is used
	dof    float64
}

// newRepeats reads one side; shared holds the keys that are not a reading's own.
func newRepeats(group []Budget, shared map[string]bool) (repeats, error) {
	r := repeats{n: len(group)}
	if err := atLeast("count", r.n, 1); err != nil {
		return r, err
	}
	y := make([]float64, r.n)
	var u, nu []float64
	for i, b := range group {
		if err := b.Check(); err != nil {
			return r, err
		}
		if !(b.Value > 0) {
			return r, fmt.Errorf("reading %d is %v: %w", i+1, b.Value, ErrNotPositive)
		}
		y[i] = math.Log(b.Value)
		own := b.keep(func(l Line) bool { return !shared[l.Key] })
		u, nu = append(u, own.Relative()), append(nu, own.Dof())
	}
	r.mean = Mean(y)
	if r.n > 1 {
		r.sd = SD(y)
	}
	r.own = math.Sqrt(dot(u, u) / float64(r.n))
	r.ownDof = WelchSatterthwaite(math.Sqrt(dot(u, u)), u, nu)
	return r, nil
}

// keep returns b with only the lines that want, and the correlations between them.
func (b Budget) keep(want func(Line) bool) Budget {
	out := Budget{Value: b.Value}
	place := map[int]int{}
	for i, l := range b.Lines {
		if want(l) {
			place[i] = len(out.Lines)
			out.Lines = append(out.Lines, l)
		}
	}
	for _, p := range b.Correlation {
		i, ok := place[p.I]
		j, ok2 := place[p.J]
		if ok && ok2 {
			out.Correlation = append(out.Correlation, Pair{I: i, J: j, R: p.R})
		}
	}
	return out
}

// scatter decides what one reading scatters by on each side, and returns the
// terms of the random part with their degrees of freedom.
func (c *Comparison) scatter(b, a *repeats, opt CompareOptions) (terms, dofs []float64, err error) {
	for _, s := range []*repeats{b, a} {
		s.used, s.dof = s.sd, float64(s.n-1)
		// Repeats that agree better than their own budgets allow.
		nu := float64(s.n - 1)
		if s.n > 1 && s.own > 0 && mathext.GammaIncReg(nu/2, nu/2*s.sd*s.sd/(s.own*s.own)) < 0.005 {
			s.used, s.dof = s.own, s.ownDof
		}
		if s.n > 1 && s.used == 0 {
			return nil, nil, fmt.Errorf("%d readings equal to the last digit, and no other uncertainty is given: %w", s.n, ErrNoScatter)
		}
	}
	single := b.n == 1 || a.n == 1
	if single {
		c.Warnings = append(c.Warnings, Warning{Limit: "at least two readings on each side, to see how a set-up repeats", Got: 1})
	}
	joint := false // both terms rest on one estimate of the scatter
	switch {
	case b.n == 1 && a.n == 1:
		for _, s := range []*repeats{b, a} {
			s.used = math.Hypot(s.own, opt.RepeatSD)
			s.dof = WelchSatterthwaite(s.used, []float64{s.own, opt.RepeatSD}, []float64{s.ownDof, opt.RepeatDof})
		}
		joint = opt.RepeatSD > 0
	case single:
		many, one := b, a
		if b.n == 1 {
			many, one = a, b
		}
		one.used, one.dof = many.used, many.dof
		if one.own > one.used {
			one.used, one.dof = one.own, one.ownDof
		} else {
			joint = true
		}
	}
	ub, ua := b.used/math.Sqrt(float64(b.n)), a.used/math.Sqrt(float64(a.n))
	c.URandom = math.Hypot(ub, ua)
	c.RepeatSD = math.Sqrt((b.used*b.used + a.used*a.used) / 2)
	if joint {
		return []float64{c.URandom}, []float64{min(b.dof, a.dof)}, nil
	}
	return []float64{ub, ua}, []float64{b.dof, a.dof}, nil
}

// judge finds the word.
func (c *Comparison) judge(d float64, opt CompareOptions) {
	c.Smallest, c.Within = opt.Smallest, opt.SameWithin
	k90 := CoverageFactor(0.90, c.Dof)
	c.Least = math.Expm1(max(d+k90*c.URel, -(d - k90*c.URel)))
	switch {
	case c.Lo95 > 1+opt.Smallest:
		c.Word = ProvenGain
	case c.Hi95 < 1-opt.Smallest:
		c.Word = ProvenLoss
	case c.Least <= opt.SameWithin:
		c.Word = Same
	default:
		c.Word = NoChange
	}
}

// plan says how many repeats would settle an open verdict, if the change is what it
// looks like, and what gain as many as were made can prove.
func (c *Comparison) plan(b, a int, opt CompareOptions) {
	p := RepeatPlan{SD: c.RepeatSD, UShared: c.UShared, Smallest: opt.Smallest, Within: opt.SameWithin}
	if least := p.Provable(min(b, a), opt.Power); !math.IsNaN(least) {
		c.Provable = least
	}
	if c.Word == NoChange {
		c.RepeatsNeeded, _ = p.Needed(c.Ratio, opt.Power)
	}
}

// towardPooled is how far the variances that weigh the degrees of freedom are moved to the pooled one [-]; 0 is Welch and Satterthwaite's formula. Our own
// choice: of two to five readings a side it brings the interval nearest to 95 % for scatters that differ by up to two, see the simulation in the tests.
const towardPooled = 1. / 3

// alikeDof returns the effective degrees of freedom [-] of a comparison with uncertainty u [-], whose first two terms are the scatter of its two
// sides. Where both scatters were found from their own repeats, the formula weighs the sides by variances moved a third of the way to the pooled one.
//
//	ν = u⁴/Σ(v_i²/ν_i),  v_i = (⅔·s_i² + ⅓·s_p²)/n_i,  u² = Σv_i and what is shared
//
// Of few repeats the variance of a side is hardly known, and Welch and Satterthwaite's ν, which takes it as known, is then too great where the less
// sure side happens to scatter little, and too small where both scatter alike. Both sides are of one bench, so that they scatter about alike; the
// uncertainty itself is left as it was seen.
func alikeDof(u float64, side [2]repeats, terms, dofs []float64) float64 {
	b, a := side[0], side[1]
	if b.n < 2 || a.n < 2 || b.used != b.sd || a.used != a.sd {
		return WelchSatterthwaite(u, terms, dofs)
	}
	pooled := (b.dof*b.sd*b.sd + a.dof*a.sd*a.sd) / (b.dof + a.dof)
	weighed := slices.Clone(terms)
	total := u * u
	for i, s := range side {
		v := (s.sd*s.sd + towardPooled*(pooled-s.sd*s.sd)) / float64(s.n)
		total += v - terms[i]*terms[i]
		weighed[i] = math.Sqrt(v)
	}
	return WelchSatterthwaite(math.Sqrt(total), weighed, dofs)
}
