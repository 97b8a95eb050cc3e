package wave

import (
	"errors"
	"math"
	"testing"
)

// TestSnapshotIsExact: a network restored from a snapshot goes on, to the last
// bit, as the one it was taken from.
func TestSnapshotIsExact(t *testing.T) {
	gas := testGas(t)
	a := eightPipes(t, gas, 0.015)
	steps := func(n *Network, k int) {
		for range k {
			if _, err := n.Step(); err != nil {
				t.Fatal(err)
			}
		}
	}
	steps(a, 150)
	b := eightPipes(t, gas, 0.015)
	b.CopyState(a)
	b.SetTime(a.Time())
	steps(a, 100)
	steps(b, 100)
	for k, p := range a.Pipes() {
		for i := range p.Cells() {
			f, g := p.Cell(i), b.Pipes()[k].Cell(i)
			if f != g {
				t.Fatalf("pipe %d cell %d: %+v and %+v", k, i, f, g)
			}
		}
	}
}

// TestSnapshotToOtherMesh: onto a finer mesh the mass is kept within 0.5 % and
// a wave within its own second difference.
func TestSnapshotToOtherMesh(t *testing.T) {
	gas := testGas(t)
	a := eightPipes(t, gas, 0.015)
	for range 100 {
		if _, err := a.Step(); err != nil {
			t.Fatal(err)
		}
	}
	b := eightPipes(t, gas, 0.007)
	b.Restore(a.Snapshot())
	ta, tb := a.Totals(), b.Totals()
	if math.Abs(tb.Mass/ta.Mass-1) > 5e-3 || math.Abs(tb.Energy/ta.Energy-1) > 5e-3 {
		t.Errorf("totals %+v on the finer mesh, %+v before", tb, ta)
	}
	p, q := a.Pipes()[0], b.Pipes()[0]
	for _, x := range []float64{0.1, 0.2, 0.3} {
		if f, g := p.At(x), q.At(x); math.Abs(f.P/g.P-1) > 0.01 {
			t.Errorf("at %g m: %g Pa and %g Pa", x, f.P, g.P)
		}
	}
	if _, err := b.Step(); err != nil {
		t.Fatal(err)
	}
}

// eightPipes returns the network of manyJoints on another mesh, without its rooms.
func eightPipes(t *testing.T, gas *Gas, mesh float64) *Network {
	t.Helper()
	b := NewBuilder(gas)
	room, plenum := NewRoom(gas, 1e5, 300, 0), NewVolume(gas, 2e-3, 0.7e5, 310, 0.1)
	b.Join(&Restriction{From: room, To: plenum, Opening: Fixed(2e-4)})
	for k := range 5 {
		l := 0.4 + 0.01*float64(k)
		p := b.PipeWith(Duct{Name: "p", Length: l, Area: Taper(0.04, 0.035, l), Mesh: mesh, Friction: Rough(1e-5)},
			func(x float64) Fill { return Fill{P: 1e5 + 3e4*math.Sin(8*x+float64(k)), T: 350, U: 20, Y: 0.3} })
		b.Join(&Mouth{Pipe: p.Left(), Vessel: plenum, EntryLoss: 0.2}, &Orifice{Pipe: p.Right(), Vessel: room, Opening: Fixed(3e-4)})
	}
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return net
}

