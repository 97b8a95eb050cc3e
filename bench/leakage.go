package bench

import (
	"fmt"
	"math"

	"runnel/gas"
	"runnel/measure"
)

// A LeakPoint is the leakage at one test pressure, everything blanked.
type LeakPoint struct {
	TestPressure float64 // pressure drop held [Pa]
	Flow         float64 // volume flow at the room's air [m³/s]
	U            float64 // standard uncertainty of Flow for itself: its waver, zero and resolution [m³/s]; 0: not known
}

// seenFrom is the flow over its own standard uncertainty from which a leakage counts as seen: below, the meter cannot tell it
// from none (coverage factor 2).
const seenFrom = 2

// seen reports whether the meter can tell the flow from none.
func (p LeakPoint) seen() bool { return p.Flow > 0 && p.Flow >= seenFrom*p.U }

// bound returns the most that the flow of a point that is not seen may be [m³/s]; 0: not known.
func (p LeakPoint) bound() float64 {
	if p.U == 0 {
		return 0
	}
	return p.Flow + seenFrom*p.U
}

// A Leakage is the law of a bench's leakage, Q = k·Δpⁿ. Make it with FitLeakage.
type Leakage struct {
	K        float64       // k: volume flow at the room's air at 1 Pa [m³/(s·Paⁿ)]; 0 when no point shows a flow
	N        float64       // exponent n [-]
	Points   int           // points it rests on
	Seen     int           // points among them that show a flow
	Bound    float64       // when no point shows a flow: the most it may be at 1 Pa, with the exponent N [m³/(s·Paⁿ)]; 0: not known
	Low      float64       // lowest test pressure among them [Pa]
	High     float64       // highest test pressure among them [Pa]
	Scatter  float64       // relative standard deviation of the points about the law [-]; an allowance where they cannot show it
	Dof      float64       // degrees of freedom of the law's uncertainty [-]; infinite where stated uncertainties speak for it
	Warnings []gas.Warning // where the law is weak

	common float64    // relative standard uncertainty that all points share [-]
	centre float64    // of ln Δp, about which the law is held
	cov    [3]float64 // variance of ln Q at the centre, covariance with n, variance of n [-]
}

// What stands in for what a few points cannot say.
const (
	crackExponent = 0.65 // exponent of a leak through cracks [-]; common practice, no source
	uExponent     = 0.15 // its standard uncertainty [-], so that 0.5 (orifice) and 1 (laminar) lie within about two of it
	uFewPoints    = 0.10 // relative standard uncertainty of one leakage flow [-], our own allowance
)

// FitLeakage fits the law of leakage to its points by least squares, each weighed by its own uncertainty. common is the relative
// standard uncertainty that all points share, as that of the meter [-].
//
//	Q = k·Δpⁿ
//
// Where a point has no uncertainty of its own the logarithms are fitted and the scatter speaks for it. Two points leave no
// scatter to judge by, and one no exponent either: stated allowances then stand in, with a warning. A flow below twice its
// uncertainty is not seen: it enters as what it is, a flow known to be small. A typed flow of none without an uncertainty
// enters as between none and the least flow that was seen. When no point shows a flow there is no law but an upper bound,
// k·Δp^0.65 through the point that bounds it closest; the leakage is then taken as none, with a rectangular distribution of that
// half-width.
//
// The points scatter more than their uncertainties say when the Birge ratio is above 1, and the law is then less certain by
// that factor.
//
// Errors: measure.ErrTooFew without points; *gas.InputError for a test pressure not above zero, a flow or an uncertainty below
// zero. Warnings: n outside 0.5…1, which no leak has by itself; fewer than three points; points whose flow is not seen.
// Source: power law of flow through cracks; weighted least squares by Gauss and Newton; JCGM 100:2008, 4.3.7, for the bound;
// Birge, Phys. Rev. 40 (1932) 207.
func FitLeakage(points []LeakPoint, common float64) (Leakage, error) {
	if len(points) == 0 {
		return Leakage{}, fmt.Errorf("leakage: no points: %w", measure.ErrTooFew)
	}
	l := Leakage{Points: len(points), Low: math.Inf(1), N: crackExponent, Dof: math.Inf(1), common: common}
	least := math.Inf(1)
	for i, p := range points {
		if err := p.check(); err != nil {
			return Leakage{}, fmt.Errorf("leakage point %d: %w", i+1, err)
		}
		l.Low, l.High = min(l.Low, p.TestPressure), max(l.High, p.TestPressure)
		if p.seen() {
			l.Seen++
			least = min(least, p.Flow)
		}
	}
	if !(common >= 0 && common < 1) {
		return Leakage{}, &gas.InputError{Quantity: "uncertainty that all leakage points share", Got: common, Want: "want a relative standard uncertainty from 0 to below 1"}
	}
	if l.Seen == 0 {
		l.boundBy(points)
		return l, nil
	}
	if l.Seen < len(points) {
		l.warn("leakage: flow of every point at least twice its uncertainty; points below, which count as a flow known to be small", float64(len(points)-l.Seen))
	}
	if err := l.fit(points, least); err != nil {
		return Leakage{}, err
	}
	return l, nil
}

