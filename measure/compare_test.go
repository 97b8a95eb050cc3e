package measure

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// plain are repeats of which nothing more is known.
func plain(values ...float64) []Budget {
	var all []Budget
	for _, v := range values {
		all = append(all, Budget{Value: v})
	}
	return all
}

// With no shared inputs the comparison is Welch's test on logarithms, but for the degrees of freedom: between his and those of one common scatter.
func TestCompareIsWelchOfLogs(t *testing.T) {
	a := []float64{315.2, 313.9, 316.1, 314.8, 315.5}
	b := []float64{321.0, 320.1, 322.4, 319.7, 321.6}
	la, lb := make([]float64, len(a)), make([]float64, len(b))
	for i := range a {
		la[i], lb[i] = math.Log(a[i]), math.Log(b[i])
	}
	w, err := WelchTest(lb, la)
	if err != nil {
		t.Fatal(err)
	}
	c, err := CompareRatio(plain(a...), plain(b...), CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if c.Dof <= w.Dof || c.Dof >= 8 {
		t.Errorf("%v degrees of freedom, want between Welch's %v and 8", c.Dof, w.Dof)
	}
	// By hand: five a side, so that the pooled variance is the mean of the two.
	v1, v2 := math.Pow(SD(la), 2), math.Pow(SD(lb), 2)
	v1, v2 = v1+((v1+v2)/2-v1)/3, v2+((v1+v2)/2-v2)/3
	same(t, "dof", c.Dof, 4*(v1+v2)*(v1+v2)/(v1*v1+v2*v2), 1e-9)
	w.Dof = c.Dof
	lo, hi := w.Interval(0.95)
	same(t, "ratio", c.Ratio, math.Exp(w.Diff), 1e-12)
	same(t, "u", c.URel, w.SE, 1e-12)
	same(t, "lo", c.Lo95, math.Exp(lo), 1e-12)
	same(t, "hi", c.Hi95, math.Exp(hi), 1e-12)
	if c.Say() != "proven gain" {
		t.Errorf("verdict %q", c.Say())
	}
	// The delta method on the arithmetic means, to first order the same.
	ma, mb := Mean(a), Mean(b)
	u := math.Hypot(SD(a)/ma, SD(b)/mb) / math.Sqrt(5)
	same(t, "delta method", c.URel, u, 0.01)
	// The width of 'the same within' is where the two one-sided tests just pass.
	same(t, "TOST p at the least width", w.Tost(math.Log1p(c.Least)).P, 0.05, 1e-9)
	// The other way round is the inverse.
	r, err := CompareRatio(plain(b...), plain(a...), CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "inverse", r.Ratio*c.Ratio, 1, 1e-14)
	same(t, "inverse interval", r.Lo95*c.Hi95, 1, 1e-14)
	if r.Say() != "proven loss" {
		t.Errorf("verdict %q", r.Say())
	}
}

func TestCompareWords(t *testing.T) {
	for _, c := range []struct {
		name          string
		before, after []float64
		opt           CompareOptions
		want          string
	}{
		{"clear gain", []float64{100, 100.1, 99.9}, []float64{103, 103.1, 102.9}, CompareOptions{}, "proven gain"},
		{"clear loss", []float64{100, 100.1, 99.9}, []float64{97, 97.1, 96.9}, CompareOptions{}, "proven loss"},
		{"gain too small to claim", []float64{100, 100.01, 99.99}, []float64{100.4, 100.41, 100.39}, CompareOptions{}, "the same within 0.5 %"},
		{"claimed when less is worth claiming", []float64{100, 100.01, 99.99}, []float64{100.4, 100.41, 100.39}, CompareOptions{Smallest: 0.002}, "proven gain"},
		{"scatter hides it", []float64{100, 101, 99}, []float64{101, 102, 100}, CompareOptions{}, "no proven change"},
		{"wider sameness", []float64{100, 100.3, 99.7, 100.1}, []float64{100.1, 100.4, 99.8, 100}, CompareOptions{SameWithin: 0.01}, "the same within 1 %"},
	} {
		got, err := CompareRatio(plain(c.before...), plain(c.after...), c.opt)
		if err != nil {
			t.Fatal(err)
		}
		if got.Say() != c.want {
			t.Errorf("%s: %q (ratio %.4f, %.4f to %.4f), want %q", c.name, got.Say(), got.Ratio, got.Lo95, got.Hi95, c.want)
		}
	}
}

// A shared plate does not widen a comparison; a change of plate does, and repeats
// do not narrow it.
func TestCompareShared(t *testing.T) {
	var before, after, other []Budget
	for i, v := range []float64{1, 1.001, 0.999, 1.0005} {
		before = append(before, reading(2e-3*v, "b"+strconv.Itoa(i), 0.0005))
		after = append(after, reading(2.03e-3*v, "a"+strconv.Itoa(i), 0.0005))
		r := reading(2.03e-3*v, "o"+strconv.Itoa(i), 0.0005)
		r.Lines[0].Key = "plate 4 C"
		other = append(other, r)
	}
	one, err := CompareRatio(before, after, CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "shared part, one plate", one.UShared, 0, 0, 1e-15)
	if len(one.Cancelled) != 2 || one.Cancelled[0].Key != "plate 3 C" {
		t.Errorf("cancelled %+v", one.Cancelled)
	}
	two, err := CompareRatio(before, other, CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "shared part, two plates", two.UShared, math.Hypot(0.005, 0.005), 1e-9)
	same(t, "random part stays", two.URandom, one.URandom, 1e-9)
	if one.Word != ProvenGain || two.Word != NoChange {
		t.Errorf("verdicts %q and %q", one.Say(), two.Say())
	}
	if one.RepeatsNeeded != 0 || two.RepeatsNeeded != NoRepeats {
		t.Errorf("repeats needed %d and %d, want settled and none that helps", one.RepeatsNeeded, two.RepeatsNeeded)
	}
}

// One reading each: the budgets answer, widely, and say that no repeat was seen.
func TestCompareOneReadingEach(t *testing.T) {
	a, b := reading(2e-3, "r1", 0.004), reading(2.03e-3, "r2", 0.003)
	c, err := CompareRatio([]Budget{a}, []Budget{b}, CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "u", c.URel, math.Hypot(0.004, 0.003), 1e-9)
	// Two terms of 14 degrees of freedom each.
	same(t, "dof", c.Dof, 14*math.Pow(0.005, 4)/(math.Pow(0.004, 4)+math.Pow(0.003, 4)), 1e-9)
	if len(c.Warnings) != 1 {
		t.Errorf("warnings %v, want one about single readings", c.Warnings)
	}
	r, _, err := Ratio(b, a)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "as Ratio", c.URel, r.Relative(), 1e-9)
	// A known scatter of set-ups widens it.
	w, err := CompareRatio([]Budget{a}, []Budget{b}, CompareOptions{RepeatSD: 0.006, RepeatDof: 9})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "u with set-ups", w.URel, math.Sqrt(0.005*0.005+2*0.006*0.006), 1e-9)
	// A reading with itself.
	c, err = CompareRatio([]Budget{a}, []Budget{a}, CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if c.Ratio != 1 || c.URel != 0 || c.Lo95 != 1 || c.Hi95 != 1 {
		t.Errorf("a reading with itself: %v ± %v", c.Ratio, c.URel)
	}
	// One reading against three: the scatter of the three stands in.
	c, err = CompareRatio(plain(100), plain(103, 103.3, 102.8), CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	sd := SD([]float64{math.Log(103), math.Log(103.3), math.Log(102.8)})
	same(t, "borrowed scatter", c.URandom, sd*math.Sqrt(1+1./3), 1e-9)
	same(t, "borrowed dof", c.Dof, 2, 1e-9)
	// What the single reading has of another plate comes on top: no repeat shows it.
	one := Budget{Value: 100, Lines: []Line{{Key: "plate 4 C", Kind: TypeB, U: 0.2, Sensitivity: 1}}}
	c, err = CompareRatio([]Budget{one}, plain(103, 103.3, 102.8), CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "with its plate", c.URel, math.Hypot(sd*math.Sqrt(1+1./3), 0.002), 1e-9)
}

func TestCompareRefuses(t *testing.T) {
	for _, c := range []struct {
		name          string
		before, after []Budget
		want          error
	}{
		{"nothing before", nil, plain(1), ErrTooFew},
		{"one each, nothing known", plain(1), plain(2), ErrTooFew},
		{"all equal", plain(1, 1, 1), plain(2, 2), ErrNoScatter},
		{"negative", plain(1, 2), plain(-1, 2), ErrNotPositive},
		{"NaN", plain(1, 2), plain(nan(), 2), ErrNotFinite},
	} {
		if _, err := CompareRatio(c.before, c.after, CompareOptions{}); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	// Equal to the last digit, but with budgets: these answer instead.
	c, err := CompareRatio([]Budget{reading(2, "a", 0.001), reading(2, "b", 0.001)},
		[]Budget{reading(2, "c", 0.001), reading(2, "d", 0.001)}, CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "u of equal repeats", c.URel, 0.001, 1e-9)
}

func TestCompareJSON(t *testing.T) {
	c, err := CompareRatio([]Budget{reading(2, "a", 0.001)}, []Budget{reading(2.1, "b", 0.001)}, CompareOptions{RepeatSD: 0.002})
	if err != nil {
		t.Fatal(err)
	}
	c.Dof = math.Inf(1)
	data, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"word":"proven gain"`, `"dof":null`, `"lo95":`, `"cancelled":[{`} {
		if !strings.Contains(string(data), want) {
			t.Errorf("%s is not in %s", want, data)
		}
	}
}

// comparisons is how many simulated comparisons the coverage tests make: 20 000
// when MEASURE_COMPARISONS says so, 1000 otherwise.
func comparisons(t *testing.T) int {
	t.Helper()
	if s := os.Getenv("MEASURE_COMPARISONS"); s != "" {
		n, err := strconv.Atoi(s)
		if err != nil {
			t.Fatalf("MEASURE_COMPARISONS: %v", err)
		}
		return n
	}
	return 1000
}

// The 95 % interval holds the truth in 94 to 96 % of simulated comparisons; at
// reduced size the band is widened by three binomial deviations.
//
// Each reading has its own scatter, a plate that both sides share, and a barometer
// that each side has for itself.
func TestCompareCoverage(t *testing.T) {
	runs := comparisons(t)
	tol := 0.01
	if runs < 20_000 {
		tol += 3 * math.Sqrt(0.95*0.05/float64(runs))
	}
	for _, c := range []struct {
		nb, na   int
		sdb, sda float64 // relative scatter of a reading
		sys      float64 // relative uncertainty that does not cancel, each side
	}{
		{3, 3, 0.005, 0.005, 0.003},
		{4, 6, 0.005, 0.008, 0},
		{5, 5, 0.004, 0.002, 0.001},
		{8, 3, 0.006, 0.006, 0.002},
		{1, 1, 0.005, 0.005, 0.002},
	} {
		rng := newRand(uint64(100*c.nb + c.na))
		held := 0
		for range runs {
			truth := 1.013
			plate := 1 + 0.01*rng.NormFloat64()
			side := func(n int, level, sd float64, key string) []Budget {
				own := 1 + c.sys*rng.NormFloat64()
				var all []Budget
				for range n {
					v := level * plate * own * (1 + sd*rng.NormFloat64())
					b := Budget{Value: v, Lines: []Line{
						{Key: "plate", U: 0.01, Sensitivity: v},
						{Key: key, U: c.sys, Sensitivity: v},
					}}
					if n == 1 {
						b.Lines = append(b.Lines, Line{Quantity: "set-up", U: sd, Sensitivity: v})
					}
					all = append(all, b)
				}
				return all
			}
			r, err := CompareRatio(side(c.nb, 300, c.sdb, "before"), side(c.na, 300*truth, c.sda, "after"), CompareOptions{})
			if err != nil {
				t.Fatal(err)
			}
			if r.Lo95 <= truth && truth <= r.Hi95 {
				held++
			}
		}
		p := float64(held) / float64(runs)
		t.Logf("%d against %d readings: %.2f %%", c.nb, c.na, 100*p)
		if math.Abs(p-0.95) > tol {
			t.Errorf("%d against %d readings: the interval held the truth in %.2f %% of %d", c.nb, c.na, 100*p, runs)
		}
	}
}

// Definition: the ratio of readings with themselves is 1, whatever they scatter; and of others that merely read the same it is not known so.
func TestReadingsWithThemselves(t *testing.T) {
	side := func(names ...string) []Budget {
		var out []Budget
		for i, name := range names {
			out = append(out, Budget{Value: 100 + float64(i), Lines: []Line{
				{Key: "meter/C", Kind: TypeB, U: 0.5, Sensitivity: 1}, {Key: "reading/" + name, Kind: TypeA, U: 0.1, Dof: 20, Sensitivity: 1},
			}})
		}
		return out
	}
	c, err := CompareRatio(side("a", "b", "c"), side("a", "b", "c"), CompareOptions{})
	if err != nil || c.Ratio != 1 || c.Lo95 != 1 || c.Hi95 != 1 || c.URel != 0 || c.Word != Same || c.RepeatsNeeded != 0 {
		t.Errorf("with themselves: %+v, %v", c, err)
	}
	c, err = CompareRatio(side("a", "b", "c"), side("d", "e", "f"), CompareOptions{})
	if err != nil || c.Ratio != 1 || !(c.Lo95 < 1 && c.Hi95 > 1) {
		t.Errorf("with others: %+v, %v", c, err)
	}
}
