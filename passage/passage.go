package passage

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"
)

// A Station is a section at a place along the centreline.
type Station struct {
	Section

	At     float64 // distance along the centreline from the entry [m]
	Wall   float64 // least wall thickness left round the section [m]; 0: not measured
	Turn   float64 // angle the centreline turns between the station before and this one [rad]
	Radius float64 // radius of the centreline over that turn [m]; 0: the turn is spread over the whole way between
	Centre Vec     // point of the centreline [m], where the path in space is known
	Normal Vec     // direction of the centreline [-]; the zero vector where the path in space is not known
	Across Vec     // first direction of the outline in space [-]; the second is Normal × Across; zero where not known
}

// A Passage is a centreline with its sections, smooth between its stations. Make one with New.
type Passage struct {
	stations                        []Station
	root, perimeter, width, height  interp.FritschButland // root: of the area
	wall                            interp.FritschButland
	hasWidth, hasHeight, hasAllWall bool
}

// A Place is the passage at one distance along its centreline, between stations.
type Place struct {
	At        float64 // distance along the centreline [m]
	Area      float64 // open area [m²]
	Perimeter float64 // wetted perimeter [m]
	Width     float64 // width [m]; 0: not known at every station
	Height    float64 // height [m]; 0: not known at every station
	Wall      float64 // wall left [m]; 0: not measured at every station
	AreaRate  float64 // rate of area change along the centreline dA/ds [m]
}

// HydraulicDiameter returns Dh = 4·Area/Perimeter [m]. Definition.
func (p Place) HydraulicDiameter() float64 { return 4 * p.Area / p.Perimeter }

// EquivalentDiameter returns the diameter of the circle of the same area [m]. Definition.
func (p Place) EquivalentDiameter() float64 { return math.Sqrt(4 * p.Area / math.Pi) }

// Taper returns the full angle of the round cone that changes area as the passage does here [rad]: above zero when it widens.
//
//	tan(taper/2) = (dA/ds)/(π·De)
//
// Definition, for the circle of the same area.
func (p Place) Taper() float64 { return 2 * math.Atan(p.AreaRate/(math.Pi*p.EquivalentDiameter())) }

// New makes a passage from at least two stations in order along the centreline. Square roots of areas, perimeters, widths, heights and walls
// between stations follow monotone cubics, so that a cone comes out as a cone and nothing between two stations is larger or smaller than at both. It returns ErrTooFew,
// ErrOrder, ErrZeroArea, ErrShape or ErrWall, wrapped, with the number of the station and what to write.
// Source: Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300.
func New(stations []Station) (*Passage, error) {
	if len(stations) < 2 {
		return nil, fmt.Errorf("%w: %d given: a passage needs its entry and its exit at least", ErrTooFew, len(stations))
	}
	for i, s := range stations {
		if err := s.check(i, stations); err != nil {
			return nil, err
		}
	}
	p := &Passage{stations: append([]Station(nil), stations...)}
	p.fit()
	return p, nil
}

func (s Station) check(i int, all []Station) error {
	bad := func(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) }
	switch {
	case bad(s.At):
		return fmt.Errorf("station %d: %w: its distance is %g", i+1, ErrOrder, s.At)
	case i > 0 && !(s.At > all[i-1].At):
		return fmt.Errorf("station %d at %.2f mm: %w: it must lie beyond station %d at %.2f mm", i+1, 1e3*s.At, ErrOrder, i, 1e3*all[i-1].At)
	case !goodLength(s.Area):
		return fmt.Errorf("station %d at %.2f mm: %w: it is %g mm²: measure the section again, or leave the station out", i+1, 1e3*s.At, ErrZeroArea, 1e6*s.Area)
	case !(s.Perimeter >= 2*math.Sqrt(math.Pi*s.Area)*(1-1e-6)) || math.IsInf(s.Perimeter, 1):
		return fmt.Errorf("station %d at %.2f mm: %w: perimeter %.3f mm is below that of a circle of its area, %.3f mm", i+1, 1e3*s.At, ErrShape, 1e3*s.Perimeter, 2e3*math.Sqrt(math.Pi*s.Area))
	case bad(s.Wall) || s.Wall < 0:
		return fmt.Errorf("station %d at %.2f mm: %w: it is %.2f mm: leave it out where it was not measured", i+1, 1e3*s.At, ErrWall, 1e3*s.Wall)
	case bad(s.U) || s.U < 0:
		return fmt.Errorf("station %d at %.2f mm: %w: its area has uncertainty %g: write a share from 0 on", i+1, 1e3*s.At, ErrShape, s.U)
	case bad(s.Turn) || s.Turn < 0 || s.Turn > 2*math.Pi || bad(s.Radius) || s.Radius < 0:
		return fmt.Errorf("station %d at %.2f mm: %w: turn %g° with radius %g mm: write the angle since the station before, 0 to 360", i+1, 1e3*s.At, ErrShape, s.Turn*180/math.Pi, 1e3*s.Radius)
	}
	return nil
}

func (p *Passage) fit() {
	n := len(p.stations)
	at := make([]float64, n)
	for i, s := range p.stations {
		at[i] = s.At
	}
	column := func(to *interp.FritschButland, get func(Station) float64) (known bool) {
		y := make([]float64, n)
		known = true
		for i, s := range p.stations {
			y[i] = get(s)
			known = known && y[i] > 0
		}
		if err := to.Fit(at, y); err != nil {
			panic("passage: fit of checked stations: " + err.Error())
		}
		return known
	}
	column(&p.root, func(s Station) float64 { return math.Sqrt(s.Area) })
	column(&p.perimeter, func(s Station) float64 { return s.Perimeter })
	p.hasWidth = column(&p.width, func(s Station) float64 { return s.Width })
	p.hasHeight = column(&p.height, func(s Station) float64 { return s.Height })
	p.hasAllWall = column(&p.wall, func(s Station) float64 { return s.Wall })
}

