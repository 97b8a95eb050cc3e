package engine

import "math"

// A HeatModel is a correlation for the heat given by the gas to the cylinder's walls.
type HeatModel int

// The heat-transfer correlations.
const (
	Woschni HeatModel = iota
	Hohenberg
	NoHeat
)

// WoschniCoefficient returns the heat-transfer coefficient h [W/(m²·K)] for bore b [m], absolute pressure p [Pa],
// gas temperature temp [K] and characteristic gas speed w [m/s].
//
//	h = 129.8·B^−0.2·p^0.8·T^−0.53·w^0.8, p in bar
//
// Source: Woschni, SAE 670931 (1967), constants as quoted in a secondary compilation.
func WoschniCoefficient(b, p, temp, w float64) float64 {
	return 129.8 * math.Pow(b, -0.2) * math.Pow(p/1e5*w, 0.8) * math.Pow(temp, -0.53)
}

// WoschniSpeed returns the characteristic gas speed w [m/s] for mean piston speed sp [m/s], swept volume vd [m³], the
// pressure pr [Pa], volume vr [m³] and temperature tr [K] at intake valve closing, fired pressure p [Pa] and motored
// pressure pm [Pa] at the same angle; open is true while a valve is open.
//
//	w = C1·S̄p + C2·V_d·T_r/(p_r·V_r)·(p − p_m)
//	C1 = 6.18 in gas exchange, else 2.28; C2 = 3.24e−3 m/(s·K) in combustion and expansion, else 0
//
// Source: Woschni, SAE 670931 (1967), constants as quoted in a secondary compilation.
func WoschniSpeed(sp, vd, pr, vr, tr, p, pm float64, open bool) float64 {
	if open {
		return 6.18 * sp
	}
	return 2.28*sp + 3.24e-3*vd*tr/(pr*vr)*max(p-pm, 0)
}

// HohenbergCoefficient returns the heat-transfer coefficient h [W/(m²·K)] for cylinder volume v [m³], absolute pressure
// p [Pa], gas temperature temp [K] and mean piston speed sp [m/s].
//
//	h = 130·V^−0.06·p^0.8·T^−0.4·(S̄p + 1.4)^0.8, p in bar
//
// Source: Hohenberg, SAE 790825 (1979), constants as quoted in a secondary compilation.
func HohenbergCoefficient(v, p, temp, sp float64) float64 {
	return 130 * math.Pow(v, -0.06) * math.Pow(p/1e5*(sp+1.4), 0.8) * math.Pow(temp, -0.4)
}
