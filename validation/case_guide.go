package validation

import (
	"fmt"
	"math"
	"strings"

	"runnel/measure"
)

// A printed result and its rounding.
type printed struct{ value, tolerance float64 }

// worked reads one example of uncertainty.csv: its inputs and its printed results.
func (b *book) worked(example string) (in map[string]measure.Line, want map[string]printed) {
	in, want = map[string]measure.Line{}, map[string]printed{}
	for _, r := range where(b.rows("uncertainty.csv"), "example", example) {
		if r["role"] == "result" {
			want[r["name"]] = printed{b.num(r, "value"), b.num(r, "u")}
			continue
		}
		l := measure.Line{Quantity: r["name"], Estimate: b.num(r, "value"), U: b.num(r, "u"), Distribution: measure.Normal, Dof: b.opt(r, "dof")}
		switch r["dist"] {
		case "R":
			l.Distribution = measure.Rectangular
		case "t":
			l.Distribution = measure.StudentT
		}
		in[r["name"]] = l
	}
	if len(want) == 0 {
		b.fail("no example %q", example)
	}
	return in, want
}

// results compares computed values with printed ones, by name.
func (b *book) results(prefix string, want map[string]printed, got map[string]float64) {
	for _, name := range sortedKeys(got) {
		w, ok := want[name]
		if !ok {
			b.fail("%s has no printed %q", prefix, name)
			return
		}
		b.compareWithin(prefix, got[name], w.value, w.tolerance)
	}
}

func (b *book) table(file string) map[string]printed {
	out := map[string]printed{}
	for _, r := range b.rows(file) {
		out[r["name"]] = printed{b.num(r, "value"), b.num(r, "atol")}
	}
	return out
}

func guide(b *book) error {
	for _, part := range []func(*book) error{endGauge, impedance, thermometer, zener, sums, massExample, thermalExpansion} {
		if err := part(b); err != nil {
			return err
		}
	}
	return nil
}

// endGauge is H.1: the length of an end gauge.
func endGauge(b *book) error {
	in, want := b.worked("GUM_H1")
	f := func(x []float64) float64 { return x[0] + x[1] - x[0]*(x[4]*x[3]+x[2]*x[5]) }
	lines := []measure.Line{in["ls"], in["d"], in["alpha_s"], in["theta"], in["dalpha"], in["dtheta"]}
	budget, err := measure.Compute(f, lines...)
	if err != nil {
		return err
	}
	second, err := measure.SecondOrder(f, lines...)
	if err != nil {
		return err
	}
	k := measure.CoverageFactor(0.99, math.Floor(budget.Dof()))
	b.results("JCGM 100 H.1", want, map[string]float64{
		"l_nm": budget.Value, "uc_nm": budget.Combined(), "contrib_dalpha_nm": math.Abs(budget.Lines[4].Contribution()),
		"contrib_dtheta_nm": math.Abs(budget.Lines[5].Contribution()), "veff": budget.Dof(), "k99_t(16)": k, "U99_nm": k * budget.Combined(),
		"uc_with_second_order_nm": second,
	})
	return nil
}

// impedance is H.2: three quantities read together, and so correlated.
func impedance(b *book) error {
	var v, i, phi []float64
	for _, r := range b.rows("h2.csv") {
		v, i, phi = append(v, b.num(r, "V")), append(i, b.num(r, "I")*1e-3), append(phi, b.num(r, "phi"))
	}
	line := func(x []float64) measure.Line {
		n := float64(len(x))
		return measure.Line{Estimate: measure.Mean(x), U: measure.SD(x) / math.Sqrt(n), Dof: n - 1, Kind: measure.TypeA, Distribution: measure.Normal}
	}
	pairs := []measure.Pair{{I: 0, J: 1, R: correlation(v, i)}, {I: 0, J: 2, R: correlation(v, phi)}, {I: 1, J: 2, R: correlation(i, phi)}}
	got := map[string]float64{"r_V_I": pairs[0].R, "r_V_phi": pairs[1].R, "r_I_phi": pairs[2].R}
	for name, f := range map[string]func(x []float64) float64{
		"R_ohm": func(x []float64) float64 { return x[0] / x[1] * math.Cos(x[2]) },
		"X_ohm": func(x []float64) float64 { return x[0] / x[1] * math.Sin(x[2]) },
		"Z_ohm": func(x []float64) float64 { return x[0] / x[1] },
	} {
		budget, err := measure.ComputeWith(f, nil, []measure.Line{line(v), line(i), line(phi)}, pairs)
		if err != nil {
			return err
		}
		got[name], got["u_"+name] = budget.Value, budget.Combined()
	}
	b.results("JCGM 100 H.2", b.table("h2_results.csv"), got)
	return nil
}

