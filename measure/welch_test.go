package measure

import (
	"errors"
	"testing"

	"runnel/internal/tabletest"
)

// Source: testdata/welch_tost.csv on two_sample_data.csv (scipy, statsmodels and
// R); tolerance of its header: 1e-9, probabilities 1e-8.
func TestWelchTostTable(t *testing.T) {
	type sides struct{ a, b []float64 }
	data := map[string]*sides{}
	for _, r := range tabletest.Read(t, "testdata/two_sample_data.csv", 1) {
		s := data[r["case"]]
		if s == nil {
			s = &sides{}
			data[r["case"]] = s
		}
		if r["sample"] == "A" {
			s.a = append(s.a, r.Num(t, "y"))
		} else {
			s.b = append(s.b, r.Num(t, "y"))
		}
	}
	for _, r := range tabletest.Read(t, "testdata/welch_tost.csv", 1) {
		s := data[r["case"]]
		w, err := WelchTest(s.a, s.b)
		if err != nil {
			t.Fatal(err)
		}
		id := "case " + r["case"] + " "
		same(t, id+"mean A", Mean(s.a), r.Num(t, "meanA"), 1e-9)
		same(t, id+"sd B", SD(s.b), r.Num(t, "sdB"), 1e-9)
		same(t, id+"diff", w.Diff, r.Num(t, "diff"), 1e-9)
		same(t, id+"se", w.SE, r.Num(t, "se"), 1e-9)
		same(t, id+"nu", w.Dof, r.Num(t, "nu"), 1e-9)
		same(t, id+"t", w.T, r.Num(t, "t"), 1e-9)
		near(t, id+"p", w.P, r.Num(t, "p_two_sided"), 0, 1e-8)
		lo, hi := w.Interval(0.95)
		same(t, id+"lo95", lo, r.Num(t, "ci95_low"), 1e-9)
		same(t, id+"hi95", hi, r.Num(t, "ci95_high"), 1e-9)
		lo, hi = w.Interval(0.90)
		same(t, id+"lo90", lo, r.Num(t, "ci90_low"), 1e-9)
		same(t, id+"hi90", hi, r.Num(t, "ci90_high"), 1e-9)
		e := w.Tost(r.Num(t, "delta"))
		same(t, id+"t lower", e.TLower, r.Num(t, "t_lower"), 1e-9)
		same(t, id+"t upper", e.TUpper, r.Num(t, "t_upper"), 1e-9)
		near(t, id+"p lower", e.PLower, r.Num(t, "p_lower"), 0, 1e-8)
		near(t, id+"p upper", e.PUpper, r.Num(t, "p_upper"), 0, 1e-8)
		near(t, id+"p tost", e.P, r.Num(t, "p_tost"), 0, 1e-8)
		if got, want := e.P < 0.05, r["equivalent_at_5pct"] == "1"; got != want {
			t.Errorf("%sequivalent = %v, want %v", id, got, want)
		}
	}
}

// Source: the worked numbers of the project's literature notes, section 10, printed
// to the digits given; half a unit in the last place.
func TestWelchWorked(t *testing.T) {
	a := []float64{315.2, 313.9, 316.1, 314.8, 315.5}
	b := []float64{321.0, 320.1, 322.4, 319.7, 321.6}
	c := []float64{315.9, 314.5, 315.8, 314.2, 316.0}
	w, err := WelchTest(b, a)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "diff", w.Diff, 5.860, 0, 5e-4)
	near(t, "SE", w.SE, 0.61286, 0, 5e-6)
	near(t, "t", w.T, 9.5617, 0, 5e-5)
	near(t, "nu", w.Dof, 7.414, 0, 5e-4)
	near(t, "p", w.P, 1.98e-5, 0, 5e-8)
	lo, hi := w.Interval(0.95)
	near(t, "lo", lo, 4.427, 0, 5e-4)
	near(t, "hi", hi, 7.293, 0, 5e-4)
	w, err = WelchTest(c, a)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "TOST p", w.Tost(3).P, 3.64e-4, 0, 5e-7)
}

func TestWelchRefuses(t *testing.T) {
	for _, c := range []struct {
		a, b []float64
		want error
	}{
		{[]float64{1}, []float64{1, 2}, ErrTooFew},
		{[]float64{1, 2}, nil, ErrTooFew},
		{[]float64{3, 3}, []float64{4, 4, 4}, ErrNoScatter},
		{[]float64{3, nan()}, []float64{4, 5}, ErrNotFinite},
	} {
		if _, err := WelchTest(c.a, c.b); !errors.Is(err, c.want) {
			t.Errorf("WelchTest(%v, %v) = %v, want %v", c.a, c.b, err, c.want)
		}
	}
}
