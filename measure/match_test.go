package measure

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
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
	), MatchOptions{})
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
	rest := SD([]float64{100, 100.2, 99.9, 100.1, 100})
	same(t, "t of runner 3", m.Members[2].T, (97-others)/(rest*math.Sqrt(1+1./5)), 1e-9)
	same(t, "how far off", m.Members[2].Rel, (97-others)/mean, 1e-12)
	same(t, "how sure of that", m.Members[2].Half, CoverageFactor(0.95, 6)*math.Sqrt(s2*(0.5+0.5/5))/mean, 1e-9)
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
	m, err := MatchMembers(members(g...), MatchOptions{Alpha: 0.05})
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

// runners draws six means about 100 with a standard deviation between, three
// repeats each of 0.18 %, as a bench has; the first is off by so much.
func runners(rng *rand.Rand, n int, between, off float64) []Member {
	g := make([][]float64, n)
	for i := range g {
		level := 100 * (1 + between*rng.NormFloat64())
		if i == 0 {
			level *= 1 + off
		}
		for range 3 {
			g[i] = append(g[i], level*(1+0.0018*rng.NormFloat64()))
		}
	}
	return members(g...)
}

// Members of one population draw an odd one in about 5 % of cases at most, all
// members together, however much they differ and whether or not that difference is
// measured surely. The tolerance is three binomial deviations, and for five members
// one per cent: two of five that hide each other are tested as if they had been
// chosen at will, which is not quite enough.
func TestMatchFalseAlarms(t *testing.T) {
	const runs = 800
	alarms := func(t *testing.T, n int, between float64, single bool, opt MatchOptions) float64 {
		rng := newRand(uint64(1000*between) + uint64(n))
		count := 0
		for range runs {
			g := runners(rng, n, between, 0)
			if single {
				for i := range g {
					g[i].Values = g[i].Values[:1]
				}
			}
			m, err := MatchMembers(g, opt)
			if err != nil {
				t.Fatal(err)
			}
			if len(oddNames(m)) > 0 {
				count++
			}
		}
		return float64(count) / runs
	}
	tol := 3 * math.Sqrt(0.05*0.95/runs)
	for _, n := range []int{4, 5, 6, 8} {
		p := alarms(t, n, 0.01, true, MatchOptions{})
		if p > 0.06+tol || p < 0.02 {
			t.Errorf("%d members read once: false alarms in %.1f %%, want about 5 %%", n, 100*p)
		}
	}
	for _, between := range []float64{0, 0.002, 0.004, 0.006} {
		p := alarms(t, 6, between, false, MatchOptions{Smallest: 0.005})
		t.Logf("runners that differ by %.1f %%: false alarms in %.1f %%", 100*between, 100*p)
		if p > 0.05+tol {
			t.Errorf("runners that differ by %.1f %%: false alarms in %.1f %%, want at most 5 %%", 100*between, 100*p)
		}
		// Not by the smallest change alone either.
		if p = alarms(t, 6, between, false, MatchOptions{}); p > 0.05+tol {
			t.Errorf("runners that differ by %.1f %%, any difference counting: false alarms in %.1f %%", 100*between, 100*p)
		}
	}
}

// A runner 6 % down is found nearly always, and seldom in company, among runners
// that differ by a few tenths of a per cent as cast ones do.
func TestMatchFindsOne(t *testing.T) {
	const runs = 1000
	for _, between := range []float64{0, 0.002, 0.004, 0.006} {
		rng := newRand(uint64(7 + 1000*between))
		found, company := 0, 0
		for range runs {
			m, err := MatchMembers(runners(rng, 6, between, -0.06), MatchOptions{Smallest: 0.005})
			if err != nil {
				t.Fatal(err)
			}
			odd := oddNames(m)
			if slices.Contains(odd, "runner 1") {
				found++
				if len(odd) > 1 {
					company++
				}
			}
		}
		t.Logf("runners that differ by %.1f %%: found in %.1f %%, in company in %.1f %%", 100*between, float64(found)/runs*100, float64(company)/runs*100)
		if found < 95*runs/100 || company > 6*runs/100 {
			t.Errorf("runners that differ by %.1f %%: found in %d of %d, in company in %d", 100*between, found, runs, company)
		}
	}
}

