package wave

import (
	"math"
	"testing"
)

// twoVessels returns a network of a volume and a room joined by a restriction.
func twoVessels(t testing.TB, gas *Gas, v *Volume, r *Room, area, step float64) *Network {
	t.Helper()
	b := NewBuilder(gas)
	b.MaxStep = step
	b.Join(&Restriction{From: v, To: r, Opening: Fixed(area)})
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	return net
}

// TestBlowdown: a vessel of 1 L at 5 bar and 293.15 K empties through 20 mm² while choked:
// 4.4776, 3.8066, 3.2481 bar after 20, 50, 80 ms, computed from
// p = p₀·[1 + (γ−1)/2·(2/(γ+1))^((γ+1)/(2(γ−1)))·CdA·a₀·t/V]^(−2γ/(γ−1))
// (choked blowdown of a perfect gas: any textbook on gas dynamics; worked out outside this code); 0.02 % is asked, the round-off of the printed values and the
// second-order step.
func TestBlowdown(t *testing.T) {
	gas := ConstantGas(1.4, 287.05)
	v := NewVolume(gas, 1e-3, 5e5, 293.15, 0)
	net := twoVessels(t, gas, v, NewRoom(gas, 101325, 293.15, 0), 20e-6, 2e-4)
	for _, c := range []struct{ at, want float64 }{{0.02, 4.4776e5}, {0.05, 3.8066e5}, {0.08, 3.2481e5}} {
		if err := net.Advance(c.at); err != nil {
			t.Fatal(err)
		}
		if d := v.Now().P/c.want - 1; math.Abs(d) > 2e-4 {
			t.Errorf("p(%g s) = %.6g Pa, want %.6g (%.2e)", c.at, v.Now().P, c.want, d)
		}
	}
}

// TestFilling: an adiabatic vessel fills from a room. While the flow is choked the
// pressure rises straight, dp/dt = γ·R·T₀·ṁ/V (energy balance); when it is full
// the mass taken in obeys ΔU = m·cp·T₀, so that T = T₀·γ/(1 + (γ−1)·p_i·T₀/(p₀·T_i))
// for T_i = T₀ (textbook). 0.1 % and 0.01 %.
func TestFilling(t *testing.T) {
	const p0, t0, pi, gamma, r, vol, area = 2e5, 300, 0.2e5, 1.4, 287.05, 1e-3, 20e-6
	gas := ConstantGas(gamma, r)
	v := NewVolume(gas, vol, pi, t0, 0)
	net := twoVessels(t, gas, v, NewRoom(gas, p0, t0, 0), area, 2e-4)
	// 0.68473 is √γ·(2/(γ+1))^((γ+1)/(2(γ−1))) (isentropic_naca1135.csv, M = 1).
	flow := isentropicRows(t)[1].Num(t, "massflow_param") * area * p0 / math.Sqrt(r*t0)
	rate := gamma * r * t0 * flow / vol
	const at = 0.02
	if rate*at+pi > 0.52*p0 {
		t.Fatal("the check must end while the flow is choked")
	}
	if err := net.Advance(at); err != nil {
		t.Fatal(err)
	}
	if d := v.Now().P/(pi+rate*at) - 1; math.Abs(d) > 1e-3 {
		t.Errorf("choked filling: p = %.6g Pa, want %.6g", v.Now().P, pi+rate*at)
	}
	if err := net.Advance(1); err != nil {
		t.Fatal(err)
	}
	full := v.Now()
	want := t0 * gamma / (1 + (gamma-1)*pi/p0)
	if math.Abs(full.P/p0-1) > 1e-4 || math.Abs(full.T/want-1) > 1e-4 {
		t.Errorf("full vessel: %.6g Pa, %.4f K, want %.6g and %.4f", full.P, full.T, p0, want)
	}
}

// TestOrificeSteady: a pipe fed from a room through a full mouth and closed by
// an orifice to another room passes ṁ = A_e·p₀/√(RT₀)·ψ(p/p₀) once steady,
// both ways round, subsonic and choked: the nozzle function of
// isentropic_naca1135.csv at the pressure ratios of its Mach numbers, within
// 0.1 %. Into the pipe the throat sees the pressure of the pipe end, and the jet
// is lost there: the pipe behind an orifice adds its velocity head, so the area
// is kept small for that direction.
func TestOrificeSteady(t *testing.T) {
	const p0, t0, r, pipe = 1.5e5, 320, 287.05, 1e-3
	gas := ConstantGas(1.4, r)
	file := isentropicRows(t)
	for _, m := range []float64{0.1, 0.3, 0.5, 0.8, 1, 1.4} {
		for _, into := range []bool{false, true} {
			ae := 0.5 * pipe
			if into {
				ae = 0.02 * pipe
			}
			pe := p0 * file[m].Num(t, "p_p0")
			psi := file[1.0].Num(t, "massflow_param")
			if m < 1 {
				psi = file[m].Num(t, "massflow_param")
			}
			want := ae * p0 / math.Sqrt(r*t0) * psi
			b := NewBuilder(gas)
			high, low := NewRoom(gas, p0, t0, 0), NewRoom(gas, pe, t0, 0)
			start := p0
			if into {
				start = pe
			}
			p := b.Pipe(Duct{Name: "pipe", Length: 0.2, Area: Uniform(pipe), Cells: 20, Friction: Darcy(0)}, start, t0, 0)
			if into {
				b.Join(&Orifice{Pipe: p.Left(), Vessel: high, Opening: Fixed(ae)}, &Mouth{Pipe: p.Right(), Vessel: low})
			} else {
				b.Join(&Mouth{Pipe: p.Left(), Vessel: high}, &Orifice{Pipe: p.Right(), Vessel: low, Opening: Fixed(ae)})
			}
			net, err := b.Build()
			if err != nil {
				t.Fatal(err)
			}
			res, err := net.SteadyFlow(p.Right(), Steady{})
			if err != nil {
				t.Fatal(err)
			}
			d := res.Mass/want - 1
			t.Logf("M = %g into %v: %+.2e after %.3f s", m, into, d, res.Time)
			if math.Abs(d) > 1e-3 {
				t.Errorf("M = %g, into the pipe %v: ṁ = %.6g kg/s, want %.6g (%.2e)", m, into, res.Mass, want, d)
			}
		}
	}
}

