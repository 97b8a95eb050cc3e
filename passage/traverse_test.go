package passage_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runnel/passage"
)

const (
	pipeBore = 0.1  // [m]
	topSpeed = 40.0 // [m/s]
)

// pipeTraverse is a traverse of a round pipe whose velocity is law(x, y) over a top speed [m/s].
func pipeTraverse(t testing.TB, at []passage.Point, law func(p passage.Point) float64) passage.Traverse {
	t.Helper()
	s, err := passage.Round(pipeBore)
	if err != nil {
		t.Fatal(err)
	}
	tr := passage.Traverse{Section: s, Pressure: 101325, Temperature: 293.15, GasConstant: 287.05, Gamma: 1.4, Coefficient: 1, UDP: 1, UPosition: 0.0003, UCoefficient: 0.005}
	for _, p := range at {
		tr.Probes = append(tr.Probes, passage.Probe{Point: p, DP: pitot(tr, law(p))})
	}
	return tr
}

// pitot returns total less static pressure at a velocity, from the isentropic relation turned round.
func pitot(t passage.Traverse, v float64) float64 {
	temp := t.Temperature - v*v*(t.Gamma-1)/(2*t.Gamma*t.GasConstant)
	m2 := v * v / (t.Gamma * t.GasConstant * temp)
	return t.Pressure * (math.Pow(1+(t.Gamma-1)/2*m2, t.Gamma/(t.Gamma-1)) - 1)
}

func power(m float64) func(passage.Point) float64 {
	return func(p passage.Point) float64 {
		return topSpeed * math.Pow(max(0, 1-math.Hypot(p[0], p[1])/(pipeBore/2)), 1/m)
	}
}

// A power-law profile has the mean 2·m²/((m+1)(2m+1)) of its top and the energy factor below, both in closed form. The map follows the
// same wall law for m = 7 and is then right to its grid, 0.2 %; for m 5 to 10 it must be within 0.7 %. The plain mean of the log-Tchebycheff
// places, whose radii are from memory, must give the same mean within 0.6 %: a wrong radius shows at once.
func TestTraversePowerLaw(t *testing.T) {
	for _, m := range []float64{5, 7, 10} {
		for _, per := range []int{3, 4, 5} {
			at, err := passage.TchebycheffRound(pipeBore, per, 2)
			if err != nil {
				t.Fatal(err)
			}
			got, err := pipeTraverse(t, at, power(m)).Solve()
			if err != nil {
				t.Fatal(err)
			}
			want := 40 * 2 * m * m / ((m + 1) * (2*m + 1))
			tol := 0.007
			if m == 7 {
				tol = 0.002
			}
			near(t, "mean", got.Mean/want, 1, tol)
			near(t, "plain mean", got.EqualWeight/want, 1, 0.006)
			// Mean of (v/v̄)³ of the profile.
			cube := 2 * m * m / ((m + 3) * (2*m + 3))
			mean := 2 * m * m / ((m + 1) * (2*m + 1))
			near(t, "energy factor", got.Energy, cube/(mean*mean*mean), 0.02)
			if !(math.Abs(got.Mean/want-1) < 2*got.U) {
				t.Errorf("m %g: mean is off by %g, uncertainty %g", m, got.Mean/want-1, got.U)
			}
			near(t, "mass flow", got.Mass/(got.Mean*1.2041*math.Pi/4*pipeBore*pipeBore), 1, 0.006)
		}
	}
}

// A skew profile, power law times a tilt: the tilt cancels over the circle, so the mean is that of the power law; 24 probes find it
// within 0.5 %.
func TestTraverseSkew(t *testing.T) {
	at, err := passage.TchebycheffRound(pipeBore, 3, 4)
	if err != nil {
		t.Fatal(err)
	}
	base := power(7)
	got, err := pipeTraverse(t, at, func(p passage.Point) float64 { return base(p) * (1 + 0.2*p[0]/(pipeBore/2)) }).Solve()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", got.Mean/(40*98./120), 1, 0.005)
	straight, err := pipeTraverse(t, at, base).Solve()
	if err != nil {
		t.Fatal(err)
	}
	if got.NonUniformity <= straight.NonUniformity {
		t.Errorf("a skew profile is no less even: %g and %g", got.NonUniformity, straight.NonUniformity)
	}
}

