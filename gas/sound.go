package gas

import "math"

// cramerSpeed returns the coefficients of the speed of sound. Source: Cramer 1993, table III, for eq. (15).
func cramerSpeed() *[16]float64 {
	return &[16]float64{
		331.5024, 0.603055, -0.000528,
		51.471935, 0.1495874, -0.000782,
		-1.82e-7, 3.73e-8, -2.93e-10,
		-85.20931, -0.228525, 5.91e-5,
		-2.835149, -2.15e-13, 29.179762, 0.000486,
	}
}

// cramerKappa returns the coefficients of the ratio of specific heats. Source: Cramer 1993, table III.
func cramerKappa() *[16]float64 {
	return &[16]float64{
		1.400822, -1.75e-5, -1.73e-7,
		-0.0873629, -0.0001665, -3.26e-6,
		2.047e-8, -1.26e-10, 5.939e-14,
		-0.1199717, -0.0008693, 1.979e-6,
		-0.01104, -3.478e-16, 0.0450616, 1.82e-6,
	}
}

// cramer evaluates Cramer's polynomial for temperature t [°C], pressure p [Pa], vapour xw and CO2 xc mole fractions.
func cramer(a *[16]float64, t, p, xw, xc float64) float64 {
	return a[0] + t*(a[1]+a[2]*t) +
		(a[3]+t*(a[4]+a[5]*t))*xw +
		(a[6]+t*(a[7]+a[8]*t))*p +
		(a[9]+t*(a[10]+a[11]*t))*xc +
		a[12]*xw*xw + a[13]*p*p + a[14]*xc*xc + a[15]*xw*p*xc
}

// ViscositySutherland returns the dynamic viscosity μ [Pa·s] of dry air at temperature temp [K].
//
//	μ = 1.458e-6·T^1.5/(T + 110.4)
//
// Valid for about 100–1900 K near atmospheric pressure; at room temperature water vapour lowers it by less than 1 %.
// Source: US Standard Atmosphere 1976, eq. (51).
func ViscositySutherland(temp float64) float64 {
	return 1.458e-6 * temp * math.Sqrt(temp) / (temp + 110.4)
}
