package tract

import (
	"fmt"
	"math"
)

// Bend returns the loss of a smooth round bend, wall friction along it included, on the velocity head of the bore: its angle [rad],
// its centreline radius over bore radius [-], the Darcy friction factor f [-] and the Reynolds number re [-].
//
//	K = f·α·r/d + (0.10 + 2.4·f)·sin(α/2) + 6.6·f·(√sin(α/2) + sin(α/2))/(r/d)^(4α/π)
//
// Valid for any bend with r/d ≥ 0.5; a centreline radius of half a bore has an inner wall without radius, and less is not possible.
// Spread: Ito (1960), which rests on measurements with long straights before and behind. A second bend within four bores changes
// both. Source: Rennels and Hudson, Pipe Flow (Wiley 2012), ch. 15.
func Bend(angle, radius, f, re float64) Coefficient {
	c := Coefficient{Source: "Rennels and Hudson (2012): smooth bend"}
	if angle == 0 {
		return c
	}
	r := radius
	if r < 0.5 {
		c.Warnings = append(c.Warnings, fmt.Sprintf("bend radius %.2f bores is below 0.5: taken as 0.5", radius))
		r = 0.5
	}
	c.K = bendRennels(angle, r, f)
	return spanned(c, bendIto(angle, r, re))
}

func bendRennels(angle, radius, f float64) float64 {
	k, _, _ := bendSlopes(angle, radius, f)
	return k + f*angle*radius
}

// bendIto returns K [-] of a smooth bend in turbulent flow.
//
//	K = 0.00431·α·θ°·Re^-0.17·(r/d)^0.84
//
// Source: Ito, J. Basic Eng. 82 (1960) 131; below 45° the factor α at 45° is kept.
func bendIto(angle, radius, re float64) float64 {
	if radius > 50 {
		return 0.00431 * angle * 180 / math.Pi * math.Pow(re, -0.17) * math.Pow(radius, 0.84)
	}
	a45 := 1 + 5.13*math.Pow(radius, -1.47)
	a90 := 1.0
	if radius < 9.85 {
		a90 = 0.95 + 4.42*math.Pow(radius, -1.96)
	}
	a180 := 1 + 5.06*math.Pow(radius, -4.52)
	deg := angle * 180 / math.Pi
	alpha := a45
	switch {
	case deg >= 180:
		alpha = a180
	case deg > 90:
		alpha = a90 + (deg-90)/90*(a180-a90)
	case deg > 45:
		alpha = a45 + (deg-45)/45*(a90-a45)
	}
	return 0.00431 * alpha * deg * math.Pow(re, -0.17) * math.Pow(radius, 0.84)
}

// RectangularBend returns the loss of a smooth bend of rectangular section on the velocity head of the bore: its angle [rad], the
// centreline radius [m], the width in the plane of the bend and the depth across it [m], the Darcy friction factor f [-].
//
//	K = A1(angle)·B1(radius/width)·C1(depth/width) + f·angle·radius/Dh
//
// Valid for 20° ≤ angle ≤ 180°, radius/width ≥ 0.5, held at the ends of the tables. Spread ±25 %: own judgement. Source: Idelchik,
// Handbook of Hydraulic Resistance, diagram 6-1; factors from memory, not compared with the book.
func RectangularBend(angle, radius, width, depth, f float64) Coefficient {
	c := Coefficient{Source: "Idelchik, diagram 6-1 (factors from memory)"}
	if angle == 0 {
		return c
	}
	if radius < width/2 {
		c.Warnings = append(c.Warnings, fmt.Sprintf("bend radius %.1f mm is below half the width: taken as half", 1e3*radius))
		radius = width / 2
	}
	dh := 2 * width * depth / (width + depth)
	c.K = idelchikAngle(angle)*idelchikRadius(radius/width)*idelchikAspect(depth/width) + f*angle*radius/dh
	c.Lo, c.Hi = 0.75*c.K, 1.25*c.K
	return c
}

func idelchikAngle(angle float64) float64 {
	deg := angle * 180 / math.Pi
	return table([]float64{0, 20, 30, 45, 60, 75, 90, 110, 130, 180}, []float64{0, 0.31, 0.45, 0.60, 0.78, 0.90, 1, 1.13, 1.20, 1.40}, deg)
}

func idelchikRadius(r float64) float64 {
	return table([]float64{0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.25, 1.5, 2, 4, 6}, []float64{1.18, 0.77, 0.51, 0.37, 0.28, 0.21, 0.19, 0.17, 0.15, 0.11, 0.09}, r)
}

func idelchikAspect(a float64) float64 {
	return table([]float64{0.25, 0.5, 0.75, 1, 1.5, 2, 3, 4, 6, 8}, []float64{1.30, 1.17, 1.09, 1, 0.90, 0.85, 0.85, 0.90, 0.98, 1}, a)
}

// Mitre returns the loss of a bend without any radius, of angle [rad], on the velocity head of the bore.
//
//	K = 0.42·sin(α/2) + 2.56·sin³(α/2)
//
// Valid to 150°. Source: Rennels and Hudson, Pipe Flow (Wiley 2012), ch. 15.
func Mitre(angle float64) Coefficient {
	s := math.Sin(angle / 2)
	return spanned(Coefficient{K: 0.42*s + 2.56*s*s*s, Source: "Rennels and Hudson (2012): mitre bend"})
}

// table interpolates along straight lines and holds the end values.
func table(x, y []float64, at float64) float64 {
	if at <= x[0] {
		return y[0]
	}
	for i := 1; i < len(x); i++ {
		if at <= x[i] {
			return y[i-1] + (at-x[i-1])/(x[i]-x[i-1])*(y[i]-y[i-1])
		}
	}
	return y[len(y)-1]
}
