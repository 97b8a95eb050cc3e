package assess

import (
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"runnel/demo"
	"runnel/job"
)

// untouched is the demo with an intake that nothing was done to: its second sitting flows the first sitting's traces of it again, with a
// bench whose meter reads flow off by one share in the first sitting and by another in the second [-]. What differs is the bench alone.
func untouched(t *testing.T, first, second float64) job.Job {
	t.Helper()
	j, err := demo.Job()
	if err != nil {
		t.Fatal(err)
	}
	was := j.Traces
	j.Traces = map[string]job.Trace{}
	again := j.Sittings[0]
	again.ID = "again"
	again.Checks, again.Readings = slices.Clone(again.Checks), nil
	for _, r := range j.Sittings[0].Readings {
		j.Traces[r.Trace] = shifted(t, was[r.Trace], first)
		if r.Round == "received" {
			j.Traces["again/"+r.Trace] = shifted(t, was[r.Trace], second)
			r.ID, r.Round, r.Trace = "again-"+r.ID, "finished", "again/"+r.Trace
			again.Readings = append(again.Readings, r)
		}
	}
	for i, c := range j.Sittings[0].Checks {
		j.Traces[c.Trace] = shifted(t, was[c.Trace], first)
		again.Checks[i].Trace = "again/" + c.Trace
		j.Traces["again/"+c.Trace] = shifted(t, was[c.Trace], second)
	}
	j.Sittings = []job.Sitting{j.Sittings[0], again}
	j.Compare = slices.DeleteFunc(j.Compare, func(c job.Compare) bool { return c.To != "finished" })
	return j
}

// shifted is a trace with its flow off by a share: its meter's pressure difference by the square.
func shifted(t *testing.T, tr job.Trace, share float64) job.Trace {
	t.Helper()
	tr.Channels = slices.Clone(tr.Channels)
	i := slices.IndexFunc(tr.Channels, func(c job.Channel) bool { return c.Name == "meter_dp" })
	if i < 0 {
		t.Fatal("a trace without meter_dp")
	}
	tr.Channels[i].Values = slices.Clone(tr.Channels[i].Values)
	for k := range tr.Channels[i].Values {
		tr.Channels[i].Values[k] *= (1 + share) * (1 + share)
	}
	return tr
}

