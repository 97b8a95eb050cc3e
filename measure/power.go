package measure

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// NoncentralTCDF returns P(T ≤ t) [-] of the noncentral t distribution with nu
// degrees of freedom [-] and noncentrality delta [-].
//
// Source: Lenth, algorithm AS 243, Appl. Stat. 38 (1989) 185.
func NoncentralTCDF(t, nu, delta float64) float64 {
	if math.IsInf(nu, 1) || nu > 1e10 {
		return distuv.UnitNormal.CDF(t - delta)
	}
	if t < 0 {
		return 1 - NoncentralTCDF(-t, nu, -delta)
	}
	base := distuv.UnitNormal.CDF(-delta)
	if t == 0 {
		return base
	}
	x := t * t / (nu + t*t)
	lambda := delta * delta
	// Weights start at the mode of the Poisson series and go both ways, so that a
	// large noncentrality does not underflow.
	mode := math.Floor(lambda / 2)
	term := func(j float64) float64 {
		lg, _ := math.Lgamma(j + 1)
		lh, _ := math.Lgamma(j + 1.5)
		p := math.Exp(-lambda/2 - lg + j*logOr(lambda/2))
		q := delta / math.Sqrt2 * math.Exp(-lambda/2-lh+j*logOr(lambda/2))
		return p*mathext.RegIncBeta(j+0.5, nu/2, x) + q*mathext.RegIncBeta(j+1, nu/2, x)
	}
	sum := 0.0
	for j := mode; j >= 0; j-- {
		s := term(j)
		sum += s
		if math.Abs(s) < 1e-16 && j < mode {
			break
		}
	}
	for j := mode + 1; j < mode+10000; j++ {
		s := term(j)
		sum += s
		if math.Abs(s) < 1e-16 {
			break
		}
	}
	return min(1, max(0, base+sum/2))
}

// noncentrality returns the δ [-] with which a noncentral t of nu degrees of freedom
// lies above t with probability power [-], by false position between two bounds.
func noncentrality(t, nu, power float64) float64 {
	short := func(delta float64) float64 { return NoncentralTCDF(t, nu, delta) - (1 - power) } // falls with delta
	lo, hi := t+distuv.UnitNormal.Quantile(power)-1, t+distuv.UnitNormal.Quantile(power)+1
	a, b := short(lo), short(hi)
	for ; a < 0; a = short(lo) {
		lo -= hi - lo
	}
	for ; b > 0; b = short(hi) {
		hi += hi - lo
	}
	mid, last := lo, 0.0
	for range 100 {
		if !(a > b) {
			break
		}
		mid = lo + (hi-lo)*a/(a-b)
		m := short(mid)
		switch {
		case math.Abs(m) < 1e-11:
			return mid
		case m > 0:
			if lo, a = mid, m; last > 0 { // an end that stays twice loses half its weight, so that the other comes up to it
				b /= 2
			}
		default:
			if hi, b = mid, m; last < 0 {
				a /= 2
			}
		}
		last = m
	}
	return mid
}

// logOr returns ln(v), or a number whose multiples vanish but for 0·logOr when v is 0.
func logOr(v float64) float64 {
	if v == 0 {
		return -1e6
	}
	return math.Log(v)
}

// Power returns the probability [-] that a two-sided 5 % comparison of two groups
// of n repeats each finds a true relative difference diff [-], when one repeat
// scatters by the relative standard deviation sd [-].
//
//	1 − β = P(|T'| > t_{0.975}(2n − 2)),  T' noncentral with diff/(sd·sqrt(2/n))
//
// Source: Johnson and Welch, Biometrika 31 (1940) 362. It is NaN for n < 2.
func Power(sd, diff float64, n int) float64 {
	if n < 2 || !(sd > 0) {
		return math.NaN()
	}
	nu := float64(2*n - 2)
	delta := math.Abs(diff) / (sd * math.Sqrt(2/float64(n)))
	t := TQuantile(0.975, nu)
	return 1 - NoncentralTCDF(t, nu, delta) + NoncentralTCDF(-t, nu, delta)
}

// mostRepeats is where RepeatsNeeded gives up.
const mostRepeats = 100_000

// RepeatsNeeded returns how many repeats on each side find a true relative
// difference wanted [-] with probability power [-] (0.8 is usual) at 5 %
// two-sided, when one repeat scatters by the relative standard deviation sd [-].
// At least two are always needed, to know the scatter.
//
// Source: as Power. Errors: ErrNotPositive for arguments that are not,
// ErrOutOfReach above a hundred thousand.
func RepeatsNeeded(sd, wanted, power float64) (int, error) {
	if !(sd >= 0) || !(wanted > 0) || !(power > 0 && power < 1) {
		return 0, fmt.Errorf("repeats for sd %v, difference %v, power %v: %w", sd, wanted, power, ErrNotPositive)
	}
	if sd == 0 {
		return 2, nil
	}
	// The normal distribution asks for almost as many; the t distribution for more.
	z := NormalQuantile(0.975) + NormalQuantile(power)
	guess := math.Ceil(2 * (z * sd / wanted) * (z * sd / wanted))
	if !(guess < mostRepeats) {
		return 0, fmt.Errorf("more than %d repeats for a difference of %v with scatter %v: %w", mostRepeats, wanted, sd, ErrOutOfReach)
	}
	n := max(2, int(guess))
	for Power(sd, wanted, n) < power {
		n++
	}
	for n > 2 && Power(sd, wanted, n-1) >= power {
		n--
	}
	return n, nil
}

// MinDetectable returns the smallest true relative difference [-] that n repeats on
// each side find with probability power [-] at 5 % two-sided, when one repeat
// scatters by the relative standard deviation sd [-].
//
// Source: as Power. Errors: ErrTooFew for n < 2, ErrNotPositive.
func MinDetectable(sd float64, n int, power float64) (float64, error) {
	if err := atLeast("repeats on each side", n, 2); err != nil {
		return 0, err
	}
	if !(sd > 0) || !(power > 0.05 && power < 1) {
		return 0, fmt.Errorf("smallest difference for sd %v, power %v: %w", sd, power, ErrNotPositive)
	}
	lo, hi := 0.0, sd
	for Power(sd, hi, n) < power {
		lo, hi = hi, 2*hi
	}
	for range 60 {
		if mid := (lo + hi) / 2; Power(sd, mid, n) < power {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2, nil
}
