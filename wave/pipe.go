package wave

// A Pipe is a duct in a network, with its gas.
type Pipe struct {
	duct  Duct
	bank  *bank
	lane  int
	dx    float64 // cell length [m]
	wet   bool    // has friction, losses or wall heat
	usual bool    // friction is Rough or none, wall heat Manifold or none
	order int     // place in the builder's list

	start func(x float64) Fill // the gas before the first step
	ports [2]Port              // left, right
}

// A Fill is gas to put into a pipe.
type Fill struct {
	P float64 // absolute static pressure [Pa]
	T float64 // static temperature [K]
	U float64 // velocity, towards the right end [m/s]
	Y float64 // burned mass fraction [-]
}

// A Flow is the gas in one cell of a pipe, or at one of its ends.
type Flow struct {
	X   float64 // distance from the left end of the duct [m]
	P   float64 // absolute static pressure [Pa]
	T   float64 // static temperature [K]
	U   float64 // velocity, towards the right end [m/s]
	Rho float64 // density [kg/m³]
	Y   float64 // burned mass fraction [-]
	A   float64 // speed of sound [m/s]
}

// Left returns the end at x = 0.
func (p *Pipe) Left() End { return End{pipe: p} }

// Right returns the end at x = Length.
func (p *Pipe) Right() End { return End{pipe: p, right: true} }

// Name returns the name of the duct.
func (p *Pipe) Name() string { return p.duct.Name }

// Duct returns the description the pipe was made from.
func (p *Pipe) Duct() Duct { return p.duct }

// Cells returns the number of cells.
func (p *Pipe) Cells() int { return p.bank.n }

// CellLength returns the length of a cell [m].
func (p *Pipe) CellLength() float64 { return p.dx }

// Volume returns the volume of the pipe with its end corrections [m³].
func (p *Pipe) Volume() float64 {
	v := 0.0
	for i := range p.bank.n {
		v += p.bank.wall[i].volume[p.lane]
	}
	return v
}

// Cell returns the gas in cell i.
func (p *Pipe) Cell(i int) Flow {
	if i < 0 || i >= p.bank.n {
		panic("wave: no such cell")
	}
	b, l, j := p.bank, p.lane, i+1
	f := Flow{
		X: (float64(i)+0.5)*p.dx - p.duct.ExtendLeft,
		P: b.cell[j].p[l], U: b.cell[j].u[l], Rho: b.cell[j].rho[l], Y: b.cell[j].y[l],
	}
	f.T = f.P / (f.Rho * b.gas.R(f.Y))
	f.A = b.cell[j].sound[l]
	return f
}

// At returns the gas at x [m], interpolated straight between cell centres.
func (p *Pipe) At(x float64) Flow {
	s := (x+p.duct.ExtendLeft)/p.dx - 0.5
	i := min(max(int(s), 0), p.bank.n-2)
	w := min(max(s-float64(i), 0), 1)
	a, b := p.Cell(i), p.Cell(i+1)
	mix := func(x, y float64) float64 { return (1-w)*x + w*y }
	return Flow{
		X: x, P: mix(a.P, b.P), T: mix(a.T, b.T), U: mix(a.U, b.U),
		Rho: mix(a.Rho, b.Rho), Y: mix(a.Y, b.Y), A: mix(a.A, b.A),
	}
}

// Mass returns the gas mass in the pipe [kg].
func (p *Pipe) Mass() float64 { return p.sum(0) }

// Energy returns the internal and kinetic energy of the gas in the pipe [J].
func (p *Pipe) Energy() float64 { return p.sum(2) }

// Burned returns the burned mass in the pipe [kg].
func (p *Pipe) Burned() float64 { return p.sum(3) }

func (p *Pipe) sum(k int) float64 {
	s, lost := 0.0, 0.0
	for i := range p.bank.n {
		s, lost = addExact(s, lost, p.bank.now[i][k][p.lane]*p.bank.wall[i].volume[p.lane])
	}
	return s
}

// Fill puts gas into the pipe.
func (p *Pipe) Fill(gas func(x float64) Fill) {
	for i := range p.bank.n {
		f := gas((float64(i)+0.5)*p.dx - p.duct.ExtendLeft)
		p.bank.fill(i, p.lane, f.P, f.T, f.U, f.Y)
	}
	p.forget()
	p.bank.refresh()
}

// forget drops the first guesses of the joints.
func (p *Pipe) forget() {
	for k := range p.ports {
		p.ports[k].trail.lose()
	}
}

// SetLosses replaces the extra losses of the duct from now on. The duct keeps
// its mesh; it panics when a loss is ill-formed.
func (p *Pipe) SetLosses(losses []Loss) {
	d := p.duct
	d.Losses = losses
	if err := d.check(); err != nil {
		panic("wave: " + err.Error())
	}
	p.duct = d
	p.prepare()
	p.bank.walls(p.lane)
}

// area returns the area of the end face [m²].
func (e End) area() float64 {
	if e.right {
		return e.pipe.bank.face[e.pipe.bank.n].area[e.pipe.lane]
	}
	return e.pipe.bank.face[0].area[e.pipe.lane]
}

// port returns what the joint sees of the end.
func (e End) port() *Port {
	if e.right {
		return &e.pipe.ports[1]
	}
	return &e.pipe.ports[0]
}

// Port returns the answer of the joint at this end in the last step.
func (e End) Port() Port { return *e.port() }

// A tap is an end with what the step needs of it at hand.
type tap struct {
	port  *Port
	bank  *bank
	lane  int
	edge  *edge   // the state half a step ahead
	inner *cell   // the cell at the end
	ghost *cell   // and the one beyond
	face  *face   // the end face
	sign  float64 // of the way out of the pipe
	area  float64 // of the end face [m²]
	inv   float64 // sign over area [1/m²]
}

// tap returns the end as the step needs it.
func (e End) tap() tap {
	b := e.pipe.bank
	t := tap{port: e.port(), bank: b, lane: e.pipe.lane, edge: &b.ends[0], inner: &b.cell[1], ghost: &b.cell[0], face: &b.face[0], sign: -1}
	if e.right {
		t.edge, t.inner, t.ghost, t.face, t.sign = &b.ends[1], &b.cell[b.n], &b.cell[b.n+1], &b.face[b.n], 1
	}
	t.area = e.area()
	t.inv = t.sign / t.area
	return t
}

// arrive loads the port with the gas that arrives at the end.
func (t *tap) arrive() {
	p, s, c, l := t.port, t.edge, t.inner, t.lane&(lanes-1)
	p.Area = t.area
	p.Rho, p.U, p.P, p.Y = s.rho[l], t.sign*s.u[l], s.p[l], s.y[l]
	p.Beta, p.Gamma = c.beta[l], c.gamma[l]
}

// answer stores the flux the joint has decided on.
func (t *tap) answer() {
	p, f, l := t.port, t.face, t.lane&(lanes-1)
	f.flux[0][l], f.flux[1][l] = t.inv*p.Mass, p.Push
	f.flux[2][l], f.flux[3][l] = t.inv*p.Enthalpy, t.inv*p.Burned
}

// mirror sets the ghost cell so that the face lies halfway to it. For the
// composition the face's own value stands in the ghost cell: the limiter then
// keeps the reconstructed value within what the joint has let in.
func (t *tap) mirror() {
	p, c, g, l := t.port, t.inner, t.ghost, t.lane&(lanes-1)
	g.rho[l], g.u[l], g.p[l] = 2*p.FaceRho-c.rho[l], 2*t.sign*p.FaceU-c.u[l], 2*p.FaceP-c.p[l]
	g.y[l] = p.FaceY
}