func (p LeakPoint) check() error {
	if !(p.TestPressure > 0) || math.IsInf(p.TestPressure, 0) {
		return &gas.InputError{Quantity: "test pressure", Got: p.TestPressure, Unit: "Pa", Want: "want the pressure drop held, above zero"}
	}
	if !(p.Flow >= 0) || math.IsInf(p.Flow, 0) {
		return &gas.InputError{Quantity: "leakage", Got: p.Flow, Unit: "m³/s", Want: "want a flow not below zero; check the zero of the meter"}
	}
	if !(p.U >= 0) || math.IsInf(p.U, 0) {
		return &gas.InputError{Quantity: "uncertainty of a leakage", Got: p.U, Unit: "m³/s", Want: "want a standard uncertainty not below zero"}
	}
	return nil
}

func (l *Leakage) warn(limit string, got float64) {
	l.Warnings = append(l.Warnings, gas.Warning{Limit: limit, Got: got})
}

// boundBy takes the closest bound of points that show no flow.
func (l *Leakage) boundBy(points []LeakPoint) {
	for _, p := range points {
		if b := p.bound() / math.Pow(p.TestPressure, l.N); b > 0 && (l.Bound == 0 || b < l.Bound) {
			l.Bound = b
		}
	}
	if l.Bound == 0 {
		l.warn("leakage: no point shows a flow, and the least that would have been seen is not known: state u_flow; points", float64(len(points)))
		return
	}
	l.warn("leakage: a flow that the meter can see; none was, and an upper bound stands in; points", float64(len(points)))
}

// A leakRow is a point as the fit weighs it.
type leakRow struct {
	d    float64 // ln Δp from the centre
	flow float64 // [m³/s]
	u    float64 // [m³/s], or, in the logarithm, [-]
	log  bool    // fitted in the logarithm
	seen bool
}

// residual returns the weighed residual at ln Q = a + n·d and its derivatives.
func (r leakRow) residual(a, n float64) (res, da, dn float64) {
	if r.log {
		return (math.Log(r.flow) - a - n*r.d) / r.u, 1 / r.u, r.d / r.u
	}
	q := math.Exp(a + n*r.d)
	return (r.flow - q) / r.u, q / r.u, q * r.d / r.u
}

// rows weighs the points about the mean ln Δp of those that show a flow, and says whether these differ in test pressure and
// whether uncertainties are stated.
func (l *Leakage) rows(points []LeakPoint, least float64) (rows []leakRow, spread, stated bool) {
	for _, p := range points {
		if p.seen() {
			l.centre += math.Log(p.TestPressure) / float64(l.Seen)
		}
	}
	sxx := 0.0
	for _, p := range points {
		r := leakRow{d: math.Log(p.TestPressure) - l.centre, flow: p.Flow, u: p.U, seen: p.seen()}
		switch {
		case p.U > 0:
			stated = true
		case r.seen:
			r.log, r.u = true, uFewPoints
		default:
			r.u = least / math.Sqrt(3)
		}
		if r.seen {
			sxx += r.d * r.d
		}
		rows = append(rows, r)
	}
	return rows, sxx > 1e-6, stated
}

// fit finds the law.
func (l *Leakage) fit(points []LeakPoint, least float64) error {
	rows, spread, stated := l.rows(points, least)
	a, n := l.search(rows, spread)
	if k := math.Exp(a - n*l.centre); !(k > 0) || math.IsInf(k, 0) {
		return &gas.InputError{Quantity: "exponent of the leakage", Got: n, Want: "no leak grows like that over the test pressure: check the flows and their unit"}
	}
	l.N, l.K = n, math.Exp(a-n*l.centre)
	_, h := normalEquations(rows, a, n, spread)
	det := h[0]*h[2] - h[1]*h[1]
	l.cov = [3]float64{h[2] / det, -h[1] / det, h[0] / det}

	chi, logs := 0.0, 0.0
	for _, r := range rows {
		if r.seen {
			res, _, _ := r.residual(a, n)
			chi += res * res
			off := math.Log(r.flow) - a - n*r.d
			logs += off * off
		}
	}
	dof := float64(l.Seen - 1)
	if spread {
		dof--
	}
	if !spread || dof <= 0 {
		l.Scatter = uFewPoints
		l.warn("leakage: at least three points at different test pressures", float64(l.Seen))
		return nil
	}
	l.Scatter = math.Sqrt(logs / dof)
	birge := math.Sqrt(chi / dof)
	if stated && birge < 1 {
		birge = 1 // the stated uncertainties speak for the law
	} else {
		l.Dof = dof
	}
	for i := range l.cov {
		l.cov[i] *= birge * birge
	}
	if un := 2 * math.Sqrt(l.cov[2]); n+un < 0.5 || n-un > 1 {
		l.warn("leakage: exponent 0.5 (orifice) to 1 (laminar)", n)
	}
	return nil
}

