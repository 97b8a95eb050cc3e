package measure

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"runnel/internal/tabletest"
)

// Source: testdata/anova_random.csv on anova_random_data.csv (own formulas, F and p
// by scipy, variance components by restricted likelihood); tolerance of its header.
// The set NIST_SiRstv is in it.
func TestRandomEffectsTable(t *testing.T) {
	data := map[string]map[string][]float64{}
	order := map[string][]string{}
	for _, r := range tabletest.Read(t, "testdata/anova_random_data.csv", 1) {
		d := r["dataset"]
		if data[d] == nil {
			data[d] = map[string][]float64{}
		}
		if data[d][r["group"]] == nil {
			order[d] = append(order[d], r["group"])
		}
		data[d][r["group"]] = append(data[d][r["group"]], r.Num(t, "y"))
	}
	for _, r := range tabletest.Read(t, "testdata/anova_random.csv", 1) {
		var groups [][]float64
		for _, g := range order[r["dataset"]] {
			groups = append(groups, data[r["dataset"]][g])
		}
		w, err := RandomEffects(groups)
		if err != nil {
			t.Fatal(err)
		}
		for column, got := range map[string]float64{
			"k": float64(w.Groups), "N": float64(w.N), "grand_mean": w.GrandMean,
			"SS_between": w.SSBetween, "SS_within": w.SSWithin, "MS_between": w.MSBetween, "MS_within": w.MSWithin,
			"F": w.F, "p": w.P, "n0": w.N0, "var_within": w.VarWithin, "var_between_raw": w.VarRaw,
			"var_between": w.VarBetween, "icc": w.ICC, "sd_within": math.Sqrt(w.VarWithin), "sd_between": math.Sqrt(w.VarBetween),
		} {
			same(t, r["dataset"]+" "+column, got, r.Num(t, column), 1e-9)
		}
	}
}

// The sums of squares add up to that of all values, and a common level or a change
// of unit leaves F where it is.
func TestRandomEffectsIdentity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		groups := rapid.SliceOfN(rapid.SliceOfN(rapid.Float64Range(-3, 3), 1, 6), 2, 6).Draw(t, "groups")
		groups[0] = append(groups[0], 0.5) // at least one repeat
		level, scale := rapid.Float64Range(-500, 500).Draw(t, "level"), rapid.Float64Range(0.2, 5).Draw(t, "scale")
		var all []float64
		moved := make([][]float64, len(groups))
		for i, g := range groups {
			all = append(all, g...)
			for _, v := range g {
				moved[i] = append(moved[i], level+scale*v)
			}
		}
		a, err := RandomEffects(groups)
		if err != nil {
			t.Fatal(err)
		}
		b, err := RandomEffects(moved)
		if err != nil {
			t.Fatal(err)
		}
		if total := SumSquares(all); math.Abs(a.SSBetween+a.SSWithin-total) > 1e-12*(1+total) {
			t.Fatalf("%v + %v is not %v", a.SSBetween, a.SSWithin, total)
		}
		if a.MSWithin > 1e-3 && math.Abs(b.F-a.F) > 1e-7*(1+a.F) {
			t.Fatalf("F = %v became %v", a.F, b.F)
		}
	})
}

func TestRandomEffectsRefuses(t *testing.T) {
	for _, c := range []struct {
		groups [][]float64
		want   error
	}{
		{nil, ErrTooFew},
		{[][]float64{{1, 2}}, ErrTooFew},
		{[][]float64{{1}, {2}}, ErrTooFew},
		{[][]float64{{1, 2}, {}}, ErrTooFew},
		{[][]float64{{1, 2}, {nan(), 1}}, ErrNotFinite},
	} {
		if _, err := RandomEffects(c.groups); !errors.Is(err, c.want) {
			t.Errorf("RandomEffects(%v): %v, want %v", c.groups, err, c.want)
		}
	}
	w, err := RandomEffects([][]float64{{1, 1}, {2, 2}})
	if err != nil || !math.IsInf(w.F, 1) || w.P != 0 || w.ICC != 1 {
		t.Errorf("groups without scatter: %+v (%v)", w, err)
	}
}
