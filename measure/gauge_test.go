package measure

import (
	"errors"
	"math"
	"testing"

	"runnel/internal/tabletest"
)

// Source: testdata/gauge_rr.csv on gauge_rr_data.csv (own formulas of the classical
// method, sums of squares by R aov); tolerance of its header.
func TestGaugeCrossedTable(t *testing.T) {
	data := map[string][]GaugeRow{}
	for _, r := range tabletest.Read(t, "testdata/gauge_rr_data.csv", 1) {
		data[r["study"]] = append(data[r["study"]], GaugeRow{Piece: r["part"], Person: r["operator"], Value: r.Num(t, "y")})
	}
	for _, r := range tabletest.Read(t, "testdata/gauge_rr.csv", 1) {
		pool := PoolNever
		if r["pooled_interaction"] == "1" {
			pool = PoolAlways
		}
		g, err := GaugeCrossed(data[r["study"]], pool)
		if err != nil {
			t.Fatal(err)
		}
		for column, got := range map[string]float64{
			"parts": float64(g.Pieces), "operators": float64(g.People), "repeats": float64(g.Repeats),
			"SS_part": g.SSPart, "SS_operator": g.SSPerson, "SS_interaction": g.SSInteraction, "SS_equipment": g.SSRepeat,
			"SS_total":      g.SSPart + g.SSPerson + g.SSInteraction + g.SSRepeat,
			"F_interaction": g.FInteraction, "p_interaction": g.PInteraction,
			"var_repeat": g.VarRepeat, "var_operator": g.VarPerson, "var_interaction": g.VarInteraction,
			"var_reproducibility": g.VarReproduce, "var_grr": g.VarGauge, "var_part": g.VarPart, "var_total": g.VarTotal,
			"pct_grr_of_total_sd": 100 * math.Sqrt(g.GaugeShare), "ndc_1p41": g.Categories,
		} {
			near(t, r["study"]+" "+column, got, r.Num(t, column), 1e-9, 1e-15)
		}
		auto, err := GaugeCrossed(data[r["study"]], PoolAuto)
		if err != nil {
			t.Fatal(err)
		}
		if auto.Pooled != (g.PInteraction > 0.25) {
			t.Errorf("%s: pooled %v at p = %v", r["study"], auto.Pooled, g.PInteraction)
		}
	}
}

// nestedRow is one row of the NIST study.
type nestedRow struct {
	run, wafer, probe string
	average, sd       float64
}

func nestedStudy(t *testing.T) []nestedRow {
	t.Helper()
	var rows []nestedRow
	for _, r := range tabletest.Read(t, "testdata/nist_mpc61.csv", 1) {
		rows = append(rows, nestedRow{r["run"], r["wafer"], r["probe"], r.Num(t, "average"), r.Num(t, "stddev")})
	}
	return rows
}

// by groups the averages of rows that want keeps, in the order in which the keys
// are met.
func by(rows []nestedRow, key func(nestedRow) string, keep func(nestedRow) bool) (keys []string, groups map[string][]float64) {
	groups = map[string][]float64{}
	for _, r := range rows {
		if !keep(r) {
			continue
		}
		k := key(r)
		if groups[k] == nil {
			keys = append(keys, k)
		}
		groups[k] = append(groups[k], r.average)
	}
	return keys, groups
}

