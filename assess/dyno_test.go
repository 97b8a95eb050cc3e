package assess

import (
	"errors"
	"fmt"
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
	if b := both[1].Dyno.Band; b == nil || b.Share < 0.15 || b.Fitted >= b.Unfitted || both[1].Dyno.ChangeBand != nil {
		t.Errorf("the pull of one state says of its band %+v", b)
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

// The words of a run follow its numbers, which are made up here; a band that did not narrow is not said to have.
func TestDynoWords(t *testing.T) {
	for _, c := range []struct {
		k    DynoUnknown
		want string
	}{
		{DynoUnknown{Name: "friction, factor", Prior: 1, PriorU: 0.1, Value: 1.12, U: 0.056}, "friction: 12 % more than was taken (known to ±10.0 % without the run, ±5.0 % with it)."},
		{DynoUnknown{Name: "friction, factor", Prior: 2, PriorU: 0.2, Value: 1.5, U: 0.03}, "friction: 25 % less than was taken (known to ±10.0 % without the run, ±2.0 % with it)."},
		{DynoUnknown{Name: "heat, factor", Prior: 1, PriorU: 0.15, Value: 1.001, U: 0.149}, "heat: as was taken (known to ±15.0 % without the run, ±14.9 % with it). The run hardly tells it."},
		{DynoUnknown{Name: "intake wall temperature", Unit: "K", Prior: 320, PriorU: 10, Value: 326, U: 5}, "intake wall temperature: 326 K instead of 320 K (known to ±10 K without the run, ±5 K with it)."},
		{DynoUnknown{Name: "burn", Unit: "°", Prior: 0, PriorU: 2, Value: 1.5, U: 1}, "burn: 1.5° instead of 0° (known to ±2° without the run, ±1° with it)."},
	} {
		if got := c.k.Words(); got != c.want {
			t.Errorf("%q, not %q", got, c.want)
		}
	}
	show := func(nm float64) string { return fmt.Sprintf("%.1f N·m", nm) }
	if (DynoFit{}).BandWords(show) != "" {
		t.Error("words of bands that are not known")
	}
	for share, want := range map[float64]string{0.6: "is 60 % narrower, ±4.0 N·m instead of ±10.0 N·m", 0.01: "is as wide as before, ±4.0 N·m", -0.2: "is 20 % wider"} {
		d := DynoFit{Band: &Narrowed{Unfitted: 10, Fitted: 4, Share: share}}
		if got := d.BandWords(show); !strings.Contains(got, want) || !strings.Contains(got, "no absolute torque or power is promised") || strings.Contains(got, "on the change") {
			t.Errorf("%q does not say %q", got, want)
		}
	}
}

// TestDynoNoteOfAir: a run with air flows says what became of both, so that a torque that is farther off than before is understood.
func TestDynoNoteOfAir(t *testing.T) {
	f := &engine.Fit{Points: []engine.FitPoint{{Speed: 50, Torque: 100, Before: 101, After: 103, Air: 0.02, AirFrom: 0.022, AirTo: 0.021}}}
	want := "the pull's torque was off it by 1.0 % on average, fitted by 3.0 %. Its air flow was off by 10.0 %, fitted by 5.0 %; the fit weighs both."
	if got := dynoFit(f).Note; !strings.Contains(got, want) {
		t.Errorf("%q", got)
	}
	f.Points[0].Air = 0
	if got := dynoFit(f).Note; strings.Contains(got, "air flow") {
		t.Errorf("%q", got)
	}
}
