package bench

import (
	"math"
	"strconv"

	"runnel/gas"
	"runnel/job"
	"runnel/unit"
)

// What flows are stated at unless a job says otherwise.
const (
	DefaultTestPressure = 28 * unit.InH2O // pressure drop [Pa]
	DefaultPressure     = 101325.0        // absolute air pressure [Pa]
	DefaultTemperature  = 293.15          // air temperature [K]
)

// A Reference is the air and the test pressure that a flow is stated at. Make it with NewReference.
type Reference struct {
	TestPressure float64 // pressure drop across the piece [Pa]
	Air          gas.Air // air before the piece
}

// NewReference returns the reference of a test pressure [Pa] in the given air.
//
// Errors: *gas.InputError for a test pressure that is not above zero and below the air's pressure, and those of the air.
func NewReference(testPressure float64, air gas.MoistAir) (Reference, error) {
	a, err := air.Properties()
	if err != nil {
		return Reference{}, err
	}
	if !(testPressure > 0 && testPressure < a.Pressure) {
		return Reference{}, &gas.InputError{
			Quantity: "test pressure", Got: testPressure, Unit: "Pa",
			Want: "want a pressure drop above zero and below the air's pressure of " + strconv.FormatFloat(a.Pressure, 'g', 6, 64) + " Pa",
		}
	}
	return Reference{testPressure, a}, nil
}

// ReferenceOf returns the reference of a job, its zero fields filled with the defaults: 28 inH2O in dry air of 101 325 Pa
// and 20 °C. Errors: those of NewReference.
func ReferenceOf(r job.Reference) (Reference, error) {
	return NewReference(or(r.TestPressure, DefaultTestPressure), gas.MoistAir{
		Pressure: or(r.Pressure, DefaultPressure), Temperature: or(r.Temperature, DefaultTemperature),
		Humidity: r.Humidity, CO2: gas.StandardCO2,
	})
}

// nozzleOf returns the nozzle that air at stagnation pressure p0 [Pa] and temperature t0 [K] makes with a pressure
// drop [Pa]; R is that of the room's air a.
func nozzleOf(a gas.Air, p0, t0, drop float64) gas.Nozzle {
	return gas.Nozzle{Pressure: p0, Temperature: t0, Downstream: p0 - drop, GasConstant: a.Pressure / (a.Density * a.Temperature), Gamma: a.Kappa}
}

func (r Reference) nozzle() gas.Nozzle {
	return nozzleOf(r.Air, r.Air.Pressure, r.Air.Temperature, r.TestPressure)
}

// Flow returns the volume flow [m³/s] of an effective area [m²] at the reference air and test pressure.
//
//	Q = Ae·p0·ψ(1 − Δp/p0)/sqrt(R·T0)/ρ0 = Ae·sqrt(R·T0)·ψ(1 − Δp/p0)
//
// Source: gas.NozzleFunction.
func (r Reference) Flow(area float64) float64 { return r.nozzle().MassFlow(area) / r.Air.Density }

// Area returns the effective area [m²] of a volume flow [m³/s] stated at the reference: the inverse of Flow.
func (r Reference) Area(flow float64) float64 { return flow * r.Air.Density / r.nozzle().Flux() }

// A Restated is a flow stated at another reference.
type Restated struct {
	EffectiveArea float64       // effective area, which stays [m²]
	Flow          float64       // flow at the new reference, exact for an ideal nozzle [m³/s]
	FlowSqrtRule  float64       // flow at the new reference by the square-root rule [m³/s]
	Warnings      []gas.Warning // how far the two can be trusted
}

// Restate returns a volume flow [m³/s], stated at from, at the reference to: exactly, through the effective area, and
// by the square-root rule of the trade, which is its limit for a small pressure drop.
//
//	Q2 = Q1·sqrt(Δp2/Δp1·ρ1/ρ2)
//
// A real piece lies between the two. Errors: *gas.InputError for a flow that is not above zero.
// Warnings: a test pressure that changes by more than a fifth; a piece that chokes.
func Restate(flow float64, from, to Reference) (Restated, error) {
	if !(flow > 0) || math.IsInf(flow, 0) {
		return Restated{}, &gas.InputError{Quantity: "flow", Got: flow, Unit: "m³/s", Want: "want a flow above zero"}
	}
	r := Restated{EffectiveArea: from.Area(flow)}
	r.Flow = to.Flow(r.EffectiveArea)
	r.FlowSqrtRule = sqrtRule(flow, from.TestPressure, from.Air.Density, to)
	if k := to.TestPressure / from.TestPressure; k < 0.8 || k > 1.25 {
		r.Warnings = append(r.Warnings, gas.Warning{Limit: "restated flow: test pressure within a fifth of that of the test; a real piece lies between the exact value and the square-root rule; ratio of test pressures", Got: k})
	}
	for _, ref := range []Reference{from, to} {
		if ref.nozzle().Choked() {
			r.Warnings = append(r.Warnings, gas.Warning{Limit: "restated flow: test pressure below that at which an ideal nozzle chokes [Pa]", Got: ref.TestPressure})
		}
	}
	return r, nil
}

// sqrtRule restates a volume flow measured at a drop [Pa] in air of a density [kg/m³].
func sqrtRule(flow, drop, density float64, to Reference) float64 {
	return flow * math.Sqrt(to.TestPressure/drop*density/to.Air.Density)
}
