package measure

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runnel/internal/tabletest"
)

func nan() float64 { return math.NaN() }

// linearModels are the models that linear_propagation.csv names.
func linearModels() map[string]func([]float64) float64 {
	return map[string]func([]float64) float64{
		"product_power": func(x []float64) float64 { return x[0] * x[1] * x[1] * math.Sqrt(x[2]/x[3]) },
		"density":       func(x []float64) float64 { return x[0] / (287.05 * x[1]) },
		"orifice": func(x []float64) float64 {
			b := x[1] / x[2]
			return x[0] / math.Sqrt(1-b*b*b*b) * math.Pi / 4 * x[1] * x[1] * math.Sqrt(2*x[3]*x[4])
		},
		"difference":           func(x []float64) float64 { return x[0] - x[1] },
		"ratio_change_percent": func(x []float64) float64 { return 100 * (x[0]/x[1] - 1) },
		"helmholtz": func(x []float64) float64 {
			return x[0] / (2 * math.Pi) * math.Sqrt(x[1]/(x[2]*x[3]))
		},
	}
}

// Source: testdata/linear_propagation.csv (the Python package uncertainties); its
// header asks 1e-9 on y and 1e-5 on u with numerical sensitivities. The five-point
// formula does far better, so 1e-8 is asked of u, and 1e-7 of the contributions
// of a difference, which the table itself holds to about 1e-11 absolute.
func TestComputeTable(t *testing.T) {
	models := linearModels()
	for _, r := range tabletest.Read(t, "testdata/linear_propagation.csv", 1) {
		name, _, _ := strings.Cut(r["model"], ":")
		n := int(r.Num(t, "n"))
		var in []Line
		for i := range n {
			in = append(in, Line{Estimate: r.Num(t, fmt.Sprint("x", i+1)), U: r.Num(t, fmt.Sprint("u", i+1))})
		}
		b, err := ComputeWith(models[name], nil, in, pairsOf(t, r["corr"]))
		if err != nil {
			t.Fatalf("%s: %v", r["id"], err)
		}
		same(t, r["id"]+" y", b.Value, r.Num(t, "y"), 1e-9)
		same(t, r["id"]+" u", b.Combined(), r.Num(t, "u_y"), 1e-8)
		sum := 0.0
		for i, s := range b.Shares() {
			same(t, fmt.Sprintf("%s c%d·u%d", r["id"], i+1, i+1), b.Lines[i].Contribution(), r.Num(t, fmt.Sprintf("c%du%d", i+1, i+1)), 1e-7)
			sum += s
		}
		same(t, r["id"]+" shares", sum, 1, 1e-9)
	}
}

func pairsOf(t *testing.T, s string) []Pair {
	t.Helper()
	var out []Pair
	for p := range strings.SplitSeq(s, ";") {
		if p == "" {
			continue
		}
		var q Pair
		if _, err := fmt.Sscanf(p, "%d-%d:%g", &q.I, &q.J, &q.R); err != nil {
			t.Fatalf("correlation %q: %v", p, err)
		}
		q.I, q.J = q.I-1, q.J-1
		out = append(out, q)
	}
	return out
}

// worked reads one example of testdata/uncertainty.csv.
func worked(t *testing.T, example string) (in map[string]Line, want map[string][2]float64) {
	t.Helper()
	in, want = map[string]Line{}, map[string][2]float64{}
	for _, r := range tabletest.Read(t, "testdata/uncertainty.csv", 1) {
		if r["example"] != example {
			continue
		}
		if r["role"] == "result" {
			want[r["name"]] = [2]float64{r.Num(t, "value"), r.Num(t, "u")}
			continue
		}
		l := Line{Quantity: r["name"], Estimate: r.Num(t, "value"), U: r.Num(t, "u"), Distribution: Normal}
		if r["dof"] != "" {
			l.Dof = r.Num(t, "dof")
		}
		switch r["dist"] {
		case "R":
			l.Distribution = Rectangular
		case "t":
			l.Distribution = StudentT
		}
		in[r["name"]] = l
	}
	if len(want) == 0 {
		t.Fatalf("no example %q", example)
	}
	return in, want
}

func endGauge(x []float64) float64 { return x[0] + x[1] - x[0]*(x[4]*x[3]+x[2]*x[5]) }

