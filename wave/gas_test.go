package wave

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// einstein returns cp/R of a gas with the given classical part and vibrations
// of characteristic temperatures θ [K]: cp/R = classical + Σ (θ/T)²·e^(θ/T)/(e^(θ/T) − 1)².
func einstein(classical float64, theta ...float64) func(t float64) float64 {
	return func(t float64) float64 {
		c := classical
		for _, th := range theta {
			x := th / t
			e := math.Exp(-x)
			c += x * x * e / ((1 - e) * (1 - e))
		}
		return c
	}
}

// vibrating returns a gas of rigid rotators with harmonic vibrations: air of N2
// and O2, and combustion products of N2, CO2 and H2O. The characteristic
// temperatures are from memory of any statistical mechanics text; the test needs
// only that the functions have the true shape.
func vibrating(t testing.TB) (g *Gas, fresh, burned Component) {
	t.Helper()
	n2, o2 := einstein(3.5, 3393), einstein(3.5, 2273)
	co2, h2o := einstein(3.5, 960, 960, 1993, 3380), einstein(4, 2290, 5250, 5400)
	const r0 = 8.314462618
	mix := func(m float64, f func(t float64) float64) Component {
		return Component{R: r0 / m, Cp: func(t float64) float64 { return r0 / m * f(t) }}
	}
	fresh = mix(0.02885, func(t float64) float64 { return 0.79*n2(t) + 0.21*o2(t) })
	burned = mix(0.0286, func(t float64) float64 { return 0.73*n2(t) + 0.13*co2(t) + 0.14*h2o(t) })
	g, err := NewGas(fresh, burned)
	if err != nil {
		t.Fatal(err)
	}
	return g, fresh, burned
}

// TestGasFollowsTables: energy, enthalpy and specific heat of the fitted gas
// against the integral of the tables it was made from (adaptive trapezoid
// here, Gauss panels in the code): energy within 1e-4, cv within 1e-3 from
// 200 K to 3500 K. The solver conserves whatever the fit; this is how well the fitted gas is
// the gas asked for.
func TestGasFollowsTables(t *testing.T) {
	g, fresh, burned := vibrating(t)
	worstE, worstC := 0.0, 0.0
	for _, c := range []struct {
		y float64
		c Component
	}{{0, fresh}, {1, burned}} {
		e := (c.c.Cp(gasColdest) - c.c.R) * gasColdest
		const h = 0.5
		for at := gasColdest; at < 3500; at += h {
			e += h * (0.5*(c.c.Cp(at)+c.c.Cp(at+h)) - c.c.R)
			if at+h < 200 {
				continue
			}
			worstE = max(worstE, math.Abs(g.Energy(at+h, c.y)/e-1))
			worstC = max(worstC, math.Abs(g.Cv(at+h, c.y)/(c.c.Cp(at+h)-c.c.R)-1))
		}
		if g.R(c.y) != c.c.R {
			t.Errorf("R(%g) = %g, want %g", c.y, g.R(c.y), c.c.R)
		}
	}
	t.Logf("worst deviation of energy %.1e, of cv %.1e", worstE, worstC)
	if worstE > 1e-4 || worstC > 1e-3 {
		t.Errorf("fit: energy off by %.1e, cv by %.1e", worstE, worstC)
	}
}

// TestGasConsistent: temperature inverts energy, cv is its derivative, enthalpy
// is e + RT, mixing is linear in the mass fraction.
func TestGasConsistent(t *testing.T) {
	g, _, _ := vibrating(t)
	rapid.Check(t, func(t *rapid.T) {
		temp := rapid.Float64Range(200, 3500).Draw(t, "T")
		y := rapid.Float64Range(0, 1).Draw(t, "Y")
		e := g.Energy(temp, y)
		if got := g.Temperature(e, y, 0); math.Abs(got/temp-1) > 1e-12 {
			t.Fatalf("Temperature(Energy(%g)) = %g", temp, got)
		}
		const h = 0.01
		if d := (g.Energy(temp+h, y) - g.Energy(temp-h, y)) / (2 * h); math.Abs(d/g.Cv(temp, y)-1) > 1e-6 {
			t.Fatalf("de/dT = %g, cv = %g at %g K", d, g.Cv(temp, y), temp)
		}
		if d := g.Enthalpy(temp, y) - e - g.R(y)*temp; math.Abs(d) > 1e-9*e {
			t.Fatalf("h − e − RT = %g", d)
		}
		if m := (1-y)*g.Energy(temp, 0) + y*g.Energy(temp, 1); math.Abs(m/e-1) > 1e-12 {
			t.Fatalf("mixing: %g, want %g", e, m)
		}
		if a := g.SoundSpeed(temp, y); math.Abs(a*a/(g.Gamma(temp, y)*g.R(y)*temp)-1) > 1e-12 {
			t.Fatalf("a² = %g", a*a)
		}
	})
}

// TestConstantGas: a gas of constant γ has e = RT/(γ−1) and Γ = γ.
func TestConstantGas(t *testing.T) {
	g := ConstantGas(1.4, 287)
	s := g.At(1e5, 300, 0.3)
	if e := 287 * 300 / 0.4; math.Abs(g.Energy(300, 0.7)/e-1) > 1e-15 || math.Abs(s.H/(e*1.4)-1) > 1e-15 || s.Gamma != 1.4 || !g.Constant() {
		t.Errorf("constant gas: %+v", s)
	}
}

func TestNewGasRefuses(t *testing.T) {
	good := Component{R: 287, Cp: func(float64) float64 { return 1005 }}
	for name, bad := range map[string]Component{
		"no R":          {Cp: good.Cp},
		"no cp":         {R: 287},
		"cp below R":    {R: 287, Cp: func(float64) float64 { return 200 }},
		"not a number":  {R: 287, Cp: func(float64) float64 { return math.NaN() }},
		"infinite heat": {R: 287, Cp: func(t float64) float64 { return 1 / math.Max(0, 1000-t) }},
	} {
		if _, err := NewGas(good, bad); !errors.Is(err, ErrGas) {
			t.Errorf("%s: %v, want ErrGas", name, err)
		}
	}
}

// TestOneNewtonStepIsEnough: the pipe kernel follows the temperature with one
// Newton step per time step. Its error is of second order in the change within
// the step, ½·(dT)²·c'/c: for a shock that heats the gas by 60 K in one step, 1e-3, gone in the next; in
// the whole, 1e-5 in the mean over cells and steps.
func TestOneNewtonStepIsEnough(t *testing.T) {
	net := fourTubes(t, testGas(t), 50, false)
	worst, sum, count := 0.0, 0.0, 0
	for range 400 {
		if _, err := net.Step(); err != nil {
			t.Fatal(err)
		}
		for _, p := range net.Pipes() {
			b, l := p.bank, p.lane
			for i := range b.n {
				q := b.now[i]
				e := q[2][l]/q[0][l] - 0.5*q[1][l]*q[1][l]/(q[0][l]*q[0][l])
				d := math.Abs(b.cell[i+1].temp[l]/b.gas.Temperature(e, q[3][l]/q[0][l], 0) - 1)
				worst, sum, count = max(worst, d), sum+d, count+1
			}
		}
	}
	mean := sum / float64(count)
	t.Logf("temperature off by %.1e at worst, %.1e in the mean", worst, mean)
	if worst > 2e-3 || mean > 1e-5 {
		t.Errorf("temperature off by %.1e at worst, %.1e in the mean", worst, mean)
	}
}
