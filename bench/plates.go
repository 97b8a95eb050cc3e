package bench

import (
	"fmt"
	"math"
	"slices"
	"time"

	"runnel/gas"
	"runnel/job"
	"runnel/measure"
	"runnel/meter"
)

// A plateCurve is the calibration of a bench with one meter by known plates: the flow they pass over the flow read, net of leakage,
// as volume flow at the room's air. It does not change after it is made.
type plateCurve struct {
	card job.Curve
	coef [job.MostCoefficients]float64   // of read⁰, read¹ … [SI]
	half [job.MostCoefficients][]float64 // columns of L with V = L·Lᵀ, the covariance of coef [SI]
}

// plateCurveOf understands the curve that a meter names; nil when it names none.
func (s *Setup) plateCurveOf(id string) (*plateCurve, error) {
	if id == "" {
		return nil, nil //nolint:nilnil // a meter need not have one
	}
	for _, c := range s.card.Calibrations {
		if c.ID != id {
			continue
		}
		k := &plateCurve{card: c}
		l, ok := c.Half()
		if !ok || len(c.Coefficients) > job.MostCoefficients || !(c.From >= 0 && c.From < c.To) {
			return nil, fmt.Errorf("calibration %q is no curve: put in what \"runnel calibrate FILE --card %s\" writes", id, id)
		}
		copy(k.coef[:], c.Coefficients)
		for j := range l {
			column := make([]float64, len(l))
			for i := range l {
				column[i] = l[i][j]
			}
			k.half[j] = column
		}
		return k, nil
	}
	return nil, fmt.Errorf("calibration %q is not on the bench card: write it under [[calibrations]]", id)
}

// factor returns what a volume flow read [m³/s] is multiplied with [-], by the given coefficients. Beyond the flows that were
// calibrated the factor at their end stands: a polynomial says nothing there.
func (k *plateCurve) factor(coef *[job.MostCoefficients]float64, read float64) float64 {
	q := min(max(read, k.card.From), k.card.To)
	if q <= 0 {
		return coef[1]
	}
	return (((coef[3]*q+coef[2])*q+coef[1])*q + coef[0]) / q
}

// correct returns the mass flow [kg/s] that the known plates make of a net mass flow read [kg/s]; the room's air has the
// given density [kg/m³]. Without a calibration that is the flow read.
func (k *plateCurve) correct(mass, density float64) float64 {
	if k == nil {
		return mass
	}
	return mass * k.factor(&k.coef, mass/density)
}

// knobs are the uncertainty of the curve, in parts independent of each other. Two readings on one calibration share them.
func (k *plateCurve) knobs(net, density float64) []knob {
	if k == nil {
		return nil
	}
	dof := k.card.Dof
	if dof <= 0 {
		dof = math.Inf(1)
	}
	f := k.factor(&k.coef, net/density)
	parts := 0
	for j, column := range k.half {
		if j < len(column) && column[j] != 0 {
			parts++
		}
	}
	var out []knob
	for j, column := range k.half {
		var shift [job.MostCoefficients]float64
		copy(shift[:], column)
		u := k.factor(&shift, net/density) / f // relative change of the flow for one standard deviation of the part
		if u == 0 {
			continue
		}
		key, quantity := "calibration/"+k.card.ID, "calibration "+k.card.ID
		if parts > 1 {
			quantity += fmt.Sprintf(", part %d", j+1)
		}
		out = append(out, knob{
			measure.Line{
				Quantity: quantity, Key: fmt.Sprintf("%s/%d", key, j+1), Pool: key, Unit: "1",
				Kind: measure.TypeA, Distribution: measure.StudentT, U: math.Abs(u), Dof: dof,
			},
			func(m *model, x float64) {
				z := x / math.Abs(u)
				for i, v := range shift {
					m.coef[i] += z * v
				}
			},
		})
	}
	return out
}

// covers reports whether a part of the meter's own uncertainty has been measured by the calibration: what is constant has,
// what changes with pressure has not.
func (k *plateCurve) covers(part string) bool { return k != nil && part != meter.PartEps }

// answered leaves out the meter's own warning that it is best calibrated, once it is.
func (k *plateCurve) answered(w []gas.Warning) []gas.Warning {
	if k == nil {
		return w
	}
	return slices.DeleteFunc(slices.Clone(w), func(x gas.Warning) bool { return x.Limit == meter.ChamberNotice })
}

// warnings says where a reading leaves the calibration: in flow, or in time.
func (k *plateCurve) warnings(net, density float64, at time.Time) []gas.Warning {
	if k == nil {
		return nil
	}
	var w []gas.Warning
	const litres = 1e3
	if q := net / density; q < k.card.From*(1-1e-9) || q > k.card.To*(1+1e-9) {
		w = append(w, gas.Warning{
			Limit: fmt.Sprintf("calibration %s: flow read from %.4g to %.4g L/s; the factor at that end was taken, the curve is not drawn on [L/s]", k.card.ID, litres*k.card.From, litres*k.card.To),
			Got:   litres * q,
		})
	}
	every := job.CalibrationLife(k.card.Every)
	if age := at.Sub(k.card.At).Seconds(); !k.card.At.IsZero() && !at.IsZero() && age > every {
		w = append(w, gas.Warning{
			Limit: fmt.Sprintf("calibration %s of %s: made anew after %.0f days, recalibration is due; days", k.card.ID, k.card.At.Format(time.DateOnly), every/86400),
			Got:   math.Floor(age / 86400),
		})
	}
	return w
}