// Source: NIST/SEMATECH e-Handbook 2.6.1, resistivity gauge study, probe 2362: five
// wafers, two runs, six days, six repeats; published analysis in
// testdata/nist_mpc61_results.csv with the tolerance of each figure.
func TestNISTNestedStudy(t *testing.T) {
	want := map[string][2]float64{}
	for _, r := range tabletest.Read(t, "testdata/nist_mpc61_results.csv", 1) {
		want[r["quantity"]] = [2]float64{r.Num(t, "value"), r.Num(t, "atol")}
	}
	check := func(name string, got float64) {
		t.Helper()
		w, ok := want[name]
		if !ok {
			t.Fatalf("no published %q", name)
		}
		near(t, name, got, w[0], 0, w[1])
	}
	rows := nestedStudy(t)
	probe := func(r nestedRow) bool { return r.probe == "2362" }
	var sds, dofs []float64
	for _, r := range rows {
		if probe(r) {
			sds, dofs = append(sds, r.sd), append(dofs, 5)
		}
	}
	s1, nu1, err := PoolSDs(sds, dofs)
	if err != nil {
		t.Fatal(err)
	}
	keys, days := by(rows, func(r nestedRow) string { return r.wafer + "/" + r.run }, probe)
	var dayGroups [][]float64
	runMeans := map[string][]float64{}
	for _, k := range keys {
		dayGroups = append(dayGroups, days[k])
		wafer := k[:len(k)-2]
		runMeans[wafer] = append(runMeans[wafer], Mean(days[k]))
	}
	s2, nu2, err := PooledSD(dayGroups)
	if err != nil {
		t.Fatal(err)
	}
	var runGroups [][]float64
	for _, g := range runMeans {
		runGroups = append(runGroups, g)
	}
	s3, nu3, err := PooledSD(runGroups)
	if err != nil {
		t.Fatal(err)
	}
	if nu1 != 300 || nu2 != 50 || nu3 != 5 {
		t.Errorf("degrees of freedom %v, %v, %v, published 300, 50, 5", nu1, nu2, nu3)
	}
	check("s1_level1_repeatability", s1)
	check("s2_level2_days", s2)
	check("s3_level3_runs", s3)
	check("s_days=sqrt(s2^2-s1^2/6)", math.Sqrt(s2*s2-s1*s1/6))
	check("s_runs=sqrt(s3^2-s2^2/6)", math.Sqrt(s3*s3-s2*s2/6))

	bias := probeBias(rows, "2362")
	check("probe_bias_mean", Mean(bias))
	check("s_probe", SD(bias))
	b := Budget{Value: 1, Lines: []Line{
		{Quantity: "days", U: s2, Dof: nu2, Sensitivity: math.Sqrt(5. / 6)},
		{Quantity: "runs", U: s3, Dof: nu3, Sensitivity: 1},
		{Quantity: "probe", U: SD(bias), Dof: 9, Sensitivity: math.Sqrt(0.1)},
	}}
	check("u=sqrt(5/6 s2^2+s3^2+s_probe^2/10)", b.Combined())
	check("nu_eff", b.Dof())
	check("U95=t(.975,42)*u", CoverageFactor(0.95, 42)*b.Combined())
}

// probeBias returns, for each run and wafer, the mean of one probe less the mean of
// all probes.
func probeBias(rows []nestedRow, probe string) []float64 {
	keys, groups := by(rows, func(r nestedRow) string { return r.run + "/" + r.wafer + "/" + r.probe }, func(nestedRow) bool { return true })
	all, own := map[string][]float64{}, map[string]float64{}
	var order []string
	for _, k := range keys {
		cell := k[:len(k)-len(k[lastSlash(k):])]
		if all[cell] == nil {
			order = append(order, cell)
		}
		all[cell] = append(all[cell], Mean(groups[k]))
		if k[lastSlash(k)+1:] == probe {
			own[cell] = Mean(groups[k])
		}
	}
	var bias []float64
	for _, c := range order {
		bias = append(bias, own[c]-Mean(all[c]))
	}
	return bias
}

func lastSlash(s string) int {
	for i := len(s) - 1; i >= 0; i-- {
		if s[i] == '/' {
			return i
		}
	}
	return -1
}

