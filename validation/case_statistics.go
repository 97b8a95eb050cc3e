package validation

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"runnel/measure"
)

// floats reads a list of numbers parted by semicolons.
func (b *book) floats(list string) []float64 {
	var out []float64
	for s := range strings.SplitSeq(list, ";") {
		out = append(out, b.num(record{"list": s}, "list"))
	}
	return out
}

func dof(b *book) error {
	for _, r := range b.rows("welch_satterthwaite.csv") {
		uc := b.num(r, "uc")
		nu := measure.WelchSatterthwaite(uc, b.floats(r["u_list"]), b.floats(r["nu_list"]))
		if want := b.num(r, "nu_eff"); !math.IsInf(want, 1) {
			b.compare("effective degrees of freedom", nu, want)
		} else if !math.IsInf(nu, 1) {
			b.fail("row %s: %v degrees of freedom, wanted infinitely many", r["id"], nu)
		}
		b.compare("expanded uncertainty", measure.CoverageFactor(0.95, nu)*uc, b.num(r, "U95"))
	}
	for _, r := range b.rows("student_t.csv") {
		b.compare("t quantile", measure.TQuantile(b.num(r, "p"), b.num(r, "nu")), b.num(r, "t_p"))
		b.compare("t distribution at 1.5", measure.TCDF(1.5, b.num(r, "nu")), b.num(r, "cdf_1p5"))
	}
	return nil
}

// grouped collects a column by the value of another, in order.
func (b *book) grouped(rows []record, by, column string) (keys []string, values map[string][]float64) {
	values = map[string][]float64{}
	for _, r := range rows {
		if !slices.Contains(keys, r[by]) {
			keys = append(keys, r[by])
		}
		values[r[by]] = append(values[r[by]], b.num(r, column))
	}
	return keys, values
}

func where(rows []record, column, value string) []record {
	return slices.DeleteFunc(slices.Clone(rows), func(r record) bool { return r[column] != value })
}

func twoSamples(b *book) error {
	data := b.rows("two_sample_data.csv")
	for _, r := range b.rows("welch_tost.csv") {
		_, s := b.grouped(where(data, "case", r["case"]), "sample", "y")
		w, err := measure.WelchTest(s["A"], s["B"])
		if err != nil {
			return err
		}
		b.compare("difference of means", w.Diff, b.num(r, "diff"))
		b.compare("its standard uncertainty", w.SE, b.num(r, "se"))
		b.compare("degrees of freedom", w.Dof, b.num(r, "nu"))
		b.compare("t", w.T, b.num(r, "t"))
		b.compare("two-sided probability", w.P, b.num(r, "p_two_sided"))
		lo, hi := w.Interval(0.95)
		b.compare("95 % interval", lo, b.num(r, "ci95_low"))
		b.compare("95 % interval", hi, b.num(r, "ci95_high"))
		e := w.Tost(b.num(r, "delta"))
		b.compare("probability of the two one-sided tests", e.P, b.num(r, "p_tost"))
	}
	return nil
}

func randomEffects(b *book) error {
	data := b.rows("anova_random_data.csv")
	for _, r := range b.rows("anova_random.csv") {
		keys, groups := b.grouped(where(data, "dataset", r["dataset"]), "group", "y")
		var in [][]float64
		for _, k := range keys {
			in = append(in, groups[k])
		}
		w, err := measure.RandomEffects(in)
		if err != nil {
			return err
		}
		b.compare("F", w.F, b.num(r, "F"))
		b.compare("probability of F", w.P, b.num(r, "p"))
		b.compare("variance of repeats", w.VarWithin, b.num(r, "var_within"))
		b.compare("variance between groups", w.VarRaw, b.num(r, "var_between_raw"))
	}
	return nil
}

func gauge(b *book) error {
	data := b.rows("gauge_rr_data.csv")
	for _, r := range b.rows("gauge_rr.csv") {
		var rows []measure.GaugeRow
		for _, d := range where(data, "study", r["study"]) {
			rows = append(rows, measure.GaugeRow{Piece: d["part"], Person: d["operator"], Value: b.num(d, "y")})
		}
		pool := measure.PoolNever
		if r["pooled_interaction"] == "1" {
			pool = measure.PoolAlways
		}
		g, err := measure.GaugeCrossed(rows, pool)
		if err != nil {
			return err
		}
		b.compare("sum of squares of pieces", g.SSPart, b.num(r, "SS_part"))
		b.compare("variance of repeats", g.VarRepeat, b.num(r, "var_repeat"))
		b.compare("variance of people and interaction", g.VarReproduce, b.num(r, "var_reproducibility"))
		b.compare("variance of pieces", g.VarPart, b.num(r, "var_part"))
		b.compare("variance of the gauge", g.VarGauge, b.num(r, "var_grr"))
		b.compare("kinds told apart", g.Categories, b.num(r, "ndc_1p41"))
	}
	return nil
}

