package wave

import (
	"math"
	"testing"

	"runnel/internal/tabletest"
)

// areaRatio returns A/A* [-] at Mach number m (NACA Report 1135, eq. 80).
func areaRatio(m, g float64) float64 {
	k := (g + 1) / (2 * (g - 1))
	return math.Pow(2/(g+1)*(1+(g-1)/2*m*m), k) / m
}

// machOf returns the subsonic Mach number of area ratio a by bisection.
func machOf(a, g float64) float64 {
	lo, hi := 1e-6, 1.0
	for range 200 {
		m := 0.5 * (lo + hi)
		if areaRatio(m, g) > a {
			lo = m
		} else {
			hi = m
		}
	}
	return lo
}

// isentropicRows returns the rows of isentropic_naca1135.csv for γ = 1.4.
func isentropicRows(t testing.TB) map[float64]tabletest.Row {
	t.Helper()
	out := map[float64]tabletest.Row{}
	for _, r := range tabletest.Read(t, "testdata/isentropic_naca1135.csv", 1) {
		if r.Num(t, "gamma") == 1.4 {
			out[r.Num(t, "M")] = r
		}
	}
	return out
}

// nozzle runs a convergent–divergent nozzle, in which the Mach number of the
// full expansion rises straight from m0 to m1 along one metre, to steady flow.
func nozzle(t testing.TB, cells int, m0, m1, pBack float64, start func(x float64) Fill) (*Pipe, SteadyResult) {
	t.Helper()
	const p0, t0, g, r = 1e5, 300, 1.4, 287.05
	gas := ConstantGas(g, r)
	b := NewBuilder(gas)
	area := func(x float64) float64 { return 1e-3 * areaRatio(m0+(m1-m0)*x, g) }
	if start == nil {
		start = func(x float64) Fill {
			m := m0 + (m1-m0)*x
			k := 1 + (g-1)/2*m*m
			return Fill{P: p0 * math.Pow(k, -g/(g-1)), T: t0 / k, U: 0.9 * m * math.Sqrt(g*r*t0/k)}
		}
	}
	p := b.PipeWith(Duct{Name: "nozzle", Length: 1, Area: area, Cells: cells}, start)
	b.Join(&Mouth{Pipe: p.Left(), Vessel: NewRoom(gas, p0, t0, 0)}, &Mouth{Pipe: p.Right(), Vessel: NewRoom(gas, pBack, t0, 0)})
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	res, err := net.SteadyFlow(p.Right(), Steady{Tolerance: 2e-5})
	if err != nil {
		t.Fatal(err)
	}
	return p, res
}

// TestNozzleIsentropic: steady choked flow to supersonic speed in a nozzle
// whose area follows A/A*(M) with M straight along it, so that every Mach
// number of isentropic_naca1135.csv is met at a known place. The pressure
// there must be that of the file within 0.3 % on 200 cells, falling by a factor
// of three or more to 400, and the mass flow that of the file's mass-flow
// parameter within 0.1 %.
func TestNozzleIsentropic(t *testing.T) {
	const p0, t0, r, m0, m1 = 1e5, 300, 287.05, 0.2, 2.0
	file := isentropicRows(t)
	flow := file[1.0].Num(t, "massflow_param") * 1e-3 * p0 / math.Sqrt(r*t0)
	var worst [2]float64
	for i, n := range []int{100, 200} {
		p, res := nozzle(t, n, m0, m1, 2e3, nil)
		seen := 0
		for m, w := range file {
			if m <= m0+0.02 || m >= m1-0.02 {
				continue
			}
			seen++
			got := p.At((m - m0) / (m1 - m0))
			worst[i] = max(worst[i], math.Abs(got.P/(p0*w.Num(t, "p_p0"))-1))
			worst[i] = max(worst[i], math.Abs(got.T/(t0*w.Num(t, "T_T0"))-1))
		}
		if seen < 12 {
			t.Fatalf("only %d Mach numbers compared", seen)
		}
		t.Logf("N = %d: worst p, T deviation %.2e; mass flow off by %.2e", n, worst[i], res.Mass/flow-1)
		if d := math.Abs(res.Mass/flow - 1); d > 1e-3 {
			t.Errorf("N = %d: mass flow off by %.2e, want ≤ 1e-3", n, d)
		}
	}
	if worst[1] > 3e-3 || worst[0]/worst[1] < 3 {
		t.Errorf("deviation %.2e and %.2e, want ≤ 3e-3 and a factor of 3 or more", worst[0], worst[1])
	}
}

