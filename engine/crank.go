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