func TestBuildRefuses(t *testing.T) {
	gas := ConstantGas(1.4, 287)
	good := Duct{Name: "d", Length: 1, Area: Round(0.04), Cells: 10}
	with := func(change func(d *Duct)) Duct {
		d := good
		change(&d)
		return d
	}
	for name, d := range map[string]Duct{
		"no length":         with(func(d *Duct) { d.Length = 0 }),
		"no area":           with(func(d *Duct) { d.Area = nil }),
		"closed area":       with(func(d *Duct) { d.Area = func(x float64) float64 { return 0.5 - x } }),
		"no mesh":           with(func(d *Duct) { d.Cells = 0 }),
		"too few cells":     with(func(d *Duct) { d.Cells = 2 }),
		"negative end":      with(func(d *Duct) { d.ExtendLeft = -0.1 }),
		"backward loss":     with(func(d *Duct) { d.Losses = []Loss{{0.5, 0.2, 1}} }),
		"negative loss":     with(func(d *Duct) { d.Losses = []Loss{{0, 1, -1}} }),
		"not a number long": with(func(d *Duct) { d.Length = math.NaN() }),
	} {
		b := NewBuilder(gas)
		p := b.Pipe(d, 1e5, 300, 0)
		b.Join(&Closed{p.Left()}, &Closed{p.Right()})
		if _, err := b.Build(); !errors.Is(err, ErrDuct) {
			t.Errorf("%s: %v, want ErrDuct", name, err)
		}
	}
	b := NewBuilder(gas)
	p := b.Pipe(good, 1e5, 300, 0)
	b.Join(&Closed{p.Left()})
	if _, err := b.Build(); !errors.Is(err, ErrNetwork) {
		t.Errorf("open end: %v, want ErrNetwork", err)
	}
	b.Join(&Closed{p.Right()}, &Closed{p.Right()})
	if _, err := b.Build(); !errors.Is(err, ErrNetwork) {
		t.Errorf("two joints on an end: %v, want ErrNetwork", err)
	}
	if _, err := NewBuilder(gas).Build(); !errors.Is(err, ErrNetwork) {
		t.Errorf("no pipes and no step: %v, want ErrNetwork", err)
	}
	b = NewBuilder(gas)
	b.Courant = 1.5
	p = b.Pipe(good, 1e5, 300, 0)
	b.Join(&Closed{p.Left()}, &Closed{p.Right()})
	if _, err := b.Build(); !errors.Is(err, ErrNetwork) {
		t.Errorf("Courant number 1.5: %v, want ErrNetwork", err)
	}
}

// TestSteadyFlowGivesUp: a flow that swings for ever is reported, not averaged away.
func TestSteadyFlowGivesUp(t *testing.T) {
	gas := ConstantGas(1.4, 287)
	b := NewBuilder(gas)
	p := b.PipeWith(Duct{Name: "p", Length: 1, Area: Round(0.04), Cells: 40}, func(x float64) Fill {
		return Fill{P: 1e5 + 2000*math.Sin(math.Pi*x/2), T: 300}
	})
	room := NewRoom(gas, 1e5, 300, 0)
	b.Join(&Mouth{Pipe: p.Left(), Vessel: room}, &Closed{p.Right()})
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	res, err := net.SteadyFlow(p.Left(), Steady{Limit: 0.05})
	if !errors.Is(err, ErrUnsettled) {
		t.Errorf("swinging flow: %+v, %v, want ErrUnsettled", res, err)
	}
}

// TestObservers: observers see every step and its length, and Advance ends on
// the time asked for.
func TestObservers(t *testing.T) {
	net := eightPipes(t, ConstantGas(1.4, 287), 0.015)
	sum, calls := 0.0, 0
	net.Watch(func(n *Network, dt float64) {
		sum += dt
		calls++
		if math.Abs(n.Time()-sum) > 1e-15 {
			t.Errorf("clock %g after steps of %g", n.Time(), sum)
		}
	})
	if err := net.Advance(1e-3); err != nil {
		t.Fatal(err)
	}
	if taken, _ := net.Steps(); net.Time() != 1e-3 || calls != taken || calls == 0 {
		t.Errorf("time %g, %d calls, %d steps", net.Time(), calls, taken)
	}
}

// TestLanesShared: pipes of nearly equal length share a bank; one that names
// its cells keeps them.
func TestLanesShared(t *testing.T) {
	gas := ConstantGas(1.4, 287)
	b := NewBuilder(gas)
	room := NewRoom(gas, 1e5, 300, 0)
	add := func(d Duct) *Pipe {
		d.Area = Round(0.04)
		p := b.Pipe(d, 1e5, 300, 0)
		b.Join(&Mouth{Pipe: p.Left(), Vessel: room}, &Mouth{Pipe: p.Right(), Vessel: room})
		return p
	}
	for _, l := range []float64{0.40, 0.41, 0.43, 0.44} {
		add(Duct{Length: l, Mesh: 0.015})
	}
	own := add(Duct{Length: 0.4, Cells: 28})
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	if own.Cells() != 28 {
		t.Errorf("%d cells, want 28", own.Cells())
	}
	if used, stepped := net.Cells(); stepped != 4*30+4*28 || used != 4*30+28 {
		t.Errorf("%d cells in %d stepped", used, stepped)
	}
	for _, p := range net.Pipes() {
		if p.CellLength() > 0.015+1e-12 {
			t.Errorf("cell of %g m, want no more than 0.015", p.CellLength())
		}
	}
}
