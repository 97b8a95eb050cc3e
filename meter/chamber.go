package meter

import (
	"math"

	"runnel/gas"
)

// What is taken for a sharp-edged orifice between two chambers when it is not calibrated: C = 0.60, and ±2 % with
// coverage factor 2 around it, the wider end of the ±1 to 2 % that textbooks give.
const (
	ChamberC  = 0.60 // discharge coefficient C [-]
	ChamberUC = 0.01 // its relative standard uncertainty [-]
)

// ChamberNotice is the limit in the warning that every flow of a chamber orifice has; known plates flowed through it answer it.
const ChamberNotice = "chamber orifice: outside ISO 5167 (diameter ratio beta below 0.1); its uncertainty is that of its coefficient, best calibrated"

// An Expansion is the law for the expansibility of a chamber orifice. With the same coefficient the two differ by 2.1 %
// at 28 inH2O, so a coefficient counts only together with the law it was found with.
type Expansion int

// The laws of expansion.
const (
	// ExpansionISO takes ISO 5167-2 at β = 0, ε = 1 − 0.351(1 − (p2/p1)^(1/κ)): the jet of a sharp edge goes on
	// contracting behind the plate. It is the choice for C = 0.60.
	ExpansionISO Expansion = iota
	// ExpansionIsentropic takes the ideal nozzle: for a coefficient that was found with it.
	ExpansionIsentropic
)

// A Chamber is a sharp-edged orifice between two chambers, drawn from still air: β → 0. It is outside ISO 5167, its
// uncertainty is wider than that of a plate in a pipe, and every flow says so. Calibrate it.
type Chamber struct {
	Bore        float64   // bore d [m]
	Coefficient float64   // discharge coefficient C [-]; ChamberC when it is not calibrated
	UC          float64   // relative standard uncertainty of C [-]; ChamberUC when it is not calibrated
	UBore       float64   // relative standard uncertainty of d [-]
	Expansion   Expansion // law that the coefficient goes with
}

// Kind returns "orifice_chamber".
func (Chamber) Kind() string { return "orifice_chamber" }

// Reads returns Difference.
func (Chamber) Reads() Quantity { return Difference }

// Flow returns the mass flow for a pressure difference dp [Pa]; up is the still air before the plate.
//
//	ṁ = C·ε·π/4·d²·sqrt(2·Δp·ρ1)
//
// The Reynolds number is that of the bore.
//
// Errors: *gas.InputError. Warnings: always that it is outside ISO 5167; p2/p1 below 0.75; a bore Reynolds number below 10⁴.
// Source: ISO 5167-1:2003 eq. (1) at β = 0; for ExpansionIsentropic NozzleExpansibility at β = 0.
func (c Chamber) Flow(up Upstream, dp float64) (Flow, error) {
	f, err := c.Bare(up, dp)
	if err != nil {
		return Flow{}, err
	}
	l := limits{left: []gas.Warning{{Limit: ChamberNotice, Got: 0}}}
	l.ratioAbove("chamber orifice: pressure ratio p2/p1 at least 0.75, as ISO 5167-2:2003 5.3.2.2", up, dp)
	if dp > 0 {
		l.within("chamber orifice: bore Reynolds number at least 10000 for a constant coefficient", f.Reynolds, 1e4, math.Inf(1))
	}
	l.close(&f, []Part{{PartC, c.UC, 1}, {PartEps, orificeUEps(up, dp), 1}, {PartBore, c.UBore, 2}})
	return f, nil
}

// Bare is Flow without uncertainty and warnings.
func (c Chamber) Bare(up Upstream, dp float64) (Flow, error) {
	if err := c.check(); err != nil {
		return Flow{}, err
	}
	if err := up.check(); err != nil {
		return Flow{}, err
	}
	if err := checkDrop(up, dp); err != nil {
		return Flow{}, err
	}
	f := Flow{Coefficient: c.Coefficient, Expansibility: c.expansibility(up, dp), Loss: dp}
	f.Mass = c.Coefficient * f.Expansibility * math.Pi / 4 * c.Bore * c.Bore * math.Sqrt(2*dp*up.Density)
	f.Reynolds = 4 * f.Mass / (math.Pi * up.Viscosity * c.Bore)
	return f, nil
}

// expansibility returns ε [-] by the chosen law.
func (c Chamber) expansibility(up Upstream, dp float64) float64 {
	if c.Expansion == ExpansionIsentropic {
		return nozzleEps(dp/up.Pressure, 0, up.Kappa)
	}
	return OrificeExpansibility(up.Pressure, up.Pressure-dp, 0, up.Kappa)
}

func (c Chamber) check() error {
	if err := positive("bore", "m", c.Bore); err != nil {
		return err
	}
	if !(c.Coefficient > 0.3 && c.Coefficient <= 1.05) {
		return &gas.InputError{Quantity: "discharge coefficient", Got: c.Coefficient, Want: "want about 0.6 for a sharp edge, up to 1 for a rounded one"}
	}
	if err := checkShare("uncertainty of the coefficient", c.UC); err != nil {
		return err
	}
	return checkShare("uncertainty of the bore", c.UBore)
}
