package engine

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"runnel/wave"
)

// ErrEngine means that the engine as described cannot be computed; the text says what to change.
var ErrEngine = errors.New("engine cannot be computed")

// ErrForced means that the engine is supercharged or turbocharged, which is out of scope.
var ErrForced = errors.New("forced induction is out of scope: the pull knows naturally aspirated engines only")

// A Layout is how the runners are fed.
type Layout int

// The layouts of the intake.
const (
	CommonPlenum Layout = iota
	TwoPlenums          // first and second half of the cylinders, each with its own throttle and duct
	Individual          // every runner has its own throttle and open end
)

// An Engine is the description a pull is computed from. It is not changed after it is made; With returns changed copies.
type Engine struct {
	Title     string
	Crank     Crank
	Phases    []float64 // crank angle of each cylinder's gas-exchange top dead centre after that of cylinder 1 [rad]
	Intake    *Profile
	Exhaust   *Profile
	AtSeat    bool // the events of a lobe were stated at the seat, where they are the least sure
	In        ValveFlow
	Out       ValveFlow
	Inlet     Inlet
	Outlet    Outlet
	Air       Air
	Fuel      Fuel
	Lambda    float64 // air over stoichiometric air [-]
	Evaporate float64 // share of the fuel evaporated before the valve closes [-]
	FromWalls float64 // share of the heat of that evaporation which hot walls give, not the air [-]
	Motored   bool    // no fuel, no burn
	Gamma     float64 // ratio of specific heats of a perfect gas [-]; 0: real gas
	Constant  float64 // gas constant of a perfect gas [J/(kg·K)]
	Burn      Burn
	Heat      Heat
	Friction  Friction
	RedLine   float64  // highest speed allowed [rev/s]; 0 not known
	Assumed   []string // what was not known and how it was taken
}

// Air is the air of the room.
type Air struct {
	Pressure    float64 // absolute [Pa]
	Temperature float64 // [K]
	Water       float64 // moles of water vapour to one of dry air [-]
}

// A Runner is one intake passage from its mouth to the valve, port within.
type Runner struct {
	Length float64        // mouth to head face [m]
	Entry  float64        // bore at the mouth [m]
	Exit   float64        // bore at the head face [m]
	Loss   float64        // loss coefficient spread along it, on the local head [-]
	Shape  []wave.Station // measured sections from the mouth to the head face instead of the two bores
}

// An Inlet is the intake side.
type Inlet struct {
	Layout       Layout
	Runners      []Runner // one a cylinder
	PortLength   float64  // head face to valve [m]
	PortBore     float64  // bore of the port at the valve [m]
	PortLoss     float64  // loss coefficient spread along the port [-]
	Plenum       float64  // volume of each plenum [m³]
	Throttle     float64  // effective area of each throttle, its own exit head within [m²]; 0: no throttle
	DuctLength   float64  // duct before the throttle [m]; 0: none
	DuctBore     float64  // [m]
	EntryLoss    float64  // loss coefficient of the mouth to the room [-]
	RunnerLoss   float64  // loss coefficient of the runners' mouths in the plenum [-]
	Wall         wave.Friction
	WallTemp     float64 // of runners [K]
	PortTemp     float64 // of the ports in the head [K]
	NoCorrection bool    // open ends without end correction, for checks
}

// An Outlet is the exhaust side.
type Outlet struct {
	Direct     bool    // the valve discharges straight into the room
	PortLength float64 // valve to flange [m]
	PortBore   float64 // [m]
	Length     float64 // of a primary [m]
	Bore       float64 // of a primary [m]
	Collectors int     // 0: every primary ends in the room
	TailLength float64 // of the pipe behind a collector [m]
	TailBore   float64 // [m]
	Back       float64 // gauge pressure beyond the tail [Pa]
	WallTemp   float64 // [K]
	Wall       wave.Friction
	Simple     bool // no primaries were described: a short pipe to the room stands for the exhaust
}

// A Burn is how the charge burns.
type Burn struct {
	CA50     float64 // half burned after firing top dead centre [rad]
	Duration float64 // 10–90 % [rad]; 0: DefaultBurnDuration at the speed
	Start    float64 // spark before top dead centre [rad]; 0: not used. When given, CA50 follows from it and the duration
	M        float64 // Wiebe form exponent [-]
	Complete float64 // share of the heat within reach that is set free [-]
	Stretch  float64 // factor on the duration [-]; 0: 1
}

// Heat is the heat to the cylinder's walls.
type Heat struct {
	Model      HeatModel
	WallTemp   float64 // [K]
	Multiplier float64 // on the coefficient [-]
}

// Friction is the mechanical friction.
type Friction struct {
	Model  FrictionModel
	Fit    ChenFlynnFit
	Build  PattonBuild
	Factor float64 // on the whole [-]; 0: 1
}

// Pressure returns the friction mean effective pressure [Pa] at speed n [rev/s] for peak cylinder pressure peak [Pa] and
// stroke s [m].
func (f Friction) Pressure(n, peak, s float64) float64 {
	k := f.Factor
	if k == 0 {
		k = 1
	}
	if f.Model == Patton {
		return k * f.Build.Pressure(n, 1)
	}
	return k * f.Fit.Pressure(peak, 2*s*n)
}