// One diameter only: taken as alike across it, which for a round profile is exact.
func TestTraverseOneDiameter(t *testing.T) {
	at, err := passage.TchebycheffRound(pipeBore, 5, 1)
	if err != nil {
		t.Fatal(err)
	}
	got, err := pipeTraverse(t, at, power(7)).Solve()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", got.Mean/(40*98./120), 1, 0.002)
	if told := strings.Join(got.Warnings, "; "); !strings.Contains(told, "lie on one line") {
		t.Errorf("one diameter alone is told as %q", told)
	}
}

// One reading is worked out with an assumed profile, and says so; two lines say nothing.
func TestTraverseOneReading(t *testing.T) {
	got, err := pipeTraverse(t, []passage.Point{{0, 0}}, power(7)).Solve()
	if err != nil {
		t.Fatal(err)
	}
	if told := strings.Join(got.Warnings, "; "); !strings.Contains(told, "one reading says nothing of how the velocity is spread") {
		t.Errorf("told %q", told)
	}
	if got, err = pipeTraverse(t, []passage.Point{{-0.01, 0}, {0.01, 0}, {0, 0.01}, {0, -0.01}}, power(7)).Solve(); err != nil || len(got.Warnings) != 0 {
		t.Errorf("two lines: %q, %v", got.Warnings, err)
	}
}

// Rectangle with a power law from each wall, (1−|x|)^(1/7)·(1−|y|)^(1/7): mean (7/8)² in closed form.
func TestTraverseRectangle(t *testing.T) {
	const w, h = 0.08, 0.05
	s, err := passage.Rectangle(w, h, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range []int{5, 6, 7} {
		at, err := passage.TchebycheffRectangle(w, h, n, n)
		if err != nil {
			t.Fatal(err)
		}
		tr := passage.Traverse{Section: s, Pressure: 101325, Temperature: 293.15, GasConstant: 287.05, Gamma: 1.4, Coefficient: 1}
		for _, p := range at {
			v := 30 * math.Pow((1-math.Abs(p[0])/(w/2))*(1-math.Abs(p[1])/(h/2)), 1./7)
			tr.Probes = append(tr.Probes, passage.Probe{Point: p, DP: pitot(tr, v)})
		}
		got, err := tr.Solve()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "plain mean", got.EqualWeight/(30*49./64), 1, 0.006)
		near(t, "mean", got.Mean/(30*49./64), 1, 0.01)
	}
}

// The stated weights are those of the mean: changing one reading changes the mean by its weight. And the meter is compared.
func TestTraverseMeter(t *testing.T) {
	at, err := passage.TchebycheffRound(pipeBore, 4, 2)
	if err != nil {
		t.Fatal(err)
	}
	tr := pipeTraverse(t, at, power(7))
	plain, err := tr.Solve()
	if err != nil {
		t.Fatal(err)
	}
	tr.Meter, tr.UMeter = plain.Mass*1.02, 0.01
	got, err := tr.Solve()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "closure", got.Closure, 1/1.02, 1e-12)
	near(t, "its uncertainty", got.UClosure, math.Hypot(plain.U, 0.01), 1e-12)
	sum := 0.0
	for _, p := range got.Parts {
		sum += p.U * p.U
	}
	near(t, "parts", math.Sqrt(sum), got.U, 1e-12)
	// Reading part by Monte Carlo in one dimension: all readings off by the same share must move the mean by half of it.
	for i := range tr.Probes {
		tr.Probes[i].DP *= 1.01
	}
	up, err := tr.Solve()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "one per cent more pressure", up.Mean/plain.Mean-1, 0.005, 1e-4)
}

