package meter

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"
)

// A Point is one point of a transfer curve.
type Point struct {
	Reading float64 // what the sensor shows, in its own unit [any]
	Mass    float64 // mass flow there [kg/s]
}

// A Table is a meter with a transfer curve, such as a mass-flow sensor. Make it with NewTable.
type Table struct {
	points []Point
	curve  *interp.FritschButland
	uCal   float64
}

// NewTable returns the meter of a transfer curve of at least two points with relative standard uncertainty uCal [-].
// Readings rise from point to point; mass flows do not fall and are not negative. Between the points the curve is the
// monotone cubic of Fritsch and Butland: it has no overshoot.
//
// Errors: *gas.InputError, or an error that names the point.
// Source: Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300.
func NewTable(points []Point, uCal float64) (Table, error) {
	if len(points) < 2 {
		return Table{}, fmt.Errorf("a transfer curve of %d points: want at least two", len(points))
	}
	if err := checkShare("uncertainty of the transfer curve", uCal); err != nil {
		return Table{}, err
	}
	x, y := make([]float64, len(points)), make([]float64, len(points))
	for i, p := range points {
		x[i], y[i] = p.Reading, p.Mass
		if err := checkReading(Signal, p.Reading); err != nil {
			return Table{}, fmt.Errorf("point %d of the transfer curve: %w", i+1, err)
		}
		if err := checkReading(Signal, p.Mass); err != nil {
			return Table{}, fmt.Errorf("mass flow of point %d of the transfer curve: %w", i+1, err)
		}
		if i > 0 && x[i] <= x[i-1] {
			return Table{}, fmt.Errorf("point %d of the transfer curve: reading %g does not rise from %g: sort the points and remove doubles", i+1, x[i], x[i-1])
		}
		if i > 0 && y[i] < y[i-1] {
			return Table{}, fmt.Errorf("point %d of the transfer curve: mass flow %g kg/s falls from %g kg/s: check the two points", i+1, y[i], y[i-1])
		}
	}
	t := Table{points: points, curve: &interp.FritschButland{}, uCal: uCal}
	if err := t.curve.Fit(x, y); err != nil {
		return Table{}, fmt.Errorf("transfer curve: %w", err)
	}
	return t, nil
}

// Kind returns "table".
func (Table) Kind() string { return "table" }

// Reads returns Signal.
func (Table) Reads() Quantity { return Signal }

// Flow returns the mass flow for a reading in the sensor's own unit. The gas does not enter: the curve is of mass flow.
//
// Errors: ErrOutsideTable, with the ends of the curve; *gas.InputError.
// Source: NewTable.
func (t Table) Flow(up Upstream, reading float64) (Flow, error) {
	f, err := t.Bare(up, reading)
	if err != nil {
		return Flow{}, err
	}
	f.Parts = []Part{{PartCalibration, t.uCal, 1}}
	f.URel = combined(f.Parts)
	return f, nil
}

// Bare is Flow without uncertainty and warnings.
func (t Table) Bare(up Upstream, reading float64) (Flow, error) {
	if t.curve == nil {
		return Flow{}, errors.New("a transfer curve without points: make it with NewTable")
	}
	if err := up.check(); err != nil {
		return Flow{}, err
	}
	if err := checkReading(Signal, reading); err != nil {
		return Flow{}, err
	}
	first, last := t.points[0].Reading, t.points[len(t.points)-1].Reading
	if reading < first || reading > last {
		return Flow{}, fmt.Errorf("reading %g of a curve from %g to %g: %w", reading, first, last, ErrOutsideTable)
	}
	return Flow{Mass: t.curve.Predict(reading), Coefficient: 1, Expansibility: 1, Loss: math.NaN()}, nil
}

// Every kind of meter.
var (
	_ Meter = Orifice{}
	_ Meter = Chamber{}
	_ Meter = Nozzle{}
	_ Meter = Venturi{}
	_ Meter = Critical{}
	_ Meter = Laminar{}
	_ Meter = Percent{}
	_ Meter = Table{}
)