// nested analyses the resistivity study of NIST: repeats in days in runs, and five probes.
func nested(b *book) error {
	rows := b.rows("nist_mpc61.csv")
	var sds, dofs []float64
	days, runs := map[string][]float64{}, map[string][]float64{}
	for _, r := range where(rows, "probe", "2362") {
		sds, dofs = append(sds, b.num(r, "stddev")), append(dofs, 5)
		k := r["wafer"] + "/" + r["run"]
		days[k] = append(days[k], b.num(r, "average"))
	}
	var dayGroups, runGroups [][]float64
	for _, k := range sortedKeys(days) {
		dayGroups = append(dayGroups, days[k])
		wafer, _, _ := strings.Cut(k, "/")
		runs[wafer] = append(runs[wafer], measure.Mean(days[k]))
	}
	for _, k := range sortedKeys(runs) {
		runGroups = append(runGroups, runs[k])
	}
	s1, _, err := measure.PoolSDs(sds, dofs)
	if err != nil {
		return err
	}
	s2, nu2, err := measure.PooledSD(dayGroups)
	if err != nil {
		return err
	}
	s3, nu3, err := measure.PooledSD(runGroups)
	if err != nil {
		return err
	}
	bias := b.probeBias(rows, "2362")
	all := measure.Budget{Value: 1, Lines: []measure.Line{
		{Quantity: "days", U: s2, Dof: nu2, Sensitivity: math.Sqrt(5. / 6)},
		{Quantity: "runs", U: s3, Dof: nu3, Sensitivity: 1},
		{Quantity: "probe", U: measure.SD(bias), Dof: 9, Sensitivity: math.Sqrt(0.1)},
	}}
	got := map[string]float64{
		"s1_level1_repeatability": s1, "s2_level2_days": s2, "s3_level3_runs": s3,
		"s_days=sqrt(s2^2-s1^2/6)": math.Sqrt(s2*s2 - s1*s1/6), "s_runs=sqrt(s3^2-s2^2/6)": math.Sqrt(s3*s3 - s2*s2/6),
		"probe_bias_mean": measure.Mean(bias), "s_probe": measure.SD(bias), "u=sqrt(5/6 s2^2+s3^2+s_probe^2/10)": all.Combined(),
		"nu_eff": all.Dof(), "U95=t(.975,42)*u": measure.CoverageFactor(0.95, 42) * all.Combined(),
	}
	names := map[string]string{
		"s1_level1_repeatability": "deviation of repeats", "s2_level2_days": "deviation of days", "s3_level3_runs": "deviation of runs",
		"s_days=sqrt(s2^2-s1^2/6)": "component of days", "s_runs=sqrt(s3^2-s2^2/6)": "component of runs", "probe_bias_mean": "bias of the probe",
		"s_probe": "deviation of the bias", "u=sqrt(5/6 s2^2+s3^2+s_probe^2/10)": "combined uncertainty", "nu_eff": "degrees of freedom", "U95=t(.975,42)*u": "expanded uncertainty",
	}
	for _, r := range b.rows("nist_mpc61_results.csv") {
		v, ok := got[r["quantity"]]
		if !ok {
			return fmt.Errorf("no result %q", r["quantity"])
		}
		b.compareWithin(names[r["quantity"]], v, b.num(r, "value"), b.num(r, "atol"))
	}
	return nil
}

func sortedKeys[T any](m map[string]T) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// probeBias returns, for each run and wafer, the mean of one probe less the mean of all probes.
func (b *book) probeBias(rows []record, probe string) []float64 {
	cells := map[string]map[string][]float64{}
	for _, r := range rows {
		k := r["run"] + "/" + r["wafer"]
		if cells[k] == nil {
			cells[k] = map[string][]float64{}
		}
		cells[k][r["probe"]] = append(cells[k][r["probe"]], b.num(r, "average"))
	}
	var out []float64
	for _, k := range sortedKeys(cells) {
		var means []float64
		for _, p := range sortedKeys(cells[k]) {
			means = append(means, measure.Mean(cells[k][p]))
		}
		out = append(out, measure.Mean(cells[k][probe])-measure.Mean(means))
	}
	return out
}

func autocorrelation(b *book) error {
	_, series := b.grouped(b.rows("ar1_series.csv"), "case", "x")
	for _, r := range b.rows("ar1_neff.csv") {
		x, n := series[r["case"]], int(b.num(r, "n"))
		if len(x) != n {
			return fmt.Errorf("case %s has %d values, want %d", r["case"], len(x), n)
		}
		rho, err := measure.Autocorrelation(x, 1)
		if err != nil {
			return err
		}
		b.compare("mean", measure.Mean(x), b.num(r, "mean"))
		b.compare("standard deviation", measure.SD(x), b.num(r, "sd"))
		b.compare("lag-1 autocorrelation", rho[1], b.num(r, "r1"))
		b.compare("effective number of samples", measure.NEffAR1(n, rho[1]), b.num(r, "neff_finite"))
		nw, err := measure.NeweyWest(x, int(b.num(r, "nw_lag")))
		if err != nil {
			return err
		}
		b.compare("uncertainty of the mean by Newey and West", nw, b.num(r, "se_newey_west"))
		neff, err := measure.NEff(x)
		if err != nil {
			return err
		}
		b.compare("effective number by the lag window over that of the true series, logarithm", math.Log(neff/b.num(r, "neff_true_asym")), 0)
	}
	return nil
}

func steady(b *book) error {
	for _, r := range b.rows("r_statistic_critical_values.csv") {
		f := measure.RFilter{Mean: b.num(r, "lambda1"), About: b.num(r, "lambda2"), Step: b.num(r, "lambda3")}
		ends := endsOfRuns(f, 4000)
		for _, q := range []struct {
			p      float64
			column string
		}{{0.5, "q50"}, {0.9, "q90"}, {0.95, "q95"}} {
			b.compare("R-statistic of steady noise, "+q.column[1:]+" % quantile", measure.Quantile(ends, q.p), b.num(r, q.column))
		}
	}
	return nil
}

func detectable(b *book) error {
	for _, r := range b.rows("min_detectable_difference.csv") {
		got, err := measure.MinDetectable(b.num(r, "sd_percent")/100, int(b.num(r, "n_each")), 0.8)
		if err != nil {
			return err
		}
		b.compareWithin("smallest difference found, %", 100*got, b.num(r, "MDD_percent"), 0.0051)
	}
	return nil
}
