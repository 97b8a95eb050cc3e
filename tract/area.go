package tract

import (
	"math"

	"runnel/passage"
)

// A Coefficient is a loss coefficient with its source and the spread of the published methods.
type Coefficient = passage.Coefficient

// handbook is the spread that is kept about a handbook value even where two formulas agree [-]: handbooks claim no better than
// about ±15 % for a fitting on its own (from memory).
const handbook = 0.15

// spanned sets Lo and Hi of c from other methods' values, and no narrower than the handbook spread.
func spanned(c Coefficient, others ...float64) Coefficient {
	c.Lo, c.Hi = (1-handbook)*c.K, (1+handbook)*c.K
	for _, k := range others {
		c.Lo, c.Hi = min(c.Lo, k), max(c.Hi, k)
	}
	return c
}

// SuddenExpansion returns the loss of a sudden step from section a1 to a wider section a2 [m²], on the velocity head in a1.
//
//	K = (1 − a1/a2)²
//
// Valid for a1 ≤ a2; a step that is none, or a contraction, has K = 0. Spread: the factor 1 + 0.8·λ of Hooper for smooth to
// rough walls. Source: Borda and Carnot; Rennels and Hudson, Pipe Flow (Wiley 2012), ch. 11.
func SuddenExpansion(a1, a2 float64) Coefficient {
	c := Coefficient{Source: "Borda–Carnot"}
	if a1 < a2 {
		c.K = sq(1 - a1/a2)
	}
	c.Lo, c.Hi = c.K, c.K*(1+0.8*0.04)
	return c
}

// SuddenContraction returns the loss of a sharp step from section a1 to a narrower section a2 [m²], on the velocity head in a2.
//
//	β² = a2/a1;  λ = 1 + 0.622·(1 − 0.215·β² − 0.785·β⁵);  K = 0.0696·(1 − β⁵)·λ² + (λ − 1)²
//
// Valid for a1 ≥ a2; a step that is none, or an expansion, has K = 0. Spread: Crane TP-410, 0.5·(1 − β²), and Hooper (1988).
// Source: Rennels and Hudson, Pipe Flow (Wiley 2012), ch. 10.
func SuddenContraction(a1, a2 float64) Coefficient {
	c := Coefficient{Source: "Rennels and Hudson (2012): sharp contraction"}
	if a1 <= a2 {
		return c
	}
	b2 := a2 / a1
	b5 := math.Pow(b2, 2.5)
	l := contractionJet(b2, b5)
	c.K = 0.0696*(1-b5)*l*l + sq(l-1)
	return spanned(c, 0.5*(1-b2), (0.6+0.48*0.02)*(1-b2))
}

// contractionJet returns the jet velocity ratio λ [-] of a sharp contraction.
func contractionJet(b2, b5 float64) float64 { return 1 + 0.622*(1-0.215*b2-0.785*b5) }

// RoundedContraction returns the loss of a step from section a1 to a narrower section a2 [m²] with its edge rounded to radius r [m],
// on the velocity head in a2.
//
//	ρ = r/d2;  λ = 1 + 0.622·(1 − 0.30·√ρ − 0.70·ρ)⁴·(1 − 0.215·β² − 0.785·β⁵)
//	K = 0.0696·(1 − 0.569·ρ)·(1 − √ρ·β)·(1 − β⁵)·λ² + (λ − 1)²
//
// Valid for 0 ≤ ρ ≤ 1, held at 1 beyond, and a1 ≥ a2. Spread: between the sharp step scaled by Idelchik's rounded entry, and K.
// Source: Rennels and Hudson, Pipe Flow (Wiley 2012), ch. 10.
func RoundedContraction(a1, a2, r float64) Coefficient {
	c := Coefficient{Source: "Rennels and Hudson (2012): rounded contraction"}
	if a1 <= a2 {
		return c
	}
	b2 := a2 / a1
	b5 := math.Pow(b2, 2.5)
	rho := min(1, r/diameterOf(a2))
	l := 1 + math.Pow(1-0.30*math.Sqrt(rho)-0.70*rho, 4)*(contractionJet(b2, b5)-1)
	c.K = 0.0696*(1-0.569*rho)*(1-math.Sqrt(rho*b2))*(1-b5)*l*l + sq(l-1)
	entry, err := passage.EntryLoss(max(0, rho))
	if err != nil {
		c.Warnings = append(c.Warnings, err.Error())
		return spanned(c)
	}
	return spanned(c, entry.K*(1-b2))
}