func TestTraverseRefuses(t *testing.T) {
	at, err := passage.TchebycheffRound(pipeBore, 3, 2)
	if err != nil {
		t.Fatal(err)
	}
	for name, tt := range map[string]struct {
		spoil func(*passage.Traverse)
		says  string
	}{
		"outside":    {func(tr *passage.Traverse) { tr.Probes[2].Point[0] = 0.06 }, "probe 3 at x 60.00"},
		"twice":      {func(tr *passage.Traverse) { tr.Probes[1].Point = tr.Probes[0].Point }, "probes 1 and 2"},
		"none":       {func(tr *passage.Traverse) { tr.Probes = nil }, "no probe readings"},
		"no outline": {func(tr *passage.Traverse) { tr.Section.Outline = nil }, "no outline"},
		"nan":        {func(tr *passage.Traverse) { tr.Probes[0].DP = math.NaN() }, "probe 1"},
		"no air":     {func(tr *passage.Traverse) { tr.Pressure = 0 }, "air at 0 Pa"},
	} {
		tr := pipeTraverse(t, at, power(7))
		tt.spoil(&tr)
		if _, err := tr.Solve(); !errors.Is(err, passage.ErrTraverse) || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := passage.TchebycheffRound(0.1, 6, 2); !errors.Is(err, passage.ErrTraverse) {
		t.Errorf("six a radius: %v", err)
	}
	if _, err := passage.TchebycheffRectangle(0.1, 0.1, 4, 5); !errors.Is(err, passage.ErrTraverse) {
		t.Errorf("four points: %v", err)
	}
	still := pipeTraverse(t, at, power(7))
	for i := range still.Probes {
		still.Probes[i].DP = -5
	}
	if _, err := still.Solve(); !errors.Is(err, passage.ErrTraverse) || !strings.Contains(err.Error(), "which hose") {
		t.Errorf("all below zero: %v", err)
	}
	back := pipeTraverse(t, at, power(7))
	back.Probes[0].DP = -5
	got, err := back.Solve()
	if err != nil || len(got.Warnings) != 1 {
		t.Errorf("a reading below zero: %v, %q", err, got.Warnings)
	}
}

// Any probes inside a section give a mean between zero and well above the highest reading.
func TestTraverseProperties(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		n := rapid.IntRange(1, 8).Draw(r, "n")
		var at []passage.Point
		for i := range n {
			d := 0.005 + 0.04*float64(i)/float64(n)
			sin, cos := math.Sincos(2.4 * float64(i))
			at = append(at, passage.Point{d * cos, d * sin})
		}
		tr := pipeTraverse(t, at, func(passage.Point) float64 { return rapid.Float64Range(1, 80).Draw(r, "v") })
		got, err := tr.Solve()
		if err != nil {
			r.Fatal(err)
		}
		if !(got.Mean > 0 && got.Mean < 300 && got.U > 0) {
			r.Errorf("%+v", got.Mean)
		}
	})
}

func TestReadProbes(t *testing.T) {
	got, err := passage.ReadProbes(strings.NewReader("x_mm,y_mm,dp_inh2o\n0,0,1\n10,-5,0.5\n"), "p.csv")
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pressure", got[0].DP, 249.08891, 1e-9)
	near(t, "place", got[1].Point[1], -0.005, 1e-12)
	for _, bad := range []string{"", "x_mm,y_mm\n", "x_mm,y_mm,dp_pa\n1,2,\n", "x_mm,y_mm,dp_pa\n", "x_mm,y_mm,dp_mm\n1,2,3\n"} {
		if _, err := passage.ReadProbes(strings.NewReader(bad), "p.csv"); err == nil || !strings.Contains(err.Error(), "p.csv:") {
			t.Errorf("%q: %v", bad, err)
		}
	}
}

// Any text as a file of probes: no panic, and what is read has places and pressures that are numbers.
func FuzzReadProbes(f *testing.F) {
	f.Add("x_mm,y_mm,dp_pa\n-18,0,310\n0,0,362\n")
	f.Add("x_in,y_in,dp_inh2o\r0,0,1\r")
	f.Add("0,0,300\n")
	f.Fuzz(func(t *testing.T, s string) {
		probes, err := passage.ReadProbes(strings.NewReader(s), "f")
		if err != nil {
			return
		}
		for _, p := range probes {
			if sum := p.Point[0] + p.Point[1] + p.DP; sum-sum != 0 {
				t.Errorf("probe %+v", p)
			}
		}
	})
}
