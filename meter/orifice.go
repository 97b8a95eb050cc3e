package meter

import "math"

// Taps is where the pressure tappings of an orifice plate sit.
type Taps int

// The tappings of ISO 5167-2:2003, 5.2.
const (
	Corner Taps = iota // in the corners at the plate
	Flange             // 25.4 mm before and behind the plate
	DHalfD             // D before and D/2 behind the plate
)

// distances returns L1 and L2′, the distances of the tappings over the pipe diameter pipe [m].
// Source: ISO 5167-2:2003, 5.3.2.1.
func (t Taps) distances(pipe float64) (l1, l2 float64) {
	switch t {
	case Corner:
		return 0, 0
	case Flange:
		return 25.4e-3 / pipe, 25.4e-3 / pipe
	case DHalfD:
		return 1, 0.47
	}
	panic("meter: unknown tappings")
}

// An Orifice is a square-edged orifice plate in a pipe. ISO 5167-2:2003.
type Orifice struct {
	Throat

	Taps Taps // where the tappings sit
}

// Kind returns "orifice_pipe".
func (Orifice) Kind() string { return "orifice_pipe" }

// Reads returns Difference.
func (Orifice) Reads() Quantity { return Difference }

// Flow returns the mass flow for a pressure difference dp [Pa].
//
// Errors: *gas.InputError for what cannot be built or read.
// Warnings: the limits of ISO 5167-2:2003, 5.3.1 on d, D, β and Re_D, and 5.3.2.2 on p2/p1.
// Source: ISO 5167-1:2003 eq. (1); ISO 5167-2:2003, 5.3.2 and 5.3.3.
func (o Orifice) Flow(up Upstream, dp float64) (Flow, error) {
	f, err := o.Bare(up, dp)
	if err != nil {
		return Flow{}, err
	}
	l := o.limits(up, dp, f.Reynolds)
	l.close(&f, o.parts(orificeUC(o.Beta(), f.Reynolds, o.Pipe), orificeUEps(up, dp)))
	return f, nil
}

// Bare is Flow without uncertainty and warnings.
func (o Orifice) Bare(up Upstream, dp float64) (Flow, error) {
	if err := o.check(); err != nil {
		return Flow{}, err
	}
	if err := up.check(); err != nil {
		return Flow{}, err
	}
	if err := checkDrop(up, dp); err != nil {
		return Flow{}, err
	}
	beta := o.Beta()
	law := newOrificeLaw(beta, o.Pipe, o.Taps)
	return o.solve(up, dp, OrificeExpansibility(up.Pressure, up.Pressure-dp, beta, up.Kappa), law.at), nil
}

// limits lists the limits of use that are left. Source: ISO 5167-2:2003, 5.3.1 and 5.3.2.2.
func (o Orifice) limits(up Upstream, dp, re float64) (l limits) {
	const (
		tiny = 1e-12 // a bore of exactly the limit is inside in spite of rounding
		mm   = 1e3
	)
	beta := o.Beta()
	l.within("ISO 5167-2:2003 5.3.1: bore d at least 12.5 mm", o.Bore*mm, 12.5-tiny, math.Inf(1))
	l.within("ISO 5167-2:2003 5.3.1: pipe diameter D 50 to 1000 mm", o.Pipe*mm, 50-tiny, 1000+tiny)
	l.within("ISO 5167-2:2003 5.3.1: diameter ratio beta 0.10 to 0.75", beta, 0.10-tiny, 0.75+tiny)
	if dp == 0 {
		return l
	}
	limit, least := "ISO 5167-2:2003 5.3.1: Reynolds number Re_D at least 5000 and at least 170·beta²·D/mm (flange tappings)", 170*beta*beta*o.Pipe*mm
	if o.Taps != Flange {
		limit, least = "ISO 5167-2:2003 5.3.1: Reynolds number Re_D at least 5000, and at least 16000·beta² above beta 0.56", 0.0
		if beta > 0.56 {
			least = 16000 * beta * beta
		}
	}
	l.within(limit, re, max(5000, least), math.Inf(1))
	l.ratioAbove("ISO 5167-2:2003 5.3.2.2: pressure ratio p2/p1 at least 0.75", up, dp)
	return l
}

