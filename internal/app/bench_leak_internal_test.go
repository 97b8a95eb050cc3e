package app

import (
	"math/rand/v2"
	"strings"
	"testing"

	"runnel/demo"
	"runnel/job"
)

// A needle at rest wanders about its zero: below it, the meter sees no leakage, as above it. Far below it the tappings are the
// wrong way round.
func TestLeakageBelowZero(t *testing.T) {
	j, err := job.Load(demo.FS)
	if err != nil {
		t.Fatal(err)
	}
	j.Sittings[0].Zero = nil
	for i := range j.Bench.Sensors {
		j.Bench.Sensors[i].Low = new(-1e4) // the sensors show below zero
	}
	s := j.Sittings[0]
	for _, c := range []struct {
		shown float64 // mean of the meter [Pa]
		text  string
	}{
		{0.2, "too little"},
		{-0.2, "too little"},
		{-50, "swap the tappings"},
	} {
		e := Estimate{Need: 4, Length: 20, meter: "plate-60", at: s.Leakage[0].At, trace: atRest(c.shown)}
		e.leakage(j, s.ID)
		if !strings.Contains(e.Text, c.text) || e.Settled || (e.Least > 0) != (c.text == "too little") {
			t.Errorf("at %g Pa: %q, settled %v, the least it sees %g m³/s", c.shown, e.Text, e.Settled, e.Least)
		}
	}
}

// atRest is a trace of twenty seconds with everything blanked: meter about a mean [Pa], test pressure about 28 inH2O.
func atRest(mean float64) job.Trace {
	noise := rand.New(rand.NewPCG(1, 2)) //nolint:gosec // the same noise each time
	tr := job.Trace{Channels: []job.Channel{{Name: "meter_dp", Unit: "Pa"}, {Name: "test_dp", Unit: "Pa"}}}
	for i := range 400 {
		tr.Time = append(tr.Time, float64(i)/20)
		tr.Channels[0].Values = append(tr.Channels[0].Values, mean+1.1*noise.NormFloat64())
		tr.Channels[1].Values = append(tr.Channels[1].Values, 6974+2*noise.NormFloat64())
	}
	return tr
}
