package engine

import "math"

// A Crank is the slider-crank of one cylinder, without pin offset.
//
// The crank angle θ [rad] counts from top dead centre. Source: Heywood, Internal Combustion Engine Fundamentals (1988), section 2.2.
type Crank struct {
	Bore             float64 // cylinder bore B [m]
	Stroke           float64 // stroke S [m]
	Rod              float64 // connecting-rod length l [m]
	CompressionRatio float64 // volume at bottom over volume at top dead centre [-]
}

// PistonArea returns the piston's area A_p [m²].
func (c Crank) PistonArea() float64 { return math.Pi / 4 * c.Bore * c.Bore }

// Swept returns the displacement of the cylinder V_d [m³].
func (c Crank) Swept() float64 { return c.PistonArea() * c.Stroke }

// Clearance returns the volume at top dead centre V_c [m³].
//
//	V_c = V_d/(r_c − 1)
//
// Definition.
func (c Crank) Clearance() float64 { return c.Swept() / (c.CompressionRatio - 1) }

// Travel returns the piston's distance from top dead centre x [m] at crank angle theta [rad].
//
//	x = a + l − a·cosθ − √(l² − a²·sin²θ), a = S/2
//
// Source: Heywood (1988), eq. 2.5.
func (c Crank) Travel(theta float64) float64 {
	a := c.Stroke / 2
	sin, cos := math.Sincos(theta)
	return a + c.Rod - a*cos - math.Sqrt(c.Rod*c.Rod-a*a*sin*sin)
}

// Volume returns the cylinder's volume V [m³] at crank angle theta [rad]. Source: Heywood (1988), eq. 2.4.
func (c Crank) Volume(theta float64) float64 {
	return c.Clearance() + c.PistonArea()*c.Travel(theta)
}

// A slider is a Crank with what its formulas take again and again worked out, for the loop.
type slider struct {
	clearance, area float64 // [m³], [m²]
	throw, reach    float64 // a, a + l [m]
	throw2, rod2    float64 // a², l² [m²]
	liner           float64 // wall area of the liner over the volume swept so far, 4/B [1/m]
}

func (c Crank) slider() slider {
	a := c.Stroke / 2
	return slider{
		clearance: c.Clearance(), area: c.PistonArea(), throw: a, reach: a + c.Rod, throw2: a * a, rod2: c.Rod * c.Rod, liner: 4 / c.Bore,
	}
}

// volume is Crank.Volume at the cosine of the crank angle.
func (s *slider) volume(cos float64) float64 {
	return s.clearance + s.area*(s.reach-s.throw*cos-math.Sqrt(s.rod2-s.throw2*(1-cos*cos)))
}

// walls is Crank.WallArea at a volume [m³].
func (s *slider) walls(volume float64) float64 {
	return 2*s.area + s.liner*(volume-s.clearance)
}

// A shaft is the crankshaft as all cylinders share it: its angle's sine and cosine are worked out once for a time.
type shaft struct {
	omega    float64 // [rad/s]
	when     float64 // the time of what follows [s]
	sin, cos float64
}

// spin sets the speed [rad/s].
func (s *shaft) spin(omega float64) { *s = shaft{omega: omega, cos: 1} }

// cosine returns the cosine of the angle at time t [s] of a crank that lags by a phase, given by its own sine and cosine.
func (s *shaft) cosine(t, sin, cos float64) float64 {
	if t != s.when {
		s.when = t
		s.sin, s.cos = math.Sincos(s.omega * t)
	}
	return s.cos*cos + s.sin*sin
}

// TravelRate returns dx/dθ [m/rad], positive away from top dead centre, at crank angle theta [rad].
//
//	dx/dθ = a·sinθ·(1 + a·cosθ/√(l² − a²·sin²θ))
//
// Source: Heywood (1988), eq. 2.11.
func (c Crank) TravelRate(theta float64) float64 {
	a := c.Stroke / 2
	sin, cos := math.Sincos(theta)
	return a * sin * (1 + a*cos/math.Sqrt(c.Rod*c.Rod-a*a*sin*sin))
}

// MeanPistonSpeed returns the mean piston speed S̄_p [m/s] at engine speed n [rev/s].
//
//	S̄_p = 2·S·n
//
// Source: Heywood (1988), eq. 2.9.
func (c Crank) MeanPistonSpeed(n float64) float64 { return 2 * c.Stroke * n }

// WallArea returns the area of head, piston crown and exposed liner [m²] at crank angle theta [rad], head and crown
// each taken flat. Source: Heywood (1988), eq. 2.7.
func (c Crank) WallArea(theta float64) float64 {
	return 2*c.PistonArea() + math.Pi*c.Bore*c.Travel(theta)
}

// OttoEfficiency returns the efficiency η [-] of the ideal constant-volume cycle of compression ratio r [-] with the
// ratio of specific heats gamma [-].
//
//	η = 1 − r^(1−γ)
//
// Source: Heywood (1988), eq. 5.31.
func OttoEfficiency(r, gamma float64) float64 { return 1 - math.Pow(r, 1-gamma) }
