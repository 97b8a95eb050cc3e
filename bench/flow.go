package bench

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"

	"runnel/gas"
	"runnel/meter"
)

// conditions is everything the flow of one reading follows from.
type conditions struct {
	air       gas.MoistAir // the room
	meterTemp float64      // temperature at the meter [K]; 0: that of the room
	reading   float64      // what the meter shows [unit of the meter's reading]
	drop      float64      // pressure drop across the piece [Pa]
	out       bool         // air leaves the piece into the room: the bench blows
}

// An operating point is what conditions lead to.
type operatingPoint struct {
	room   gas.Air
	piece  gas.Nozzle
	before meter.Upstream // gas before the meter
	flow   meter.Flow
	blind  bool // the loss of a meter before the piece is not known, and none was taken
}

// point works out the state of the air at the piece and at the meter, and what the meter says.
//
// A bench that draws has the room before the piece and, after it, a chamber at the room's pressure less the drop; a bench that
// blows has the room behind the piece. The air does not lose heat on its way, so that its stagnation temperature stays. A
// meter before the piece takes its permanent loss from the pressure before the piece.
func (g *gauge) point(c conditions) (operatingPoint, error) {
	o, err := g.bare(c)
	if err != nil {
		return operatingPoint{}, err
	}
	o.flow, err = g.meter.Flow(o.before, c.reading)
	return o, err
}

// bare is point without what the meter says of its uncertainty and limits: for the many draws of a Monte Carlo run, which
// must allocate nothing.
func (g *gauge) bare(c conditions) (operatingPoint, error) {
	a, err := c.air.Properties()
	if err != nil {
		return operatingPoint{}, err
	}
	o := operatingPoint{room: a}
	tMeter := a.Temperature
	if c.meterTemp > 0 {
		tMeter = c.meterTemp
	}
	tPiece := a.Temperature
	if c.out {
		tPiece = tMeter // blown air comes warm from the blower
	}
	loss := 0.0
	for range 4 { // the loss depends on the flow a little; it settles at once unless the meter is small
		p0 := a.Pressure - loss
		switch {
		case c.out && g.upstream:
			p0 = a.Pressure + c.drop
		case c.out:
			p0 = a.Pressure + loss + c.drop
		case !g.upstream:
			p0 = a.Pressure
		}
		pMeter := p0 - c.drop
		switch {
		case g.upstream && c.out:
			pMeter = p0 + loss
		case g.upstream:
			pMeter = a.Pressure
		}
		if !(c.drop > 0 && c.drop < p0) {
			return operatingPoint{}, &gas.InputError{Quantity: "test pressure", Got: c.drop, Unit: "Pa", Want: "want a pressure drop above zero and below that of the air; swap the tappings or check the zero"}
		}
		o.piece = nozzleOf(a, p0, tPiece, c.drop)
		o.before = gasAt(a, pMeter, tMeter)
		if o.flow, err = g.meter.Bare(o.before, c.reading); err != nil {
			return operatingPoint{}, err
		}
		if !g.upstream && !c.out {
			return o, nil
		}
		if o.blind = math.IsNaN(o.flow.Loss); o.blind || math.Abs(o.flow.Loss-loss) < 1e-6 {
			return o, nil
		}
		loss = o.flow.Loss
	}
	return o, nil
}

// gasAt returns the room's air brought to pressure p [Pa] and temperature t [K] with its vapour kept. The compressibility is
// taken as unchanged: it changes by less than 1e-4 over a bench.
func gasAt(a gas.Air, p, t float64) meter.Upstream {
	return meter.Upstream{
		Pressure: p, Temperature: t, Density: a.Density * p / a.Pressure * a.Temperature / t,
		Viscosity: gas.ViscositySutherland(t), Kappa: a.Kappa,
	}
}

// curveFrom is the number of samples from which the flow of a trace is taken from a curve through exact points instead of
// sample by sample.
const curveFrom = 512

// curveNodes is the number of exact points of that curve.
const curveNodes = 65

// flows returns the mass flow [kg/s] of every sample of what the meter shows, with the gas before the meter as it is on
// average. It is the flow that is averaged, not the pressure: its mean differs from the flow of the mean. A sample below zero
// is a flow the other way, so that noise about zero averages out. A sample that the meter cannot turn into flow is NaN; the
// last reason is returned beside it.
func (g *gauge) flows(up meter.Upstream, x []float64) (mass []float64, reason error) {
	one := func(v float64) float64 {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return math.NaN()
		}
		f, err := g.meter.Bare(up, math.Abs(v))
		if err != nil {
			reason = err
			return math.NaN()
		}
		return math.Copysign(f.Mass, v)
	}
	low, high := math.Inf(1), 0.0
	for _, v := range x {
		if v > 0 {
			low, high = min(low, v), max(high, v)
		}
	}
	mass = make([]float64, len(x))
	low = max(low, high/400)
	c, ok := curve{}, false
	if len(x) >= curveFrom && g.meter.Reads() == meter.Difference && low < high && !math.IsInf(high, 0) {
		c, ok = newCurve(low, high, one)
	}
	for i, v := range x {
		if ok && v >= low && v <= high {
			mass[i] = c.at(v)
			continue
		}
		mass[i] = one(v)
	}
	if reason != nil {
		reason = fmt.Errorf("samples that the meter cannot turn into flow: %w", reason)
	}
	return mass, reason
}

// A curve is mass flow over pressure difference, as ṁ/sqrt(Δp) over sqrt(Δp), which is smooth and nearly constant: cubics of
// Akima between even steps of sqrt(Δp).
type curve struct {
	from, step float64      // of sqrt(Δp) [sqrt(Pa)]
	cubics     [][4]float64 // of each step, in powers of its share [kg/(s·sqrt(Pa))]
}

// newCurve draws the curve from low to high [Pa]; ok is false when a point cannot be computed.
func newCurve(low, high float64, exact func(float64) float64) (c curve, ok bool) {
	s, k := make([]float64, curveNodes), make([]float64, curveNodes)
	a, b := math.Sqrt(low), math.Sqrt(high)
	for i := range s {
		s[i] = a + (b-a)*float64(i)/(curveNodes-1)
		k[i] = exact(s[i]*s[i]) / s[i]
		if math.IsNaN(k[i]) {
			return curve{}, false
		}
	}
	spline := &interp.AkimaSpline{}
	if spline.Fit(s, k) != nil {
		return curve{}, false
	}
	c = curve{from: a, step: (b - a) / (curveNodes - 1), cubics: make([][4]float64, curveNodes-1)}
	for i := range c.cubics {
		d0, d1, rise := c.step*spline.PredictDerivative(s[i]), c.step*spline.PredictDerivative(s[i+1]), k[i+1]-k[i]
		c.cubics[i] = [4]float64{k[i], d0, 3*rise - 2*d0 - d1, d0 + d1 - 2*rise}
	}
	return c, true
}

func (c curve) at(dp float64) float64 {
	s := math.Sqrt(dp)
	x := (s - c.from) / c.step
	i := max(0, min(int(x), len(c.cubics)-1))
	x -= float64(i)
	q := &c.cubics[i]
	return s * (q[0] + x*(q[1]+x*(q[2]+x*q[3])))
}
