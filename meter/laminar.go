package meter

import (
	"runnel/gas"
)

// A Laminar is a laminar flow element with one calibration point. Its passages are so narrow that the flow in them is
// laminar, and the pressure difference is proportional to viscosity and volume flow.
type Laminar struct {
	VolumeFlow float64  // volume flow at the upstream state of the calibration [m³/s]
	Difference float64  // pressure difference of the calibration [Pa]
	Upstream   Upstream // gas before the element in the calibration
	UCal       float64  // relative standard uncertainty of the calibration [-]
}

// Kind returns "laminar".
func (Laminar) Kind() string { return "laminar" }

// Reads returns Difference.
func (Laminar) Reads() Quantity { return Difference }

// Flow returns the mass flow for a pressure difference dp [Pa].
//
//	ṁ = K·ρm·Δp/μ,  ρm = ρ1·(1 − Δp/(2·p1))
//
// with K from the calibration point; ρm is the density at the mean pressure, which makes the law exact for isothermal
// laminar flow of a perfect gas.
//
// Errors: *gas.InputError. Warnings: a pressure difference above that of the calibration.
// Source: Hagen–Poiseuille law for a compressible gas at constant temperature.
func (l Laminar) Flow(up Upstream, dp float64) (Flow, error) {
	f, err := l.Bare(up, dp)
	if err != nil {
		return Flow{}, err
	}
	var left limits
	left.within("laminar element: pressure difference at most that of its calibration [Pa]", dp, 0, l.Difference*(1+1e-9))
	left.close(&f, []Part{{PartCalibration, l.UCal, 1}})
	return f, nil
}

// Bare is Flow without uncertainty and warnings.
func (l Laminar) Bare(up Upstream, dp float64) (Flow, error) {
	if err := l.check(); err != nil {
		return Flow{}, err
	}
	if err := up.check(); err != nil {
		return Flow{}, err
	}
	if err := checkDrop(up, dp); err != nil {
		return Flow{}, err
	}
	atCal := l.VolumeFlow * l.Upstream.Density
	share := conductance(up, dp) / conductance(l.Upstream, l.Difference)
	return Flow{Mass: atCal * share, Coefficient: 1, Expansibility: 1 - dp/(2*up.Pressure), Loss: dp}, nil
}

// conductance returns ρm·Δp/μ, mass flow per unit of K.
func conductance(up Upstream, dp float64) float64 {
	return up.Density * (1 - dp/(2*up.Pressure)) * dp / up.Viscosity
}

func (l Laminar) check() error {
	if err := positive("calibration flow of the laminar element", "m³/s", l.VolumeFlow); err != nil {
		return err
	}
	if err := l.Upstream.check(); err != nil {
		return err
	}
	if !(l.Difference > 0 && l.Difference < l.Upstream.Pressure) {
		return &gas.InputError{Quantity: "calibration pressure difference of the laminar element", Got: l.Difference, Unit: "Pa", Want: "want above zero and below the upstream pressure"}
	}
	return checkShare("uncertainty of the calibration", l.UCal)
}
