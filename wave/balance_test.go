package wave

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// manyJoints builds a network with every joint of the package, full of
// unequal gas, and returns its rooms.
func manyJoints(t testing.TB, gas *Gas, plainGo bool) (*Network, []*Room) {
	t.Helper()
	b := NewBuilder(gas)
	b.Plain = plainGo
	// Each pipe starts with a jump of pressure, temperature and composition.
	pipe := func(name string, length, d0, d1, p, temp, y float64) *Pipe {
		d := Duct{
			Name: name, Length: length, Area: Taper(d0, d1, length), Mesh: 0.015,
			Friction: Rough(3e-5), Losses: []Loss{{0, length / 2, 0.4}},
		}
		return b.PipeWith(d, func(x float64) Fill {
			f := Fill{P: p, T: temp, Y: y, U: 10}
			if x > length/2 {
				f.P *= 1.2
				f.T *= 0.8
				f.Y = 1 - y
			}
			return f
		})
	}
	rooms := []*Room{NewRoom(gas, 1e5, 300, 0), NewRoom(gas, 1.4e5, 320, 0.3)}
	plenum := NewVolume(gas, 2e-3, 0.8e5, 310, 0.1)
	small := NewVolume(gas, 5e-4, 4e5, 1100, 1)
	a := pipe("a", 0.3, 0.04, 0.04, 1e5, 300, 0)
	c := pipe("c", 0.31, 0.04, 0.05, 1.1e5, 350, 0.2)
	d := pipe("d", 0.25, 0.03, 0.03, 1.5e5, 600, 0.9)
	e := pipe("e", 0.4, 0.05, 0.045, 0.7e5, 280, 0.1)
	f := pipe("f", 0.2, 0.04, 0.04, 1e5, 300, 0)
	g := pipe("g", 0.35, 0.03, 0.035, 1.2e5, 500, 0.5)
	h := pipe("h", 0.5, 0.04, 0.04, 0.9e5, 800, 1)
	b.Join(
		&Mouth{Pipe: a.Left(), Vessel: rooms[0], EntryLoss: 0.5},
		&Mouth{Pipe: a.Right(), Vessel: plenum, EntryLoss: 0.1},
		&Mouth{Pipe: c.Left(), Vessel: plenum},
		&Orifice{Pipe: c.Right(), Vessel: small, Opening: Fixed(4e-4)},
		&Orifice{Pipe: d.Left(), Vessel: small, Opening: Fixed(3e-4)},
		&AreaStep{A: d.Right(), B: e.Left()},
		&Junction{Pipes: []End{e.Right(), f.Left(), g.Left()}, Loss: []float64{0.3, 0.2, 0}},
		&Neck{A: f.Right(), B: h.Left(), Opening: Fixed(5e-4)},
		&Closed{g.Right()},
		&Mouth{Pipe: h.Right(), Vessel: rooms[1]},
		&Restriction{From: rooms[1], To: plenum, Opening: Fixed(1e-4)},
	)
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return net, rooms
}

// TestJointsConserve: what pipes, volumes and rooms hold together stays the
// same, to round-off, in a network with every joint: mass, energy and burned
// mass. There is no wall heat, so energy is conserved too.
func TestJointsConserve(t *testing.T) {
	for name, gas := range twoGases(t) {
		net, rooms := manyJoints(t, gas, false)
		sum := func() [3]float64 {
			s := net.Totals()
			v := [3]float64{s.Mass, s.Energy, s.Burned}
			for _, r := range rooms {
				m, h, y := r.Taken()
				v[0] += m
				v[1] += h
				v[2] += y
			}
			return v
		}
		before := sum()
		for range 2000 {
			if _, err := net.Step(); err != nil {
				t.Fatal(err)
			}
		}
		after := sum()
		for k, q := range []string{"mass", "energy", "burned mass"} {
			d := after[k]/before[k] - 1
			t.Logf("%s gas: %s changed by %.1e in 2000 steps", name, q, d)
			if math.Abs(d) > 2e-13 {
				t.Errorf("%s gas: %s changed by %.2e of itself", name, q, d)
			}
		}
	}
}

// TestBurnedStaysBetween: the burned fraction stays between 0 and 1 in a
// network with every joint, save for rounding: the flux of burned mass is the mass
// flux times a reconstructed fraction that the limiter bounds.
func TestBurnedStaysBetween(t *testing.T) {
	net, _ := manyJoints(t, testGas(t), false)
	for range 1500 {
		if _, err := net.Step(); err != nil {
			t.Fatal(err)
		}
		for _, p := range net.Pipes() {
			for i := range p.Cells() {
				if y := p.Cell(i).Y; y < -1e-9 || y > 1+1e-9 {
					t.Fatalf("%s cell %d: Y = %g", p.Name(), i, y)
				}
			}
		}
	}
}

