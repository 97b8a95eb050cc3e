package gas

import (
	"math"
	"testing"
)

// Sources: NIST WebBook / JANAF, all from memory, to the digits given; they are independent of the polynomials.
func TestSpeciesHeatCapacity(t *testing.T) {
	for _, c := range []struct {
		s    Species
		temp float64
		want float64 // [J/(mol·K)]
		tol  float64
	}{
		{N2, 298.15, 29.12, 0.003},
		{N2, 2000, 35.97, 0.004},
		{O2, 298.15, 29.38, 0.003},
		{O2, 2000, 37.78, 0.006},
		{CO2, 298.15, 37.13, 0.003},
		{CO2, 2000, 60.35, 0.004},
		{H2O, 298.15, 33.59, 0.003},
		{H2O, 2000, 51.18, 0.012},
		{CO, 298.15, 29.14, 0.003},
		{H2, 298.15, 28.84, 0.003},
		{EthanolVapour, 298.15, 65.6, 0.01},
		{MethanolVapour, 298.15, 44.0, 0.01},
	} {
		if got := c.s.HeatCapacity(c.temp); math.Abs(got/c.want-1) > c.tol {
			t.Errorf("species %d at %v K: cp = %.3f, want %.2f", c.s, c.temp, got, c.want)
		}
	}
}

// Heats of formation [kJ/mol] at 298.15 K: CODATA key values, from memory.
func TestSpeciesFormation(t *testing.T) {
	for _, c := range []struct {
		s    Species
		want float64
	}{
		{N2, 0},
		{O2, 0},
		{H2, 0},
		{CO2, -393.51},
		{H2O, -241.826},
		{CO, -110.53},
		{AtomH, 217.998},
		{AtomO, 249.18},
		{EthanolVapour, -234.8},
		{MethanolVapour, -201.0},
	} {
		if got := c.s.Enthalpy(RefTemp) / 1e3; math.Abs(got-c.want) > 0.3 {
			t.Errorf("species %d: h_f = %.2f kJ/mol, want %.2f", c.s, got, c.want)
		}
	}
}

// The derivative of h is cp: the same polynomial written twice.
func TestSpeciesSlope(t *testing.T) {
	for s := range speciesCount {
		for _, temp := range []float64{350, 720, 990, 1010, 1500, 2500} {
			d := (s.Enthalpy(temp+0.5) - s.Enthalpy(temp-0.5))
			if cp := s.HeatCapacity(temp); math.Abs(d/cp-1) > 1e-5 {
				t.Errorf("species %d at %v: dh/dT = %v, cp = %v", s, temp, d, cp)
			}
		}
	}
}

// Dry air at 300 K: cp 1.005 kJ/(kg·K), gamma 1.400, R 287.05 (every textbook).
func TestDryAir(t *testing.T) {
	b := DryAir()
	r, cp := b.GasConstant(), b.HeatCapacity(300)
	if math.Abs(r-287.05) > 0.1 {
		t.Errorf("R = %v", r)
	}
	if math.Abs(cp-1005) > 2 {
		t.Errorf("cp = %v", cp)
	}
	if g := cp / (cp - r); math.Abs(g-1.4) > 0.001 {
		t.Errorf("gamma = %v", g)
	}
}

// Water-gas: for H2 + 0.5 O2 at 1 atm the adiabatic flame temperature is near 3080 K and for stoichiometric methane in
// air near 2226 K (both common textbook values, from memory). Found here by h_products = h_reactants.
func TestEquilibriumFlame(t *testing.T) {
	flame := func(atoms [4]float64, argon, h float64) float64 {
		lo, hi := 1500.0, 3400.0
		for range 50 {
			mid := (lo + hi) / 2
			b, err := Equilibrium(atoms, argon, mid, 101325)
			if err != nil {
				t.Fatal(err)
			}
			var hp float64
			for _, q := range b {
				hp += q.Amount * q.Species.Enthalpy(mid)
			}
			if hp < h {
				lo = mid
			} else {
				hi = mid
			}
		}
		return lo
	}
	// CH4 + 2 O2 + 7.52 N2, methane h_f −74.6 kJ/mol.
	if got := flame([4]float64{1, 4, 4, 15.04}, 1e-9, -74.6e3); math.Abs(got-2226) > 8 {
		t.Errorf("methane in air: %.0f K, want about 2226 K", got)
	}
	if got := flame([4]float64{1e-9, 2, 1, 1e-9}, 1e-9, 0); math.Abs(got-3080) > 15 {
		t.Errorf("hydrogen in oxygen: %.0f K, want about 3080 K", got)
	}
}

// Atoms are conserved, and rich gas at 1740 K holds CO·H2O/(CO2·H2) = 3.5 (Heywood 1988, section 4.9.2, from memory).
func TestEquilibriumAtoms(t *testing.T) {
	in := [4]float64{1, 1.87, 2.5, 11}
	b, err := Equilibrium(in, 0.1, 1740, 2e6)
	if err != nil {
		t.Fatal(err)
	}
	var out [4]float64
	var n [speciesCount]float64
	for _, p := range b {
		n[p.Species] = p.Amount
		for _, s := range equilibriumAtoms {
			if s.s == p.Species {
				for a := range 4 {
					out[a] += p.Amount * s.atoms[a]
				}
			}
		}
	}
	for a := range 4 {
		if math.Abs(out[a]/in[a]-1) > 1e-9 {
			t.Errorf("element %d: %v in, %v out", a, in[a], out[a])
		}
	}
	if k := n[CO] * n[H2O] / (n[CO2] * n[H2]); math.Abs(k/3.5-1) > 0.03 {
		t.Errorf("water-gas constant %v, want 3.5", k)
	}
}

// Burned gas: gamma 1.25–1.28 between 1800 and 2500 K (typical, from memory; taken as ±0.01).
// The energy is the integral of cp − R.
func TestBlend(t *testing.T) {
	b := Blend{{CO2, 0.125}, {H2O, 0.14}, {N2, 0.735}}
	for _, temp := range []float64{1800, 2200, 2500} {
		if g := b.Gamma(temp); g < 1.24 || g > 1.29 {
			t.Errorf("burned gamma at %v K = %v", temp, g)
		}
		d := b.InternalEnergy(temp+0.5) - b.InternalEnergy(temp-0.5)
		if cv := b.HeatCapacity(temp) - b.GasConstant(); math.Abs(d/cv-1) > 1e-5 {
			t.Errorf("de/dT = %v, cv = %v at %v K", d, cv, temp)
		}
	}
	if n := b.Add(N2, 0.1).Add(O2, 0.2).Amount(); math.Abs(n-1.3) > 1e-12 {
		t.Errorf("amount %v", n)
	}
}

// Below the freezing temperature the energy is the frozen blend's; above, dissociation makes it larger, never smaller.
func TestBurnedEnergy(t *testing.T) {
	frozen, e, err := BurnedEnergy([4]float64{1, 1.87, 2.5, 11}, 0.1, 3e6, 1500)
	if err != nil {
		t.Fatal(err)
	}
	for _, temp := range []float64{300, 900, 1499} {
		if got, want := e(temp), frozen.InternalEnergy(temp); math.Abs(got-want) > 1 {
			t.Errorf("e(%v) = %v, frozen %v", temp, got, want)
		}
	}
	last := 0.0
	for temp := 1700.0; temp <= 3400; temp += 100 {
		extra := e(temp) - frozen.InternalEnergy(temp)
		if extra < last {
			t.Errorf("dissociation energy falls at %v K: %v after %v", temp, extra, last)
		}
		last = extra
	}
}
