package engine

import "math"

// A Wiebe is a law of burning: the burned mass fraction over crank angle.
type Wiebe struct {
	Start    float64 // crank angle of ignition θ0, from firing top dead centre, negative before [rad]
	Duration float64 // whole duration Δθ [rad]
	A        float64 // efficiency factor a [-]
	M        float64 // form exponent m [-]
}

// Usual constants of the law for spark ignition. Source: Heywood (1988), section 9.2.3.
const (
	WiebeA = 5.0 // efficiency factor a [-]
	WiebeM = 2.0 // form exponent m [-]
)

// Fraction returns the burned mass fraction x_b [-] at crank angle theta [rad] from firing top dead centre.
//
//	x_b = 1 − exp(−a·((θ−θ0)/Δθ)^(m+1))
//
// It goes on beyond Δθ, where it is 1 − e^(−a). Source: Heywood (1988), eq. 9.30.
func (w Wiebe) Fraction(theta float64) float64 {
	x := (theta - w.Start) / w.Duration
	if x <= 0 {
		return 0
	}
	return 1 - math.Exp(-w.A*math.Pow(x, w.M+1))
}

// Angle returns the crank angle [rad] from firing top dead centre at which the fraction x [-] is burned, 0 ≤ x < 1.
func (w Wiebe) Angle(x float64) float64 {
	return w.Start + w.Duration*math.Pow(-math.Log(1-x)/w.A, 1/(w.M+1))
}

// WiebeOf returns the law with half burned at ca50 [rad] after firing top dead centre and the stretch from 10 to 90 %
// burned of d1090 [rad], for the form exponent m [-].
func WiebeOf(ca50, d1090, m float64) Wiebe {
	unit := Wiebe{Duration: 1, A: WiebeA, M: m}
	w := Wiebe{Duration: d1090 / (unit.Angle(0.9) - unit.Angle(0.1)), A: WiebeA, M: m}
	w.Start = ca50 - w.Angle(0.5)
	return w
}

// Default burn at full throttle and best-torque timing.
const (
	DefaultCA50     = 8 * math.Pi / 180 // half burned after top centre [rad]: common practice, no source
	DefaultComplete = 0.97              // share of the chemical energy within reach that is set free [-]: 0.95–0.98 for lean to stoichiometric, Heywood (1988) fig. 3-9, from memory
)

// DefaultBurnDuration returns the crank angle from 10 to 90 % burned [rad] at engine speed n [rev/s] and bore b [m].
//
//	Δθ = (20 + 1.6·N/1000)·(B/0.086)^0.4 degrees, N in rev/min
//
// Full throttle burns 10–90 % in 20–35° crank, slowly longer with speed: typical values from memory, no fit to any engine; the
// power of the bore is a guess between none and the flame's path.
func DefaultBurnDuration(n, b float64) float64 {
	return (20 + 1.6*n*60/1000) * math.Pow(b/0.086, 0.4) * math.Pi / 180
}
