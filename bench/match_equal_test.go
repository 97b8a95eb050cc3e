package bench_test

import (
	"strconv"
	"testing"

	"runnel/bench"
	"runnel/job"
	"runnel/measure"
	"runnel/unit"
)

// Repeats that are equal to the last digit do not make the mean of the openings certain: its interval is as wide as the
// readings' own lines leave it, like that of each opening but for the number of openings.
func TestMatchOfEqualReadingsIsNotCertain(t *testing.T) {
	const drop = 28 * unit.InH2O
	w := truth{meter: plate(), air: air(), area: 9e-4}
	traces := map[string]job.Trace{"t": trace(seeded(3), "meter_dp", w.reading(t, drop, 2e4), drop)}
	sit := sitting(t, benchCard(), sittingCard(), nil)
	var all []bench.Reading
	for i := range 12 {
		r, err := sit.Read(job.Reading{ID: strconv.Itoa(i), Rig: "rig", Opening: strconv.Itoa(i%4 + 1), At: minutes(30), Trace: "t"}, rigCard(), traces, reference(t))
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, r)
	}
	m, err := bench.MatchOpenings(all, []string{"1", "2", "3", "4"}, measure.MatchOptions{})
	if err != nil {
		t.Fatal(err)
	}
	one := m.Openings[0].Hi95 - m.Openings[0].Lo95
	if mean := m.MeanHi - m.MeanLo; !(mean > one/4 && mean < one) {
		t.Errorf("the mean is ± %v, one opening ± %v", mean/2, one/2)
	}
}