// Three things must hold, and each fails alone: six runners with the last one off.
func TestMatchWantsAllThree(t *testing.T) {
	six := func(half float64, means ...float64) []Member {
		var g [][]float64
		for _, m := range means {
			g = append(g, []float64{m - half, m + half})
		}
		return members(g...)
	}
	for _, c := range []struct {
		name string
		m    []Member
		opt  MatchOptions
		odd  bool
	}{
		{"far off, surely", six(0.1, 100, 100.1, 99.9, 100.2, 99.8, 97), MatchOptions{Smallest: 0.005}, true},
		{"as the others differ among themselves, surely", six(0.01, 100, 101, 99, 100.5, 99.5, 101.5), MatchOptions{}, false},
		{"out of the bunch, not beyond the repeats", six(2, 100, 100.1, 99.9, 100.2, 99.8, 98.5), MatchOptions{}, false},
		{"out of the bunch, surely, by too little to claim", six(0.01, 100, 100.01, 99.99, 100.02, 99.98, 99.6), MatchOptions{Smallest: 0.005}, false},
		{"more than that, but not surely more", six(0.12, 100, 100.01, 99.99, 100.02, 99.98, 99.42), MatchOptions{Smallest: 0.005}, false},
		{"the same, where any difference counts", six(0.12, 100, 100.01, 99.99, 100.02, 99.98, 99.42), MatchOptions{}, true},
	} {
		m, err := MatchMembers(c.m, c.opt)
		if err != nil {
			t.Fatal(err)
		}
		if got := oddNames(m); len(got) > 0 != c.odd || c.odd && (len(got) != 1 || got[0] != "runner 6") {
			t.Errorf("%s: odd ones %v", c.name, got)
		}
		// The order of the members decides nothing.
		slices.Reverse(c.m)
		if r, err := MatchMembers(c.m, c.opt); err != nil || len(oddNames(r)) != len(oddNames(m)) {
			t.Errorf("%s: turned round, odd ones %v and %v (%v)", c.name, oddNames(r), oddNames(m), err)
		}
	}
	// Read once each, but known to be unsure by 1 %: not odd by 1.5 %.
	unsure := six(0, 100, 100.1, 99.9, 100.2, 99.8, 98.5)
	for i := range unsure {
		unsure[i].U, unsure[i].Values = 1, unsure[i].Values[:1]
	}
	m, err := MatchMembers(unsure, MatchOptions{})
	if err != nil || len(oddNames(m)) != 0 {
		t.Errorf("unsure readings: odd ones %v (%v)", oddNames(m), err)
	}
	same(t, "half-width of what is known otherwise", m.Members[0].Half*m.Mean, CoverageFactor(0.95, math.Inf(1))*math.Sqrt(1+1./5), 1e-9)
}

// Two bad members do not hide each other, nor make good ones look odd.
func TestMatchTwoOdd(t *testing.T) {
	m, err := MatchMembers(members(
		[]float64{99.9, 100.1}, []float64{100.1, 100.3}, []float64{96.9, 97.1},
		[]float64{99.8, 100}, []float64{96.8, 97}, []float64{99.9, 100.1},
	), MatchOptions{Alpha: 0.05})
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
		if _, err := MatchMembers(c.m, MatchOptions{}); !errors.Is(err, c.want) {
			t.Errorf("MatchMembers(%v): %v, want %v", c.m, err, c.want)
		}
	}
	// Equal to the last digit: matched, with a warning, and nobody odd.
	m, err := MatchMembers(members([]float64{5}, []float64{5}, []float64{5}), MatchOptions{})
	if err != nil || len(oddNames(m)) != 0 || m.SpreadRel != 0 || len(m.Warnings) != 1 {
		t.Errorf("equal members: %+v (%v)", m, err)
	}
	// All but one equal: that one is odd, and no number is infinite.
	m, err = MatchMembers(members([]float64{5}, []float64{5}, []float64{5}, []float64{4}), MatchOptions{})
	if err != nil || len(oddNames(m)) != 1 || notFinite(m.Members[3].T) {
		t.Errorf("one differs from equal ones: %+v (%v)", m, err)
	}
	// Two members cannot tell which of them is odd without repeats.
	m, err = MatchMembers(members([]float64{5}, []float64{6}), MatchOptions{})
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
