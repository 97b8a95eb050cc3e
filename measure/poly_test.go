package measure

import (
	"errors"
	"math"
	"strings"
	"testing"

	"runnel/internal/tabletest"
)

// Wampler's first two sets are given by rule, x = 0 … 20: y = Σx^k and y = Σ(x/10)^k,
// k to 5, with coefficients 1 and 10⁻ᵏ exactly (Wampler, J. Am. Stat. Assoc. 65 (1970)
// 549). The third here adds to the first 100·(−1)^i·C(20, i), which every polynomial
// below order 20 is orthogonal to (it is a 20th difference): the coefficients stay 1
// and the residuals, up to 1.8·10⁷, have the sum of squares 10⁴·C(40, 20). That is
// as hard as his fifth. Nine digits are asked.
func TestFitPolyByRule(t *testing.T) {
	binomial := func(n, k int) float64 {
		b := 1.0
		for i := 1; i <= k; i++ {
			b = b * float64(n-k+i) / float64(i)
		}
		return math.Round(b)
	}
	var x, y1, y2, y3 []float64
	for i := range 21 {
		v := float64(i)
		x = append(x, v)
		a, b := 0.0, 0.0
		for k := 5; k >= 0; k-- {
			a, b = a*v+1, b*v+math.Pow(10, -float64(k))
		}
		y1, y2 = append(y1, a), append(y2, b)
		sign := 1 - 2*float64(i%2)
		y3 = append(y3, a+100*sign*binomial(20, i))
	}
	for _, c := range []struct {
		name  string
		y     []float64
		coef  func(k int) float64
		rss   float64
		exact bool
	}{
		{"Wampler 1", y1, func(int) float64 { return 1 }, 0, true},
		{"Wampler 2", y2, func(k int) float64 { return math.Pow(10, -float64(k)) }, 0, true},
		{"with a 20th difference", y3, func(int) float64 { return 1 }, 1e4 * 137846528820, false},
	} {
		p, err := FitPoly(x, c.y, 5, FitOptions{})
		if err != nil {
			t.Fatal(err)
		}
		b, _ := p.Monomial()
		for k := range b {
			if d := digits(b[k], c.coef(k)); d < 9 {
				t.Errorf("%s: coefficient %d is %.16g, %.1f digits", c.name, k, b[k], d)
			}
		}
		if c.exact {
			near(t, c.name+" residual", p.S, 0, 0, 1e-9*c.y[20])
			continue
		}
		same(t, c.name+" sum of squares", p.SS, c.rss, 1e-12)
		same(t, c.name+" residual deviation", p.S, math.Sqrt(c.rss/15), 1e-12)
	}
}

// Source: JCGM 100:2008, H.3, thermometer calibration, printed results in
// testdata/uncertainty.csv with their rounding, data in gum_h3.csv.
func TestGuideH3(t *testing.T) {
	_, want := worked(t, "GUM_H3")
	check := func(name string, got float64) {
		t.Helper()
		near(t, name, got, want[name][0], 0, want[name][1])
	}
	var x, y []float64
	for _, r := range tabletest.Read(t, "testdata/gum_h3.csv", 1) {
		x, y = append(x, r.Num(t, "t_C")-20), append(y, r.Num(t, "b_C"))
	}
	p, err := FitPoly(x, y, 1, FitOptions{})
	if err != nil {
		t.Fatal(err)
	}
	b, u := p.Monomial()
	check("y1", b[0])
	check("y2", b[1])
	check("s_y1", u[0])
	check("s_y2", u[1])
	check("s", p.S)
	check("b_30", p.At(10))
	check("uc_b30", p.U(10))
	if p.Dof != 9 {
		t.Errorf("degrees of freedom %v, want 9", p.Dof)
	}
	if len(p.Outside(10)) != 1 || len(p.Outside(3)) != 0 {
		t.Error("30 °C lies outside the data, 23 °C within")
	}
	// The same by a plain design matrix, whose covariance gives the correlation.
	ones := make([]float64, len(x))
	for i := range ones {
		ones[i] = 1
	}
	f, err := FitLinear([][]float64{ones, x}, y, FitOptions{})
	if err != nil {
		t.Fatal(err)
	}
	c := f.Covariance()
	check("y1", f.Coef[0])
	check("s_y2", math.Sqrt(c[1][1]))
	check("r_y1y2", c[0][1]/math.Sqrt(c[0][0]*c[1][1]))
}

