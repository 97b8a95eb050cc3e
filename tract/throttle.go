package tract

import (
	"errors"
	"fmt"
	"math"
)

// ErrThrottle says that a throttle body cannot be as described.
var ErrThrottle = errors.New("throttle body cannot be so")

// A Throttle is a butterfly valve body: a round bore, a shaft across it and a flat plate on the shaft. Angles count from the plane
// normal to the bore.
type Throttle struct {
	Bore   float64 // bore D [m]
	Shaft  float64 // shaft diameter d [m]; 0: no shaft is seen
	Plate  float64 // plate thickness [m]; 0: thin
	Closed float64 // plate angle when closed ψ0 [rad]
}

// An Opening is what a throttle body leaves open.
type Opening struct {
	Fraction     float64 // open area over bore area [-]
	Area         float64 // open area [m²]
	ShaftLimited bool    // the plate hides behind the shaft: more angle opens no more
}

// Open returns the open area for a plate at angle [rad], seen along the bore: that of the bore less the exact projection of the
// plate, turned so that it fits the bore when closed, and of the shaft. With a = d/D, b = cos ψ/cos ψ0, the plate's thickness t in
// τ = t·sin(ψ−ψ0)/(D·cos ψ0), and y the half-height of the bore over its radius on a strip across the shaft,
//
//	open = ∫ max(0, y − max(a, b·y + τ)) over the strips; for a thin plate, with b > a,
//	fraction = 1 − b + (2/π)·(a·√(1−(a/b)²) + b·asin(a/b) − a·√(1−a²) − asin a)
//
// and the bore less the shaft when b ≤ a. Valid for 0 ≤ ψ0 ≤ ψ ≤ π/2. It returns ErrThrottle for a body that cannot be, and for an
// angle outside that range. Source: projection of the ellipse and the bar, as in Heywood, Internal Combustion Engine
// Fundamentals (1988), eq. 7.18, with the signs of the geometry.
func (t Throttle) Open(angle float64) (Opening, error) {
	if err := t.check(); err != nil {
		return Opening{}, err
	}
	if !(angle >= t.Closed-1e-12 && angle <= math.Pi/2+1e-12) {
		return Opening{}, fmt.Errorf("%w: plate angle %.4g° is not between closed, %.4g°, and upright, 90°", ErrThrottle, angle*180/math.Pi, t.Closed*180/math.Pi)
	}
	o := Opening{Fraction: t.fraction(angle), ShaftLimited: t.hidden(angle)}
	o.Area = o.Fraction * math.Pi / 4 * t.Bore * t.Bore
	return o, nil
}

func (t Throttle) check() error {
	switch {
	case !positive(t.Bore):
		return fmt.Errorf("%w: bore is %g mm: write it above zero", ErrThrottle, 1e3*t.Bore)
	case !(t.Shaft >= 0 && t.Shaft < t.Bore), !(t.Plate >= 0 && t.Plate < t.Bore):
		return fmt.Errorf("%w: shaft of %.4g mm and plate of %.4g mm in a bore of %.4g mm: both must be thinner than the bore", ErrThrottle, 1e3*t.Shaft, 1e3*t.Plate, 1e3*t.Bore)
	case !(t.Closed >= 0 && t.Closed < math.Pi/2):
		return fmt.Errorf("%w: closed angle is %.4g°: write 0 to below 90°", ErrThrottle, t.Closed*180/math.Pi)
	}
	return nil
}

// shares returns a, b and τ of Open [-].
func (t Throttle) shares(angle float64) (a, b, tau float64) {
	c := math.Cos(t.Closed)
	return t.Shaft / t.Bore, max(0, math.Cos(angle)) / c, max(0, t.Plate*math.Sin(angle-t.Closed)/(t.Bore*c))
}

func (t Throttle) hidden(angle float64) bool {
	a, b, tau := t.shares(angle)
	return b+tau <= a
}

func (t Throttle) fraction(angle float64) float64 {
	a, b, tau := t.shares(angle)
	if b+tau <= a {
		return 4 / math.Pi * (quarter(a) - a*math.Sqrt(1-a*a))
	}
	open := 0.0
	meet := max(0, a-tau) / max(b, 1e-300) // y where plate and shaft cover the same: the plate is the wider above
	if c := max(meet, tau/max(1-b, 1e-300)); c < 1 {
		open += (1-b)*quarter(c) - tau*math.Sqrt(1-c*c)
	}
	if meet > a {
		open += quarter(a) - quarter(meet) - a*(math.Sqrt(1-a*a)-math.Sqrt(max(0, 1-meet*meet)))
	}
	return max(0, 4/math.Pi*open)
}

// quarter returns the area of the quarter of a unit circle where its height is above c, down to the axis [-].
func quarter(c float64) float64 { return (c*math.Sqrt(1-c*c) + math.Acos(c)) / 2 }
