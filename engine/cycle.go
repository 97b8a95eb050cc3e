package engine

import (
	"context"
	"fmt"
	"math"
)

// Options are how finely and how long an engine is computed. The zero value takes the defaults.
type Options struct {
	Mesh      float64 // wanted cell length of the intake [m]; 0: DefaultMesh
	MaxCycles int     // most cycles at one speed; 0: 60
	Tolerance float64 // spread of VE and IMEP over three cycles that counts as settled [-]; 0: 0.001
	Workers   int     // speeds computed side by side; 0: one a core. It does not change the result
	Warm      *Warm   // states to start from, and to leave behind; nil: none
	Theta     float64 // limiter of the pipes [-], see wave.Builder; 0: the monotonised central one
}

// Meshes.
const (
	DefaultMesh = 0.015 // cell length of a pull [m]
	CoarseMesh  = 0.030 // cell length of a quick answer [m]
)

func (o Options) filled() Options {
	if o.Mesh == 0 {
		o.Mesh = DefaultMesh
	}
	if o.MaxCycles == 0 {
		o.MaxCycles = 60
	}
	if o.Tolerance == 0 {
		o.Tolerance = 1e-3
	}
	return o
}

// A Cylinder is one cylinder's result at one speed.
type Cylinder struct {
	VE           float64 // volumetric efficiency on the room's air [-]
	IMEP         float64 // indicated mean effective pressure over the whole cycle [Pa]
	Torque       float64 // its share of the brake torque [N·m]
	PeakPressure float64 // highest pressure [Pa]
	Residual     float64 // burned share of the charge at intake closing [-]
	Trapped      float64 // mass at intake closing [kg]
	Closing      float64 // cylinder pressure at intake closing [Pa]
	HeatLoss     float64 // heat to the walls in a cycle [J]
}

// A Point is the result at one speed.
type Point struct {
	Speed     float64 // [rev/s]
	Torque    float64 // brake torque [N·m]
	Power     float64 // brake power [W]
	VE        float64 // volumetric efficiency on the room's air [-]
	IMEP      float64 // indicated mean effective pressure over the whole cycle [Pa]
	FMEP      float64 // friction mean effective pressure [Pa]
	BMEP      float64 // brake mean effective pressure [Pa]
	AirFlow   float64 // [kg/s]
	FuelFlow  float64 // [kg/s]
	Settled   bool    // VE and IMEP stayed within the tolerance over three cycles
	Cycles    int     // cycles computed at this speed
	Drift     float64 // what the books of the last cycle do not explain, over the air drawn [-]; round-off where mass is kept. See drift
	Cylinders []Cylinder
	Guides    Guides
}

// history is how many cycles must agree.
const history = 3

// settle runs cycles until the engine repeats itself.
func (m *machine) settle(ctx context.Context, o Options) (Point, error) {
	var ve, imep []float64
	for k := 1; ; k++ {
		if err := ctx.Err(); err != nil {
			return Point{}, err
		}
		if err := m.cycle(); err != nil {
			return Point{}, err
		}
		p := m.point()
		ve, imep = append(ve, p.VE), append(imep, p.IMEP)
		if k >= history {
			ref := max(math.Abs(p.IMEP), 2e4)
			p.Settled = spread(ve[k-history:]) <= o.Tolerance*math.Abs(p.VE) && spread(imep[k-history:]) <= o.Tolerance*ref
		}
		if p.Settled || k >= o.MaxCycles {
			p.Cycles = k
			return p, nil
		}
	}
}

func spread(v []float64) float64 {
	lo, hi := v[0], v[0]
	for _, x := range v {
		lo, hi = min(lo, x), max(hi, x)
	}
	return hi - lo
}

// contents returns the mass in pipes, plenums and cylinders [kg].
func (m *machine) contents() float64 {
	var sum float64
	for _, p := range m.net.Pipes() {
		sum += p.Mass()
	}
	for _, v := range m.plenum {
		mass, _, _ := v.Contents()
		sum += mass
	}
	for _, c := range m.cyl {
		sum += c.mass()
	}
	return sum
}

// taken returns the mass that came in from the rooms and as fuel, less what went out, since the machine was built and in this cycle [kg].
func (m *machine) taken() float64 {
	in, _, _ := m.room.Taken()
	out, _, _ := m.tail.Taken()
	sum := -in - out
	for _, c := range m.cyl {
		sum += c.sum.fuel
	}
	return sum
}

// drift returns what the mass gained by pipes, plenums and cylinders in the last cycle leaves unexplained by what flowed in and out, over
// the air drawn [-].
//
//	δ = |m_end − m_start − Σ∫(ṁ_in − ṁ_out)dt − m_fuel| / Σ m_drawn
//
// Definition. It is the engine's check on itself: round-off, and more only where a valve took more than a cylinder held.
func (m *machine) drift() float64 {
	drawn := 0.0
	for _, d := range m.drawn {
		drawn += math.Abs(d)
	}
	if drawn == 0 {
		return 0
	}
	return math.Abs(m.contents()-m.held-(m.taken()-m.flowed)) / drawn
}

// cycle runs one cycle.
func (m *machine) cycle() error {
	for i, c := range m.cyl {
		c.sum = tally{}
		m.drawn[i], m.given[i] = 0, 0
	}
	m.held, m.flowed = m.contents(), m.taken()
	m.net.SetTime(0)
	if err := m.net.Advance(2 / m.speed); err != nil {
		return fmt.Errorf("at %.0f rpm: %w", m.speed*60, err)
	}
	return nil
}

// point makes the result of the last cycle.
func (m *machine) point() Point {
	e := m.e
	vd := e.Crank.Swept()
	p := Point{Speed: m.speed, Drift: m.drift()}
	var peak float64
	for i, c := range m.cyl {
		q := Cylinder{
			VE: m.drawn[i] / (m.density * vd), IMEP: c.sum.work / vd, PeakPressure: c.sum.peak, Residual: c.sum.residual,
			Trapped: c.sum.trapped, Closing: c.sum.closing, HeatLoss: c.sum.heat,
		}
		p.Cylinders = append(p.Cylinders, q)
		p.VE += q.VE
		p.IMEP += q.IMEP
		peak += q.PeakPressure
		p.FuelFlow += c.sum.fuel * m.speed / 2
	}
	n := float64(len(m.cyl))
	p.VE /= n
	p.IMEP /= n
	p.AirFlow = p.VE * m.density * vd * n * m.speed / 2
	p.FMEP = e.Friction.Pressure(m.speed, peak/n, e.Crank.Stroke)
	p.BMEP = p.IMEP - p.FMEP
	for i := range p.Cylinders {
		p.Cylinders[i].Torque = (p.Cylinders[i].IMEP - p.FMEP) * vd / Cycle
		p.Torque += p.Cylinders[i].Torque
	}
	p.Power = p.Torque * 2 * math.Pi * m.speed
	return p
}
