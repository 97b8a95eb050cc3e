package measure

import (
	"errors"
	"math"
	"strconv"
	"testing"
)

func members(groups ...[]float64) []Member {
	var m []Member
	for i, g := range groups {
		m = append(m, Member{Name: "runner " + strconv.Itoa(i+1), Values: g})
	}
	return m
}

func oddNames(m Match) []string {
	var out []string
	for _, o := range m.Members {
		if o.Odd {
			out = append(out, o.Name)
		}
	}
	return out
}

// By hand: six means, one 3 % low; a pooled scatter of 0.1.
func TestMatchByHand(t *testing.T) {
	m, err := MatchMembers(members(
		[]float64{99.9, 100.1}, []float64{100.1, 100.3}, []float64{96.9, 97.1},
		[]float64{99.8, 100}, []float64{100, 100.2}, []float64{99.9, 100.1},
	), 0)
	if err != nil {
		t.Fatal(err)
	}
	mean := (100 + 100.2 + 97 + 99.9 + 100.1 + 100) / 6.0
	same(t, "mean", m.Mean, mean, 1e-12)
	same(t, "spread", m.SpreadRel, 3.2/mean, 1e-12)
	if got := oddNames(m); len(got) != 1 || got[0] != "runner 3" {
		t.Errorf("odd ones %v, want runner 3", got)
	}
	others := (100 + 100.2 + 99.9 + 100.1 + 100) / 5.0
	s2 := 0.02 // of two values 0.2 apart
	same(t, "t of runner 3", m.Members[2].T, (97-others)/math.Sqrt(s2*(0.5+0.5/5)), 1e-9)
	same(t, "how far off", m.Members[2].Rel, (97-others)/mean, 1e-12)
	// Range of six normal values is 2.534 standard deviations on average: the
	// control chart constant d2, printed to three places in every table of it.
	near(t, "spread of noise alone", m.SpreadNoise*mean/math.Sqrt(s2/2), 2.534, 0, 5e-4)
	for n, d2 := range map[int]float64{2: 1.128, 3: 1.693, 4: 2.059, 5: 2.326, 8: 2.847, 10: 3.078} {
		near(t, "d2("+strconv.Itoa(n)+")", meanRange(n), d2, 0, 5.1e-4)
	}
}

// Without repeats the odd one must stand out of the bunch; the case is the
// externally studentised deviation by its formula.
func TestMatchWithoutRepeats(t *testing.T) {
	v := []float64{100, 100.4, 99.7, 100.2, 99.9, 94}
	var g [][]float64
	for _, x := range v {
		g = append(g, []float64{x})
	}
	m, err := MatchMembers(members(g...), 0.05)
	if err != nil {
		t.Fatal(err)
	}
	if m.Basis != BasisMembers || m.Effects != nil {
		t.Errorf("basis %q", m.Basis)
	}
	if got := oddNames(m); len(got) != 1 || got[0] != "runner 6" {
		t.Errorf("odd ones %v", got)
	}
	o := v[:5]
	same(t, "t", m.Members[5].T, (94-Mean(o))/(SD(o)*math.Sqrt(1.2)), 1e-12)
	same(t, "p by Holm", m.Members[5].P, 6*TTwoSided(m.Members[5].T, 4), 1e-12)
}

// Equal members draw an odd one in at most 5 % of cases, all members together.
func TestMatchFalseAlarms(t *testing.T) {
	const runs = 1200
	for _, repeats := range []int{1, 3} {
		rng := newRand(uint64(40 + repeats))
		alarms := 0
		for range runs {
			g := make([][]float64, 8)
			for i := range g {
				for range repeats {
					g[i] = append(g[i], 100+rng.NormFloat64())
				}
			}
			m, err := MatchMembers(members(g...), 0.05)
			if err != nil {
				t.Fatal(err)
			}
			if len(oddNames(m)) > 0 {
				alarms++
			}
		}
		if p := float64(alarms) / runs; p > 0.05+3*math.Sqrt(0.05*0.95/runs) || p < 0.02 {
			t.Errorf("%d repeats: false alarms in %.1f %%, want just under 5 %%", repeats, 100*p)
		}
	}
}

// Two bad members do not hide each other, nor make good ones look odd.
func TestMatchTwoOdd(t *testing.T) {
	m, err := MatchMembers(members(
		[]float64{99.9, 100.1}, []float64{100.1, 100.3}, []float64{96.9, 97.1},
		[]float64{99.8, 100}, []float64{96.8, 97}, []float64{99.9, 100.1},
	), 0.05)
	if err != nil {
		t.Fatal(err)
	}
	if got := oddNames(m); len(got) != 2 || got[0] != "runner 3" || got[1] != "runner 5" {
		t.Errorf("odd ones %v, want runners 3 and 5", got)
	}
	same(t, "far off the four that match", m.Members[4].Rel, (96.9-100.025)/m.Mean, 1e-9)
}

func TestMatchRefuses(t *testing.T) {
	for _, c := range []struct {
		m    []Member
		want error
	}{
		{members([]float64{1}), ErrTooFew},
		{members([]float64{1}, nil), ErrTooFew},
		{members([]float64{1}, []float64{nan()}), ErrNotFinite},
		{members([]float64{-1}, []float64{1}), ErrNotPositive},
	} {
		if _, err := MatchMembers(c.m, 0); !errors.Is(err, c.want) {
			t.Errorf("MatchMembers(%v): %v, want %v", c.m, err, c.want)
		}
	}
	// Equal to the last digit: matched, with a warning, and nobody odd.
	m, err := MatchMembers(members([]float64{5}, []float64{5}, []float64{5}), 0)
	if err != nil || len(oddNames(m)) != 0 || m.SpreadRel != 0 || len(m.Warnings) != 1 {
		t.Errorf("equal members: %+v (%v)", m, err)
	}
	// All but one equal: that one is odd, and no number is infinite.
	m, err = MatchMembers(members([]float64{5}, []float64{5}, []float64{5}, []float64{4}), 0)
	if err != nil || len(oddNames(m)) != 1 || notFinite(m.Members[3].T) {
		t.Errorf("one differs from equal ones: %+v (%v)", m, err)
	}
	// Two members cannot tell which of them is odd without repeats.
	m, err = MatchMembers(members([]float64{5}, []float64{6}), 0)
	if err != nil || len(oddNames(m)) != 0 {
		t.Errorf("two members: %+v (%v)", m, err)
	}
}

// Source: Holm (1979), the rule applied by hand.
func TestHolm(t *testing.T) {
	got := Holm([]float64{0.01, 0.04, 0.03, 0.005})
	for i, want := range []float64{0.03, 0.06, 0.06, 0.02} {
		same(t, "p'", got[i], want, 1e-12)
	}
}