// TestOrificeJetHeld: into a pipe whose gas runs away, a choked orifice passes A_e·p₀/√(RT₀)·ψ* (isentropic_naca1135.csv, M = 1;
// 1e-5, the digits of the file) and its jet fills the pipe's section at the speed of sound and no faster, with the whole enthalpy: for
// a calorically perfect gas T*/T₀ = 2/(γ+1) (NACA Report 1135, eq. 43, closed form, 1e-9).
func TestOrificeJetHeld(t *testing.T) {
	const p0, t0, g, r, area = 8e5, 1500, 1.4, 287.05, 1e-3
	v := ConstantGas(g, r).At(p0, t0, 0)
	psi := isentropicRows(t)[1].Num(t, "massflow_param")
	for _, phi := range []float64{0.05, 0.3, 1} {
		p := &Port{Area: area, Rho: 0.02, U: -900, P: 2e3, Beta: 2.5, Gamma: g}
		solveOrifice(p, &v, phi*area, phi*area)
		want := -phi * area * p0 / math.Sqrt(r*t0) * psi
		if math.Abs(p.Mass/want-1) > 1e-5 {
			t.Errorf("%g open: %.6g kg/s, want %.6g", phi, p.Mass, want)
		}
		if m := -p.FaceU / math.Sqrt(g*p.FaceP/p.FaceRho); math.Abs(m-1) > 1e-9 {
			t.Errorf("%g open: the jet fills the pipe at Mach %.6g, want 1", phi, m)
		}
		if c := p.FaceP / (p.FaceRho * r * t0) * (g + 1) / 2; math.Abs(c-1) > 1e-9 {
			t.Errorf("%g open: jet temperature %.6g of that at the speed of sound", phi, c)
		}
	}
}

// TestOrificeAjar: an opening of any smallness passes A_e·p₀/√(RT₀)·ψ* out of gas at rest, in the vessel or in the pipe
// (isentropic_naca1135.csv, M = 1), from the first step and after steps the other way. The tolerance is 1e-5, the digits of the file; out of
// the pipe also the share φ by which the wave of the gas that sets off lowers its pressure.
func TestOrificeAjar(t *testing.T) {
	const p0, t0, g, r, area = 8e5, 1500, 1.4, 287.05, 1e-3
	full, empty := ConstantGas(g, r).At(p0, t0, 0), ConstantGas(g, r).At(5e4, 300, 0)
	psi := isentropicRows(t)[1].Num(t, "massflow_param")
	for _, phi := range []float64{1e-8, 1e-6, 1e-4, 1e-3} {
		p := &Port{Area: area, Beta: 2.5, Gamma: g}
		want := phi * area * p0 / math.Sqrt(r*t0) * psi
		for range 3 {
			p.P, p.Rho = 1e5, 1.2
			solveOrifice(p, &full, phi*area, phi*area)
			if math.Abs(-p.Mass/want-1) > 1e-5 {
				t.Errorf("%g open: %.6g kg/s into the pipe, want %.6g", phi, -p.Mass, want)
			}
			p.P, p.Rho = p0, p0/(r*t0)
			solveOrifice(p, &empty, phi*area, phi*area)
			if math.Abs(p.Mass/want-1) > 1e-5+phi {
				t.Errorf("%g open: %.6g kg/s out of the pipe, want %.6g", phi, p.Mass, want)
			}
		}
	}
}

// TestOrificeRunaway: hot gas at 8 bar behind a valve hardly open blows into a pipe of three cells whose cold, thin gas runs away from the
// valve. The coarsest pipe there is must take it without being emptied, and mass must balance to round-off.
func TestOrificeRunaway(t *testing.T) {
	gas := ConstantGas(1.4, 287.05)
	b := NewBuilder(gas)
	v, room := NewVolume(gas, 5e-4, 8e5, 1500, 1), NewRoom(gas, 1e3, 300, 0)
	p := b.PipeWith(Duct{Name: "pipe", Length: 0.15, Area: Uniform(1e-3), Cells: 3}, func(float64) Fill { return Fill{P: 1e4, T: 300, U: 900} })
	b.Join(&Orifice{Pipe: p.Left(), Vessel: v, Opening: Fixed(2e-5)}, &Mouth{Pipe: p.Right(), Vessel: room})
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	m0, _, _ := v.Contents()
	before := m0 + p.Mass()
	for net.Time() < 5e-3 {
		if _, err := net.Step(); err != nil {
			t.Fatal(err)
		}
		if q := p.Left().Port(); -q.FaceU > math.Sqrt(1.4*q.FaceP/q.FaceRho)*(1+1e-9) {
			t.Fatalf("jet of %.0f m/s after %d steps", -q.FaceU, net.steps)
		}
	}
	m1, _, _ := v.Contents()
	gone, _, _ := room.Taken()
	if d := (m1 + p.Mass() + gone) / before; math.Abs(d-1) > 1e-12 {
		t.Errorf("mass over that before %.15g", d)
	}
}
