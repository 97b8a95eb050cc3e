package passage

import (
	"errors"
	"fmt"
	"io"
	"math"

	"runnel/unit"
)

// ErrTraverse says that a traverse cannot be worked out.
var ErrTraverse = errors.New("no traverse")

// A Probe is one reading of a pitot-static probe in a section.
type Probe struct {
	Point         // place from the centre of the section [m]
	DP    float64 // total less static pressure [Pa]
}

// A Traverse is a section with probe readings.
type Traverse struct {
	Section      Section
	Probes       []Probe
	Pressure     float64 // static pressure in the section, absolute [Pa]
	Temperature  float64 // total temperature [K]
	GasConstant  float64 // specific gas constant [J/(kg·K)]
	Gamma        float64 // ratio of specific heats [-]
	Coefficient  float64 // probe coefficient on the velocity [-]; 1 for an ISO 3966 probe
	UCoefficient float64 // its standard uncertainty, relative [-]
	UDP          float64 // standard uncertainty of one pressure reading [Pa]
	UPosition    float64 // standard uncertainty of a place, each way [m]
	Meter        float64 // mass flow by the meter [kg/s]; 0: none
	UMeter       float64 // its standard uncertainty, relative [-]
}

// A Profile is what a traverse says.
type Profile struct {
	Points        []Speed // at the probes
	Map           []Speed // on a regular grid inside the outline, for a picture
	Pitch         float64 // of that grid [m]
	Mean          float64 // mean velocity [m/s]
	Mass          float64 // mass flow [kg/s]
	U             float64 // standard uncertainty of Mass, relative [-]
	Highest       float64 // highest velocity of the map [m/s]
	NonUniformity float64 // root mean square of velocity over mean, less one, over the section [-]
	Energy        float64 // kinetic-energy factor: mean of (v/mean)³ [-]
	EqualWeight   float64 // plain mean of the probes where they stand on log-Tchebycheff places, else 0 [m/s]
	Closure       float64 // Mass over the meter's [-]; 0 without a meter
	UClosure      float64 // its standard uncertainty, relative [-]
	Parts         []Part  // where U comes from
	Warnings      []string
}

// A Speed is the velocity at one place of the section.
type Speed struct {
	Point
	Velocity float64 // [m/s]
}

// A Part is one part of an uncertainty.
type Part struct {
	Name string
	U    float64 // relative standard uncertainty of the mass flow from it [-]
}

// wallLaw is the exponent of the velocity near a wall, v ~ y^(1/m), and what it may be: ISO 3966 takes m from 4 to 10.
const (
	wallLaw     = 7.0
	wallLawLow  = 4.0
	wallLawHigh = 10.0
	gridSteps   = 40 // of the map along the longer side [-]
	maxProbes   = 400
)

// Solve works out the velocity map, the mean and the flow.
//
//	M² = 2/(γ−1)·((1 + Δp/p)^((γ−1)/γ) − 1);  flow = ∫ ρ·v dA
//
// Between the probes v·y^(−1/7), with y the distance to the wall, follows a thin-plate spline, so that a power-law profile comes out
// exactly; with fewer than three probes off one line it is taken as the same all along the wall. It returns ErrTraverse, wrapped, with
// what to change. Swirl and the probe's own blockage are not taken off. Source: ISO 3966 for the wall law; thin-plate spline: Duchon.
func (t Traverse) Solve() (Profile, error) {
	if err := t.check(); err != nil {
		return Profile{}, err
	}
	var out Profile
	for i, p := range t.Probes {
		v, back := t.velocity(p.DP)
		if back {
			out.Warnings = append(out.Warnings, fmt.Sprintf("probe %d at x %.1f, y %.1f mm reads below zero: the air stands still or runs back there; it counts as still", i+1, 1e3*p.Point[0], 1e3*p.Point[1]))
		}
		out.Points = append(out.Points, Speed{p.Point, v})
	}
	g := t.grid(&out)
	f, err := t.field(g, out.Points, wallLaw)
	if err != nil {
		return Profile{}, err
	}
	if w := fewProbes(out.Points); w != "" {
		out.Warnings = append(out.Warnings, w)
	}
	out.integrate(f, t)
	if err := t.doubt(&out, g, f); err != nil {
		return Profile{}, err
	}
	if t.Meter > 0 {
		out.Closure = out.Mass / t.Meter
		out.UClosure = math.Hypot(out.U, t.UMeter)
	}
	return out, nil
}

// fewProbes says what probes cannot tell that are one alone, or all on one line.
func fewProbes(at []Speed) string {
	const wide = 0.02 // way off the line over the way along it, below which probes stand on one line [-]
	first, far := at[0].Point, 0.0
	var way Point
	for _, p := range at {
		if d := math.Hypot(p.Point[0]-first[0], p.Point[1]-first[1]); d > far {
			far, way = d, Point{(p.Point[0] - first[0]) / d, (p.Point[1] - first[1]) / d}
		}
	}
	if far == 0 {
		return "one reading says nothing of how the velocity is spread: between it and the wall a full, even profile is assumed. Read more places, on two lines across"
	}
	for _, p := range at {
		if math.Abs((p.Point[0]-first[0])*way[1]-(p.Point[1]-first[1])*way[0]) > wide*far {
			return ""
		}
	}
	return "all readings lie on one line: across it the velocity is assumed to fall to the wall alike. Read a second line, square to it"
}

