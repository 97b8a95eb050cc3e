package assess

import (
	"errors"
	"math"
	"strings"
	"testing"

	"runnel/engine"
	"runnel/job"
)

// A job whose engine card holds a run has its engine fitted, before and after alike: the pull comes nearer to the run, the band gets
// narrower, and the words say so. Without a run nothing of it appears.
func TestDynoOfJob(t *testing.T) {
	if testing.Short() {
		t.Skip("some hundred runs of an engine")
	}
	card := one()
	speeds := []float64{3000. / 60, 4500. / 60, 6000. / 60}
	tied := oneTied(t)
	truth, err := engine.Pull(t.Context(), tied.Engine.With(func(e *engine.Engine) { e.Friction.Factor, e.Heat.Multiplier = 1.25, 1.3 }), speeds, engine.Options{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range truth {
		card.Dyno = append(card.Dyno, job.DynoPoint{Speed: p.Speed, Torque: p.Torque})
	}
	both, err := Ties(t.Context(), job.Job{ID: "x", Engine: &card}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range both {
		if b.Dyno == nil || b.fit == nil || b.Engine == b.plain || !strings.Contains(b.Dyno.Note, "as it came") {
			t.Fatalf("%s: %+v", b.State, b.Dyno)
		}
	}
	for _, p := range both[0].Dyno.Points {
		if was, is := math.Abs(p.Before/p.Torque-1), math.Abs(p.After/p.Torque-1); is > 0.5*was || is > 0.04 {
			t.Errorf("%.0f rpm: off the run by %.2f %% before, %.2f %% after", p.Speed, 100*was, 100*is)
		}
	}
	fitted, err := both[1].Pull(t.Context(), speeds, engine.CoarseMesh, nil)
	if err != nil {
		t.Fatal(err)
	}
	plain, err := tied.Pull(t.Context(), speeds, engine.CoarseMesh, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i := range fitted {
		if n, w := fitted[i].TorqueHi-fitted[i].TorqueLo, plain[i].TorqueHi-plain[i].TorqueLo; n > 0.85*w {
			t.Errorf("%.0f rpm: a band of %.2f N·m with the run, %.2f without", fitted[i].Speed, n, w)
		}
	}
	card.Dyno = nil
	if both, err = Ties(t.Context(), job.Job{ID: "x", Engine: &card}, nil); err != nil || both[0].Dyno != nil {
		t.Errorf("without a run: %+v %v", both[0].Dyno, err)
	}
}

func TestTiesRefusals(t *testing.T) {
	if _, err := Ties(t.Context(), job.Job{ID: "x"}, nil); !errors.Is(err, ErrNoEngine) || !Invalid(err) {
		t.Errorf("no engine: %v", err)
	}
	card := one()
	card.Dyno = []job.DynoPoint{{Speed: 50, Torque: 40}, {Speed: 40, Torque: 40}}
	if _, err := Ties(t.Context(), job.Job{ID: "x", Engine: &card}, nil); !errors.Is(err, engine.ErrFit) || !Invalid(err) {
		t.Errorf("falling speeds: %v", err)
	}
	if Invalid(errors.New("else")) || Invalid(nil) {
		t.Error("anything else is not the input's fault")
	}
}
