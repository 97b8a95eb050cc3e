package meter

import "math"

// A Profile is the shape of a flow nozzle.
type Profile int

// The nozzles of ISO 5167-3:2003.
const (
	ISA1932       Profile = iota // ISA 1932 nozzle, corner tappings, 5.1
	LongRadius                   // long-radius nozzle, D and D/2 tappings, 5.2
	VenturiNozzle                // Venturi nozzle, 5.3
)

// A Nozzle is a flow nozzle in a pipe. ISO 5167-3:2003.
type Nozzle struct {
	Throat

	Profile Profile // shape of the nozzle
}

// Kind returns "nozzle_isa1932", "nozzle_long_radius" or "nozzle_venturi".
func (n Nozzle) Kind() string {
	switch n.Profile {
	case ISA1932:
		return "nozzle_isa1932"
	case LongRadius:
		return "nozzle_long_radius"
	case VenturiNozzle:
		return "nozzle_venturi"
	}
	panic("meter: unknown nozzle profile")
}

// Reads returns Difference.
func (Nozzle) Reads() Quantity { return Difference }

// Flow returns the mass flow for a pressure difference dp [Pa].
//
// Errors: *gas.InputError for what cannot be built or read.
// Warnings: the limits of ISO 5167-3:2003, 5.1.6.1, 5.2.6.1 or 5.3.4.1 on D, d, β and Re_D, and p2/p1 ≥ 0.75.
// Source: ISO 5167-1:2003 eq. (1); ISO 5167-3:2003, 5.1.6, 5.2.6 and 5.3.4.
func (n Nozzle) Flow(up Upstream, dp float64) (Flow, error) {
	f, err := n.Bare(up, dp)
	if err != nil {
		return Flow{}, err
	}
	uC, uEps := n.uncertainty(dp / up.Pressure)
	l := n.limits(up, dp, f.Reynolds)
	l.close(&f, n.parts(uC, uEps))
	return f, nil
}

// Bare is Flow without uncertainty and warnings.
func (n Nozzle) Bare(up Upstream, dp float64) (Flow, error) {
	if err := n.check(); err != nil {
		return Flow{}, err
	}
	if err := up.check(); err != nil {
		return Flow{}, err
	}
	if err := checkDrop(up, dp); err != nil {
		return Flow{}, err
	}
	beta := n.Beta()
	law := nozzleLaw(n.Profile, beta)
	return n.solve(up, dp, nozzleEps(dp/up.Pressure, beta, up.Kappa), law.at), nil
}

// NozzleC returns the discharge coefficient C [-] of a nozzle of the given profile, diameter ratio beta [-] and Reynolds
// number re [-] on the pipe diameter.
//
//	ISA 1932        C = 0.9900 − 0.2262β^4.1 − (0.00175β² − 0.0033β^4.15)(10⁶/Re)^1.15
//	long radius     C = 0.9965 − 0.00653·sqrt(10⁶β/Re)
//	Venturi nozzle  C = 0.9858 − 0.196β^4.5
//
// Below Re = 2000, far outside the limits of use, C is that at 2000.
// Source: ISO 5167-3:2003, 5.1.6.2, 5.2.6.2 and 5.3.4.2.
func NozzleC(profile Profile, beta, re float64) float64 {
	law := nozzleLaw(profile, beta)
	return law.at(math.Log(max(re, leastRe)))
}

// A powerLaw is a coefficient C = a − b·Re^(−n).
type powerLaw struct{ a, b, n float64 }

// at returns C [-] at the natural logarithm of the Reynolds number.
func (l *powerLaw) at(lnRe float64) float64 {
	if l.b == 0 {
		return l.a
	}
	return l.a - l.b*math.Exp(-l.n*lnRe)
}

// nozzleLaw returns the law of NozzleC for one diameter ratio beta [-].
func nozzleLaw(profile Profile, beta float64) powerLaw {
	switch profile {
	case ISA1932:
		return powerLaw{
			0.9900 - 0.2262*math.Pow(beta, 4.1),
			(0.00175*beta*beta - 0.0033*math.Pow(beta, 4.15)) * math.Exp(1.15*math.Log(1e6)), 1.15,
		}
	case LongRadius:
		return powerLaw{0.9965, 0.00653 * math.Sqrt(1e6*beta), 0.5}
	case VenturiNozzle:
		return powerLaw{0.9858 - 0.196*math.Pow(beta, 4.5), 0, 0}
	}
	panic("meter: unknown nozzle profile")
}