// normalEquations returns the gradient and the matrix (aa, an, nn) of the least squares at ln Q = a + n·d. Where the points do not
// tell the exponent, the common one stands in as if measured.
func normalEquations(rows []leakRow, a, n float64, spread bool) (g [2]float64, h [3]float64) {
	for _, r := range rows {
		res, da, dn := r.residual(a, n)
		g[0], g[1] = g[0]+res*da, g[1]+res*dn
		h[0], h[1], h[2] = h[0]+da*da, h[1]+da*dn, h[2]+dn*dn
	}
	if !spread {
		g[1] += (crackExponent - n) / (uExponent * uExponent)
		h[2] += 1 / (uExponent * uExponent)
	}
	return g, h
}

// search finds ln Q = a + n·d by Gauss and Newton, from the mean of the logarithms and the common exponent.
func (l *Leakage) search(rows []leakRow, spread bool) (a, n float64) {
	n = crackExponent
	for _, r := range rows {
		if r.seen {
			a += (math.Log(r.flow) - n*r.d) / float64(l.Seen)
		}
	}
	cost := func(a, n float64) (sum float64) {
		for _, r := range rows {
			res, _, _ := r.residual(a, n)
			sum += res * res
		}
		if !spread {
			sum += (crackExponent - n) * (crackExponent - n) / (uExponent * uExponent)
		}
		return sum
	}
	const rounds = 100
	for range rounds {
		g, h := normalEquations(rows, a, n, spread)
		det := h[0]*h[2] - h[1]*h[1]
		if !(det > 0) {
			return a, n
		}
		stepA, stepN := (h[2]*g[0]-h[1]*g[1])/det, (h[0]*g[1]-h[1]*g[0])/det
		was := cost(a, n)
		for k := 1.0; k > 1e-9; k /= 2 { // no step uphill
			if cost(a+k*stepA, n+k*stepN) <= was {
				a, n = a+k*stepA, n+k*stepN
				break
			}
		}
		if math.Abs(stepA)+math.Abs(stepN) < 1e-13 {
			break
		}
	}
	return a, n
}

// At returns the leakage at a test pressure drop [Pa] as volume flow at the room's air [m³/s] and its standard uncertainty
// [m³/s].
//
//	u²(Q)/Q² = u²(centre) + 2·u(centre, n)·x + u²(n)·x² + u²(common),  x = ln Δp − centre
//
// Without a flow that was seen it is none, with the standard uncertainty bound/√3, which is 0 when the bound is not known.
// Warnings: a test pressure more than a fifth outside the points.
func (l Leakage) At(drop float64) (flow, u float64, w []gas.Warning) {
	if l.Points == 0 {
		return 0, 0, nil
	}
	if drop < 0.8*l.Low || drop > 1.25*l.High {
		w = append(w, gas.Warning{Limit: fmt.Sprintf("leakage: test pressure near those it was measured at, %.0f to %.0f Pa [Pa]", l.Low, l.High), Got: drop})
	}
	if l.Seen == 0 {
		return 0, l.Bound * math.Pow(drop, l.N) / math.Sqrt(3), w
	}
	flow = l.K * math.Pow(drop, l.N)
	d := math.Log(drop) - l.centre
	return flow, flow * math.Sqrt(max(0, l.cov[0]+2*l.cov[1]*d+l.cov[2]*d*d)+l.common*l.common), w
}

// ULogK returns the standard uncertainties of ln k and n and their covariance [-], without the share that all points have in
// common. Definition: the law's covariance, brought from the centre of the points to 1 Pa.
func (l Leakage) ULogK() (uLnK, uN, cov float64) {
	c := -l.centre
	return math.Sqrt(max(0, l.cov[0]+2*l.cov[1]*c+l.cov[2]*c*c)), math.Sqrt(l.cov[2]), l.cov[1] + l.cov[2]*c
}