// Source: JCGM 100:2008 Annex H.1, end-gauge calibration, printed results as
// collected in testdata/uncertainty.csv with the rounding of each as tolerance.
func TestGuideH1(t *testing.T) {
	in, want := worked(t, "GUM_H1")
	lines := []Line{in["ls"], in["d"], in["alpha_s"], in["theta"], in["dalpha"], in["dtheta"]}
	b, err := Compute(endGauge, lines...)
	if err != nil {
		t.Fatal(err)
	}
	check := func(name string, got float64) {
		t.Helper()
		near(t, name, got, want[name][0], 0, want[name][1])
	}
	check("l_nm", b.Value)
	check("uc_nm", b.Combined())
	check("contrib_dalpha_nm", math.Abs(b.Lines[4].Contribution()))
	check("contrib_dtheta_nm", math.Abs(b.Lines[5].Contribution()))
	check("veff", b.Dof())
	check("k99_t(16)", CoverageFactor(0.99, math.Floor(b.Dof())))
	check("U99_nm", CoverageFactor(0.99, math.Floor(b.Dof()))*b.Combined())
	second, err := SecondOrder(endGauge, lines...)
	if err != nil {
		t.Fatal(err)
	}
	check("uc_with_second_order_nm", second)
	// The two terms of H.1.7, l_s·u(δα)·u(θ) and l_s·u(α_s)·u(δθ), are what is added.
	terms := math.Hypot(in["ls"].Estimate*in["dalpha"].U*in["theta"].U, in["ls"].Estimate*in["alpha_s"].U*in["dtheta"].U)
	same(t, "second-order part", math.Sqrt(second*second-b.Combined()*b.Combined()), terms, 1e-5)
}

// The curvature of the mass example of JCGM 101 9.3 is its whole point: the first
// order misses it, and the budget says so.
func TestComputeWarnsOfCurvature(t *testing.T) {
	in := massLines(t)
	b, err := Compute(massOf, in...)
	if err != nil {
		t.Fatal(err)
	}
	_, want := worked(t, "JCGM101_9.3")
	near(t, "first-order u", b.Combined(), want["u_GUF_first_order_mg"][0], 0, want["u_GUF_first_order_mg"][1])
	if len(b.Warnings) != 0 {
		// The bend of this model is a product of two inputs, which no ±u_i alone shows.
		t.Errorf("warnings %v, want none: SecondOrder and MonteCarlo find this one", b.Warnings)
	}
	b, err = Compute(func(x []float64) float64 { return x[0] * x[0] }, Line{Estimate: 0.1, U: 1})
	if err != nil {
		t.Fatal(err)
	}
	if len(b.Warnings) != 1 {
		t.Errorf("a parabola about its vertex draws %d warnings, want 1", len(b.Warnings))
	}
}

func massOf(x []float64) float64 {
	return (x[0]+x[1])*(1+(x[2]-1.2)*(1/x[3]-1/x[4])) - 100000
}

// massLines are the inputs of JCGM 101 9.3; half-widths become standard
// uncertainties by 1/√3.
func massLines(t *testing.T) []Line {
	t.Helper()
	in, _ := worked(t, "JCGM101_9.3")
	var lines []Line
	for _, name := range []string{"mRc_mg", "dmRc_mg", "rho_a", "rho_W", "rho_R"} {
		l := in[name]
		if l.Distribution == Rectangular {
			l.U /= math.Sqrt(3)
		}
		lines = append(lines, l)
	}
	return lines
}

// The analytic gradient and the difference formula agree, at points off every
// symmetry; 1e-9 leaves a hundred times the rounding of the formula.
func TestComputeAgainstGradient(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(0.1, 9).Draw(t, "a"), rapid.Float64Range(0.1, 9).Draw(t, "b")
		u := rapid.Float64Range(1e-6, 1).Draw(t, "u")
		in := []Line{{Estimate: a, U: u}, {Estimate: b, U: 2 * u}}
		f := func(x []float64) float64 { return x[0]*x[0]*math.Sqrt(x[1]) + math.Sin(x[0]) }
		grad := func(x, dst []float64) {
			dst[0] = 2*x[0]*math.Sqrt(x[1]) + math.Cos(x[0])
			dst[1] = x[0] * x[0] / (2 * math.Sqrt(x[1]))
		}
		if u > b/3 {
			return // the model needs x[1] > 0 over ±2h
		}
		n, err := Compute(f, in...)
		if err != nil {
			t.Fatal(err)
		}
		g, err := ComputeWith(f, grad, in, nil)
		if err != nil {
			t.Fatal(err)
		}
		for i := range n.Lines {
			if d := math.Abs(n.Lines[i].Sensitivity - g.Lines[i].Sensitivity); d > 1e-9*(1+math.Abs(g.Lines[i].Sensitivity)) {
				t.Fatalf("c%d: difference %v, gradient %v", i+1, n.Lines[i].Sensitivity, g.Lines[i].Sensitivity)
			}
		}
	})
}

// The budget of a reading with a dozen inputs.
func BenchmarkCompute(b *testing.B) {
	var in []Line
	for i := range 12 {
		in = append(in, Line{Key: strconv.Itoa(i), Estimate: 1 + float64(i), U: 0.01, Dof: 10})
	}
	f := func(x []float64) float64 {
		p := 1.0
		for _, v := range x {
			p *= math.Sqrt(v)
		}
		return p
	}
	b.ReportAllocs()
	for b.Loop() {
		c, err := Compute(f, in...)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := c.Expanded(0.95); err != nil {
			b.Fatal(err)
		}
	}
}

