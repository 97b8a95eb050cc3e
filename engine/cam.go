package engine

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrCam means that a cam cannot be made from what is known of it.
var ErrCam = errors.New("no cam can be made of this card")

// Cycle is the crank angle of one four-stroke cycle [rad].
const Cycle = 4 * math.Pi

// A Shape is the law of lift between the seat and the peak of a lobe.
type Shape int

// The laws of lift.
const (
	// Smooth is the polynomial 1 − 2.5·x² + 5·x⁶ − 5·x⁸ + 1.5·x¹⁰ over the half event: lift, speed, acceleration and jerk
	// are zero at the seat, so that its ends are gentle ramps. Source: the 2-6-8-10 family of polynomial cams, coefficients
	// solved from those conditions.
	Smooth Shape = iota
	// Sine2 is sin², that is cos²(π·x/2) over the half event.
	Sine2
)

// at returns the lift over peak lift [-] at x [-], 0 at the peak and ±1 at the seat.
func (s Shape) at(x float64) float64 {
	x = math.Abs(x)
	if x >= 1 {
		return 0
	}
	if s == Sine2 {
		c := math.Cos(math.Pi / 2 * x)
		return c * c
	}
	x2 := x * x
	x6 := x2 * x2 * x2
	return 1 - 2.5*x2 + 5*x6 - 5*x6*x2 + 1.5*x6*x2*x2
}

