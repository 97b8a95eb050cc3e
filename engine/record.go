package engine

import (
	"context"
	"math"

	"runnel/wave"
)

// A Recording is one settled cycle of an engine over crank angle: traces of one cylinder and the wave picture of its runner.
// Angles count from gas-exchange top dead centre of that cylinder, 0…4π.
type Recording struct {
	Point    Point
	Cylinder int         // 1 for the first
	Angle    []float64   // crank angle, evenly spaced [rad]
	Pressure []float64   // in the cylinder [Pa]
	Temp     []float64   // in the cylinder [K]
	Volume   []float64   // of the cylinder [m³]
	Burned   []float64   // burned share of the charge [-]
	LiftIn   []float64   // intake valve lift [m]
	LiftOut  []float64   // exhaust valve lift [m]
	FlowIn   []float64   // through the intake valve, into the cylinder [kg/s]
	FlowOut  []float64   // through the exhaust valve, out of the cylinder [kg/s]
	Port     []float64   // pressure in the runner at the valve [Pa]
	PortU    []float64   // velocity there, towards the valve [m/s]
	Exhaust  []float64   // pressure in the exhaust pipe at the valve [Pa]; nil when the valve opens to the room
	X        []float64   // distance from the runner's mouth [m]
	Map      [][]float64 // pressure along the runner, one row for each angle [Pa]
	MapU     [][]float64 // velocity towards the valve, as Map [m/s]
	Opens    [2]float64  // crank angles at which the valves open, intake and exhaust, at 0.1 mm lift [rad]
	Closes   [2]float64  // and close [rad]
}

// Record settles the engine at speed n [rev/s] and returns one cycle of cylinder cyl (1 for the first) on samples even crank angles.
// Map is the pressure along the runner [Pa], one row for each angle. Errors: as Pull.
func Record(ctx context.Context, e *Engine, n float64, cyl, samples int, opt Options) (*Recording, error) {
	opt = opt.filled()
	if err := checkSpeeds(e, []float64{n}); err != nil {
		return nil, err
	}
	if cyl < 1 || cyl > e.Cylinders() || samples < 4 {
		panic("engine: Record needs a cylinder of the engine and at least four samples")
	}
	m, err := e.buildFor(opt)
	if err != nil {
		return nil, err
	}
	m.start()
	m.set(n)
	p, err := m.settle(ctx, opt)
	if err != nil {
		return nil, err
	}
	p.Guides = e.guides(p)
	r := newRecorder(m, cyl-1, samples)
	m.net.Watch(r.watch)
	if err := m.cycle(); err != nil {
		return nil, err
	}
	return r.finish(p), nil
}

// A recorder samples a machine as it runs: rows between two steps are interpolated.
type recorder struct {
	m         *machine
	i         int
	rec       *Recording
	last, now []float64
	lastT     float64
	next      int // sample counted from the cycle's start
	step      float64
	pipe      *wave.Pipe
}

// Places of a row, before the map's pressures and velocities.
const (
	rowP = iota
	rowT
	rowV
	rowY
	rowIn
	rowOut
	rowPort
	rowPortU
	rowEx
	rowMap
)

func newRecorder(m *machine, i, samples int) *recorder {
	r := &recorder{m: m, i: i, rec: &Recording{Cylinder: i + 1}, pipe: m.runner[i], step: 2 / m.speed / float64(samples)}
	d := r.pipe.Duct()
	for k := range r.pipe.Cells() {
		if x := r.pipe.Cell(k).X; x >= 0 && x <= d.Length {
			r.rec.X = append(r.rec.X, x)
		}
	}
	c := &r.rec.Angle
	*c = make([]float64, samples)
	for k := range samples {
		(*c)[k] = Cycle / float64(samples) * float64(k)
	}
	n := rowMap + 2*len(r.rec.X)
	r.last, r.now = make([]float64, n), make([]float64, n)
	for _, v := range []*[]float64{&r.rec.Pressure, &r.rec.Temp, &r.rec.Volume, &r.rec.Burned, &r.rec.FlowIn, &r.rec.FlowOut, &r.rec.Port, &r.rec.PortU, &r.rec.Exhaust, &r.rec.LiftIn, &r.rec.LiftOut} {
		*v = make([]float64, samples)
	}
	r.rec.Map, r.rec.MapU = make([][]float64, samples), make([][]float64, samples)
	r.read(r.last)
	return r
}

func (r *recorder) read(row []float64) {
	c := r.m.cyl[r.i]
	row[rowP], row[rowT], row[rowV], row[rowY] = c.pressure, c.temp, c.volume, c.burned/c.mass()
	port := r.pipe.Right().Port()
	row[rowIn], row[rowPort], row[rowPortU] = port.Mass, port.FaceP, port.FaceU
	switch {
	case r.m.direct != nil:
		row[rowOut] = r.m.direct[r.i].Mass()
	default:
		q := r.m.exhaust[r.i].Left().Port()
		row[rowOut], row[rowEx] = -q.Mass, q.FaceP
	}
	n := len(r.rec.X)
	for k, x := range r.rec.X {
		f := r.pipe.At(x)
		row[rowMap+k], row[rowMap+n+k] = f.P, f.U
	}
}

// watch stores the samples that lie in the last step.
func (r *recorder) watch(n *wave.Network, _ float64) {
	r.read(r.now)
	t := n.Time()
	for r.next < len(r.rec.Angle) && float64(r.next)*r.step <= t {
		f := 0.0
		if t > r.lastT {
			f = (float64(r.next)*r.step - r.lastT) / (t - r.lastT)
		}
		r.store(r.next, f)
		r.next++
	}
	r.last, r.now, r.lastT = r.now, r.last, t
}

// store puts the row at share f of the step into the place of the cylinder's own angle.
func (r *recorder) store(sample int, f float64) {
	rec := r.rec
	n := len(rec.Angle)
	a := r.m.cyl[r.i].angle(float64(sample) * r.step)
	k := int(math.Round(a/(Cycle/float64(n)))) % n
	at := func(j int) float64 { return r.last[j] + f*(r.now[j]-r.last[j]) }
	rec.Pressure[k], rec.Temp[k], rec.Volume[k], rec.Burned[k] = at(rowP), at(rowT), at(rowV), at(rowY)
	rec.FlowIn[k], rec.FlowOut[k], rec.Port[k], rec.PortU[k], rec.Exhaust[k] = at(rowIn), at(rowOut), at(rowPort), at(rowPortU), at(rowEx)
	m := len(rec.X)
	rec.Map[k], rec.MapU[k] = make([]float64, m), make([]float64, m)
	for j := range m {
		rec.Map[k][j], rec.MapU[k][j] = at(rowMap+j), at(rowMap+m+j)
	}
}

func (r *recorder) finish(p Point) *Recording {
	rec := r.rec
	rec.Point = p
	for k := range rec.Map {
		if rec.Map[k] == nil { // two samples fell on one angle by rounding: the one before stands in
			rec.Map[k], rec.MapU[k] = rec.Map[(k+len(rec.Map)-1)%len(rec.Map)], rec.MapU[(k+len(rec.Map)-1)%len(rec.Map)]
		}
	}
	if r.m.direct != nil {
		rec.Exhaust = nil
	}
	for k, a := range rec.Angle {
		rec.LiftIn[k], rec.LiftOut[k] = r.m.e.Intake.Lift(a), r.m.e.Exhaust.Lift(a)
	}
	rec.Opens[0], rec.Closes[0] = r.m.e.Intake.Events(1e-4)
	rec.Opens[1], rec.Closes[1] = r.m.e.Exhaust.Events(1e-4)
	return rec
}
