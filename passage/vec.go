package passage

import "math"

// A Vec is a point or a direction in space [m].
type Vec [3]float64

// Plus returns v + w.
func (v Vec) Plus(w Vec) Vec { return Vec{v[0] + w[0], v[1] + w[1], v[2] + w[2]} }

// Minus returns v − w.
func (v Vec) Minus(w Vec) Vec { return Vec{v[0] - w[0], v[1] - w[1], v[2] - w[2]} }

// Times returns v·k for a factor k [-].
func (v Vec) Times(k float64) Vec { return Vec{v[0] * k, v[1] * k, v[2] * k} }

// Dot returns the scalar product [m²].
func (v Vec) Dot(w Vec) float64 { return v[0]*w[0] + v[1]*w[1] + v[2]*w[2] }

// Cross returns the vector product.
func (v Vec) Cross(w Vec) Vec {
	return Vec{v[1]*w[2] - v[2]*w[1], v[2]*w[0] - v[0]*w[2], v[0]*w[1] - v[1]*w[0]}
}

// Norm returns the length [m].
func (v Vec) Norm() float64 { return math.Sqrt(v.Dot(v)) }

// Unit returns v over its length; the zero vector stays zero.
func (v Vec) Unit() Vec {
	n := v.Norm()
	if n == 0 {
		return v
	}
	return v.Times(1 / n)
}

// angleTo returns the angle between two directions [rad], exact for small ones too.
func (v Vec) angleTo(w Vec) float64 { return math.Atan2(v.Cross(w).Norm(), v.Dot(w)) }

// frame returns two directions across n, right-handed with it: e1 × e2 = n.
func (v Vec) frame() (e1, e2 Vec) {
	n := v.Unit()
	// The axis least along n makes the steadiest frame.
	a := Vec{1, 0, 0}
	if math.Abs(n[0]) > math.Abs(n[1]) {
		a = Vec{0, 1, 0}
	}
	if ax := math.Min(math.Abs(n[0]), math.Abs(n[1])); math.Abs(n[2]) < ax {
		a = Vec{0, 0, 1}
	}
	e1 = a.Minus(n.Times(a.Dot(n))).Unit()
	return e1, n.Cross(e1)
}

// A Point is a point in the plane of a section, from its centre along the section's own two directions [m].
type Point [2]float64
