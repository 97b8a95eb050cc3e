package measure

import "math"

// NoRepeats stands in RepeatsNeeded where no number of repeats settles a comparison.
const NoRepeats = -1

// A RepeatPlan is what more repeats could settle by the rule of the verdicts. The
// random part of the uncertainty falls with their number, the shared part stays:
//
//	u² = 2·s²/n + u_shared²,  ν = u⁴/((2·s²/n)²/(2n − 2))
type RepeatPlan struct {
	SD       float64 // relative standard deviation of one repeat [-]
	UShared  float64 // relative standard uncertainty that repeats do not lessen [-]
	Smallest float64 // smallest change worth claiming, relative [-]
	Within   float64 // width of 'the same within', relative [-]
}

// at returns the uncertainty of ln ratio [-] with n repeats on each side, n ≥ 2,
// and its degrees of freedom [-].
func (p RepeatPlan) at(n int) (u, dof float64) {
	random := p.SD * math.Sqrt(2/float64(n))
	u = math.Hypot(random, p.UShared)
	return u, WelchSatterthwaite(u, []float64{random, p.UShared}, []float64{float64(2*n - 2), math.Inf(1)})
}

// margin returns how far a true ratio lies beyond the smallest change, in
// logarithms [-]; below zero it lies inside.
func (p RepeatPlan) margin(ratio float64) float64 {
	d := math.Log(ratio)
	return max(d-math.Log1p(p.Smallest), math.Log1p(-p.Smallest)-d)
}

// Proven returns the probability [-] that n repeats on each side, n ≥ 2, call a
// true ratio [-] a proven change: that the whole 95 % interval lies beyond the
// smallest change worth claiming.
//
//	P(T' > t_{0.975}(ν)),  T' noncentral with margin/u
//
// Source: Johnson and Welch, Biometrika 31 (1940) 362. It is NaN for n < 2.
func (p RepeatPlan) Proven(ratio float64, n int) float64 {
	if n < 2 {
		return math.NaN()
	}
	u, nu := p.at(n)
	if u == 0 {
		if p.margin(ratio) > 0 {
			return 1
		}
		return 0
	}
	return 1 - NoncentralTCDF(TQuantile(0.975, nu), nu, p.margin(ratio)/u)
}

// Alike returns at least how probable [-] it is that n repeats on each side, n ≥ 2,
// call a true ratio [-] the same within the width: that both one-sided tests pass.
// The two are counted as if they never failed together, which errs to the low side.
//
// Source: Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657, for the tests. It
// is NaN for n < 2.
func (p RepeatPlan) Alike(ratio float64, n int) float64 {
	if n < 2 {
		return math.NaN()
	}
	u, nu := p.at(n)
	d, l := math.Log(ratio), math.Log1p(p.Within)
	if u == 0 {
		if math.Abs(d) <= l {
			return 1
		}
		return 0
	}
	t := TQuantile(0.95, nu)
	return max(0, 1-NoncentralTCDF(t, nu, (l-d)/u)-NoncentralTCDF(t, nu, (l+d)/u))
}

// Needed returns how many repeats on each side settle a change, if the true ratio
// [-] is what was observed, with probability power [-]: prove it where it lies
// beyond the smallest change worth claiming, else show that it is the same within
// the width. NoRepeats where no number up to a hundred thousand does: the change
// is as good as the smallest one itself, or what the sides share leaves more doubt.
func (p RepeatPlan) Needed(ratio, power float64) (n int, proves bool) {
	proves = p.margin(ratio) > 0
	chance := p.Alike
	if proves {
		chance = p.Proven
	}
	hi := 2
	for chance(ratio, hi) < power {
		if hi *= 2; hi > mostRepeats {
			return NoRepeats, proves
		}
	}
	lo := hi / 2
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; chance(ratio, mid) < power {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi, proves
}

// Provable returns the smallest true gain, relative [-], that n repeats on each
// side, n ≥ 2, prove with probability power [-]; always more than the smallest
// change worth claiming. It is NaN for n < 2.
//
//	ln(1 + gain) = ln(1 + smallest) + u·δ,  P(T' > t_{0.975}(ν)) = power with T' noncentral with δ
func (p RepeatPlan) Provable(n int, power float64) float64 {
	if n < 2 || !(power > 0.025 && power < 1) {
		return math.NaN()
	}
	u, nu := p.at(n)
	if u == 0 {
		return p.Smallest
	}
	gain := math.Expm1(math.Log1p(p.Smallest) + u*noncentrality(TQuantile(0.975, nu), nu, power))
	if !(gain < 1e3) {
		return math.NaN()
	}
	return gain
}
