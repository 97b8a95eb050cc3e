package engine

import (
	"errors"
	"fmt"
	"math"

	"runnel/gas"
	"runnel/wave"
)

// ErrTwin means that a piece could not be flowed on the simulated bench.
var ErrTwin = errors.New("twin not found")

// A Closure says how well the twin of one opening agrees with its reading.
type Closure struct {
	Opening   string  // "runner 3", "intake at 6.0 mm"
	Measured  float64 // effective area of the reading [m²]
	Simulated float64 // effective area of the twin on the simulated bench [m²]
	Ratio     float64 // simulated over measured [-]
	Loss      float64 // loss coefficient found, spread along the passage [-]; NaN for a valve
	Reached   bool    // simulated = measured within TwinTolerance
}

// TwinTolerance is how closely the twin's simulated reading follows the measured one [-].
const TwinTolerance = 0.002

// radiusedEntry is the loss coefficient of the radius a head is flowed with [-]: r/D 0.2 or more, tabulated entry losses.
const radiusedEntry = 0.03

// DefaultDrop is the test pressure assumed where a reading does not say its own [Pa]: 28 inH2O.
const DefaultDrop = 28 * 249.08891

// twinAir is the air of the simulated bench.
const (
	twinPressure = 101325.0 // [Pa]
	twinTemp     = 293.15   // [K]
)

// Tie flows the runners and the valves of the engine, as described, on a simulated bench in the same gas-dynamic code that runs the
// engine, and finds the losses with which they read as the real ones did. It returns the engine with those losses, and the closures.
//
// A runner's loss is spread along it. A valve's effective area is found at each lift with its port in front of it. Where even
// no loss leaves the simulated piece below the reading, the twin keeps no loss, its closure is not Reached and it flows less than the
// piece: its sections or the reading are wrong. Errors: ErrTwin, ErrEngine.
func (e *Engine) Tie(flowed Flowed, mesh float64) (*Engine, []Closure, error) {
	if mesh == 0 {
		mesh = DefaultMesh
	}
	t := e.With()
	var closures []Closure
	if len(flowed.Runners) > 0 {
		if len(flowed.Runners) != e.Cylinders() {
			return nil, nil, fmt.Errorf("%w: %d runner readings for %d cylinders", ErrTwin, len(flowed.Runners), e.Cylinders())
		}
		c, err := t.tieRunners(flowed.Runners, dropOr(flowed.Drop), mesh)
		if err != nil {
			return nil, nil, err
		}
		closures = append(closures, c...)
	}
	for _, side := range []struct {
		name  string
		read  []FlowPoint
		valve *ValveFlow
	}{{"intake", flowed.In, &t.In}, {"exhaust", flowed.Out, &t.Out}} {
		if len(side.read) == 0 {
			continue
		}
		v, c, err := t.tieValve(side.name, side.read, dropOr(flowed.HeadDrop), mesh)
		if err != nil {
			return nil, nil, err
		}
		side.valve.Measured = v
		closures = append(closures, c...)
	}
	return t, closures, nil
}

func dropOr(d float64) float64 {
	if d > 0 {
		return d
	}
	return DefaultDrop
}

// A simBench is a simulated flow bench of several pipes side by side, from a room to one at the test pressure below it.
type simBench struct {
	net   *wave.Network
	pipes []*wave.Pipe
	ideal float64 // mass flow per effective area [kg/(s·m²)]
}

