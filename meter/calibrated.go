package meter

import "runnel/gas"

// A Calibrated is a meter with a discharge coefficient, or an uncertainty of it, from its own calibration instead of the
// standard's.
type Calibrated struct {
	Meter

	C  float64 // discharge coefficient C from the calibration [-]; 0: the meter's own
	UC float64 // relative standard uncertainty of C [-]; 0: the meter's own
}

// Flow returns the mass flow of the meter with its coefficient replaced.
//
//	ṁ = ṁ_own·C/C_own
//
// Warnings of the meter's own limits stay: a calibration does not widen them by itself.
// Errors: those of the meter; *gas.InputError for a coefficient that cannot be. Source: ISO 5167-1:2003 eq. (1).
func (c Calibrated) Flow(up Upstream, reading float64) (Flow, error) {
	if err := c.check(); err != nil {
		return Flow{}, err
	}
	f, err := c.Meter.Flow(up, reading)
	if err != nil {
		return Flow{}, err
	}
	c.scale(&f)
	if c.UC > 0 {
		for i := range f.Parts {
			if f.Parts[i].Name == PartC {
				f.Parts[i].URel = c.UC
			}
		}
		f.URel = combined(f.Parts)
	}
	return f, nil
}

// Bare is Flow without uncertainty and warnings.
func (c Calibrated) Bare(up Upstream, reading float64) (Flow, error) {
	if err := c.check(); err != nil {
		return Flow{}, err
	}
	f, err := c.Meter.Bare(up, reading)
	if err != nil {
		return Flow{}, err
	}
	c.scale(&f)
	return f, nil
}

// scale puts the calibrated coefficient in the place of the meter's own.
func (c Calibrated) scale(f *Flow) {
	if c.C > 0 && f.Mass > 0 {
		k := c.C / f.Coefficient
		f.Mass, f.Reynolds, f.Coefficient = k*f.Mass, k*f.Reynolds, c.C
	}
}

func (c Calibrated) check() error {
	if !(c.C == 0 || (c.C > 0.3 && c.C < 1.2)) {
		return &gas.InputError{Quantity: "calibrated discharge coefficient", Got: c.C, Want: "want about 0.6 for a plate, near 1 for a nozzle, or 0 for the standard's own"}
	}
	return checkShare("uncertainty of the calibrated coefficient", c.UC)
}

var _ Meter = Calibrated{}