// Source: NIST statistical reference data set Norris, certified values in its file;
// nine digits.
func TestNISTNorris(t *testing.T) {
	lines := nistFile(t, "nist_linregress/Norris.dat")
	certified := map[string][]float64{}
	var x, y []float64
	data := false
	for _, l := range lines {
		v := numbers(l)
		w := strings.Fields(l)
		switch {
		case len(w) == 3 && w[0] == "Data:" && w[1] == "y":
			data = true
		case data && len(v) == 2:
			y, x = append(y, v[0]), append(x, v[1])
		case !data && len(w) == 3 && (w[0] == "B0" || w[0] == "B1"):
			certified[w[0]] = v
		case !data && strings.Contains(l, "Standard Deviation") && len(v) == 1:
			certified["s"] = v
		case !data && strings.Contains(l, "R-Squared") && len(v) == 1:
			certified["R2"] = v
		}
	}
	if len(x) != 36 || len(certified["B1"]) != 2 {
		t.Fatalf("%d data, certified %v", len(x), certified)
	}
	p, err := FitPoly(x, y, 1, FitOptions{})
	if err != nil {
		t.Fatal(err)
	}
	b, u := p.Monomial()
	check := func(name string, got, want float64) {
		t.Helper()
		if d := digits(got, want); d < 9 {
			t.Errorf("%s = %.16g, certified %.16g: %.1f digits", name, got, want, d)
		}
	}
	check("B0", b[0], certified["B0"][0])
	check("B1", b[1], certified["B1"][0])
	check("sd of B0", u[0], certified["B0"][1])
	check("sd of B1", u[1], certified["B1"][1])
	if v, ok := certified["s"]; ok {
		check("residual sd", p.S, v[0])
	}
	if v, ok := certified["R2"]; ok {
		check("R²", p.R2, v[0])
	}
}

// Leave-one-out from the leverages against leaving each one out in fact.
func TestPressByLeavingOut(t *testing.T) {
	rng := newRand(71)
	var x, y, u []float64
	for i := range 14 {
		v := 10 + float64(i)*0.7
		x, y, u = append(x, v), append(y, 3+v-0.05*v*v+0.02*rng.NormFloat64()), append(u, 0.01+0.002*float64(i))
	}
	p, err := FitPoly(x, y, 2, FitOptions{U: u})
	if err != nil {
		t.Fatal(err)
	}
	sum, lev := 0.0, 0.0
	for i := range x {
		out := func(s []float64) []float64 { return append(append([]float64{}, s[:i]...), s[i+1:]...) }
		q, err := FitPoly(out(x), out(y), 2, FitOptions{U: out(u)})
		if err != nil {
			t.Fatal(err)
		}
		d := (y[i] - q.At(x[i])) / u[i]
		sum += d * d
		lev += p.Leverage[i]
	}
	same(t, "leave-one-out", p.Press, math.Sqrt(sum/float64(len(x))), 1e-9)
	same(t, "leverages add up to the number of coefficients", lev, 3, 1e-12)
}

// A straight line by the closed weighted formulas: b = S_xy/S_xx about the weighted
// means, var b = 1/S_xx.
func TestWeightsByHand(t *testing.T) {
	x := []float64{1, 2, 4, 7}
	y := []float64{2.1, 3.9, 8.2, 13.8}
	u := []float64{0.1, 0.2, 0.1, 0.4}
	sw, sx, sy := 0.0, 0.0, 0.0
	for i := range x {
		w := 1 / (u[i] * u[i])
		sw, sx, sy = sw+w, sx+w*x[i], sy+w*y[i]
	}
	sxx, sxy := 0.0, 0.0
	for i := range x {
		w := 1 / (u[i] * u[i])
		sxx += w * (x[i] - sx/sw) * (x[i] - sx/sw)
		sxy += w * (x[i] - sx/sw) * (y[i] - sy/sw)
	}
	p, err := FitPoly(x, y, 1, FitOptions{U: u})
	if err != nil {
		t.Fatal(err)
	}
	b, ub := p.Monomial()
	same(t, "slope", b[1], sxy/sxx, 1e-12)
	same(t, "u of the slope", ub[1], max(1, p.S)/math.Sqrt(sxx), 1e-12)
	// Uncertainties a tenth as large do not make the slope ten times surer, since
	// the residuals are as they are.
	for i := range u {
		u[i] /= 10
	}
	q, err := FitPoly(x, y, 1, FitOptions{U: u})
	if err != nil {
		t.Fatal(err)
	}
	_, uq := q.Monomial()
	same(t, "u of the slope by Birge", uq[1], q.S/math.Sqrt(100*sxx), 1e-12)
	if len(q.Warnings) != 1 {
		t.Errorf("residuals far beyond the uncertainties draw warnings %v", q.Warnings)
	}
}

