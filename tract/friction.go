package tract

import "math"

// Reynolds numbers between which a round pipe is neither surely laminar nor surely turbulent [-].
const (
	laminarBelow   = 2300
	turbulentAbove = 4000
)

// Equivalent sand roughness of the walls of intake passages [m].
const (
	RoughnessDrawn  = 5e-6   // drawn or honed metal: 1.5 to 10 µm. Source: Idelchik
	RoughnessWorked = 8e-6   // worked by flap wheel: 5 to 10 µm, ks ≈ 5.86·Ra (Adams, Grant and Watson 2012, from memory)
	RoughnessCast   = 100e-6 // sand cast: 60 to 150 µm, from 12.7 µm RMS finish and the same ratio (from memory)
)

// FrictionLaminar returns the Darcy friction factor λ [-] of laminar flow at the Reynolds number re [-]: λ = 64/Re.
// Valid for Re < 2300. Source: Hagen and Poiseuille.
func FrictionLaminar(re float64) float64 { return 64 / re }

// FrictionBlasius returns the Darcy friction factor λ [-] of a smooth pipe: λ = 0.3164/Re^0.25.
// Valid for 4000 ≤ Re ≤ 1e5. Source: Blasius (1913).
func FrictionBlasius(re float64) float64 { return 0.3164 / math.Sqrt(math.Sqrt(re)) }

// FrictionHaaland returns the Darcy friction factor λ [-] for the Reynolds number re and the relative roughness rough = ks/D [-],
// within about 2 % of Colebrook.
//
//	1/√λ = −1.8·log10((ks/(3.7·D))^1.11 + 6.9/Re)
//
// Valid for Re > 4000. Source: Haaland, J. Fluids Eng. 105 (1983) 89.
func FrictionHaaland(re, rough float64) float64 {
	return 1 / sq(1.8*math.Log10(math.Pow(rough/3.7, 1.11)+6.9/re))
}

// FrictionSwameeJain returns the Darcy friction factor λ [-] for the Reynolds number re and the relative roughness rough [-].
//
//	1/√λ = −2·log10(ks/(3.7·D) + (6.97/Re)^0.9)
//
// Valid for 5000 ≤ Re ≤ 1e8, 1e-6 ≤ ks/D ≤ 0.05. Source: Swamee and Jain, J. Hydraulics Div. 102 (1976) 657.
func FrictionSwameeJain(re, rough float64) float64 {
	return 1 / sq(2*math.Log10(rough/3.7+math.Pow(6.97/re, 0.9)))
}

// FrictionColebrook returns the Darcy friction factor λ [-] for the Reynolds number re and the relative roughness
// rough = ks/D [-], the root of
//
//	1/√λ = −2·log10(ks/(3.7·D) + 2.51/(Re·√λ))
//
// Valid for Re > 4000 and ks/D ≤ 0.05. Source: Colebrook, J. Inst. Civ. Eng. 11 (1939) 133.
func FrictionColebrook(re, rough float64) float64 {
	x := 1 / math.Sqrt(FrictionHaaland(re, rough))
	a, b := rough/3.7, 2.51/re
	for range 20 {
		// Newton on g(x) = x + 2·log10(a + b·x), which rises and is concave.
		in := a + b*x
		step := (x + 2*math.Log10(in)) / (1 + 2/math.Ln10*b/in)
		x -= step
		if math.Abs(step) <= 1e-15*x {
			break
		}
	}
	return 1 / (x * x)
}

// Friction returns the Darcy friction factor λ [-] for the Reynolds number re and the relative roughness rough = ks/D [-]:
// laminar below Re 2300, Colebrook above 4000, straight in Re between. The rate is that of fully developed flow; the first ten
// diameters behind an entry lose more. Spread: Haaland and Swamee–Jain, and the band of the roughness is the caller's.
// Source: FrictionLaminar, FrictionColebrook; the bridge between is our own.
func Friction(re, rough float64) Coefficient {
	c := Coefficient{Source: "Colebrook"}
	switch {
	case re < laminarBelow:
		c.K, c.Source = FrictionLaminar(re), "Hagen–Poiseuille"
		c.Lo, c.Hi = c.K, c.K
		return c
	case re < turbulentAbove:
		t := (re - laminarBelow) / (turbulentAbove - laminarBelow)
		c.K = (1-t)*FrictionLaminar(laminarBelow) + t*FrictionColebrook(turbulentAbove, rough)
		c.Lo, c.Hi = FrictionLaminar(re), max(c.K, FrictionColebrook(turbulentAbove, rough))
		c.Warnings = append(c.Warnings, "flow between laminar and turbulent: the friction factor is a straight line between both")
		return c
	}
	c.K = FrictionColebrook(re, rough)
	h, s := FrictionHaaland(re, rough), FrictionSwameeJain(re, rough)
	c.Lo, c.Hi = min(0.95*c.K, h, s), max(1.05*c.K, h, s)
	if rough > 0.05 {
		c.Warnings = append(c.Warnings, "relative roughness above 0.05: beyond Colebrook's range")
	}
	return c
}