// where returns the x [-] in 0…1 at which the lift over peak lift is y [-].
func (s Shape) where(y float64) float64 {
	lo, hi := 0.0, 1.0
	for range 60 {
		mid := (lo + hi) / 2
		if s.at(mid) > y {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// A Lobe is the events of one lobe on the crank. Angles count from gas-exchange top dead centre; an exhaust lobe lies before it.
type Lobe struct {
	Opens    float64 // crank angle at which the lift passes AtLift, rising [rad]
	Closes   float64 // crank angle at which it passes AtLift, falling [rad]
	Peak     float64 // crank angle of peak lift [rad]; 0 with PeakSet false: halfway
	PeakSet  bool
	AtLift   float64 // lift at which the events are stated, at the valve before lash [m]; 0: where the valve leaves and meets its seat, lash off
	PeakLift float64 // at the valve, before lash [m]
	Lash     float64 // valve clearance, taken off the lift [m]
	Shape    Shape
}

// camStep is the crank angle between points of a Profile [rad].
const (
	camN    = 2880
	camStep = Cycle / camN
)

// A Profile is the lift of a valve over one cycle, on points a quarter of a degree apart. It is not changed after it is made.
type Profile struct {
	lift [camN]float64
}

// Profile returns the lift of the lobe with its lash off. Error: ErrCam, when the events do not follow each other or
// the stated lift is not below the peak.
func (l Lobe) Profile() (*Profile, error) {
	peak := l.Peak
	if !l.PeakSet {
		peak = (l.Opens + l.Closes) / 2
	}
	if !(l.Opens < peak && peak < l.Closes) || l.Closes-l.Opens >= Cycle*0.75 {
		return nil, fmt.Errorf("%w: opens %.0f°, peak %.0f°, closes %.0f° from gas-exchange top centre: a lobe opens, peaks and closes in this order", ErrCam,
			l.Opens*180/math.Pi, peak*180/math.Pi, l.Closes*180/math.Pi)
	}
	if l.PeakLift <= 0 || l.AtLift < 0 || l.AtLift >= l.PeakLift || l.Lash < 0 || l.Lash >= l.PeakLift {
		return nil, fmt.Errorf("%w: peak lift %.4g mm, events at %.4g mm, lash %.4g mm: events and lash lie below the peak", ErrCam, 1e3*l.PeakLift, 1e3*l.AtLift, 1e3*l.Lash)
	}
	at := l.AtLift
	if at == 0 {
		at = l.Lash
	}
	x := 1.0
	if at > 0 {
		x = l.Shape.where(at / l.PeakLift)
	}
	up, down := (peak-l.Opens)/x, (l.Closes-peak)/x
	p := &Profile{}
	for i := range p.lift {
		d := nearest(float64(i)*camStep - peak)
		h := down
		if d < 0 {
			h = up
		}
		p.lift[i] = max(l.PeakLift*l.Shape.at(d/h)-l.Lash, 0)
	}
	return p, nil
}

// nearest brings an angle difference [rad] into ±half a cycle.
func nearest(d float64) float64 {
	return d - Cycle*math.Round(d/Cycle)
}

// A LiftPoint is a point of a lift table.
type LiftPoint struct {
	Angle float64 // crank angle from gas-exchange top dead centre [rad]
	Lift  float64 // lift at the tappet [m]
}

// ProfileOf returns the lift of a valve from a lift table, with the rocker ratio [-] and the lash at the valve [m].
// Between the points it follows a monotone cubic; before the first and after the last point the lift runs out on the slope of
// the end, so that a table that begins above zero meets the seat smoothly. Error: ErrCam, for fewer than four points, angles not rising, or negative lift.
func ProfileOf(table []LiftPoint, rocker, lash float64) (*Profile, error) {
	if len(table) < 4 {
		return nil, fmt.Errorf("%w: a lift table needs four points, not %d", ErrCam, len(table))
	}
	if rocker == 0 {
		rocker = 1
	}
	t := slices.Clone(table)
	for i, q := range t {
		if q.Lift < 0 || i > 0 && q.Angle <= t[i-1].Angle {
			return nil, fmt.Errorf("%w: point %d of the lift table (%.1f°, %.4g mm) does not follow the one before", ErrCam,
				i+1, q.Angle*180/math.Pi, 1e3*q.Lift)
		}
	}
	t = runOut(t)
	if t[len(t)-1].Angle-t[0].Angle >= Cycle {
		return nil, fmt.Errorf("%w: the lift table is longer than a cycle", ErrCam)
	}
	xs, ys := make([]float64, len(t)), make([]float64, len(t))
	for i, q := range t {
		xs[i], ys[i] = q.Angle, q.Lift
	}
	c := newMonotone(xs, ys)
	mid := (xs[0] + xs[len(xs)-1]) / 2
	p := &Profile{}
	for i := range p.lift {
		th := mid + nearest(float64(i)*camStep-mid)
		if th > xs[0] && th < xs[len(xs)-1] {
			p.lift[i] = max(c.at(th)*rocker-lash, 0)
		}
	}
	return p, nil
}

// runOut adds a point of no lift before and after a table that does not reach the seat: where a parabola tangent to the end's slope
// comes to rest, which is twice as far as the slope's own line.
func runOut(t []LiftPoint) []LiftPoint {
	n := len(t)
	if t[0].Lift > 0 {
		slope := (t[1].Lift - t[0].Lift) / (t[1].Angle - t[0].Angle)
		w := 2 * t[0].Lift / max(slope, 1e-9)
		w = min(w, 1.5)
		lead := []LiftPoint{{t[0].Angle - w, 0}, {t[0].Angle - w/2, t[0].Lift / 4}}
		t = append(lead, t...)
		n += 2
	}
	if t[n-1].Lift > 0 {
		slope := (t[n-2].Lift - t[n-1].Lift) / (t[n-1].Angle - t[n-2].Angle)
		w := 2 * t[n-1].Lift / max(slope, 1e-9)
		w = min(w, 1.5)
		t = append(t, LiftPoint{t[n-1].Angle + w/2, t[n-1].Lift / 4}, LiftPoint{t[n-1].Angle + w, 0})
	}
	return t
}

// Lift returns the valve lift [m] at crank angle theta [rad] from gas-exchange top dead centre, any cycle.
func (p *Profile) Lift(theta float64) float64 {
	x := theta * (1 / camStep)
	f := math.Floor(x)
	i := int(f) % camN
	if i < 0 {
		i += camN
	}
	j := i + 1
	if j == camN {
		j = 0
	}
	return p.lift[i] + (x-f)*(p.lift[j]-p.lift[i])
}

// Peak returns the peak lift [m] and the crank angle of its middle [rad], from −2π to 2π.
func (p *Profile) Peak() (lift, theta float64) {
	k := 0
	for i, v := range p.lift {
		if v > p.lift[k] {
			k = i
		}
	}
	return p.lift[k], nearest(float64(k) * camStep)
}

// Duration returns the crank angle [rad] during which the lift is above at [m].
func (p *Profile) Duration(at float64) float64 {
	opens, closes := p.Events(at)
	return closes - opens
}

// Events returns the crank angles [rad] at which the lift passes at [m], rising and falling, about its peak.
func (p *Profile) Events(at float64) (opens, closes float64) {
	_, peak := p.Peak()
	walk := func(dir float64) float64 {
		th := peak
		for range camN {
			next := th + dir*camStep
			if a, b := p.Lift(th), p.Lift(next); b <= at && a > at {
				return th + dir*camStep*(a-at)/(a-b)
			}
			th = next
		}
		return peak
	}
	return walk(-1), walk(1)
}

// Change returns the profile moved later by shift [rad], stretched about its peak so that its duration above 1 mm grows by
// longer [rad], and with its lift multiplied by lift [-].
func (p *Profile) Change(shift, longer, lift float64) *Profile {
	_, peak := p.Peak()
	const ref = 0.001
	scale := 1.0
	if d := p.Duration(ref); d > 0 && longer != 0 {
		scale = max((d+longer)/d, 0.05)
	}
	q := &Profile{}
	for i := range q.lift {
		d := nearest(float64(i)*camStep - peak - shift)
		if math.Abs(d/scale) < Cycle/2 {
			q.lift[i] = lift * p.Lift(peak+d/scale)
		}
	}
	return q
}
