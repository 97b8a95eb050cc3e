package assess

import "testing"

// An odd one is told apart from one that only differs, and each with how surely it does.
func TestMatchWords(t *testing.T) {
	m := Match{Runners: []MatchOpening{
		{Opening: "1", Apart: 0.0088, ApartHalf: 0.0021},
		{Opening: "2", Apart: -0.06, ApartHalf: 0.002, Odd: true},
		{Opening: "3", Apart: -0.011},
	}}
	if got, want := m.Runners[0].Differs(), "differs by +0.88 ± 0.21 % from the others"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := m.Runners[2].Differs(), "differs by −1.10 % from the others"; got != want {
		t.Errorf("no repeats: %q, want %q", got, want)
	}
	for want, m := range map[string]Match{
		"true spread 2.4 to 3.8 %":  {SpreadRel: 0.031, SpreadLo: 0.0244, SpreadHi: 0.0376},
		"true spread at most 0.7 %": {SpreadRel: 0.003, SpreadLo: 0.0002, SpreadHi: 0.007},
		"true spread 4.9 to 10.2 %": {SpreadRel: 0.05, SpreadLo: 0.0488, SpreadHi: 0.1021, NotFlowed: []string{"4"}},
		"":                          {SpreadRel: 0.03}, // an assessment that does not know it
	} {
		if got := m.TrueSpread(1); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	if far := m.Farthest(); far == nil || far.Opening != "3" {
		t.Errorf("farthest of the rest is %+v", far)
	}
	if far := (Match{Runners: m.Runners[1:2]}).Farthest(); far != nil {
		t.Error("none is left, and one is named")
	}
}