// TestMirror: a network turned end for end gives the mirrored flow.
func TestMirror(t *testing.T) {
	gas := testGas(t)
	run := func(turn bool) *Pipe {
		b := NewBuilder(gas)
		const l = 0.5
		x := func(x float64) float64 {
			if turn {
				return l - x
			}
			return x
		}
		sign := 1.0
		if turn {
			sign = -1
		}
		taper := Taper(0.03, 0.05, l)
		p := b.PipeWith(Duct{Name: "p", Length: l, Cells: 40, Area: func(s float64) float64 { return taper(x(s)) }, Friction: Darcy(0.02)},
			func(s float64) Fill {
				f := Fill{P: 1e5, T: 300, U: 30 * sign, Y: 0.1}
				if x(s) < 0.2 {
					f.P, f.T, f.Y = 2e5, 700, 0.9
				}
				return f
			})
		left, right := p.Left(), p.Right()
		if turn {
			left, right = right, left
		}
		b.Join(&Orifice{Pipe: left, Vessel: NewVolume(gas, 1e-3, 3e5, 900, 1), Opening: Fixed(3e-4)},
			&Mouth{Pipe: right, Vessel: NewRoom(gas, 1e5, 300, 0), EntryLoss: 0.5})
		net, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		if err := net.Advance(3e-3); err != nil {
			t.Fatal(err)
		}
		return p
	}
	a, m := run(false), run(true)
	for i := range 40 {
		f, g := a.Cell(i), m.Cell(39-i)
		if math.Abs(f.P/g.P-1) > 1e-10 || math.Abs(f.T/g.T-1) > 1e-10 || math.Abs(f.U+g.U) > 1e-8 || math.Abs(f.Y-g.Y) > 1e-10 {
			t.Errorf("cell %d: %+v and mirrored %+v", i, f, g)
		}
	}
}

// TestPositive: whatever gas a pipe is filled with and whatever stands at its
// ends, density and pressure stay positive and the step goes on.
func TestPositive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gas := ConstantGas(rapid.Float64Range(1.1, 1.67).Draw(t, "gamma"), 287)
		n := rapid.IntRange(4, 24).Draw(t, "n")
		b := NewBuilder(gas)
		area := func(float64) float64 { return 1e-3 }
		if rapid.Bool().Draw(t, "rough") {
			d := rapid.SliceOfN(rapid.Float64Range(0.02, 0.06), n, n).Draw(t, "d")
			area = func(x float64) float64 { return d[min(int(x*float64(n)), n-1)] * 0.02 }
		}
		states := make([]Fill, n)
		for i := range states {
			temp := math.Exp(rapid.Float64Range(5, 8).Draw(t, "lnT"))
			a := gas.SoundSpeed(temp, 0)
			states[i] = Fill{
				P: math.Exp(rapid.Float64Range(6, 15).Draw(t, "lnp")), T: temp,
				U: a * rapid.Float64Range(-2, 2).Draw(t, "M"), Y: rapid.Float64Range(0, 1).Draw(t, "Y"),
			}
		}
		p := b.PipeWith(Duct{Name: "p", Length: 1, Cells: n, Area: area, Friction: Rough(1e-4)},
			func(x float64) Fill { return states[min(int(x*float64(n)), n-1)] })
		end := func(e End, name string) Joint {
			v := NewRoom(gas, math.Exp(rapid.Float64Range(8, 14).Draw(t, name+"lnp")), rapid.Float64Range(200, 2500).Draw(t, name+"T"), 0.5)
			switch rapid.IntRange(0, 2).Draw(t, name) {
			case 0:
				return &Closed{e}
			case 1:
				return &Mouth{Pipe: e, Vessel: v, EntryLoss: rapid.Float64Range(0, 1).Draw(t, name+"K")}
			}
			return &Orifice{Pipe: e, Vessel: v, Opening: Fixed(rapid.Float64Range(0, 1e-3).Draw(t, name+"A"))}
		}
		b.Join(end(p.Left(), "left"), end(p.Right(), "right"))
		net, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		for range 40 {
			if _, err := net.Step(); err != nil {
				t.Fatal(err)
			}
			for i := range n {
				if f := p.Cell(i); !(f.Rho > 0) || !(f.P > 0) {
					t.Fatalf("cell %d: %+v", i, f)
				}
			}
		}
	})
}

// TestPositiveJoints: the same with junction, step and neck between pipes.
func TestPositiveJoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gas := ConstantGas(1.4, 287)
		b := NewBuilder(gas)
		pipe := func(name string) *Pipe {
			temp := rapid.Float64Range(200, 2000).Draw(t, name+"T")
			f := Fill{
				P: math.Exp(rapid.Float64Range(9, 14).Draw(t, name+"lnp")), T: temp,
				U: gas.SoundSpeed(temp, 0) * rapid.Float64Range(-0.9, 0.9).Draw(t, name+"M"),
			}
			d := Duct{Name: name, Length: 0.3, Area: Uniform(rapid.Float64Range(2e-4, 2e-3).Draw(t, name+"A")), Cells: 8}
			return b.PipeWith(d, func(float64) Fill { return f })
		}
		p, q, r, s := pipe("p"), pipe("q"), pipe("r"), pipe("s")
		b.Join(&Closed{p.Left()}, &AreaStep{A: p.Right(), B: q.Left()},
			&Junction{Pipes: []End{q.Right(), r.Left(), s.Left()}, Loss: []float64{0, rapid.Float64Range(0, 1).Draw(t, "K"), 0}},
			&Closed{r.Right()}, &Closed{s.Right()})
		net, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		before := net.Totals()
		for range 60 {
			if _, err := net.Step(); err != nil {
				t.Fatal(err)
			}
		}
		if after := net.Totals(); math.Abs(after.Mass/before.Mass-1) > 1e-12 || math.Abs(after.Energy/before.Energy-1) > 1e-12 {
			t.Fatalf("totals %+v, before %+v", after, before)
		}
	})
}