// A bench that drifts by 1.6 % between two sittings, with a part that was not touched: what the engine is tied to does not drift with it, the
// twins close on the corrected readings, and what stays in doubt is that of the verdict.
func TestDriftIsNoChangeOfThePart(t *testing.T) {
	j := untouched(t, -0.0085, 0.0075)
	tied, err := Twins(t.Context(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range tied {
		if b.Bench != "again" || len(b.Bridged) != 1 || !strings.Contains(b.Bridged[0], "the check plate read -0") {
			t.Errorf("%s: bench %q, bridged %q", b.State, b.Bench, b.Bridged)
		}
	}
	runners := 0
	for i, b := range tied[0].Closures {
		a := tied[1].Closures[i]
		if math.Abs(b.Ratio-1) > 0.002 || math.Abs(b.Simulated/b.Measured-b.Ratio) > 1e-12 {
			t.Errorf("%s: simulated over corrected %.4f", b.Opening, b.Ratio)
		}
		if !strings.HasPrefix(b.Opening, "runner") { // the head: one round, one sitting, both states
			if a.Measured != b.Measured || math.Abs(b.Measured/b.Read/1.0161-1) > 5e-4 {
				t.Errorf("%s: %.4g and %.4g m² of %.4g read", b.Opening, b.Measured, a.Measured, b.Read)
			}
			continue
		}
		runners++
		// The bench itself says 1.6 % more; its plate's coefficient moves a little with the pressure difference.
		if drift := a.Read/b.Read - 1; math.Abs(drift-0.0161) > 5e-4 {
			t.Errorf("%s: the readings drift by %.2f %%, so that this test shows nothing", b.Opening, 100*drift)
		}
		if a.Measured != a.Read || math.Abs(a.Measured/b.Measured-1) > 5e-4 {
			t.Errorf("%s: corrected %.5g m² before and %.5g after, read %.5g after", b.Opening, b.Measured, a.Measured, a.Read)
		}
	}
	if runners != 6 {
		t.Errorf("%d runners", runners)
	}
	got, err := Readings(j)
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range got.Verdicts {
		if want := (v.Hi95 - v.Lo95) / (2 * 1.96 * v.Ratio) / math.Sqrt2; v.Opening == "" && v.FromRig == "runner-radiused" && tied[0].unknowns.ReadOwn != want {
			t.Errorf("each round is in doubt by %.4f, the verdict says %.4f", tied[0].unknowns.ReadOwn, want)
		}
	}
}

// The pull of that job claims no gain: the change lies within its band at every speed, and is a fraction of what 1.6 % of flow would be worth.
func TestDriftIsNoGainOfTorque(t *testing.T) {
	if testing.Short() {
		t.Skip("runs the gas dynamics of a six-cylinder engine")
	}
	worst := func(first, second float64) (change float64) {
		j := untouched(t, first, second)
		j.Engine.Speeds = "5000:6500:1500"
		a, err := Solve(t.Context(), j, nil)
		if err != nil {
			t.Fatal(err)
		}
		if a.Pull == nil {
			t.Fatalf("no pull: %v", a.Warnings)
		}
		for i, c := range a.Pull.Change {
			t.Logf("%.0f rpm: %+.3f N·m of %.1f, band %+.3f to %+.3f", c.Speed, c.Torque, a.Pull.Before[i].Torque, c.TorqueLo, c.TorqueHi)
			if c.TorqueLo > 0 || c.TorqueHi < 0 {
				t.Errorf("%.0f rpm: a change of %+.3f N·m is claimed, %+.3f to %+.3f", c.Speed, c.Torque, c.TorqueLo, c.TorqueHi)
			}
			change = max(change, math.Abs(c.Torque/a.Pull.Before[i].Torque))
		}
		return change
	}
	if got := worst(-0.0085, 0.0075); got > 0.001 { // what a pull is settled to
		t.Errorf("the drift of the bench is worth %.2f %% of torque", 100*got)
	}
}

// Without flows of the check plate nothing is taken off, as before; a drift up to the plate's limit in each sitting is in what each round has of
// its own, also where the job asks for no verdict between the rounds.
func TestWithoutCheckPlateADriftIsAllowedFor(t *testing.T) {
	j := untouched(t, 0, 0)
	for i := range j.Sittings {
		j.Sittings[i].Checks = nil
	}
	limit := j.Bench.CheckPlate.Limit / math.Sqrt(3)
	for name, change := range map[string]func(*job.Job){
		"the verdict between the rounds":  func(*job.Job) {},
		"no verdict between them":         func(j *job.Job) { j.Compare = []job.Compare{{From: "received", To: "received"}} },
		"one bench, a plate in it at all": func(j *job.Job) { j.Sittings[1].Checks = untouched(t, 0, 0).Sittings[1].Checks },
	} {
		x := j
		x.Sittings, x.Traces = slices.Clone(j.Sittings), maps.Clone(untouched(t, 0, 0).Traces)
		change(&x)
		tied, err := Twins(t.Context(), x, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range tied {
			if b.unknowns.ReadOwn < limit || b.unknowns.ReadOwn > 2*limit {
				t.Errorf("%s: each round is in doubt by %.3f %%, with a limit of %.3f %% in each sitting", name, 100*b.unknowns.ReadOwn, 100*limit)
			}
			if !strings.Contains(strings.Join(b.Bridged, "; "), "a drift of the bench of up to 1 % is allowed for in each") {
				t.Errorf("%s: bridged %q", name, b.Bridged)
			}
			for _, c := range b.Closures {
				if c.Read != c.Measured {
					t.Errorf("%s: %s: %.5g m² of %.5g read", name, c.Opening, c.Measured, c.Read)
				}
			}
		}
	}
}

// Readings of one sitting are as they were: nothing is carried anywhere.
func TestOneSittingIsNotCarried(t *testing.T) {
	j := untouched(t, -0.0085, 0.0075)
	j.Sittings, j.Rounds = j.Sittings[:1], slices.DeleteFunc(j.Rounds, func(r job.Round) bool { return r.Piece == "manifold" && r.ID != "received" })
	j.Compare = nil
	tied, err := Twins(t.Context(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range tied {
		if b.Bench != j.Sittings[0].ID || len(b.Bridged) > 0 {
			t.Errorf("%s: bench %q, bridged %q", b.State, b.Bench, b.Bridged)
		}
		for _, c := range b.Closures {
			if c.Read != c.Measured {
				t.Errorf("%s: %.5g m² of %.5g read", c.Opening, c.Measured, c.Read)
			}
		}
	}
}
