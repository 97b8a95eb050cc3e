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
	if far := m.Farthest(); far == nil || far.Opening != "3" {
		t.Errorf("farthest of the rest is %+v", far)
	}
	if far := (Match{Runners: m.Runners[1:2]}).Farthest(); far != nil {
		t.Error("none is left, and one is named")
	}
}