// The nested analysis against the one-way analysis of all pieces and of the people's
// means, which it is made of, and against simulated truth.
func TestGaugeNested(t *testing.T) {
	rng := newRand(91)
	const people, pieces, repeats = 40, 6, 4
	var rows []GaugeRow
	var byPiece [][]float64
	for o := range people {
		person := 0.5 * rng.NormFloat64()
		for p := range pieces {
			piece := 2 * rng.NormFloat64()
			var c []float64
			for range repeats {
				v := 100 + person + piece + 0.3*rng.NormFloat64()
				c = append(c, v)
				rows = append(rows, GaugeRow{Piece: string(rune('A'+o)) + string(rune('a'+p)), Person: string(rune('A' + o)), Value: v})
			}
			byPiece = append(byPiece, c)
		}
	}
	g, err := GaugeNested(rows)
	if err != nil {
		t.Fatal(err)
	}
	w, err := RandomEffects(byPiece)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "repeat", g.VarRepeat, w.VarWithin, 1e-9)
	same(t, "sums of squares", g.SSPart+g.SSPerson, w.SSBetween, 1e-9)
	// A variance of ν degrees of freedom is known to sqrt(2/ν); three of those. The
	// people's variance is small against its noise from pieces, 4/6.
	same(t, "part", g.VarPart, 4, 3*math.Sqrt(2.0/(people*(pieces-1))))
	near(t, "person", g.VarPerson, 0.25, 0, 3*math.Sqrt(2.0/(people-1))*(0.25+4.0/pieces))
	same(t, "repeat against truth", g.VarRepeat, 0.09, 3*math.Sqrt(2.0/(people*pieces*(repeats-1))))
	// A claim of 1 % of a reading of 100 against a gauge of known variance.
	same(t, "eats", Gauge{VarGauge: 0.04}.Eats(1), 1.959964*math.Sqrt(2)*0.2, 1e-6)
}

func TestGaugeRefuses(t *testing.T) {
	full := func() []GaugeRow {
		var rows []GaugeRow
		for i, pc := range []string{"a", "a", "a", "a", "b", "b", "b", "b"} {
			rows = append(rows, GaugeRow{pc, []string{"x", "x", "y", "y"}[i%4], float64(i*i%7) + 1})
		}
		return rows
	}
	if _, err := GaugeCrossed(full(), PoolAuto); err != nil {
		t.Fatalf("a whole study: %v", err)
	}
	with := func(change func([]GaugeRow) []GaugeRow) []GaugeRow { return change(full()) }
	for _, c := range []struct {
		name string
		rows []GaugeRow
		want error
	}{
		{"nothing", nil, ErrTooFew},
		{"a reading is missing", full()[:7], ErrUnbalanced},
		{"a cell is missing", full()[:6], ErrUnbalanced},
		{"one person", with(func(r []GaugeRow) []GaugeRow { return []GaugeRow{r[0], r[1], r[4], r[5]} }), ErrTooFew},
		{"no repeats", with(func(r []GaugeRow) []GaugeRow { return []GaugeRow{r[0], r[2], r[4], r[6]} }), ErrTooFew},
		{"NaN", with(func(r []GaugeRow) []GaugeRow { r[3].Value = nan(); return r }), ErrNotFinite},
	} {
		if _, err := GaugeCrossed(c.rows, PoolAuto); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	if _, err := GaugeNested(full()); !errors.Is(err, ErrUnbalanced) {
		t.Errorf("a crossed study taken for a nested one: %v", err)
	}
	if _, err := GaugeNested(nil); !errors.Is(err, ErrTooFew) {
		t.Errorf("an empty nested study: %v", err)
	}
	one := []GaugeRow{{"a", "x", 1}, {"a", "x", 2}, {"b", "y", 1}, {"b", "y", 3}}
	if _, err := GaugeNested(one); !errors.Is(err, ErrTooFew) {
		t.Errorf("one piece a person: %v", err)
	}
	if _, err := GaugeNested(append(one, GaugeRow{"c", "y", 1}, GaugeRow{"c", "y", 4})); !errors.Is(err, ErrUnbalanced) {
		t.Errorf("two pieces against one: %v", err)
	}
	if _, _, err := PooledSD([][]float64{{1}, {2}}); !errors.Is(err, ErrTooFew) {
		t.Errorf("nothing to pool: %v", err)
	}
	if _, _, err := PoolSDs(nil, nil); !errors.Is(err, ErrTooFew) {
		t.Errorf("no deviations to pool: %v", err)
	}
}