// NozzleExpansibility returns the expansibility factor ε [-] of a nozzle or Venturi tube of diameter ratio beta [-] for
// absolute static pressures p1 upstream and p2 at the throat [Pa] and isentropic exponent kappa [-].
//
//	τ = p2/p1
//	ε = sqrt(κτ^(2/κ)/(κ−1)·(1−β⁴)/(1−β⁴τ^(2/κ))·(1−τ^((κ−1)/κ))/(1−τ))
//
// Valid for p2/p1 ≥ 0.75. Source: ISO 5167-3:2003, 5.1.6.3; ISO 5167-4:2003, 5.6.
func NozzleExpansibility(p1, p2, beta, kappa float64) float64 {
	return nozzleEps((p1-p2)/p1, beta, kappa)
}

// nozzleEps is NozzleExpansibility by the drop Δp/p1 [-], so that a small one keeps its digits.
func nozzleEps(drop, beta, kappa float64) float64 {
	if drop == 0 {
		return 1
	}
	b4, ln := fourth(beta), math.Log1p(-drop)
	t2 := math.Exp(2 * ln / kappa)
	return min(1, math.Sqrt(kappa*t2/(kappa-1)*(1-b4)/(1-b4*t2)*-math.Expm1((kappa-1)/kappa*ln)/drop))
}

// uncertainty returns the relative standard uncertainties of C and ε [-] at a pressure difference of drop = Δp/p1 [-]:
// half of the percentages of ISO 5167-3:2003, 5.1.7, 5.2.7 and 5.3.5.
func (n Nozzle) uncertainty(drop float64) (uC, uEps float64) {
	beta := n.Beta()
	percentC, percentEps := 0.8, 2*drop
	switch n.Profile {
	case ISA1932:
		if beta > 0.6 {
			percentC = 2*beta - 0.4
		}
	case LongRadius:
		percentC = 2.0
	case VenturiNozzle:
		b4 := fourth(beta)
		percentC, percentEps = 1.2+1.5*b4, (4+100*b4*b4)*drop
	}
	return percentC / 100 / 2, percentEps / 100 / 2
}

// limits lists the limits of use that are left.
func (n Nozzle) limits(up Upstream, dp, re float64) (l limits) {
	const (
		tiny = 1e-12
		mm   = 1e3
	)
	beta, pipe := n.Beta(), n.Pipe*mm
	var limit string
	var lo, hi float64
	switch n.Profile {
	case ISA1932:
		l.within("ISO 5167-3:2003 5.1.6.1: pipe diameter D 50 to 500 mm", pipe, 50-tiny, 500+tiny)
		l.within("ISO 5167-3:2003 5.1.6.1: diameter ratio beta 0.30 to 0.80", beta, 0.30-tiny, 0.80+tiny)
		limit, lo, hi = "ISO 5167-3:2003 5.1.6.1: Reynolds number Re_D 20 000 (70 000 below beta 0.44) to 10 000 000", 2e4, 1e7
		if beta < 0.44 {
			lo = 7e4
		}
	case LongRadius:
		l.within("ISO 5167-3:2003 5.2.6.1: pipe diameter D 50 to 630 mm", pipe, 50-tiny, 630+tiny)
		l.within("ISO 5167-3:2003 5.2.6.1: diameter ratio beta 0.20 to 0.80", beta, 0.20-tiny, 0.80+tiny)
		limit, lo, hi = "ISO 5167-3:2003 5.2.6.1: Reynolds number Re_D 10 000 to 10 000 000", 1e4, 1e7
	case VenturiNozzle:
		l.within("ISO 5167-3:2003 5.3.4.1: pipe diameter D 65 to 500 mm", pipe, 65-tiny, 500+tiny)
		l.within("ISO 5167-3:2003 5.3.4.1: bore d at least 50 mm", n.Bore*mm, 50-tiny, math.Inf(1))
		l.within("ISO 5167-3:2003 5.3.4.1: diameter ratio beta 0.316 to 0.775", beta, 0.316-tiny, 0.775+tiny)
		limit, lo, hi = "ISO 5167-3:2003 5.3.4.1: Reynolds number Re_D 150 000 to 2 000 000", 1.5e5, 2e6
	}
	if dp == 0 {
		return l
	}
	l.within(limit, re, lo, hi)
	l.ratioAbove("ISO 5167-3:2003 5.1.6.3: pressure ratio p2/p1 at least 0.75", up, dp)
	return l
}
