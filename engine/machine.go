package engine

import (
	"fmt"
	"math"

	"runnel/wave"
)

// A machine is an engine built of pipes, vessels and cylinders, at one speed.
type machine struct {
	e       *Engine
	g       *gases
	net     *wave.Network
	shaft   shaft
	cyl     []*cylinder
	runner  []*wave.Pipe // intake passages, mouth left, valve right
	exhaust []*wave.Pipe // exhaust passages, valve left
	direct  []*wave.Restriction
	plenum  []*wave.Volume
	room    *wave.Room
	tail    *wave.Room
	speed   float64 // [rev/s]
	density float64 // of the room's air [kg/m³]
	drawn   []float64
	given   []float64 // through the exhaust valves [kg]
	held    float64   // mass in it when the cycle began [kg]
	flowed  float64   // taken then [kg]
}

// Meshes of an exhaust pipe are coarser: its gas is faster, so that its waves are as well resolved, and it must not set the step.
const exhaustMesh = 1.7

// turnPerMesh is the most crank angle in a step over the cell length [rad/m]: a degree at 15 mm.
const turnPerMesh = 1.2

func (e *Engine) build(mesh float64) (*machine, error) { return e.buildFor(Options{Mesh: mesh}) }

// buildFor builds a machine with the mesh and the limiter of opt.
func (e *Engine) buildFor(opt Options) (*machine, error) {
	if err := e.Check(); err != nil {
		return nil, err
	}
	g, err := e.gases()
	if err != nil {
		return nil, err
	}
	return e.buildWith(g, opt)
}

// buildWith builds a machine of a checked engine with its gases.
func (e *Engine) buildWith(g *gases, opt Options) (*machine, error) {
	m, mesh := &machine{e: e, g: g}, opt.Mesh
	b := wave.NewBuilder(g.pipe)
	b.Theta = opt.Theta
	m.room = wave.NewRoom(g.pipe, e.Air.Pressure, e.Air.Temperature, 0)
	st := m.room.State()
	m.density = st.P / (st.R * st.T)
	back := 1.0
	if e.Motored {
		back = 0
	}
	m.tail = wave.NewRoom(g.pipe, e.Air.Pressure+e.Outlet.Back, e.Air.Temperature, back)
	m.shaft.spin(0)
	for _, ph := range e.Phases {
		c := newCylinder(e, g, &m.shaft, ph)
		c.turn = min(max(mesh*turnPerMesh, 0.012), 0.035)
		m.cyl = append(m.cyl, c)
	}
	m.buildInlet(b, mesh)
	m.buildOutlet(b, mesh*exhaustMesh)
	var err error
	if m.net, err = b.Build(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrEngine, err)
	}
	m.drawn, m.given = make([]float64, len(m.cyl)), make([]float64, len(m.cyl))
	m.net.Watch(m.count)
	return m, nil
}

// count adds up what the valves passed in a step of dt [s].
func (m *machine) count(_ *wave.Network, dt float64) {
	for i, p := range m.runner {
		m.drawn[i] += p.Right().Mass() * dt
	}
	for i, p := range m.exhaust {
		m.given[i] -= p.Left().Mass() * dt
	}
	for i, r := range m.direct {
		m.given[i] += r.Mass() * dt
	}
}

// wall returns a wall at temperature first [K] up to x [m], and at then [K] beyond.
func (m *machine) wall(first, x, then float64) *wave.Wall {
	if m.e.Heat.Model == NoHeat {
		return nil
	}
	return &wave.Wall{Temperature: func(at float64) float64 {
		if at <= x {
			return first
		}
		return then
	}}
}

func (m *machine) extend(radius float64, flanged bool) float64 {
	switch {
	case m.e.Inlet.NoCorrection:
		return 0
	case flanged:
		return wave.EndCorrectionFlanged(radius)
	}
	return wave.EndCorrectionUnflanged(radius)
}