// areas runs the bench until every pipe flows steadily and returns their effective areas [m²].
func (b *simBench) areas() ([]float64, error) {
	out := make([]float64, len(b.pipes))
	const rounds = 400
	calm := 0
	for range rounds {
		mean, far := make([]float64, len(b.pipes)), make([]float64, len(b.pipes))
		begin := b.net.Time()
		span := 0.0
		for _, p := range b.pipes {
			span = max(span, 8*p.Duct().Length/330)
		}
		for b.net.Time() < begin+span {
			dt, err := b.net.StepTo(begin + span)
			if err != nil {
				return nil, fmt.Errorf("%w: %w", ErrTwin, err)
			}
			for i, p := range b.pipes {
				mean[i] += p.Right().Port().Mass * dt / span
				far[i] -= p.Left().Port().Mass * dt / span
			}
		}
		worst := 0.0
		for i := range out {
			ae := mean[i] / b.ideal
			worst = max(worst, math.Abs(ae-out[i])/max(math.Abs(ae), 1e-9), math.Abs(mean[i]-far[i])/max(math.Abs(mean[i]), 1e-9))
			out[i] = ae
		}
		if worst < 1e-4 {
			calm++
			if calm >= 2 {
				return out, nil
			}
			continue
		}
		calm = 0
	}
	return nil, fmt.Errorf("%w: the flow on the simulated bench did not become steady", ErrTwin)
}

// benchOf builds a simulated bench of the ducts; join closes both ends of pipe i, between the room and the one at the test pressure.
func benchOf(ducts []wave.Duct, drop float64, join func(i int, p *wave.Pipe, room, below *wave.Room) (entry, exit wave.Joint)) (*simBench, error) {
	g, err := dryAir()
	if err != nil {
		return nil, err
	}
	b := wave.NewBuilder(g)
	in := wave.NewRoom(g, twinPressure, twinTemp, 0)
	out := wave.NewRoom(g, twinPressure-drop, twinTemp, 0)
	s := &simBench{}
	nozzle := gas.Nozzle{Pressure: twinPressure, Temperature: twinTemp, Downstream: twinPressure - drop, GasConstant: g.R(0), Gamma: g.Gamma(twinTemp, 0)}
	s.ideal = nozzle.Flux()
	for i, d := range ducts {
		// The gas starts at two thirds of the ideal speed, so that it settles soon.
		u0 := 0.6 * math.Sqrt(2*drop/1.2)
		p := b.PipeWith(d, func(float64) wave.Fill { return wave.Fill{P: twinPressure - drop, T: twinTemp, U: u0} })
		s.pipes = append(s.pipes, p)
		b.Join(join(i, p, in, out))
	}
	s.net, err = b.Build()
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrTwin, err)
	}
	return s, nil
}

func dryAir() (*wave.Gas, error) {
	c := component(gas.DryAir())
	return wave.NewGas(c, c)
}

// tieRunners finds the loss of every runner: all flow side by side while each has its own secant search in 1/A².
func (e *Engine) tieRunners(read []float64, drop, mesh float64) ([]Closure, error) {
	ducts := make([]wave.Duct, len(read))
	for i := range read {
		r := e.Inlet.Runners[i]
		area, _ := e.With(func(e *Engine) { e.Inlet.PortLength = 0 }).runnerArea(i)
		ducts[i] = wave.Duct{Name: fmt.Sprintf("runner %d", i+1), Length: r.Length, Area: area, Mesh: mesh, Friction: e.Inlet.Wall}
	}
	entry := e.Inlet.RunnerLoss
	if e.Inlet.Layout == Individual {
		entry = e.Inlet.EntryLoss
	}
	b, err := benchOf(ducts, drop, func(_ int, p *wave.Pipe, room, below *wave.Room) (in, out wave.Joint) {
		return &wave.Mouth{Pipe: p.Left(), Vessel: room, EntryLoss: entry}, &wave.Mouth{Pipe: p.Right(), Vessel: below}
	})
	if err != nil {
		return nil, err
	}
	loss := make([]float64, len(read))
	var got []float64
	for range 12 {
		for i, p := range b.pipes {
			p.SetLosses([]wave.Loss{{From: 0, To: p.Duct().Length, K: loss[i]}})
		}
		if got, err = b.areas(); err != nil {
			return nil, err
		}
		done := true
		for i, want := range read {
			if math.Abs(got[i]/want-1) < TwinTolerance/4 || loss[i] == 0 && got[i] < want {
				continue
			}
			done = false
			a := ducts[i].Area(ducts[i].Length)
			loss[i] = max(loss[i]+a*a*(1/(want*want)-1/(got[i]*got[i])), 0)
		}
		if done {
			break
		}
	}
	var out []Closure
	for i, want := range read {
		e.Inlet.Runners[i].Loss = loss[i]
		out = append(out, closure(ducts[i].Name, want, got[i], loss[i]))
	}
	return out, nil
}

