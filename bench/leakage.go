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
}

// A Leakage is the law of a bench's leakage, Q = k·Δpⁿ. Make it with FitLeakage.
type Leakage struct {
	K        float64       // k: volume flow at the room's air at 1 Pa [m³/(s·Paⁿ)]
	N        float64       // exponent n [-]
	Points   int           // points it rests on
	Low      float64       // lowest test pressure among them [Pa]
	High     float64       // highest test pressure among them [Pa]
	Scatter  float64       // relative standard deviation of the points about the law [-]
	Dof      float64       // degrees of freedom of Scatter [-]
	Warnings []gas.Warning // where the law is weak

	centre float64 // mean of ln Δp
	varA   float64 // variance of ln Q at the centre
	varN   float64 // variance of n
}

// What stands in for what a few points cannot say.
const (
	crackExponent = 0.65 // exponent of a leak through cracks [-]; common practice, no source
	uExponent     = 0.15 // its standard uncertainty [-], so that 0.5 (orifice) and 1 (laminar) lie within about two of it
	uFewPoints    = 0.10 // relative standard uncertainty of one leakage flow [-], our own allowance
)

// FitLeakage fits the law of leakage to its points by least squares of the logarithms, each point weighing alike. Two points
// leave no scatter to judge by, and one no exponent either: stated allowances then stand in, with a warning. No leakage at
// any point is a law too, with k zero.
//
//	ln Q = ln k + n·ln Δp
//
// Errors: measure.ErrTooFew without points; *gas.InputError for a test pressure not above zero or a flow below zero.
// Warnings: n outside 0.5…1, which no leak has by itself; fewer than three points; points without flow that were left out.
// Source: power law of flow through cracks; ordinary least squares.
func FitLeakage(points []LeakPoint) (Leakage, error) {
	if len(points) == 0 {
		return Leakage{}, fmt.Errorf("leakage: no points: %w", measure.ErrTooFew)
	}
	l := Leakage{Points: len(points), Low: math.Inf(1)}
	var x, y []float64
	for i, p := range points {
		if !(p.TestPressure > 0) || math.IsInf(p.TestPressure, 0) {
			return Leakage{}, fmt.Errorf("leakage point %d: %w", i+1, &gas.InputError{Quantity: "test pressure", Got: p.TestPressure, Unit: "Pa", Want: "want the pressure drop held, above zero"})
		}
		if !(p.Flow >= 0) || math.IsInf(p.Flow, 0) {
			return Leakage{}, fmt.Errorf("leakage point %d: %w", i+1, &gas.InputError{Quantity: "leakage", Got: p.Flow, Unit: "m³/s", Want: "want a flow not below zero; check the zero of the meter"})
		}
		l.Low, l.High = min(l.Low, p.TestPressure), max(l.High, p.TestPressure)
		if p.Flow > 0 {
			x, y = append(x, math.Log(p.TestPressure)), append(y, math.Log(p.Flow))
		}
	}
	if len(x) == 0 {
		l.N, l.Dof = crackExponent, math.Inf(1)
		return l, nil
	}
	if none := len(points) - len(x); none > 0 {
		l.Warnings = append(l.Warnings, gas.Warning{Limit: "leakage: points that show a flow; points without, left out", Got: float64(none)})
	}
	l.fit(x, y)
	return l, nil
}

// fit finds the law from logarithms.
func (l *Leakage) fit(x, y []float64) {
	m := float64(len(x))
	var sx, sy, sxx, sxy float64
	for i := range x {
		sx, sy = sx+x[i], sy+y[i]
	}
	l.centre = sx / m
	for i := range x {
		d := x[i] - l.centre
		sxx, sxy = sxx+d*d, sxy+d*y[i]
	}
	l.N, l.varN = crackExponent, uExponent*uExponent
	spread := sxx > 1e-6 // the points are not all at one test pressure
	if spread {
		l.N = sxy / sxx
	}
	rest := 0.0
	for i := range x {
		r := y[i] - sy/m - l.N*(x[i]-l.centre)
		rest += r * r
	}
	l.Dof = m - 1
	if spread {
		l.Dof = m - 2
	}
	l.Scatter = uFewPoints
	if l.Dof > 0 && spread {
		l.Scatter = math.Sqrt(rest / l.Dof)
	} else {
		l.Dof = math.Inf(1)
		l.Warnings = append(l.Warnings, gas.Warning{Limit: "leakage: at least three points at different test pressures", Got: m})
	}
	if spread {
		l.varN = l.Scatter * l.Scatter / sxx
		if l.N < 0.5 || l.N > 1 {
			l.Warnings = append(l.Warnings, gas.Warning{Limit: "leakage: exponent 0.5 (orifice) to 1 (laminar)", Got: l.N})
		}
	}
	l.varA = l.Scatter * l.Scatter / m
	l.K = math.Exp(sy/m - l.N*l.centre)
}

// At returns the leakage at a test pressure drop [Pa] as volume flow at the room's air [m³/s] and its standard uncertainty
// [m³/s].
//
//	u(Q)/Q = sqrt(u²(centre) + u²(n)·(ln Δp − mean ln Δp)²)
//
// Warnings: a test pressure more than a fifth outside the points.
func (l Leakage) At(drop float64) (flow, u float64, w []gas.Warning) {
	if l.K == 0 {
		return 0, 0, nil
	}
	flow = l.K * math.Pow(drop, l.N)
	d := math.Log(drop) - l.centre
	u = flow * math.Sqrt(l.varA+l.varN*d*d)
	if drop < 0.8*l.Low || drop > 1.25*l.High {
		w = append(w, gas.Warning{Limit: fmt.Sprintf("leakage: test pressure near those it was measured at, %.0f to %.0f Pa", l.Low, l.High), Got: drop})
	}
	return flow, u, w
}