func (m *machine) buildInlet(b *wave.Builder, mesh float64) {
	e, in := m.e, m.e.Inlet
	air := e.Air
	plenums := 0
	switch in.Layout {
	case CommonPlenum:
		plenums = 1
	case TwoPlenums:
		plenums = 2
	case Individual:
	}
	for k := range plenums {
		v := wave.NewVolume(m.g.pipe, in.Plenum, air.Pressure, air.Temperature, 0)
		m.plenum = append(m.plenum, v)
		m.feedPlenum(b, v, k, mesh)
	}
	areas, reverse := areasOf(e.Intake, e.In)
	for i, c := range m.cyl {
		area, length := e.runnerArea(i)
		r := in.Runners[i]
		radius := math.Sqrt(area(0) / math.Pi)
		d := wave.Duct{
			Name: fmt.Sprintf("runner %d", i+1), Length: length, Area: area, Mesh: mesh,
			ExtendLeft: m.extend(radius, in.Layout != Individual), Friction: in.Wall, Wall: m.wall(in.WallTemp, r.Length, in.PortTemp),
		}
		if r.Loss > 0 {
			d.Losses = append(d.Losses, wave.Loss{From: 0, To: r.Length, K: r.Loss})
		}
		if in.PortLoss > 0 && length > r.Length {
			d.Losses = append(d.Losses, wave.Loss{From: r.Length, To: length, K: in.PortLoss})
		}
		var from wave.Vessel = m.room
		entry := in.EntryLoss
		if in.Layout == Individual {
			if k := throttleLoss(area(0), in.Throttle); k > 0 {
				d.Losses = append(d.Losses, wave.Loss{From: 0, To: min(0.05, r.Length), K: k})
			}
		} else {
			from, entry = m.plenum[i*plenums/len(m.cyl)], in.RunnerLoss
		}
		p := b.Pipe(d, air.Pressure, air.Temperature, 0)
		m.runner = append(m.runner, p)
		c.open[0] = &valve{cyl: c, areas: areas, reverse: reverse, outward: true}
		b.Join(&wave.Mouth{Pipe: p.Left(), Vessel: from, EntryLoss: entry}, &wave.Orifice{Pipe: p.Right(), Vessel: c, Opening: c.open[0]})
	}
}

// throttleLoss returns the loss coefficient [-] on area a [m²] of a throttle of effective area ae [m²] in a pipe that goes on.
//
//	K = (A/A_e)² − 1
//
// The effective area of a throttle flowed alone has its exit head within, K = 1, which the pipe behind it keeps. Definition.
func throttleLoss(a, ae float64) float64 {
	if ae <= 0 || ae >= a {
		return 0
	}
	return a/ae*(a/ae) - 1
}

// feedPlenum leads the room's air into plenum k: through duct and throttle, or either.
func (m *machine) feedPlenum(b *wave.Builder, v *wave.Volume, k int, mesh float64) {
	in, air := m.e.Inlet, m.e.Air
	if in.DuctLength <= 0 || in.DuctBore <= 0 {
		b.Join(&wave.Restriction{From: m.room, To: v, Opening: wave.Fixed(in.Throttle)})
		return
	}
	d := wave.Duct{
		Name: fmt.Sprintf("inlet duct %d", k+1), Length: in.DuctLength, Area: wave.Round(in.DuctBore), Mesh: mesh,
		ExtendLeft: m.extend(in.DuctBore/2, false), Friction: in.Wall,
	}
	p := b.Pipe(d, air.Pressure, air.Temperature, 0)
	b.Join(&wave.Mouth{Pipe: p.Left(), Vessel: m.room, EntryLoss: in.EntryLoss})
	if in.Throttle > 0 {
		b.Join(&wave.Orifice{Pipe: p.Right(), Vessel: v, Opening: wave.Fixed(in.Throttle)})
	} else {
		b.Join(&wave.Mouth{Pipe: p.Right(), Vessel: v})
	}
}

// First filling of a fired engine's exhaust [K].
const exhaustStart = 950.0

