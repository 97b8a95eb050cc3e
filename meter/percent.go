package meter

import (
	"math"

	"runnel/gas"
)

// scaleEnd is the reading beyond which no percent scale goes [-]; our own limit.
const scaleEnd = 1.2

// A Percent is a calibrated plate read on a scale in per cent of its full flow: the scale is laid out in flow, so its
// reading goes with the square root of the pressure difference.
type Percent struct {
	FullScale    float64 // volume flow at 100 %, at the density Density [m³/s]
	Density      float64 // density that FullScale is stated at, that of the room in the calibration [kg/m³]
	PlateDensity float64 // density of the air before the plate in the calibration [kg/m³]
	UCal         float64 // relative standard uncertainty of FullScale [-]
}

// Kind returns "plate_percent".
func (Percent) Kind() string { return "plate_percent" }

// Reads returns Scale: 1 at 100 %.
func (Percent) Reads() Quantity { return Scale }

// Flow returns the mass flow for a reading scale [-], 1 at 100 %.
//
//	ṁ = scale·Q_full·ρ_cal·sqrt(ρ1/ρ1_cal)
//
// At the same pressure difference a plate passes mass as the square root of the density before it.
//
// Errors: *gas.InputError. Warnings: above 100 %; below 20 %, where a flow scale is coarse (our own limit).
// Source: ISO 5167-1:2003 eq. (1), with coefficient and expansibility as in the calibration.
func (p Percent) Flow(up Upstream, scale float64) (Flow, error) {
	f, err := p.Bare(up, scale)
	if err != nil {
		return Flow{}, err
	}
	var l limits
	if scale > 0 {
		l.within("percent scale: reading 20 % to 100 %", 100*scale, 20-1e-9, 100+1e-9)
	}
	l.close(&f, []Part{{PartCalibration, p.UCal, 1}})
	return f, nil
}

// Bare is Flow without uncertainty and warnings.
func (p Percent) Bare(up Upstream, scale float64) (Flow, error) {
	if err := p.check(); err != nil {
		return Flow{}, err
	}
	if err := up.check(); err != nil {
		return Flow{}, err
	}
	if err := checkReading(Scale, scale); err != nil {
		return Flow{}, err
	}
	if scale > scaleEnd {
		return Flow{}, &gas.InputError{Quantity: "reading of the percent scale", Got: 100 * scale, Unit: "%", Want: "want 0 % to 100 %: write it with its sign, as 85 %"}
	}
	mass := scale * p.FullScale * p.Density * math.Sqrt(up.Density/p.PlateDensity)
	return Flow{Mass: mass, Coefficient: 1, Expansibility: 1, Loss: math.NaN()}, nil
}

func (p Percent) check() error {
	if err := positive("full-scale flow", "m³/s", p.FullScale); err != nil {
		return err
	}
	if err := positive("density of the calibration", "kg/m³", p.Density); err != nil {
		return err
	}
	if err := positive("density before the plate in the calibration", "kg/m³", p.PlateDensity); err != nil {
		return err
	}
	return checkShare("uncertainty of the full-scale flow", p.UCal)
}