// OrificeC returns the discharge coefficient C [-] of a square-edged orifice plate of diameter ratio beta [-] in a pipe of
// inside diameter pipe [m] at Reynolds number re [-] on the pipe diameter. L1 and L2′ follow from the tappings.
//
//	C = 0.5961 + 0.0261β² − 0.216β⁸ + 0.000521(10⁶β/Re)^0.7 + (0.0188 + 0.0063A)β^3.5(10⁶/Re)^0.3
//	    + (0.043 + 0.080e^(−10L1) − 0.123e^(−7L1))(1 − 0.11A)β⁴/(1 − β⁴) − 0.031(M2′ − 0.8M2′^1.1)β^1.3
//	    + 0.011(0.75 − β)(2.8 − D/25.4 mm)   for D < 71.12 mm
//	A = (19000β/Re)^0.8,  M2′ = 2L2′/(1 − β)
//
// Valid for the limits of use of ISO 5167-2:2003, 5.3.1. Below Re = 2000, far outside them, C is that at 2000.
// Source: Reader-Harris and Gallagher (1998); ISO 5167-2:2003 eq. (4).
func OrificeC(beta, re, pipe float64, taps Taps) float64 {
	law := newOrificeLaw(beta, pipe, taps)
	return law.at(math.Log(max(re, leastRe)))
}

// An orificeLaw is OrificeC for one plate, what does not change with the Reynolds number worked out. All its powers of Re are
// powers of Re^(−1/10):
//
//	C = c0 + c3·Re^(−0.3) + c7·Re^(−0.7) + c8·Re^(−0.8) + c11·Re^(−1.1)
type orificeLaw struct {
	c0, c3, c7, c8, c11 float64 // factors of the powers of Re [-]
}

func newOrificeLaw(beta, pipe float64, taps Taps) orificeLaw {
	l1, l2 := taps.distances(pipe)
	b2 := beta * beta
	b4 := b2 * b2
	lnB := math.Log(beta)
	a := math.Exp(0.8 * (math.Log(19000) + lnB)) // A·Re^0.8
	m2 := 2 * l2 / (1 - beta)
	upstream := (0.043 + 0.080*math.Exp(-10*l1) - 0.123*math.Exp(-7*l1)) * b4 / (1 - b4)
	steep := b2 * beta * math.Sqrt(beta) * math.Exp(0.3*math.Log(1e6)) // β^3.5·(10⁶)^0.3
	l := orificeLaw{
		c0:  0.5961 + 0.0261*b2 - 0.216*b4*b4 + upstream,
		c3:  0.0188 * steep,
		c7:  0.000521 * math.Exp(0.7*(math.Log(1e6)+lnB)),
		c8:  -0.11 * a * upstream,
		c11: 0.0063 * a * steep,
	}
	if m2 > 0 {
		l.c0 -= 0.031 * (m2 - 0.8*math.Pow(m2, 1.1)) * math.Exp(1.3*lnB)
	}
	if pipe < 71.12e-3 {
		l.c0 += 0.011 * (0.75 - beta) * (2.8 - pipe/25.4e-3)
	}
	return l
}

// at returns C [-] at the natural logarithm of the Reynolds number.
func (l *orificeLaw) at(lnRe float64) float64 {
	x := math.Exp(-0.1 * lnRe)
	x3 := x * x * x
	x7 := x3 * x3 * x
	return l.c0 + x3*l.c3 + x7*(l.c7+x*(l.c8+x3*l.c11))
}

// OrificeExpansibility returns the expansibility factor ε [-] of an orifice plate of diameter ratio beta [-] for absolute
// static pressures p1 upstream and p2 downstream [Pa] and isentropic exponent kappa [-].
//
//	ε = 1 − (0.351 + 0.256β⁴ + 0.93β⁸)(1 − (p2/p1)^(1/κ))
//
// Valid for p2/p1 ≥ 0.75. Source: ISO 5167-2:2003, 5.3.2.2.
func OrificeExpansibility(p1, p2, beta, kappa float64) float64 {
	b4 := fourth(beta)
	return 1 - (0.351+0.256*b4+0.93*b4*b4)*(1-math.Pow(p2/p1, 1/kappa))
}

// orificeUC returns the relative standard uncertainty of C [-]: half of the percentage of ISO 5167-2:2003, 5.3.3.1.
func orificeUC(beta, re, pipe float64) float64 {
	var percent float64
	switch {
	case beta < 0.2:
		percent = 0.7 - beta
	case beta <= 0.6:
		percent = 0.5
	default:
		percent = 1.667*beta - 0.5
	}
	if pipe < 71.12e-3 {
		percent += 0.9 * (0.75 - min(beta, 0.75)) * (2.8 - pipe/25.4e-3)
	}
	if beta > 0.5 && re < 10000 {
		percent += 0.5
	}
	return percent / 100 / 2
}

// orificeUEps returns the relative standard uncertainty of ε [-]: half of 3.5·Δp/(κ·p1) per cent.
// Source: ISO 5167-2:2003, 5.3.3.2.
func orificeUEps(up Upstream, dp float64) float64 {
	return 3.5 * dp / (up.Kappa * up.Pressure) / 100 / 2
}