// diameterOf returns the diameter of a circle of area a.
func diameterOf(a float64) float64 { return math.Sqrt(4 * a / math.Pi) }

// coneAngle returns the full angle of the cone between two round sections of these areas over a length [rad].
func coneAngle(a1, a2, length float64) float64 {
	return 2 * math.Atan2(math.Abs(diameterOf(a2)-diameterOf(a1))/2, length)
}

// GradualContraction returns the loss of a cone from section a1 to a narrower section a2 [m²] over the given length [m], wall friction
// included, on the velocity head in a2; f is the Darcy friction factor [-]. Sections that are not round count as circles of the
// same area.
//
//	K = f·(1 − β⁴)/(8·sin(α/2)) + 0.0696·sin(α/2)·(1 − β⁵)·λ² + (λ − 1)²,  λ = 1 + 0.622·(α/π)^0.8·(1 − 0.215·β² − 0.785·β⁵)
//
// Spread: Crane TP-410 and Hooper (1988). Source: Rennels and Hudson, Pipe Flow (Wiley 2012), ch. 10.
func GradualContraction(a1, a2, length, f float64) Coefficient {
	c := Coefficient{Source: "Rennels and Hudson (2012): conical contraction"}
	if a1 <= a2 {
		return c
	}
	b2 := a2 / a1
	b5 := math.Pow(b2, 2.5)
	alpha := coneAngle(a1, a2, length)
	s := math.Sin(alpha / 2)
	friction := f * (1 - b2*b2) / (8 * s)
	l := 1 + math.Pow(alpha/math.Pi, 0.8)*(contractionJet(b2, b5)-1)
	c.K = friction + 0.0696*s*(1-b5)*l*l + sq(l-1)
	step := 1.6 * s
	if alpha > math.Pi/4 {
		step = math.Sqrt(s)
	}
	return spanned(c, 0.5*(1-b2)*step, (0.6+0.48*f)*(1-b2)*step)
}

// GradualExpansion returns the loss of a cone from section a1 to a wider section a2 [m²] over the given length [m], wall friction
// included, on the velocity head in a1; f is the Darcy friction factor [-]. Sections that are not round count as circles of the
// same area. The formula changes at 20° and 60° full angle and at β = 0.5; below 20°:
//
//	K = 8.30·tan(α/2)^1.75·(1 − β²)² + f·(1 − β⁴)/(8·sin(α/2))
//
// Spread: Crane TP-410 and Hooper (1988). Source: Rennels and Hudson, Pipe Flow (Wiley 2012), ch. 11.
func GradualExpansion(a1, a2, length, f float64) Coefficient {
	c := Coefficient{Source: "Rennels and Hudson (2012): conical diffuser"}
	if a1 >= a2 {
		return c
	}
	alpha := coneAngle(a1, a2, length)
	borda := sq(1 - a1/a2)
	c.K = diffuserRennels(a1/a2, alpha, f)
	step := 1.0
	if alpha <= math.Pi/4 {
		step = 2.6 * math.Sin(alpha/2)
	}
	return spanned(c, borda*step, borda*step*(1+0.8*f))
}

// diffuserRennels returns K [-] of a conical diffuser of area ratio b2 = β² [-] and full angle alpha [rad], wall friction included
// up to 60°, as the book has it.
func diffuserRennels(b2, alpha, f float64) float64 {
	share, _, _ := diffuserShare(b2, alpha)
	k := share * sq(1-b2)
	if alpha*180/math.Pi <= 60+1e-9 {
		k += f * (1 - b2*b2) / (8 * math.Sin(alpha/2))
	}
	return k
}
