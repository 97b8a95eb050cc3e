package meter

import (
	"errors"
	"math"

	"runnel/gas"
)

// Errors of a meter that cannot tell the flow. They come wrapped, with the numbers.
var (
	ErrNotChoked    = errors.New("the critical-flow nozzle is not choked: draw harder, so that the downstream pressure falls below the critical ratio")
	ErrOutsideTable = errors.New("the reading lies outside the transfer curve: stay inside it, or calibrate further; it is not extrapolated")
)

// A Meter tells mass flow from what it shows. Implementations are immutable values, safe for use by many goroutines.
//
// The contract, which metertest.Run checks: zero shows zero flow (except a critical-flow nozzle and a table that starts
// above zero); mass flow never falls when the reading rises; a negative or non-finite reading is a *gas.InputError; the
// relative standard uncertainty is the root sum of squares of the parts times their sensitivities.
type Meter interface {
	// Kind names the kind of meter, as a job's meter card does: "orifice_pipe".
	Kind() string
	// Reads says what the reading is.
	Reads() Quantity
	// Flow returns the mass flow for a reading in the unit of Reads, with the gas as it arrives at the meter.
	Flow(up Upstream, reading float64) (Flow, error)
	// Bare is Flow without URel, Parts and Warnings, for the many draws of a Monte Carlo run: the same numbers and errors,
	// and nothing allocated unless there is an error.
	Bare(up Upstream, reading float64) (Flow, error)
}

// A Quantity is what a meter shows.
type Quantity int

// What a meter shows.
const (
	Difference Quantity = iota // static pressure difference over the meter [Pa]
	Scale                      // share of full-scale flow on a percent scale, 1 at 100 % [-]
	Signal                     // what the sensor of a table shows, in the unit of the table
)

// Upstream is the gas as it arrives at the meter: static and absolute, at the upstream tapping.
type Upstream struct {
	Pressure    float64 // absolute static pressure p1 [Pa]
	Temperature float64 // temperature T1 [K]
	Density     float64 // density ρ1 [kg/m³]
	Viscosity   float64 // dynamic viscosity μ1 [Pa·s]
	Kappa       float64 // isentropic exponent κ [-]
}

// UpstreamOf returns the state of moist air.
func UpstreamOf(a gas.Air) Upstream {
	return Upstream{a.Pressure, a.Temperature, a.Density, a.Viscosity, a.Kappa}
}

// check refuses a state no gas can have.
func (u Upstream) check() error {
	if finitePositive(u.Pressure) && finitePositive(u.Temperature) && finitePositive(u.Density) && finitePositive(u.Viscosity) &&
		u.Kappa > 1 && !math.IsInf(u.Kappa, 0) {
		return nil
	}
	return u.wrong()
}

func finitePositive(x float64) bool { return x > 0 && !math.IsInf(x, 0) }

// wrong says what is wrong with the state.
func (u Upstream) wrong() error {
	for _, q := range []struct {
		name, unit string
		value      float64
	}{
		{"upstream pressure", "Pa", u.Pressure},
		{"upstream temperature", "K", u.Temperature},
		{"upstream density", "kg/m³", u.Density},
		{"upstream viscosity", "Pa·s", u.Viscosity},
	} {
		if !finitePositive(q.value) {
			return &gas.InputError{Quantity: q.name, Got: q.value, Unit: q.unit, Want: "want a positive absolute value"}
		}
	}
	return &gas.InputError{Quantity: "isentropic exponent", Got: u.Kappa, Want: "want more than 1; air has 1.4"}
}

// A Flow is the answer of a meter.
type Flow struct {
	Mass          float64       // mass flow ṁ [kg/s]
	Coefficient   float64       // discharge coefficient C [-]; 1 for a meter that has none
	Expansibility float64       // expansibility factor ε [-]; 1 for a meter that has none
	Loss          float64       // pressure that does not come back behind the meter [Pa]; NaN when not known
	Reynolds      float64       // Reynolds number [-], on the diameter that the standard of the meter takes; 0 when it takes none
	URel          float64       // relative standard uncertainty (one sigma) of Mass from the meter itself, without that of the reading and the gas [-]
	Parts         []Part        // what URel is made of
	Warnings      []gas.Warning // limits that were left
}

// A Part is one input of the meter with its uncertainty. The relative change of mass flow is Sensitivity times the
// relative change of the input (ISO 5167-1:2003, 8.2.2.1).
type Part struct {
	Name        string  // "C", "eps", "D", "d", "calibration", "table"
	URel        float64 // relative standard uncertainty (one sigma) of the input [-]
	Sensitivity float64 // (∂ṁ/ṁ)/(∂x/x) [-]
}

// Names of parts.
const (
	PartC           = "C"           // discharge coefficient
	PartEps         = "eps"         // expansibility factor
	PartPipe        = "D"           // inside diameter of the pipe
	PartBore        = "d"           // bore
	PartCalibration = "calibration" // calibration of a laminar element, percent scale or table
)

// combined returns the root sum of squares of the parts [-].
func combined(parts []Part) float64 {
	sum := 0.0
	for _, p := range parts {
		sum += p.URel * p.URel * p.Sensitivity * p.Sensitivity
	}
	return math.Sqrt(sum)
}

// checkReading refuses a reading that cannot be.
func checkReading(q Quantity, reading float64) error {
	name, unit, want := "meter reading", "", "want a number not below zero; check the sensor and its zero"
	if q == Difference {
		name, unit, want = "meter pressure difference", "Pa", "want a number not below zero; swap the tappings or check the zero"
	}
	if !(reading >= 0) || math.IsInf(reading, 0) {
		return &gas.InputError{Quantity: name, Got: reading, Unit: unit, Want: want}
	}
	return nil
}

// positive refuses a dimension of a meter that is not above zero.
func positive(name, unit string, x float64) error {
	if !finitePositive(x) {
		return &gas.InputError{Quantity: name, Got: x, Unit: unit, Want: "want a value above zero"}
	}
	return nil
}

// checkShare refuses a relative uncertainty that is negative or 1 and more.
func checkShare(name string, u float64) error {
	if !(u >= 0 && u < 1) {
		return &gas.InputError{Quantity: name, Got: u, Want: "want a relative standard uncertainty from 0 to below 1"}
	}
	return nil
}

// within adds a warning when x lies outside [lo, hi].
func within(w []gas.Warning, limit string, x, lo, hi float64) []gas.Warning {
	if x >= lo && x <= hi {
		return w
	}
	return append(w, gas.Warning{Limit: limit, Got: x})
}
