package tract

import "math"

// frictionSlopes returns the Darcy friction factor λ [-] of Friction with ∂λ/∂lnRe and ∂λ/∂ln(ks/D) [-].
//
//	x = 1/√λ, x + 2·log10(a + b·x) = 0:  dx = −(2/ln10)·(da + x·db)/(a + b·x)/(1 + (2/ln10)·b/(a + b·x))
//
// Source: implicit derivative of Colebrook's equation.
func frictionSlopes(re, rough float64) (k, byRe, byRough float64) {
	switch {
	case re < laminarBelow:
		k = FrictionLaminar(re)
		return k, -k, 0
	case re < turbulentAbove:
		t := (re - laminarBelow) / (turbulentAbove - laminarBelow)
		top, _, r := colebrookSlopes(turbulentAbove, rough)
		low := FrictionLaminar(laminarBelow)
		return low + t*(top-low), (top - low) * re / (turbulentAbove - laminarBelow), t * r
	}
	return colebrookSlopes(re, rough)
}

func colebrookSlopes(re, rough float64) (k, byRe, byRough float64) {
	k = FrictionColebrook(re, rough)
	x := 1 / math.Sqrt(k)
	a, b := rough/3.7, 2.51/re
	in := a + b*x
	c := 2 / math.Ln10 / in
	d := 2 * k / x * c / (1 + c*b) // −dλ/dx·c/(1 + c·b)
	return k, -d * x * b, d * a
}

// contractionSlopes returns K of GradualContraction without wall friction and ∂K/∂ln a1 and ∂K/∂ln a2 [-].
func contractionSlopes(a1, a2, length float64) (k, by1, by2 float64) {
	if a1 <= a2 {
		return 0, 0, 0
	}
	b2 := a2 / a1
	b5 := math.Pow(b2, 2.5)
	half := coneAngle(a1, a2, length) / 2
	s := math.Sin(half)
	g := contractionJet(b2, b5) - 1
	p := math.Pow(2*half/math.Pi, 0.8)
	l := 1 + p*g
	k = 0.0696*s*(1-b5)*l*l + sq(l-1)
	partial := func(lnRatio, dHalf float64) float64 {
		dg := 0.622 * (-0.215*b2 - 0.785*2.5*b5) * lnRatio
		dl := 0.8*p/half*dHalf*g + p*dg
		return 0.0696*(math.Cos(half)*dHalf*(1-b5)*l*l-s*2.5*b5*lnRatio*l*l+2*s*(1-b5)*l*dl) + 2*(l-1)*dl
	}
	d1, d2 := halfAngleSlopes(a1, a2, length)
	return k, partial(-1, d1), partial(1, -d2)
}

// expansionSlopes returns K of GradualExpansion without wall friction and ∂K/∂ln a1 and ∂K/∂ln a2 [-].
func expansionSlopes(a1, a2, length float64) (k, by1, by2 float64) {
	if a1 >= a2 {
		return 0, 0, 0
	}
	b2 := a1 / a2
	half := coneAngle(a1, a2, length) / 2
	borda := sq(1 - b2)
	share, byHalf, byLn := diffuserShare(b2, 2*half)
	k = share * borda
	partial := func(lnRatio, dHalf float64) float64 {
		return (byHalf*dHalf+byLn*lnRatio)*borda - share*2*(1-b2)*b2*lnRatio
	}
	d1, d2 := halfAngleSlopes(a1, a2, length)
	return k, partial(1, -d1), partial(-1, d2)
}

// halfAngleSlopes returns by how much the half angle of a cone grows with the logarithm of either section when that is the wider [rad].
func halfAngleSlopes(a1, a2, length float64) (by1, by2 float64) {
	d1, d2 := diameterOf(a1), diameterOf(a2)
	t := (d1 - d2) / (2 * length)
	c := 1 / (1 + t*t) / (4 * length)
	return c * d1, c * d2
}

// diffuserShare returns the share of Borda's loss that a cone loses by Rennels, and its slopes to the half angle [1/rad] and to ln β² [-].
func diffuserShare(b2, alpha float64) (share, byHalf, byLn float64) {
	const edge = 1e-9 // [°] keeps a cone drawn at 20° on the side its formula belongs to
	deg := alpha * 180 / math.Pi
	perHalf := 2 * 180 / math.Pi // degrees of full angle for each radian of half angle
	if deg <= 20+edge {
		t := math.Tan(alpha / 2)
		share = 8.30 * math.Pow(t, 1.75)
		return share, 1.75 * share / t * (1 + t*t), 0
	}
	narrow, narrowLn := 0.0, 0.0
	if b2 < 0.25 {
		narrow, narrowLn = 3.28*(0.0625-b2*b2), -3.28*2*b2*b2
	}
	if deg <= 60+edge {
		in := 2 * math.Pi * (deg - 15) / 180
		root := math.Sqrt(max(0, deg-20) / 40)
		share = 1.366*math.Sqrt(math.Sin(in)) - 0.170 - narrow*root
		byHalf = 1.366 / 2 / math.Sqrt(math.Sin(in)) * math.Cos(in) * 2 * math.Pi / 180 * perHalf
		if root > 0 {
			byHalf -= narrow / (2 * root) / 40 * perHalf
		}
		return share, byHalf, -narrowLn * root
	}
	root := math.Sqrt((deg - 60) / 120)
	slope := perHalf / 120 / (2 * root)
	if b2 < 0.25 {
		b6 := b2 * b2 * b2
		return 1.205 - narrow - 12.8*b6*root, -12.8 * b6 * slope, -narrowLn - 12.8*3*b6*root
	}
	return 1.205 - narrow - 0.20*root, -0.20 * slope, 0
}

// bendSlopes returns K of Bend without the wall friction along it, with ∂K/∂ln(radius over bore) and ∂K/∂f [-].
func bendSlopes(angle, radius, f float64) (k, byRadius, byF float64) {
	s := math.Sin(angle / 2)
	r := max(radius, 0.5)
	n := 4 * angle / math.Pi
	tight := 6.6 * (math.Sqrt(s) + s) / math.Pow(r, n)
	k = (0.10+2.4*f)*s + f*tight
	if radius > 0.5 {
		byRadius = -n * f * tight
	}
	return k, byRadius, 2.4*s + tight
}
