package wave

import (
	"math"
	"testing"
)

// slowDrop is the pressure that drives slow flow [Pa].
const slowDrop = 300.0

// slow returns the steady mass flow [kg/s] from a room at p0 + slowDrop to one at p0 through
// what join puts between two frictionless pipes of areas a1 and a2 [m²].
func slow(t *testing.T, a1, a2 float64, join func(a, b *Pipe) Joint) (mass, rho float64) {
	t.Helper()
	const p0, t0, dp = 1e5, 300, slowDrop
	gas := ConstantGas(1.4, 287.05)
	b := NewBuilder(gas)
	// The flow rises slowly against a loss: start near it.
	fill := func(area float64) func(x float64) Fill {
		return func(float64) Fill { return Fill{P: p0, T: t0, U: 0.8 * math.Sqrt(2*dp/1.16) * min(a1, a2) / area} }
	}
	p := b.PipeWith(Duct{Name: "up", Length: 0.3, Area: Uniform(a1), Cells: 15}, fill(a1))
	q := b.PipeWith(Duct{Name: "down", Length: 0.3, Area: Uniform(a2), Cells: 15}, fill(a2))
	b.Join(&Mouth{Pipe: p.Left(), Vessel: NewRoom(gas, p0+dp, t0, 0)}, join(p, q), &Mouth{Pipe: q.Right(), Vessel: NewRoom(gas, p0, t0, 0)})
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	res, err := net.SteadyFlow(q.Right(), Steady{})
	if err != nil {
		t.Fatal(err)
	}
	return res.Mass, p0 / (287.05 * t0)
}

// TestStepLosses: the pressure drop Σ K·½ρu² of a slow steady flow through a
// sudden step, with the velocity head at the open end and K of the table (area_changes of
// the references: Borda–Carnot (1−A1/A2)² for widening, Rennels for narrowing), all on the
// smaller pipe's head. ṁ² = 2ρ·dp / (K/A_small² + 1/A_exit²); 1 % in the flow: the
// compressibility at M = 0.07 and the digits of the table.
func TestStepLosses(t *testing.T) {
	const dp, small = slowDrop, 1e-3
	step := func(a, b *Pipe) Joint { return &AreaStep{A: a.Right(), B: b.Left()} }
	for _, c := range []struct{ ratio, wide, narrow float64 }{
		{0.25, 0.5625, 0.4956}, {0.5, 0.25, 0.3434}, {0.7, 0.09, 0.1802}, {0.8, 0.04, 0.1009}, {0.9, 0.01, 0.0364},
	} {
		if k := SharpContraction(c.ratio); math.Abs(k-c.narrow) > 6e-5 {
			t.Errorf("contraction %g: K = %.4f, want %.4f", c.ratio, k, c.narrow)
		}
		large := small / c.ratio
		m, rho := slow(t, small, large, step)
		want := math.Sqrt(2 * rho * dp / (c.wide/(small*small) + 1/(large*large)))
		t.Logf("widening %g: %+.2e", c.ratio, m/want-1)
		if math.Abs(m/want-1) > 0.01 {
			t.Errorf("widening %g: ṁ = %.5g kg/s, want %.5g", c.ratio, m, want)
		}
		m, rho = slow(t, large, small, step)
		want = small * math.Sqrt(2*rho*dp/(c.narrow+1))
		t.Logf("narrowing %g: %+.2e", c.ratio, m/want-1)
		if math.Abs(m/want-1) > 0.01 {
			t.Errorf("narrowing %g: ṁ = %.5g kg/s, want %.5g", c.ratio, m, want)
		}
	}
}

// TestNeckLoss: an opening A_e in a straight pipe costs (A/A_e − 1)²·½ρu²: its
// jet spreads to the pipe again (Borda–Carnot). A Junction of two pipes with a
// loss K on each costs their sum. The entry loss of a Mouth costs K. 1 %.
func TestNeckLoss(t *testing.T) {
	const dp, a = slowDrop, 1e-3
	for _, phi := range []float64{0.3, 0.5, 0.8} {
		m, rho := slow(t, a, a, func(p, q *Pipe) Joint { return &Neck{A: p.Right(), B: q.Left(), Opening: Fixed(phi * a)} })
		want := a * math.Sqrt(2*rho*dp/((1/phi-1)*(1/phi-1)+1))
		if math.Abs(m/want-1) > 0.01 {
			t.Errorf("neck %g: ṁ = %.5g kg/s, want %.5g", phi, m, want)
		}
	}
	m, rho := slow(t, a, a, func(p, q *Pipe) Joint {
		return &Junction{Pipes: []End{p.Right(), q.Left()}, Loss: []float64{0.7, 0.5}}
	})
	if want := a * math.Sqrt(2*rho*dp/(0.7+0.5+1)); math.Abs(m/want-1) > 0.01 {
		t.Errorf("junction: ṁ = %.5g kg/s, want %.5g", m, want)
	}
}

// TestEntryLoss: the entry loss of a mouth costs K·½ρu². 1 %.
func TestEntryLoss(t *testing.T) {
	const p0, t0, dp, a = 1e5, 300, 300.0, 1e-3
	gas := ConstantGas(1.4, 287.05)
	for _, k := range []float64{0, 0.5, 1} {
		b := NewBuilder(gas)
		p := b.PipeWith(Duct{Name: "p", Length: 0.3, Area: Uniform(a), Cells: 15}, func(float64) Fill { return Fill{P: p0, T: t0, U: 15} })
		b.Join(&Mouth{Pipe: p.Left(), Vessel: NewRoom(gas, p0+dp, t0, 0), EntryLoss: k}, &Mouth{Pipe: p.Right(), Vessel: NewRoom(gas, p0, t0, 0)})
		net, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		res, err := net.SteadyFlow(p.Right(), Steady{})
		if err != nil {
			t.Fatal(err)
		}
		want := a * math.Sqrt(2*p0/(287.05*t0)*dp/(1+k))
		if math.Abs(res.Mass/want-1) > 0.01 {
			t.Errorf("K = %g: ṁ = %.5g kg/s, want %.5g", k, res.Mass, want)
		}
	}
}