// TestNozzleShock: with the back pressure that puts a normal shock of
// normal_shock.csv at a known place of the divergent, the shock stands within
// one cell of it, and the pressure behind it rises by the file's ratio.
func TestNozzleShock(t *testing.T) {
	const p0, g, m0, m1, n = 1e5, 1.4, 0.3, 2.2, 200
	iso := isentropicRows(t)
	for _, r := range tabletest.Read(t, "testdata/normal_shock.csv", 1) {
		ms := r.Num(t, "M1")
		if r.Num(t, "gamma") != g || ms < 1.35 || ms > 1.9 {
			continue
		}
		// Behind the shock A* grows by p01/p02; the exit Mach number follows.
		ratio := r.Num(t, "p02_p01")
		me := machOf(areaRatio(m1, g)*ratio, g)
		pe := p0 * ratio * math.Pow(1+(g-1)/2*me*me, -g/(g-1))
		xs := (ms - m0) / (m1 - m0)
		start := func(x float64) Fill {
			m := m0 + (m1-m0)*x
			pt := p0
			if x > xs-0.1 { // off by a tenth of the length: it must travel home
				m, pt = machOf(areaRatio(m, g)*ratio, g), p0*ratio
				if m >= 0.999 {
					m = 0.9
				}
			}
			k := 1 + (g-1)/2*m*m
			return Fill{P: pt * math.Pow(k, -g/(g-1)), T: 300 / k, U: m * math.Sqrt(g*287.05*300/k)}
		}
		p, _ := nozzle(t, n, m0, m1, pe, start)
		before := iso[ms].Num(t, "p_p0") * p0
		mid := before * 0.5 * (1 + r.Num(t, "p2_p1"))
		at := -1.0
		for i := int(0.4 * n); i < n-1; i++ {
			a, b := p.Cell(i), p.Cell(i+1)
			if a.P < mid && b.P >= mid {
				at = a.X + (b.X-a.X)*(mid-a.P)/(b.P-a.P)
			}
		}
		t.Logf("M1 = %g: shock at %.4f m, exact %.4f m, cell %.4f m", ms, at, xs, p.CellLength())
		if math.Abs(at-xs) > p.CellLength() {
			t.Errorf("M1 = %g: shock at %.4f m, want %.4f within a cell of %.4f m", ms, at, xs, p.CellLength())
		}
		// Three cells on either side the pressure is on its branch again.
		for _, side := range []float64{-3, 3} {
			x := xs + side*p.CellLength()
			m, pt := m0+(m1-m0)*x, p0
			if side > 0 {
				m, pt = machOf(areaRatio(m, g)*ratio, g), p0*ratio
			}
			want := pt * math.Pow(1+(g-1)/2*m*m, -g/(g-1))
			if d := math.Abs(p.At(x).P/want - 1); d > 0.02 {
				t.Errorf("M1 = %g: p at %+g cells off by %.3f", ms, side, d)
			}
		}
	}
}

// TestNozzleSubsonic: a Venturi run subsonic passes the exact isentropic mass
// flow and keeps its total pressure: 0.1 % on 100 cells.
func TestNozzleSubsonic(t *testing.T) {
	const p0, t0, g, r = 1e5, 300, 1.4, 287.05
	file := isentropicRows(t)
	gas := ConstantGas(g, r)
	for _, me := range []float64{0.1, 0.3, 0.5} {
		w := file[me]
		b := NewBuilder(gas)
		// From the exit area, narrowing smoothly to 0.8 of it and back.
		area := func(x float64) float64 { return 1e-3 * (1 - 0.1*(1-math.Cos(2*math.Pi*x))) }
		pe := p0 * w.Num(t, "p_p0")
		p := b.Pipe(Duct{Name: "venturi", Length: 1, Area: area, Cells: 100}, pe, t0, 0)
		b.Join(&Mouth{Pipe: p.Left(), Vessel: NewRoom(gas, p0, t0, 0)}, &Mouth{Pipe: p.Right(), Vessel: NewRoom(gas, pe, t0, 0)})
		net, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		res, err := net.SteadyFlow(p.Right(), Steady{})
		if err != nil {
			t.Fatal(err)
		}
		want := w.Num(t, "massflow_param") * 1e-3 * p0 / math.Sqrt(r*t0)
		t.Logf("M = %g: mass flow off by %.2e after %.3f s", me, res.Mass/want-1, res.Time)
		if d := math.Abs(res.Mass/want - 1); d > 1e-3 {
			t.Errorf("M = %g: mass flow %.6g kg/s, want %.6g", me, res.Mass, want)
		}
	}
}