// The uncertainty of the curve as lines of a budget is that of the curve, and two
// readings on one calibration share it: at one place it cancels altogether.
func TestCalibrationLines(t *testing.T) {
	rng := newRand(72)
	var x, y []float64
	for i := range 12 {
		v := 100 + 20*float64(i)
		x, y = append(x, v), append(y, 1.02*v+0.3*rng.NormFloat64())
	}
	p, err := FitPoly(x, y, 1, FitOptions{})
	if err != nil {
		t.Fatal(err)
	}
	at := func(v float64) Budget { return Budget{Value: p.At(v), Lines: p.Lines("calibration A", "cfm", v)} }
	same(t, "u", at(150).Combined(), p.U(150), 1e-12)
	same(t, "dof", at(150).Dof(), 10, 1e-9)
	r, _, err := Ratio(at(150), at(150))
	if err != nil {
		t.Fatal(err)
	}
	if r.Combined() != 0 {
		t.Errorf("one place twice leaves %v", r.Combined())
	}
	r, c, err := Ratio(at(155), at(150))
	if err != nil {
		t.Fatal(err)
	}
	if u := r.Relative(); u > 0.1*p.U(150)/150 || u == 0 || len(c) != 2 {
		t.Errorf("neighbouring places leave %v of %v, sharing %d inputs", u, p.U(150)/150, len(c))
	}
	// Against the covariance of the two by hand.
	g, h := p.basis(155), p.basis(150)
	for k := range g {
		g[k] = g[k]/p.At(155) - h[k]/p.At(150)
	}
	same(t, "u of the ratio", r.Relative(), math.Sqrt(p.Variance(g)), 1e-9)
}

// The curve's 95 % interval holds the true curve as often as it says; four binomial
// deviations of 1500 fits.
func TestFitCoverage(t *testing.T) {
	const runs = 1500
	rng := newRand(73)
	held := 0
	for range runs {
		var x, y []float64
		for i := range 9 {
			v := float64(i) - 3
			x, y = append(x, v), append(y, 2-v+0.3*v*v+0.5*rng.NormFloat64())
		}
		p, err := FitPoly(x, y, 2, FitOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(p.At(1.3)-(2-1.3+0.3*1.69)) <= CoverageFactor(0.95, p.Dof)*p.U(1.3) {
			held++
		}
	}
	near(t, "coverage", float64(held)/runs, 0.95, 0, 4*math.Sqrt(0.95*0.05/runs))
}

// With little noise the evidence finds the order; with none of it in the data it
// does not reach beyond.
func TestFitOrder(t *testing.T) {
	for _, by := range []Criterion{ByAICc, ByPress} {
		right := map[int]int{}
		const runs = 100
		for seed := range uint64(runs) {
			rng := newRand(seed)
			var x, y []float64
			for i := range 20 {
				v := float64(i) / 4
				x, y = append(x, v), append(y, 5+v-0.8*v*v+0.05*rng.NormFloat64())
			}
			p, all, err := FitOrder(x, y, 6, by, FitOptions{})
			if err != nil {
				t.Fatal(err)
			}
			if len(all) != 7 {
				t.Fatalf("%d candidates shown, want 7", len(all))
			}
			right[p.Order]++
		}
		if right[2] < 80 || right[0]+right[1] > 0 {
			t.Errorf("%s chose the orders %v, want 2 in most of %d", by, right, runs)
		}
	}
	// Three values carry no more than a mean under AICc.
	p, all, err := FitOrder([]float64{1, 2, 3}, []float64{1, 2, 3.1}, 5, ByAICc, FitOptions{})
	if err != nil || p.Order != 0 || len(all) != 1 {
		t.Errorf("three values: order %d of %d candidates (%v)", p.Order, len(all), err)
	}
}

func TestFitRefuses(t *testing.T) {
	for _, c := range []struct {
		name  string
		x, y  []float64
		order int
		u     []float64
		want  error
	}{
		{"too few", []float64{1, 2}, []float64{1, 2}, 2, nil, ErrTooFew},
		{"nothing", nil, nil, 0, nil, ErrTooFew},
		{"one x", []float64{3, 3, 3}, []float64{1, 2, 3}, 1, nil, ErrRank},
		{"NaN x", []float64{nan(), 3, 4}, []float64{1, 2, 3}, 1, nil, ErrNotFinite},
		{"NaN y", []float64{1, 3, 4}, []float64{1, nan(), 3}, 1, nil, ErrNotFinite},
		{"u of zero", []float64{1, 3, 4}, []float64{1, 2, 3}, 1, []float64{1, 0, 1}, ErrNotPositive},
	} {
		if _, err := FitPoly(c.x, c.y, c.order, FitOptions{U: c.u}); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	// As many values as unknowns: a curve through them, and no pretence of a scatter.
	p, err := FitPoly([]float64{1, 2}, []float64{1, 3}, 1, FitOptions{})
	if err != nil || len(p.Warnings) != 1 {
		t.Errorf("no spare values: %v (%v)", p.Warnings, err)
	}
	same(t, "through the points", p.At(1.5), 2, 1e-14)
}