// Stations returns the stations, in order. The slice is the caller's own.
func (p *Passage) Stations() []Station { return append([]Station(nil), p.stations...) }

// Start returns where the passage begins [m].
func (p *Passage) Start() float64 { return p.stations[0].At }

// End returns where the passage ends [m].
func (p *Passage) End() float64 { return p.stations[len(p.stations)-1].At }

// Length returns the length of the centreline [m].
func (p *Passage) Length() float64 { return p.End() - p.Start() }

// Place returns the passage at a distance along its centreline [m], held at the ends beyond them.
func (p *Passage) Place(at float64) Place {
	at = min(max(at, p.Start()), p.End())
	r := p.root.Predict(at)
	out := Place{At: at, Area: r * r, Perimeter: p.perimeter.Predict(at), AreaRate: 2 * r * p.root.PredictDerivative(at)}
	if p.hasWidth {
		out.Width = p.width.Predict(at)
	}
	if p.hasHeight {
		out.Height = p.height.Predict(at)
	}
	if p.hasAllWall {
		out.Wall = p.wall.Predict(at)
	}
	return out
}

// HasWall reports whether the wall was measured at every station.
func (p *Passage) HasWall() bool { return p.hasAllWall }

// Volume returns the volume between the first and the last station [m³]: ∫A ds, exact for the curves between stations.
// Source: Gauss's rule of four points. It is the volume of the passage when the centreline runs through the centres of the sections
// (Pappus).
func (p *Passage) Volume() float64 {
	return p.integral(func(at float64) float64 { return sq(p.root.Predict(at)) })
}

// Surface returns the wetted surface [m²]: ∫P ds, the widening of the wall itself left out.
func (p *Passage) Surface() float64 { return p.integral(p.perimeter.Predict) }

// integral integrates along the centreline, exactly for curves of degree seven between stations.
func (p *Passage) integral(f func(float64) float64) float64 {
	const x1, w1, x2, w2 = 0.3399810435848563, 0.6521451548625461, 0.8611363115940526, 0.3478548451374538
	sum := 0.0
	for i := 1; i < len(p.stations); i++ {
		a, b := p.stations[i-1].At, p.stations[i].At
		mid, half := (a+b)/2, (b-a)/2
		sum += half * (w1*(f(mid-x1*half)+f(mid+x1*half)) + w2*(f(mid-x2*half)+f(mid+x2*half)))
	}
	return sum
}

// Narrowest returns the place of the least area: always a station, since nothing overshoots between.
func (p *Passage) Narrowest() Place {
	best := p.stations[0]
	for _, s := range p.stations[1:] {
		if s.Area < best.Area {
			best = s
		}
	}
	return p.Place(best.At)
}

// A Bend is one turn of the centreline.
type Bend struct {
	From, To float64 // where it begins and ends along the centreline [m]
	Angle    float64 // angle it turns through [rad]
	Radius   float64 // radius of its centreline [m]
}

// Bends returns the turns between stations, from the directions of the centreline where the path in space is known, else from the
// turns as typed. Neighbouring turns are one bend when the centreline keeps turning the same way.
// Definition: radius = length of the turning part over its angle.
func (p *Passage) Bends() []Bend {
	const least = 0.5 * math.Pi / 180 // a turn below half a degree between two stations is none
	var out []Bend
	joined := false
	for i := 1; i < len(p.stations); i++ {
		angle, radius := p.turn(i)
		if angle < least {
			joined = false
			continue
		}
		a, b := p.stations[i-1].At, p.stations[i].At
		if radius > 0 && radius*angle < b-a {
			// The turn is shorter than the way between: it sits in the middle.
			mid, half := (a+b)/2, radius*angle/2
			a, b = mid-half, mid+half
		}
		if last := len(out) - 1; joined && p.sameWay(i) && math.Abs(out[last].To-a) < 1e-9 {
			out[last].To = b
			out[last].Angle += angle
			out[last].Radius = (b - out[last].From) / out[last].Angle
			continue
		}
		out = append(out, Bend{From: a, To: b, Angle: angle, Radius: (b - a) / angle})
		joined = true
	}
	return out
}

// turn returns the angle between station i−1 and i [rad], and the radius where one was typed [m].
func (p *Passage) turn(i int) (angle, radius float64) {
	a, b := p.stations[i-1], p.stations[i]
	if a.Normal != (Vec{}) && b.Normal != (Vec{}) {
		return a.Normal.angleTo(b.Normal), 0
	}
	return b.Turn, b.Radius
}

// sameWay reports whether the turn from station i−1 to i goes on round the axis of the one before. A typed turn has no axis: each
// stands alone unless neither has a radius of its own.
func (p *Passage) sameWay(i int) bool {
	if i < 2 {
		return false
	}
	a, b, c := p.stations[i-2].Normal, p.stations[i-1].Normal, p.stations[i].Normal
	if a == (Vec{}) || b == (Vec{}) || c == (Vec{}) {
		return p.stations[i].Radius == 0 && p.stations[i-1].Radius == 0
	}
	before, now := a.Cross(b).Unit(), b.Cross(c).Unit()
	return before.Dot(now) > 0.5
}