// fannoRows returns the rows of fanno.csv for γ = 1.4.
func fannoRows(t testing.TB) map[float64]tabletest.Row {
	t.Helper()
	out := map[float64]tabletest.Row{}
	for _, r := range tabletest.Read(t, "testdata/fanno.csv", 1) {
		if r.Num(t, "gamma") == 1.4 {
			out[r.Num(t, "M")] = r
		}
	}
	return out
}

// TestFanno: steady adiabatic flow with friction in a straight pipe whose
// length takes it from M = 0.3 to 0.7 by fanno.csv. In between, where the file
// gives 0.4, 0.5, 0.6, the pressure must be the file's within 0.2 %, and the mass
// flow that of M = 0.3 within 0.2 %. The same loss entered as a spread loss
// coefficient gives the same flow, since K·½ρu² per length is f/D·½ρu².
func TestFanno(t *testing.T) {
	const p0, t0, r, f, d = 2e5, 300, 287.05, 0.02, 0.02
	fan, iso := fannoRows(t), isentropicRows(t)
	fl := func(m float64) float64 { return fan[m].Num(t, "fL4_D") }
	pr := func(m float64) float64 { return fan[m].Num(t, "p_pstar") }
	length := (fl(0.3) - fl(0.7)) * d / f
	p1 := p0 * iso[0.3].Num(t, "p_p0")
	want := iso[0.3].Num(t, "massflow_param") * math.Pi / 4 * d * d * p0 / math.Sqrt(r*t0)
	gas := ConstantGas(1.4, r)
	for _, c := range []struct {
		name     string
		friction Friction
		losses   []Loss
	}{
		{"friction", Darcy(f), nil},
		{"spread loss", nil, []Loss{{0, length, f * length / d}}},
	} {
		b := NewBuilder(gas)
		pe := p1 * pr(0.7) / pr(0.3)
		p := b.Pipe(Duct{Name: c.name, Length: length, Area: Round(d), Cells: 100, Friction: c.friction, Losses: c.losses}, pe, t0, 0)
		b.Join(&Mouth{Pipe: p.Left(), Vessel: NewRoom(gas, p0, t0, 0)}, &Mouth{Pipe: p.Right(), Vessel: NewRoom(gas, pe, t0, 0)})
		net, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		res, err := net.SteadyFlow(p.Right(), Steady{})
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: mass flow off by %.2e", c.name, res.Mass/want-1)
		if e := math.Abs(res.Mass/want - 1); e > 2e-3 {
			t.Errorf("%s: mass flow %.6g kg/s, want %.6g", c.name, res.Mass, want)
		}
		for _, m := range []float64{0.4, 0.5, 0.6} {
			x := (fl(0.3) - fl(m)) * d / f
			got, w := p.At(x), p1*pr(m)/pr(0.3)
			t.Logf("%s: M = %g at %.3f m: p off by %.2e", c.name, m, x, got.P/w-1)
			if e := math.Abs(got.P/w - 1); e > 2e-3 {
				t.Errorf("%s: M = %g: p = %.6g, want %.6g", c.name, m, got.P, w)
			}
		}
	}
}

// TestFannoChoked: a long pipe into a near vacuum chokes at its end; the flow is
// that of fanno.csv for the pipe's 4fL*/D, M = 0.3 at entry, within 0.5 % (the
// gradient at the sonic end is infinite, and the mesh finite).
func TestFannoChoked(t *testing.T) {
	const p0, t0, r, f, d = 2e5, 300, 287.05, 0.02, 0.02
	fan, iso := fannoRows(t), isentropicRows(t)
	length := fan[0.3].Num(t, "fL4_D") * d / f
	want := iso[0.3].Num(t, "massflow_param") * math.Pi / 4 * d * d * p0 / math.Sqrt(r*t0)
	gas := ConstantGas(1.4, r)
	b := NewBuilder(gas)
	p := b.Pipe(Duct{Name: "long", Length: length, Area: Round(d), Cells: 150, Friction: Darcy(f)}, 5e4, t0, 0)
	b.Join(&Mouth{Pipe: p.Left(), Vessel: NewRoom(gas, p0, t0, 0)}, &Mouth{Pipe: p.Right(), Vessel: NewRoom(gas, 1e3, t0, 0)})
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	res, err := net.SteadyFlow(p.Right(), Steady{})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("choked: mass flow off by %.2e", res.Mass/want-1)
	if e := math.Abs(res.Mass/want - 1); e > 5e-3 {
		t.Errorf("mass flow %.6g kg/s, want %.6g", res.Mass, want)
	}
}