// correlation returns the sample correlation coefficient.
func correlation(x, y []float64) float64 {
	mx, my, sum := measure.Mean(x), measure.Mean(y), 0.0
	for i := range x {
		sum += (x[i] - mx) * (y[i] - my)
	}
	return sum / math.Sqrt(measure.SumSquares(x)*measure.SumSquares(y))
}

// thermometer is H.3: a straight line through eleven corrections.
func thermometer(b *book) error {
	_, want := b.worked("GUM_H3")
	var one, t, y []float64
	for _, r := range b.rows("gum_h3.csv") {
		one, t, y = append(one, 1), append(t, b.num(r, "t_C")-20), append(y, b.num(r, "b_C"))
	}
	f, err := measure.FitLinear([][]float64{one, t}, y, measure.FitOptions{})
	if err != nil {
		return err
	}
	c := f.Covariance()
	s1, s2 := math.Sqrt(c[0][0]), math.Sqrt(c[1][1])
	at := []float64{1, 10}
	b.results("JCGM 100 H.3", want, map[string]float64{
		"y1": f.Coef[0], "y2": f.Coef[1], "s_y1": s1, "s_y2": s2, "r_y1y2": c[0][1] / (s1 * s2), "s": f.S,
		"b_30": f.Coef[0] + 10*f.Coef[1], "uc_b30": math.Sqrt(f.Variance(at)),
	})
	return nil
}

// zener is H.5: the scatter between days beside that within a day. The guide prints means and deviations of the days, so
// each day stands for five readings that have them.
func zener(b *book) error {
	var groups [][]float64
	var means []float64
	for _, r := range b.rows("h5.csv") {
		m, s := b.num(r, "mean"), b.num(r, "s")
		groups, means = append(groups, []float64{m - s*math.Sqrt2, m, m, m, m + s*math.Sqrt2}), append(means, m)
	}
	w, err := measure.RandomEffects(groups)
	if err != nil {
		return err
	}
	sd := measure.SD(means)
	b.results("JCGM 100 H.5", b.table("h5_results.csv"), map[string]float64{
		"mean_V": w.GrandMean, "s_of_day_means_V": sd, "s_a_V": math.Sqrt(w.MSBetween), "s_b_V": math.Sqrt(w.MSWithin), "F": w.F,
		"u_mean_V": sd / math.Sqrt(float64(len(means))), "s_B_V": math.Sqrt(w.VarBetween),
	})
	return nil
}

// draws is the number of draws of a Monte Carlo check, and extra how many standard deviations of what they give are allowed.
const (
	draws = 400_000
	extra = 4
)

// drawn compares a drawn value with a printed one; sd is the standard deviation that the draws leave it.
func (b *book) drawn(name string, got float64, w printed, sd float64) {
	b.compareWithin(name, got, w.value, w.tolerance+extra*sd)
}

// sums is JCGM 101 9.2.2 and 9.2.3: sums of four normal and of four rectangular inputs.
func sums(b *book) error {
	for _, example := range []string{"9.2.2", "9.2.3"} {
		in, want := b.worked("JCGM101_" + example)
		var lines []measure.Line
		for i := 1; i <= 4; i++ {
			lines = append(lines, in[fmt.Sprint("X", i)])
		}
		r, err := measure.Propagate(seeded(61, 101), func(x []float64) float64 { return x[0] + x[1] + x[2] + x[3] }, lines, measure.PropagateOptions{Draws: draws})
		if err != nil {
			return err
		}
		name := "JCGM 101 " + example
		b.drawn(name, r.U, want["u_Y"], 2/math.Sqrt(2*draws))
		density := math.Exp(-1.96*1.96/2) / math.Sqrt(2*math.Pi) / 2
		b.drawn(name, r.Hi, want["y_high_95"], math.Sqrt(0.025*0.975/draws)/density)
	}
	return nil
}