func closure(name string, want, got, loss float64) Closure {
	return Closure{Opening: name, Measured: want, Simulated: got, Ratio: got / want, Loss: loss, Reached: math.Abs(got/want-1) <= TwinTolerance}
}

// tieValve finds the effective area of the valve alone at every lift, with its port, before an intake valve or behind an exhaust valve; all lifts flow side by side.
func (e *Engine) tieValve(name string, read []FlowPoint, drop, mesh float64) ([]FlowPoint, []Closure, error) {
	length, bore, wall := e.Inlet.PortLength, e.Inlet.PortBore, e.Inlet.Wall
	if name == "exhaust" {
		length, bore, wall = e.Outlet.PortLength, e.Outlet.PortBore, e.Outlet.Wall
	}
	if length <= 0 || bore <= 0 { // no port in the description: the reading is the valve's
		var out []Closure
		for _, p := range read {
			out = append(out, closure(liftName(name, p.Lift), p.Area, p.Area, math.NaN()))
		}
		return read, out, nil
	}
	ducts := make([]wave.Duct, len(read))
	open := make([]*variable, len(read))
	for i, p := range read {
		ducts[i] = wave.Duct{Name: liftName(name, p.Lift), Length: length, Area: wave.Round(bore), Cells: max(int(length/mesh), 4), Friction: wall}
		open[i] = &variable{p.Area}
	}
	full := ducts[0].Area(0)
	b, err := benchOf(ducts, drop, func(i int, p *wave.Pipe, room, below *wave.Room) (in, out wave.Joint) {
		if name == "exhaust" { // the air comes through the valve and leaves by the port
			return &wave.Orifice{Pipe: p.Left(), Vessel: room, Opening: open[i]}, &wave.Mouth{Pipe: p.Right(), Vessel: below}
		}
		return &wave.Mouth{Pipe: p.Left(), Vessel: room, EntryLoss: radiusedEntry}, &wave.Orifice{Pipe: p.Right(), Vessel: below, Opening: open[i]}
	})
	if err != nil {
		return nil, nil, err
	}
	var got []float64
	for range 12 {
		if got, err = b.areas(); err != nil {
			return nil, nil, err
		}
		done := true
		for i, p := range read {
			if math.Abs(got[i]/p.Area-1) < TwinTolerance/4 || open[i].area >= full && got[i] < p.Area {
				continue
			}
			done = false
			// The rest of the path keeps its share of 1/A².
			inv := 1/(open[i].area*open[i].area) + 1/(p.Area*p.Area) - 1/(got[i]*got[i])
			open[i].area = full
			if inv > 1/(full*full) {
				open[i].area = 1 / math.Sqrt(inv)
			}
		}
		if done {
			break
		}
	}
	valve := make([]FlowPoint, len(read))
	var out []Closure
	for i, p := range read {
		valve[i] = FlowPoint{Lift: p.Lift, Area: open[i].area}
		out = append(out, closure(ducts[i].Name, p.Area, got[i], math.NaN()))
	}
	return valve, out, nil
}

func liftName(side string, lift float64) string { return fmt.Sprintf("%s at %.1f mm", side, lift*1e3) }

// A variable is an opening whose area [m²] is set between runs.
type variable struct{ area float64 }

// Areas returns the area [m²] both ways.
func (v *variable) Areas(float64) (out, in float64) { return v.area, v.area }
