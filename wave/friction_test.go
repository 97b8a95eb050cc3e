package wave

import (
	"math"
	"testing"
)

// TestRoughFriction: the friction factor against the values of Colebrook's
// equation (J. Inst. Civ. Eng. 11 (1939) 133) at Re = 2e5, its root found outside
// this code: smooth 0.01564, ε/D 1e-4 0.01641, 1e-3 0.02103, 5e-3 0.03085:
// Haaland's form is within 1.5 % of it.
// Laminar flow is exact, and the factor is continuous at both switches.
func TestRoughFriction(t *testing.T) {
	const d = 0.04
	for _, c := range []struct{ rel, f float64 }{{0, 0.01564}, {1e-4, 0.01641}, {1e-3, 0.02103}, {5e-3, 0.03085}} {
		if got := Rough(c.rel*d).Factor(2e5, d); math.Abs(got/c.f-1) > 0.015 {
			t.Errorf("ε/D = %g: f = %.5f, want %.5f", c.rel, got, c.f)
		}
	}
	w := Rough(1e-5)
	if f := w.Factor(1000, d); math.Abs(f-0.064) > 1e-15 {
		t.Errorf("laminar f = %g, want 64/Re", f)
	}
	for _, re := range []float64{2000, 4000} {
		if a, b := w.Factor(re*(1-1e-9), d), w.Factor(re*(1+1e-9), d); math.Abs(a-b) > 1e-6*a {
			t.Errorf("Re = %g: f jumps from %g to %g", re, a, b)
		}
	}
	if f := w.Factor(0, d); math.IsInf(f, 0) || math.IsNaN(f) {
		t.Errorf("f at rest = %g", f)
	}
}

// TestViscosity: air at 300, 600 and 1000 K: 1.846, 3.058 and 4.244e-5 Pa s
// (tables of air at atmospheric pressure, from memory of Incropera & DeWitt,
// table A.4); Sutherland's law is within 3 %.
func TestViscosity(t *testing.T) {
	for _, c := range []struct{ t, mu float64 }{{300, 1.846e-5}, {600, 3.058e-5}, {1000, 4.244e-5}} {
		if mu := viscosity(c.t); math.Abs(mu/c.mu-1) > 0.03 {
			t.Errorf("µ(%g K) = %.4g, want %.4g", c.t, mu, c.mu)
		}
	}
	for at := 150.0; at < 4000; at += 3.7 {
		if d := viscosity(at)/sutherland(at) - 1; math.Abs(d) > 5e-4 {
			t.Errorf("table at %g K off by %.1e", at, d)
		}
	}
}

// TestNusselt: 0.07·Re^(3/4) and the analogy Nu = f/8·Re·Pr^(1/3), checked by math.Pow.
func TestNusselt(t *testing.T) {
	for _, re := range []float64{1e3, 1e4, 1e5} {
		if got, want := Manifold(re, 0, 0), 0.07*math.Pow(re, 0.75); math.Abs(got/want-1) > 1e-12 {
			t.Errorf("Manifold(%g) = %g, want %g", re, got, want)
		}
		if got, want := Reynolds(re, 0.02, 0.71), 0.0025*re*math.Pow(0.71, 1./3); math.Abs(got/max(want, 3.66)-1) > 1e-12 {
			t.Errorf("Reynolds(%g) = %g, want %g", re, got, want)
		}
	}
	if Manifold(0, 0, 0) != 3.66 || Reynolds(0, 0, 1) != 3.66 {
		t.Error("no lower bound of the Nusselt number")
	}
}

// TestWallHeat: gas that flows slowly through a heated pipe warms as
// (T_w − T)/(T_w − T₀) = exp(−St·4x/D), St = Nu/(Re·Pr) (energy balance of
// a pipe at constant wall temperature, textbook). With a constant Nusselt number
// the exponent is h·π·D·x/(ṁ·cp), h = Nu·µ·cp/(Pr·D), i.e. π·Nu·µ·x/(Pr·ṁ) with µ at the
// gas's temperature; the wall is only 40 K warmer, so µ at the mean is used. 1 %.
func TestWallHeat(t *testing.T) {
	const t0, tw, d, l, nu = 300, 340, 0.02, 1.0, 40
	gas := ConstantGas(1.4, 287.05)
	b := NewBuilder(gas)
	p := b.Pipe(Duct{
		Name: "hot", Length: l, Area: Round(d), Cells: 40, Losses: []Loss{{0, l, 60}},
		Wall: &Wall{Temperature: func(float64) float64 { return tw }, Nusselt: func(_, _, _ float64) float64 { return nu }},
	}, 1e5, t0, 0)
	b.Join(&Mouth{Pipe: p.Left(), Vessel: NewRoom(gas, 1.01e5, t0, 0)}, &Mouth{Pipe: p.Right(), Vessel: NewRoom(gas, 1e5, t0, 0)})
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	// The heat drifts with the gas, slower than sound: run some passages.
	if err := net.Advance(0.6); err != nil {
		t.Fatal(err)
	}
	mass := p.Right().Port().Mass
	got := p.Right().Port().Enthalpy / mass / (3.5 * 287.05) // total temperature
	want := tw - (tw-t0)*math.Exp(-math.Pi*nu*viscosity(0.5*(t0+got))*l/(prandtl*mass))
	t.Logf("leaves at %.3f K, want %.3f", got, want)
	if math.Abs(got-want) > 0.01*(want-t0) {
		t.Errorf("gas leaves at %.3f K, want %.3f", got, want)
	}
}
