package passage

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// velocityField is a velocity over a section: at every node a straight sum over the readings, v = Σ weight·v_probe.
type velocityField struct {
	nodes  []node
	speed  []float64 // velocity at each node [m/s]
	mean   float64   // mean over the section [m/s]
	weight []float64 // of each reading in the mean [-]
	slope  []float64 // steepness of the velocity at each probe [1/s]
}

// field returns the velocity at the nodes from readings at points, with the wall law of exponent 1/m.
func (t Traverse) field(nodes []node, at []Speed, m float64) (velocityField, error) {
	f := velocityField{nodes: nodes, speed: make([]float64, len(nodes)), weight: make([]float64, len(at)), slope: make([]float64, len(at))}
	scale := math.Sqrt(t.Section.Area)
	law := func(wall float64) float64 { return math.Pow(max(wall, 0)/scale, 1/m) }
	s, err := newSpline(at, scale)
	if err != nil {
		return f, err
	}
	reduced := make([]float64, len(at))
	for i, p := range at {
		reduced[i] = p.Velocity / law(t.wall(p.Point))
	}
	coef := s.solve(reduced)
	sum := make([]float64, s.n)
	row := make([]float64, s.n)
	for k, n := range nodes {
		s.row(n.p, row)
		l := law(n.wall)
		v := 0.0
		for i, x := range row {
			v += x * coef[i]
			sum[i] += n.weight * l * x
		}
		f.speed[k] = max(0, v*l)
		f.mean += n.weight * f.speed[k]
	}
	// The mean is a straight sum of the readings: one solve of the turned equations gives every weight.
	back := s.turned(sum)
	for i, p := range at {
		f.weight[i] = back[i] / law(t.wall(p.Point))
		const h = 1e-3
		grad := 0.0
		for k := range 2 {
			q, r := p.Point, p.Point
			q[k] += h * scale
			r[k] -= h * scale
			grad += sq((s.at(q, coef, row)*law(t.wall(q)) - s.at(r, coef, row)*law(t.wall(r))) / (2 * h * scale))
		}
		f.slope[i] = math.Sqrt(grad)
	}
	return f, nil
}

// spline is a thin-plate spline through scattered points: Σ c·r²·ln r and a plane. With all points on one line, or fewer than three, there
// is no plane to be had: then the value runs straight along that line and is the same across it.
type spline struct {
	points []Point
	scale  float64
	line   bool // all points on one line
	origin Point
	dir    Point
	n      int // unknowns
	lu     mat.LU
}

var errSpline = errors.New("the probe places cannot be interpolated: two of them nearly fall together")

func newSpline(at []Speed, scale float64) (*spline, error) {
	s := &spline{scale: scale}
	for _, p := range at {
		s.points = append(s.points, Point{p.Point[0] / scale, p.Point[1] / scale})
	}
	s.onLine()
	k := len(s.points)
	s.n = k + 3
	if s.line {
		s.n = k
		return s, nil
	}
	a := mat.NewDense(s.n, s.n, nil)
	for i, p := range s.points {
		for j, q := range s.points {
			a.Set(i, j, plate(p, q))
		}
		for c, x := range [3]float64{1, p[0], p[1]} {
			a.Set(i, k+c, x)
			a.Set(k+c, i, x)
		}
	}
	s.lu.Factorize(a)
	if c := s.lu.Cond(); !(c < 1e13) {
		return nil, errors.Join(ErrTraverse, errSpline)
	}
	return s, nil
}

// onLine finds whether all points lie on one line, and which.
func (s *spline) onLine() {
	s.line, s.origin = true, s.points[0]
	far := 0.0
	for _, p := range s.points {
		if d := math.Hypot(p[0]-s.origin[0], p[1]-s.origin[1]); d > far {
			far, s.dir = d, Point{(p[0] - s.origin[0]) / d, (p[1] - s.origin[1]) / d}
		}
	}
	for _, p := range s.points {
		if math.Abs((p[0]-s.origin[0])*s.dir[1]-(p[1]-s.origin[1])*s.dir[0]) > 0.01 {
			s.line = false
		}
	}
}

// plate is the kernel r²·ln r, r²/2·ln r² in one logarithm.
func plate(p, q Point) float64 {
	r2 := sq(p[0]-q[0]) + sq(p[1]-q[1])
	if r2 == 0 {
		return 0
	}
	return r2 / 2 * math.Log(r2)
}

// row fills the factors of the unknowns at a point.
func (s *spline) row(p Point, row []float64) {
	q := Point{p[0] / s.scale, p[1] / s.scale}
	if s.line {
		s.hats(q, row)
		return
	}
	k := len(s.points)
	for i, c := range s.points {
		row[i] = plate(q, c)
	}
	row[k], row[k+1], row[k+2] = 1, q[0], q[1]
}

// hats fills the factors of straight interpolation along the line, held beyond its ends.
func (s *spline) hats(q Point, row []float64) {
	clear(row)
	along := func(p Point) float64 { return (p[0]-s.origin[0])*s.dir[0] + (p[1]-s.origin[1])*s.dir[1] }
	x := along(q)
	below, above := -1, -1
	for i, p := range s.points {
		a := along(p)
		if a <= x && (below < 0 || a > along(s.points[below])) {
			below = i
		}
		if a >= x && (above < 0 || a < along(s.points[above])) {
			above = i
		}
	}
	switch {
	case below < 0:
		row[above] = 1
	case above < 0 || above == below:
		row[below] = 1
	default:
		a, b := along(s.points[below]), along(s.points[above])
		row[above] = (x - a) / (b - a)
		row[below] = 1 - row[above]
	}
}