// Cylinders returns the number of cylinders.
func (e *Engine) Cylinders() int { return len(e.Phases) }

// Displacement returns the displacement of the whole engine [m³].
func (e *Engine) Displacement() float64 { return e.Crank.Swept() * float64(len(e.Phases)) }

// PhasesOf returns the phase of each of n cylinders [rad] from a firing order evenly spaced over the cycle; empty: number order.
// Error: ErrEngine, when the order does not name every cylinder once.
func PhasesOf(n int, order []int) ([]float64, error) {
	if n < 1 {
		return nil, fmt.Errorf("%w: %d cylinders", ErrEngine, n)
	}
	if len(order) == 0 {
		order = make([]int, n)
		for i := range order {
			order[i] = i + 1
		}
	}
	sorted := slices.Clone(order)
	slices.Sort(sorted)
	if len(order) != n {
		return nil, fmt.Errorf("%w: the firing order names %d cylinders of %d", ErrEngine, len(order), n)
	}
	for i, c := range sorted {
		if c != i+1 {
			return nil, fmt.Errorf("%w: the firing order %v does not name cylinder %d once", ErrEngine, order, i+1)
		}
	}
	ph := make([]float64, n)
	first := slices.Index(order, 1)
	for i, c := range order {
		ph[c-1] = Cycle / float64(n) * float64((i-first+n)%n)
	}
	return ph, nil
}

// Check says what of the description cannot be computed. Errors: ErrEngine, all faults joined.
func (e *Engine) Check() error {
	var all []error
	bad := func(ok bool, format string, args ...any) {
		if !ok {
			all = append(all, fmt.Errorf("%w: "+format, append([]any{ErrEngine}, args...)...))
		}
	}
	c := e.Crank
	bad(c.Bore > 0 && c.Bore < 1, "bore %g m", c.Bore)
	bad(c.Stroke > 0 && c.Stroke < 2, "stroke %g m", c.Stroke)
	bad(c.Rod > c.Stroke/2, "rod %g m must be longer than half the stroke", c.Rod)
	bad(c.CompressionRatio > 2 && c.CompressionRatio < 30, "compression ratio %g, wanted 2 to 30", c.CompressionRatio)
	bad(len(e.Phases) > 0, "no cylinders")
	bad(e.Intake != nil && e.Exhaust != nil, "no cam")
	bad(e.In.Seat.Head > 0 || len(e.In.Measured) > 0, "intake valve head diameter or flow is needed")
	bad(e.Out.Seat.Head > 0 || len(e.Out.Measured) > 0, "exhaust valve head diameter or flow is needed")
	bad(len(e.Inlet.Runners) == len(e.Phases), "%d runners for %d cylinders", len(e.Inlet.Runners), len(e.Phases))
	for i, r := range e.Inlet.Runners {
		bad(r.Length > 0 && (r.Entry > 0 && r.Exit > 0 || len(r.Shape) > 0), "runner %d: length %g m, bores %g m and %g m", i+1, r.Length, r.Entry, r.Exit)
		bad(r.Loss >= 0, "runner %d: loss %g", i+1, r.Loss)
	}
	if e.Inlet.Layout != Individual {
		bad(e.Inlet.Plenum > 0, "plenum volume %g m³", e.Inlet.Plenum)
	}
	bad(e.Inlet.Layout != TwoPlenums || len(e.Phases)%2 == 0, "two plenums need an even number of cylinders, not %d: write layout = \"plenum\"", len(e.Phases))
	bad(e.Outlet.Direct || e.Outlet.Bore > 0 && e.Outlet.Length > 0, "exhaust pipe of bore %g m and length %g m", e.Outlet.Bore, e.Outlet.Length)
	bad(e.Air.Pressure > 2e4 && e.Air.Temperature > 200, "air at %g Pa and %g K", e.Air.Pressure, e.Air.Temperature)
	bad(e.Gamma == 0 || e.Motored, "a perfect gas does not burn: it is for motored checks")
	if e.Air.Pressure > 1.15e5 {
		all = append(all, fmt.Errorf("%w: air at %.0f kPa", ErrForced, e.Air.Pressure/1e3))
	}
	return errors.Join(all...)
}

// runnerArea returns the area of runner and port over the distance from the mouth, and the whole length [m].
func (e *Engine) runnerArea(i int) (area func(x float64) float64, length float64) {
	r, in := e.Inlet.Runners[i], e.Inlet
	var st []wave.Station
	if len(r.Shape) > 0 {
		last := r.Shape[len(r.Shape)-1].X
		for _, s := range r.Shape {
			st = append(st, wave.Station{X: s.X * r.Length / last, Area: s.Area})
		}
	} else {
		st = []wave.Station{{X: 0, Area: math.Pi / 4 * r.Entry * r.Entry}, {X: r.Length, Area: math.Pi / 4 * r.Exit * r.Exit}}
	}
	length = r.Length
	if in.PortLength > 0 && in.PortBore > 0 {
		length += in.PortLength
		st = append(st, wave.Station{X: length, Area: math.Pi / 4 * in.PortBore * in.PortBore})
	}
	return wave.Stations(st), length
}
