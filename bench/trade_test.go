package bench_test

import (
	"math"
	"testing"

	"runnel/bench"
)

// Common practice, no source: at 28 inH2O a bare-entry runner of about 315 cfm gains 5 to 8 cfm from a radius on its entry. The
// gain follows from the entry's loss and area. The geometry is invented, and chosen so that the range holds: runners that taper from
// a wide sharp entry, of 66 mm that gets a radius of 3 mm, or of 76 mm that gets 8 mm. It does not hold for every runner: by the same
// loss a narrow sharp mouth of 50 mm gains some 50 cfm from a full radius, which the test shows rather than hides (by hand, with
// ΔK 0.47 and Ae/A 0.73: 315·(1/√(1 − 0.47·0.73²) − 1) = 49).
func TestTradeRadiusOnARunner(t *testing.T) {
	ref := reference(t)
	area := ref.Area(315 * cfm)
	for bore, radius := range map[float64]float64{0.066: 0.003, 0.076: 0.008} {
		dk, u := bench.EntryChange(0, radius/bore)
		gain := ref.Flow(bench.AreaWithEntry(area, dk, bore))/cfm - 315
		if gain < 5 || gain > 8 {
			t.Errorf("%v mm: gain %.2f cfm (ΔK %.3f ± %.3f), want 5 to 8", 1e3*radius, gain, dk, u)
		}
	}
	dk, _ := bench.EntryChange(0, 0.2)
	if sharp := ref.Flow(bench.AreaWithEntry(area, dk, 0.050))/cfm - 315; sharp < 44 || sharp > 54 {
		t.Errorf("a narrow sharp mouth gains %.1f cfm from a full radius", sharp)
	}
}

// Common practice, no source: the average over a steady needle lies about half a per cent under its peak. A needle with a
// waver of half a per cent (two standard deviations, in flow) is steady; a good bench has 0.5 to 1 %.
func TestTradePeakOverMean(t *testing.T) {
	w := truth{meter: plate(), air: air(), area: 9e-4}
	shown := w.reading(t, 7e3, 2e4)
	tr := trace(seeded(41), "meter_dp", shown, 7e3)
	r := seeded(43)
	for i := range tr.Time {
		tr.Channels[0].Values[i] = shown * (1 + 0.005*r.NormFloat64()) // 0.25 % in flow
	}
	got := read(t, benchCard(), sittingCard(), rigCard(), tr)
	if over := got.Peak/got.Flow - 1; over < 0.003 || over > 0.008 || math.IsNaN(over) {
		t.Errorf("peak %.2f %% over the mean, want about half a per cent", 100*over)
	}
}