// at returns the spline at a point.
func (s *spline) at(p Point, coef, row []float64) float64 {
	s.row(p, row)
	v := 0.0
	for i, x := range row {
		v += x * coef[i]
	}
	return v
}

// solve returns the unknowns for values at the points.
func (s *spline) solve(values []float64) []float64 {
	if s.line {
		return values
	}
	return s.apply(values, false)
}

// turned returns, for a sum over the unknowns, its factors on the values at the points.
func (s *spline) turned(sum []float64) []float64 {
	if s.line {
		return sum
	}
	return s.apply(sum, true)
}

func (s *spline) apply(in []float64, turn bool) []float64 {
	b := mat.NewVecDense(s.n, nil)
	for i, x := range in {
		b.SetVec(i, x)
	}
	var x mat.VecDense
	if err := s.lu.SolveVecTo(&x, turn, b); err != nil {
		panic("passage: solving with a well-conditioned matrix: " + err.Error())
	}
	return x.RawVector().Data
}

// integrate fills what follows from the velocity over the section.
func (p *Profile) integrate(f velocityField, t Traverse) {
	p.Mean = f.mean
	cubes, squares, mass := 0.0, 0.0, 0.0
	for i, n := range f.nodes {
		v := f.speed[i]
		mass += n.weight * v * t.density(v)
		squares += n.weight * v * v
		cubes += n.weight * v * v * v
		p.Highest = max(p.Highest, v)
	}
	p.Mass = mass * t.Section.Area
	if p.Mean > 0 {
		p.NonUniformity = math.Sqrt(max(0, squares/sq(p.Mean)-1))
		p.Energy = cubes / (p.Mean * p.Mean * p.Mean)
	}
	for i, n := range f.nodes {
		if n.wall > 0.75*p.Pitch {
			p.Map = append(p.Map, Speed{n.p, f.speed[i]})
		}
	}
}

// doubt fills the uncertainty of the flow.
func (t Traverse) doubt(out *Profile, nodes []node, f velocityField) error {
	if !(f.mean > 0) {
		return fmt.Errorf("%w: every probe reads zero or below, so there is no flow: see which hose is on which side of the gauge", ErrTraverse)
	}
	readings, places := 0.0, 0.0
	for i, p := range t.Probes {
		v := out.Points[i].Velocity
		// v ~ √Δp, so u(v) = v·u(Δp)/(2Δp); at zero it is what the uncertainty itself would show.
		u, _ := t.velocity(t.UDP)
		if p.DP > t.UDP {
			u = v * t.UDP / (2 * p.DP)
		}
		readings += sq(f.weight[i] * u)
		places += sq(f.weight[i] * f.slope[i] * t.UPosition)
	}
	low, err := t.field(nodes, out.Points, wallLawLow)
	if err != nil {
		return err
	}
	high, err := t.field(nodes, out.Points, wallLawHigh)
	if err != nil {
		return err
	}
	out.Parts = []Part{
		{"pressure readings", math.Sqrt(readings) / f.mean},
		{"probe places", math.Sqrt(places) / f.mean},
		{"probe coefficient", t.UCoefficient},
		{"section", t.Section.U},
		{"velocity near the wall", math.Abs(high.mean-low.mean) / f.mean / sqrt12},
	}
	if t.tchebycheff() {
		for _, p := range out.Points {
			out.EqualWeight += p.Velocity / float64(len(out.Points))
		}
		out.Parts = append(out.Parts, Part{"way of integration", math.Abs(out.EqualWeight/f.mean-1) / math.Sqrt(3)})
	} else {
		out.Parts = append(out.Parts, Part{"places of the probes left to the user", t.leaveOneOut(out, f)})
	}
	for _, p := range out.Parts {
		out.U = math.Hypot(out.U, p.U)
	}
	return nil
}

// leaveOneOut returns the relative scatter of the mean when each reading in turn is taken from its neighbours instead (jackknife).
func (t Traverse) leaveOneOut(out *Profile, f velocityField) float64 {
	n := len(out.Points)
	if n < 5 || n > 60 {
		return 0
	}
	sum := 0.0
	for i := range out.Points {
		rest := append(append([]Speed(nil), out.Points[:i]...), out.Points[i+1:]...)
		g, err := t.field([]node{{out.Points[i].Point, t.wall(out.Points[i].Point), 1}}, rest, wallLaw)
		if err != nil {
			continue
		}
		sum += sq(f.weight[i] * (g.speed[0] - out.Points[i].Velocity))
	}
	return math.Sqrt(sum) / f.mean
}

// tchebycheff reports whether the probes stand on log-Tchebycheff places, within a hundredth of the section's size.
func (t Traverse) tchebycheff() bool {
	within := 0.01 * math.Sqrt(t.Section.Area)
	same := func(want []Point) bool {
		if len(want) != len(t.Probes) {
			return false
		}
		for _, w := range want {
			found := false
			for _, p := range t.Probes {
				found = found || math.Hypot(p.Point[0]-w[0], p.Point[1]-w[1]) < within
			}
			if !found {
				return false
			}
		}
		return true
	}
	if t.Section.Shape == "round" {
		for n := 3; n <= 5; n++ {
			for d := 1; d <= 4; d++ {
				if want, err := TchebycheffRound(t.Section.EquivalentDiameter(), n, d); err == nil && same(want) {
					return true
				}
			}
		}
	}
	if t.Section.Shape == "rectangle" {
		for k := range 9 {
			if want, err := TchebycheffRectangle(t.Section.Width, t.Section.Height, 5+k%3, 5+k/3); err == nil && same(want) {
				return true
			}
		}
	}
	return false
}
