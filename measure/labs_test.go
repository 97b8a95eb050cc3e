package measure

import (
	"errors"
	"math"
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// The factor 1.134 follows from the pull at 1.5: it makes the deviation right for
// normal data (Huber, Ann. Math. Stat. 35 (1964) 73, proposal 2):
//
//	1/sqrt(θ + (1 − θ)k² − 2kφ(k)),  θ = 2Φ(k) − 1,  k = 1.5
//
// which is 1.1334, printed as 1.134 in the standard: 6e-4. The 1.483 of the start is
// 1/Φ⁻¹(3/4), rounded: 5e-4.
func TestAlgorithmAConstants(t *testing.T) {
	const k = 1.5
	theta := math.Erf(k / math.Sqrt2)
	phi := math.Exp(-k*k/2) / math.Sqrt(2*math.Pi)
	near(t, "factor", 1/math.Sqrt(theta+(1-theta)*k*k-2*k*phi), 1.134, 0, 7e-4)
	near(t, "start", sigmaPerMAD, 1.483, 0, 5e-4)
	same(t, "start, exact", sigmaPerMAD, 1/NormalQuantile(0.75), 1e-14)
}

// The result is a fixed point of the rule, and moves and scales with the data.
func TestAlgorithmAFixedPoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := make([]float64, rapid.IntRange(4, 25).Draw(t, "n"))
		for i := range x {
			x[i] = float64(rapid.IntRange(-80, 80).Draw(t, "x")) / 8
		}
		if MAD(x) == 0 {
			return // half of them equal: the rule stands still at its start
		}
		m, s, err := AlgorithmA(x)
		if err != nil {
			t.Fatal(err)
		}
		pulled, moved := make([]float64, len(x)), make([]float64, len(x))
		for i, v := range x {
			pulled[i] = min(max(v, m-1.5*s), m+1.5*s)
			moved[i] = 300 + 2*v
		}
		if math.Abs(Mean(pulled)-m) > 1e-6 || math.Abs(1.134*SD(pulled)-s) > 1e-6*(1+s) {
			t.Fatalf("%v, %v is not a fixed point for %v: %v, %v", m, s, x, Mean(pulled), 1.134*SD(pulled))
		}
		m2, s2, err := AlgorithmA(moved)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(m2-300-2*m) > 1e-5 || math.Abs(s2-2*s) > 1e-5*(1+s) {
			t.Fatalf("%v, %v became %v, %v", m, s, m2, s2)
		}
	})
}

// Of normal data the robust deviation is unbiased: the factor 1.134 undoes the pull.
// Four deviations of the mean of 200 samples of 100, each known to some 8 %.
func TestAlgorithmAUnbiased(t *testing.T) {
	rng := newRand(95)
	sum := 0.0
	for range 200 {
		_, s, err := AlgorithmA(ar1(rng, 100, 0, 5, 2))
		if err != nil {
			t.Fatal(err)
		}
		sum += s / 200
	}
	near(t, "mean robust deviation", sum, 2, 0, 4*2*0.08/math.Sqrt(200))
}

// A wild result is named, does not move the consensus, and does not make the others
// look wrong.
func TestCompareLabs(t *testing.T) {
	rng := newRand(96)
	var labs []LabResult
	for i := range 13 {
		labs = append(labs, LabResult{Lab: "shop " + strconv.Itoa(i+1), Value: 200 + 0.8*rng.NormFloat64(), U: 0.8})
	}
	labs = append(labs, LabResult{Lab: "wild", Value: 220, U: 0.8}, LabResult{Lab: "silent", Value: 200.5})
	b, err := CompareLabs(labs, nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "consensus", b.Consensus, 200, 0, 4*b.UConsensus)
	for _, s := range b.Scores {
		want := LabAgrees
		switch s.Lab {
		case "wild":
			want = LabDiffers
		case "silent":
			want = LabUnstated
		}
		if s.Word != want {
			t.Errorf("%s %s (En %.2f), want %s", s.Lab, s.Word, s.En, want)
		}
	}
	if len(b.Warnings) != 0 {
		t.Errorf("warnings %v", b.Warnings)
	}
	// By hand, against a reference: 3 and 4 make 5.
	b, err = CompareLabs([]LabResult{{Lab: "a", Value: 107.5, U: 3}}, &LabResult{Value: 100, U: 4})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "ζ", b.Scores[0].Zeta, 1.5, 1e-12)
	same(t, "En", b.Scores[0].En, 0.75, 1e-12)
	// No result is held against itself.
	b, err = CompareLabs([]LabResult{{"a", 1, 1}, {"b", 2, 1}, {"c", 9, 1}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "c is held against a and b", b.Scores[2].Against, 1.5, 1e-9)
	if len(b.Warnings) != 1 {
		t.Errorf("three shops draw warnings %v, want one", b.Warnings)
	}
}

func TestCompareLabsRefuses(t *testing.T) {
	for _, c := range []struct {
		r    []LabResult
		want error
	}{
		{[]LabResult{{"a", 1, 1}, {"b", 2, 1}}, ErrTooFew},
		{[]LabResult{{"a", 1, 1}, {"b", 2, -1}, {"c", 2, 1}}, ErrNotPositive},
		{[]LabResult{{"a", 1, 1}, {"b", nan(), 1}, {"c", 2, 1}}, ErrNotFinite},
	} {
		if _, err := CompareLabs(c.r, nil); !errors.Is(err, c.want) {
			t.Errorf("CompareLabs(%v): %v, want %v", c.r, err, c.want)
		}
	}
	if _, err := CompareLabs([]LabResult{{"a", 1, 1}}, &LabResult{Value: nan()}); !errors.Is(err, ErrNotFinite) {
		t.Errorf("a reference that is NaN: %v", err)
	}
	// Equal results: a consensus without scatter, and scores that are not NaN.
	b, err := CompareLabs(slices.Repeat([]LabResult{{"a", 7, 0.1}}, 4), nil)
	if err != nil || b.Consensus != 7 || b.SD != 0 || b.Scores[0].En != 0 || b.Scores[0].Word != LabAgrees {
		t.Errorf("equal results: %+v (%v)", b, err)
	}
	// Their scatter says nothing; the mean of four results of 0.1 each is known to 0.1/√4, that of the three others to 0.1/√3.
	same(t, "u of the consensus of equal results", b.UConsensus, 0.05, 1e-12)
	same(t, "u of what one is held against", b.Scores[0].UAgainst, 0.1/math.Sqrt(3), 1e-12)
	if len(b.Warnings) != 2 {
		t.Errorf("equal results draw warnings %v, want one of the scatter and one of their number", b.Warnings)
	}
}
