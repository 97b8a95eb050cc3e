package engine

import "math"

func pow(x, y float64) float64 { return math.Pow(x, y) }

// A Warning is a limit of validity that a result lies outside of. It does not stop the computation; it must be shown
// wherever the result is shown.
type Warning struct {
	Limit string  // the limit, with its source
	Got   float64 // the offending value, in the unit of Limit [-]
}

// CorrectionJ1349 returns the factor cf [-] that takes measured full-load power to SAE J1349 reference air, for the
// dry-air pressure pd [Pa] and the air temperature temp [K].
//
//	cf = 1.18·(990/pd)·√(T/298) − 0.18, pd in mbar, T = t + 273
//
// It warns outside 0.93 ≤ cf ≤ 1.07. Source: SAE J1349 (June 1990), as quoted in public; built on 85 % mechanical efficiency.
func CorrectionJ1349(pd, temp float64) (cf float64, warnings []Warning) {
	cf = 1.18*(99000/pd)*math.Sqrt((temp-0.15)/298) - 0.18
	if cf < 0.93 || cf > 1.07 {
		warnings = append(warnings, Warning{"SAE J1349: correction within 0.93 to 1.07 (range from memory)", cf})
	}
	return cf, warnings
}

// CorrectionISO1585 returns the factor α [-] that takes measured full-load power of a naturally aspirated spark-ignition
// engine to ISO 1585 reference air, for the dry-air pressure pd [Pa] and the air temperature temp [K].
//
//	α = (99/pd)^1.2·(T/298)^0.6, pd in kPa, T = t + 273
//
// It warns outside 0.93 ≤ α ≤ 1.07. Source: ISO 1585:1992, 6.3, from memory.
func CorrectionISO1585(pd, temp float64) (alpha float64, warnings []Warning) {
	alpha = math.Pow(99000/pd, 1.2) * math.Pow((temp-0.15)/298, 0.6)
	if alpha < 0.93 || alpha > 1.07 {
		warnings = append(warnings, Warning{"ISO 1585: correction within 0.93 to 1.07 (range from memory)", alpha})
	}
	return alpha, warnings
}

// CorrectionDIN70020 returns the factor k [-] that takes measured power to DIN 70020 reference air, for the barometric
// pressure p [Pa], moisture within, and the air temperature temp [K].
//
//	k = (1013/p)·√(T/293), p in mbar, T = t + 273
//
// Source: DIN 70020, from memory.
func CorrectionDIN70020(p, temp float64) float64 {
	return 101300 / p * math.Sqrt((temp-0.15)/293)
}