// massExample is JCGM 101 9.3, where the first order is wrong by design.
func massExample(b *book) error {
	in, want := b.worked("JCGM101_9.3")
	var lines []measure.Line
	for _, name := range []string{"mRc_mg", "dmRc_mg", "rho_a", "rho_W", "rho_R"} {
		l := in[name]
		if l.Distribution == measure.Rectangular {
			l.U /= math.Sqrt(3) // the example gives half-widths
		}
		lines = append(lines, l)
	}
	f := func(x []float64) float64 { return (x[0]+x[1])*(1+(x[2]-1.2)*(1/x[3]-1/x[4])) - 100000 }
	first, err := measure.Compute(f, lines...)
	if err != nil {
		return err
	}
	r, err := measure.Propagate(seeded(62, 101), f, lines, measure.PropagateOptions{Draws: draws})
	if err != nil {
		return err
	}
	const name = "JCGM 101 9.3"
	u := want["u_MCM_mg"].value
	b.drawn(name, first.Combined(), want["u_GUF_first_order_mg"], 0)
	b.drawn(name, r.Mean, want["dm_mean_mg"], u/math.Sqrt(draws))
	b.drawn(name, r.U, want["u_MCM_mg"], u/math.Sqrt(draws))
	end := math.Sqrt(0.025*0.975/draws) / (0.0584 / u) // the density of the normal distribution at 1.96, which this one has nearly
	b.drawn(name, r.ShortLo, want["low95_mg"], end)
	b.drawn(name, r.ShortHi, want["high95_mg"], end)
	return nil
}

// thermalExpansion is the example of NIST TN 1900: inputs of Student's distribution with three degrees of freedom.
func thermalExpansion(b *book) error {
	in, want := b.worked("NIST_TN1900_E13_thermal_expansion")
	var lines []measure.Line
	for _, name := range []string{"L0", "T0", "L1", "T1"} {
		l := in[name]
		l.U /= math.Sqrt(3) // the example gives the standard deviation, √3 of the scale
		lines = append(lines, l)
	}
	r, err := measure.Propagate(seeded(63, 1900), func(x []float64) float64 { return (x[2] - x[0]) / (x[0] * (x[3] - x[1])) }, lines, measure.PropagateOptions{Draws: draws})
	if err != nil {
		return err
	}
	b.drawn("NIST TN 1900, thermal expansion", r.Mean, want["alpha"], 1.76e-6/math.Sqrt(draws))
	u := want["u_alpha"]
	u.tolerance += 0.01 * u.value // the fourth moment does not exist: the deviation of the draws settles slowly
	b.drawn("NIST TN 1900, thermal expansion", r.U, u, 0)
	return nil
}

// propagation is first-order propagation through models, with correlation.
func propagation(b *book) error {
	models := map[string]func(x []float64) float64{
		"product_power": func(x []float64) float64 { return x[0] * x[1] * x[1] * math.Sqrt(x[2]/x[3]) },
		"density":       func(x []float64) float64 { return x[0] / (287.05 * x[1]) },
		"orifice": func(x []float64) float64 {
			beta := x[1] / x[2]
			return x[0] / math.Sqrt(1-beta*beta*beta*beta) * math.Pi / 4 * x[1] * x[1] * math.Sqrt(2*x[3]*x[4])
		},
		"difference":           func(x []float64) float64 { return x[0] - x[1] },
		"ratio_change_percent": func(x []float64) float64 { return 100 * (x[0]/x[1] - 1) },
		"helmholtz":            func(x []float64) float64 { return x[0] / (2 * math.Pi) * math.Sqrt(x[1]/(x[2]*x[3])) },
	}
	for _, r := range b.rows("linear_propagation.csv") {
		name, _, _ := strings.Cut(r["model"], ":")
		var in []measure.Line
		for i := range int(b.num(r, "n")) {
			in = append(in, measure.Line{Estimate: b.num(r, fmt.Sprint("x", i+1)), U: b.num(r, fmt.Sprint("u", i+1))})
		}
		var pairs []measure.Pair
		for p := range strings.SplitSeq(r["corr"], ";") {
			if p == "" {
				continue
			}
			var q measure.Pair
			if _, err := fmt.Sscanf(p, "%d-%d:%g", &q.I, &q.J, &q.R); err != nil {
				return fmt.Errorf("correlation %q: %w", p, err)
			}
			q.I, q.J = q.I-1, q.J-1
			pairs = append(pairs, q)
		}
		f, ok := models[name]
		if !ok {
			return fmt.Errorf("no model %q", name)
		}
		budget, err := measure.ComputeWith(f, nil, in, pairs)
		if err != nil {
			return err
		}
		b.compare("value", budget.Value, b.num(r, "y"))
		b.compare("combined standard uncertainty", budget.Combined(), b.num(r, "u_y"))
		for i := range in {
			b.compare("contribution of an input", budget.Lines[i].Contribution(), b.num(r, fmt.Sprintf("c%du%d", i+1, i+1)))
		}
	}
	return nil
}