func (t Traverse) check() error {
	switch {
	case len(t.Section.Outline) < 3 || !goodLength(t.Section.Area):
		return fmt.Errorf("%w: the section has no outline: give its shape", ErrTraverse)
	case len(t.Probes) == 0:
		return fmt.Errorf("%w: there are no probe readings", ErrTraverse)
	case len(t.Probes) > maxProbes:
		return fmt.Errorf("%w: %d probe readings, at most %d", ErrTraverse, len(t.Probes), maxProbes)
	case !goodLength(t.Pressure) || !goodLength(t.Temperature) || !goodLength(t.GasConstant) || !(t.Gamma > 1) || !goodLength(t.Coefficient):
		return fmt.Errorf("%w: air at %g Pa and %g K, R %g J/(kg·K), γ %g, probe coefficient %g", ErrTraverse, t.Pressure, t.Temperature, t.GasConstant, t.Gamma, t.Coefficient)
	}
	l := Loop{Points: t.Section.Outline}
	for i, p := range t.Probes {
		if math.IsNaN(p.DP) || math.IsInf(p.DP, 0) || p.DP > 0.8*t.Pressure {
			return fmt.Errorf("%w: probe %d reads %g Pa", ErrTraverse, i+1, p.DP)
		}
		if !l.Contains(p.Point) {
			return fmt.Errorf("%w: probe %d at x %.2f, y %.2f mm lies outside the section: count from its centre", ErrTraverse, i+1, 1e3*p.Point[0], 1e3*p.Point[1])
		}
		for k, q := range t.Probes[:i] {
			if math.Hypot(p.Point[0]-q.Point[0], p.Point[1]-q.Point[1]) < 1e-6 {
				return fmt.Errorf("%w: probes %d and %d stand at the same place, %.2f, %.2f mm: keep the mean of both", ErrTraverse, k+1, i+1, 1e3*p.Point[0], 1e3*p.Point[1])
			}
		}
	}
	return nil
}

// velocity returns the velocity for a pressure difference [m/s]; back reports a difference below zero.
func (t Traverse) velocity(dp float64) (v float64, back bool) {
	if dp <= 0 {
		return 0, dp < 0
	}
	k := (t.Gamma - 1) / t.Gamma
	m2 := 2 / (t.Gamma - 1) * math.Expm1(k*math.Log1p(dp/t.Pressure))
	return t.Coefficient * math.Sqrt(m2*t.Gamma*t.GasConstant*t.Temperature/(1+(t.Gamma-1)/2*m2)), false
}

// density returns the density where the velocity is v [kg/m³].
func (t Traverse) density(v float64) float64 {
	cp := t.GasConstant * t.Gamma / (t.Gamma - 1)
	return t.Pressure / (t.GasConstant * (t.Temperature - v*v/(2*cp)))
}

// node is a place of the grid.
type node struct {
	p      Point
	wall   float64 // distance to the outline [m]
	weight float64 // share of the section [-]
}

// grid returns places that cover the section evenly, finer in the cells that the outline cuts.
func (t Traverse) grid(out *Profile) []node {
	lo, hi := Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}
	for _, p := range t.Section.Outline {
		for k := range 2 {
			lo[k], hi[k] = min(lo[k], p[k]), max(hi[k], p[k])
		}
	}
	pitch := max(hi[0]-lo[0], hi[1]-lo[1]) / gridSteps
	out.Pitch = pitch
	l := Loop{Points: t.Section.Outline}
	var nodes []node
	total := 0.0
	add := func(p Point, weight float64) {
		nodes = append(nodes, node{p, t.wall(p), weight})
		total += weight
	}
	const fine = 4 // points each way in a cell at the wall [-]
	for y := lo[1] + pitch/2; y < hi[1]+pitch/2; y += pitch {
		for x := lo[0] + pitch/2; x < hi[0]+pitch/2; x += pitch {
			c := Point{x, y}
			if t.wall(c) > 0.75*pitch { // more than half the diagonal of a cell
				if l.Contains(c) {
					add(c, fine*fine)
				}
				continue
			}
			for k := range fine * fine {
				p := Point{x + pitch*((float64(k%fine)+0.5)/fine-0.5), y + pitch*((float64(k/fine)+0.5)/fine-0.5)}
				if l.Contains(p) {
					add(p, 1)
				}
			}
		}
	}
	for i := range nodes {
		nodes[i].weight /= total
	}
	return nodes
}

// wall returns the distance of a point to the outline [m].
func (t Traverse) wall(p Point) float64 { return toOutline(t.Section.Outline, p) }

// ReadProbes reads probe readings from comma-separated text, one a line: x_mm and y_mm from the centre of the section, dp_pa. Lines
// that begin with # are skipped; file is the name used in errors, which are joined, each a *CellError.
func ReadProbes(r io.Reader, file string) ([]Probe, error) {
	s := &sheet{file: file, fields: []field{{"x", &unit.Length, true}, {"y", &unit.Length, true}, {"dp", &unit.Pressure, true}}}
	var out []Probe
	for _, row := range s.read(r) {
		whole := true
		for _, stem := range []string{"x", "y", "dp"} {
			if _, ok := row.number[stem]; !ok {
				s.cell(row.line, stem, "the cell is empty", "write the reading, or leave the line out", nil)
				whole = false
			}
		}
		if whole {
			out = append(out, Probe{Point{row.number["x"], row.number["y"]}, row.number["dp"]})
		}
	}
	if len(s.problems) == 0 && len(out) == 0 {
		s.add(&CellError{Line: 1, Found: "no readings", Write: "write one probe reading a line", Reason: ErrTraverse})
	}
	if err := s.err(); err != nil {
		return nil, err
	}
	return out, nil
}