func TestBudgetRefuses(t *testing.T) {
	ok := Line{Estimate: 1, U: 1, Sensitivity: 1}
	for _, c := range []struct {
		name string
		b    Budget
		want error
	}{
		{"NaN value", Budget{Value: nan()}, ErrNotFinite},
		{"NaN u", Budget{Lines: []Line{{U: nan()}}}, ErrNotFinite},
		{"infinite u", Budget{Lines: []Line{{U: math.Inf(1)}}}, ErrNotFinite},
		{"negative u", Budget{Lines: []Line{{U: -1}}}, ErrNotPositive},
		{"negative dof", Budget{Lines: []Line{{U: 1, Dof: -2}}}, ErrNotPositive},
		{"r above 1", Budget{Lines: []Line{ok, ok}, Correlation: []Pair{{0, 1, 1.01}}}, ErrCorrelation},
		{"r NaN", Budget{Lines: []Line{ok, ok}, Correlation: []Pair{{0, 1, nan()}}}, ErrCorrelation},
		{"impossible set", Budget{Lines: []Line{ok, ok, ok}, Correlation: []Pair{{0, 1, 0.9}, {1, 2, 0.9}, {0, 2, -0.9}}}, ErrCorrelation},
	} {
		if err := c.b.Check(); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
		if _, err := c.b.Expanded(0.95); !errors.Is(err, c.want) {
			t.Errorf("%s expanded: %v, want %v", c.name, err, c.want)
		}
	}
	full := Budget{Lines: []Line{ok, ok, ok}, Correlation: []Pair{{0, 1, 1}, {1, 2, 1}, {0, 2, 1}}}
	if err := full.Check(); err != nil {
		t.Errorf("full correlation is possible, but: %v", err)
	}
	same(t, "fully correlated", full.Combined(), 3, 1e-15)
	if _, err := full.Expanded(1.5); err == nil {
		t.Error("a probability of 1.5 was taken")
	}
	if _, err := Compute(func([]float64) float64 { return nan() }, ok); !errors.Is(err, ErrNotFinite) {
		t.Errorf("a model that is NaN: %v", err)
	}
}

// A line's infinite degrees of freedom must not break the record it is kept in.
func TestBudgetJSON(t *testing.T) {
	b := Budget{Quantity: "flow", Unit: "kg/s", Value: 0.1, Lines: []Line{
		{Quantity: "C", Key: "plate 3 C", Unit: "1", Kind: TypeB, Distribution: Rectangular, Estimate: 0.6, U: 0.003, Dof: math.Inf(1), Sensitivity: 0.16},
		{Quantity: "settling", Kind: TypeA, Distribution: StudentT, Estimate: 0.1, U: 1e-4, Dof: 11.5, Sensitivity: 1},
	}, Correlation: []Pair{{0, 1, 0.25}}}
	data, err := json.Marshal(b)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(data), `"dof":null`) {
		t.Errorf("infinite degrees of freedom are not null in %s", data)
	}
	var back Budget
	if err := json.Unmarshal(data, &back); err != nil {
		t.Fatal(err)
	}
	if fmt.Sprint(back) != fmt.Sprint(b) {
		t.Errorf("came back as %v, went as %v", back, b)
	}
}

// Two estimates from the same samples that nearly cancel are as sure of their scatter as either of them: the difference of two paired
// means of n values is a mean of n differences, with n − 1 degrees of freedom (any textbook's paired t test).
func TestDofOfCorrelatedLines(t *testing.T) {
	for _, r := range []float64{0.99, 0.5, -0.5, -0.99} {
		b := Budget{Value: 1, Lines: []Line{{U: 0.063, Dof: 2, Sensitivity: 1}, {U: 0.055, Dof: 2, Sensitivity: -1}}, Correlation: []Pair{{I: 0, J: 1, R: r}}}
		if got := b.Dof(); math.Abs(got-2) > 1e-9 {
			t.Errorf("r %v: %v degrees of freedom, want 2", r, got)
		}
		e, err := b.Expanded(0.95)
		if err != nil || !(e.U > 0) || notFinite(e.U) {
			t.Errorf("r %v: expanded uncertainty %v, %v", r, e.U, err)
		}
	}
	// A third line that has nothing to do with the two adds by the formula of the guide.
	b := Budget{Value: 1, Lines: []Line{{U: 3, Dof: 8, Sensitivity: 1}, {U: 3, Dof: 5, Sensitivity: 1}, {U: 6, Dof: 10, Sensitivity: 1}}, Correlation: []Pair{{I: 0, J: 1, R: 1}}}
	same(t, "with a third line", b.Dof(), 72.*72./(36.*36/5+36.*36/10), 1e-12)
}
