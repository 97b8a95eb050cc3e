package engine

import "math"

// A Seat is the geometry of one poppet valve in its seat.
type Seat struct {
	Head  float64 // valve head diameter D_v [m]
	Width float64 // seat width w [m]
	Angle float64 // seat angle β [rad]
	Port  float64 // port diameter at the valve D_p [m]
	Stem  float64 // stem diameter D_s [m]
}

// Area returns the smallest flow area [m²] of the valve at a lift [m].
//
//	0 < L < w/(sinβ·cosβ):            A = π·L·cosβ·(D_v − 2w + L/2·sin2β)
//	to L = √[((D_p²−D_s²)/4D_m)² − w²] + w·tanβ:  A = π·D_m·√[(L − w·tanβ)² + w²], D_m = D_v − w
//	above:                            A = π/4·(D_p² − D_s²)
//
// Source: Heywood (1988), eqs. 6.7–6.9, from memory; continuous at both joins.
func (s Seat) Area(lift float64) float64 {
	if lift <= 0 {
		return 0
	}
	sin, cos := math.Sincos(s.Angle)
	tan := sin / cos
	dm := s.Head - s.Width
	throat := math.Pi / 4 * (s.Port*s.Port - s.Stem*s.Stem)
	if lift < s.Width/(sin*cos) {
		return math.Pi * lift * cos * (s.Head - 2*s.Width + lift/2*math.Sin(2*s.Angle))
	}
	q := (s.Port*s.Port - s.Stem*s.Stem) / (4 * dm)
	if q <= s.Width || lift >= math.Sqrt(q*q-s.Width*s.Width)+s.Width*tan {
		return throat
	}
	return math.Pi * dm * math.Hypot(lift-s.Width*tan, s.Width)
}

// Curtain returns the curtain area π·D_v·L [m²] at a lift L [m]. Definition.
func (s Seat) Curtain(lift float64) float64 { return math.Pi * s.Head * max(lift, 0) }

// A FlowPoint is the effective area of a head at a lift: valve and port together, as a bench reads them.
type FlowPoint struct {
	Lift float64 // [m]
	Area float64 // effective area [m²]
}

// A ValveFlow is the effective area over lift of all valves of one side of a cylinder.
type ValveFlow struct {
	Count    int         // valves a cylinder
	Seat     Seat        // geometry of each
	Constant float64     // one coefficient on min(curtain, head area) [-]; 0: not used
	Measured []FlowPoint // effective area of the whole side over lift, lifts rising; empty: typical values
	Reverse  float64     // reverse over forward effective area [-]; 0: DefaultReverse
	LowLift  float64     // factor on the effective area below L/D = 0.1, fading out to 0.15 [-]; 0: 1
	Scale    float64     // factor on the effective area at all lifts [-]; 0: 1
	Exhaust  bool        // typical values of an exhaust valve
}

// DefaultReverse is reverse over forward effective area where it was not measured [-]. Common practice, no source: intake valves
// flow backwards a little worse at high lift, a little better at low lift.
const DefaultReverse = 0.95

// Area returns the effective area of the side [m²] at a lift [m], forwards.
//
// Constant: A = n·C·min(π·D_v·L, π/4·D_v²). Measured: a monotone cubic through the points and the origin; beyond the last
// point the last value. Otherwise TypicalCoefficient on the curtain area, not above TypicalCeiling of the head area.
func (v ValveFlow) Area(lift float64) float64 {
	return v.curve().at(lift)
}

type flowCurve struct {
	v ValveFlow
	m *monotone
}

func (v ValveFlow) curve() flowCurve {
	c := flowCurve{v: v}
	if len(v.Measured) > 0 && v.Constant == 0 {
		xs, ys := []float64{0}, []float64{0}
		for _, p := range v.Measured {
			if p.Lift > 0 {
				xs, ys = append(xs, p.Lift), append(ys, p.Area)
			}
		}
		c.m = newMonotone(xs, ys)
	}
	return c
}

func (c flowCurve) at(lift float64) float64 {
	if lift <= 0 {
		return 0
	}
	v := c.v
	n := float64(max(v.Count, 1))
	head := math.Pi / 4 * v.Seat.Head * v.Seat.Head
	var a float64
	switch {
	case v.Constant > 0:
		a = n * v.Constant * min(v.Seat.Curtain(lift), head)
	case c.m != nil:
		a = c.m.at(lift)
	default:
		a = n * v.typical(lift)
	}
	if v.Scale != 0 {
		a *= v.Scale
	}
	if v.LowLift != 0 && v.Seat.Head > 0 {
		fade := min(max((0.15-lift/v.Seat.Head)/0.05, 0), 1)
		a *= 1 + (v.LowLift-1)*fade
	}
	return a
}

func (v ValveFlow) typical(lift float64) float64 {
	ld := lift / v.Seat.Head
	a := TypicalCoefficient(ld, v.Exhaust) * v.Seat.Curtain(lift)
	return min(a, TypicalCeiling*math.Pi/4*v.Seat.Head*v.Seat.Head)
}

// TypicalCeiling is the largest effective area over valve head area that a typical port reaches [-].
// Source: typical, from memory: good ports reach 0.60–0.68 at L/D 0.30–0.35.
const TypicalCeiling = 0.60

// TypicalCoefficient returns the discharge coefficient C_d [-] of a poppet valve on its curtain area at lift over head
// diameter ld [-]. Typical values from memory, ±10 %: 0.68 at 0.05, 0.67 at 0.10, 0.65 at 0.15, 0.61 at 0.20, 0.56 at
// 0.25, 0.51 at 0.30, 0.46 at 0.35; an exhaust valve 5 % higher. Straight between, constant below; above 0.35 the effective area stays.
func TypicalCoefficient(ld float64, exhaust bool) float64 {
	table := [...]float64{0.68, 0.67, 0.65, 0.61, 0.56, 0.51, 0.46}
	x := ld/0.05 - 1
	var c float64
	switch {
	case x <= 0:
		c = table[0]
	case x >= 6:
		c = table[6] * 0.35 / ld
	default:
		i := int(x)
		c = table[i] + (x-float64(i))*(table[i+1]-table[i])
	}
	if exhaust {
		c *= 1.05
	}
	return c
}

// liftN is the number of rows of a lookup over lift.
const liftN = 257

// A valveTable is effective area over lift, ready for the loop.
type valveTable struct {
	area    [liftN]float64 // forward effective area [m²]
	scale   float64        // rows over lift [1/m]
	reverse float64        // reverse over forward [-]
}

func (v ValveFlow) table(peak float64) *valveTable {
	t := &valveTable{scale: float64(liftN-1) / max(peak, 1e-6), reverse: v.Reverse}
	if t.reverse == 0 {
		t.reverse = DefaultReverse
	}
	c := v.curve()
	for i := range t.area {
		t.area[i] = c.at(float64(i) / t.scale)
	}
	return t
}

func (t *valveTable) at(lift float64) float64 {
	x := lift * t.scale
	i := min(int(x), liftN-2)
	return t.area[i] + (x-float64(i))*(t.area[i+1]-t.area[i])
}