func (m *machine) buildOutlet(b *wave.Builder, mesh float64) {
	e, out := m.e, m.e.Outlet
	areas, reverse := areasOf(e.Exhaust, e.Out)
	temp, y := exhaustStart, 1.0
	if e.Motored {
		temp, y = e.Air.Temperature, 0
	}
	for i, c := range m.cyl {
		c.open[1] = &valve{cyl: c, areas: areas, reverse: reverse, outward: out.Direct}
		if out.Direct {
			r := &wave.Restriction{From: c, To: m.tail, Opening: c.open[1]}
			m.direct = append(m.direct, r)
			b.Join(r)
			continue
		}
		length, area := m.exhaustArea()
		d := wave.Duct{
			Name: fmt.Sprintf("exhaust %d", i+1), Length: length, Area: area, Mesh: mesh, Friction: out.Wall, Wall: m.wall(out.WallTemp, math.Inf(1), 0),
		}
		if out.Collectors == 0 {
			d.ExtendRight = m.extend(out.Bore/2, false)
		}
		p := b.Pipe(d, e.Air.Pressure+out.Back, temp, y)
		m.exhaust = append(m.exhaust, p)
		b.Join(&wave.Orifice{Pipe: p.Left(), Vessel: c, Opening: c.open[1]})
		if out.Collectors == 0 {
			b.Join(&wave.Mouth{Pipe: p.Right(), Vessel: m.tail, EntryLoss: 0.5})
		}
	}
	if !out.Direct && out.Collectors > 0 {
		m.collect(b, mesh, temp, y)
	}
}

func (m *machine) exhaustArea() (length float64, area func(x float64) float64) {
	out := m.e.Outlet
	if out.PortLength <= 0 || out.PortBore <= 0 {
		return out.Length, wave.Round(out.Bore)
	}
	port, pipe := math.Pi/4*out.PortBore*out.PortBore, math.Pi/4*out.Bore*out.Bore
	blend := min(0.02, out.Length/4)
	return out.PortLength + out.Length, wave.Stations([]wave.Station{
		{X: 0, Area: port}, {X: out.PortLength, Area: port}, {X: out.PortLength + blend, Area: pipe},
	})
}

// collect joins the primaries of neighbouring cylinders into collectors.
func (m *machine) collect(b *wave.Builder, mesh, temp, y float64) {
	out := m.e.Outlet
	n := min(out.Collectors, len(m.exhaust))
	for k := range n {
		d := wave.Duct{
			Name: fmt.Sprintf("collector %d", k+1), Length: out.TailLength, Area: wave.Round(out.TailBore), Mesh: mesh,
			ExtendRight: m.extend(out.TailBore/2, false), Friction: out.Wall, Wall: m.wall(out.WallTemp, math.Inf(1), 0),
		}
		p := b.Pipe(d, m.e.Air.Pressure+out.Back, temp, y)
		ends := []wave.End{p.Left()}
		for i, q := range m.exhaust {
			if i*n/len(m.exhaust) == k {
				ends = append(ends, q.Right())
			}
		}
		b.Join(&wave.Junction{Pipes: ends}, &wave.Mouth{Pipe: p.Right(), Vessel: m.tail, EntryLoss: 0.5})
	}
}

// set takes the machine to speed n [rev/s], keeping the gas in it.
func (m *machine) set(n float64) {
	m.speed = n
	e := m.e
	m.shaft.spin(2 * math.Pi * n)
	for _, c := range m.cyl {
		c.walls.sp = e.Crank.MeanPistonSpeed(n)
		if c.burn != nil {
			c.burn.law = e.Burn.law(n, e.Crank.Bore)
			c.burn.whole = -math.Expm1(-c.burn.law.A)
			c.burn.end = c.burn.law.Start + c.burn.law.Duration
		}
	}
	m.net.SetTime(0)
}

// law returns the Wiebe law at speed n [rev/s] for bore [m].
func (b Burn) law(n, bore float64) Wiebe {
	d := b.Duration
	if d == 0 {
		d = DefaultBurnDuration(n, bore)
	}
	if b.Stretch != 0 {
		d *= b.Stretch
	}
	w := WiebeOf(b.CA50, d, b.M)
	if b.Start != 0 {
		w.Start = -b.Start
	}
	return w
}

// start fills the cylinders for a cold start.
func (m *machine) start() {
	temp, y := 500.0, 0.1
	if m.e.Motored {
		temp, y = m.e.Air.Temperature, 0
	}
	for _, c := range m.cyl {
		c.start(m.e.Air.Pressure, temp, y)
	}
}
