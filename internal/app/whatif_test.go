package app_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"sync"
	"testing"
	"time"

	"runnel/assess"
	"runnel/engine"
	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
)

// trying has the demo job with its engine pulled in truth at three speeds, before and after alike: on the usual mesh and tied to its
// readings when mesh is 0, else coarsely and as described, which is quicker. hold keeps the pull back.
func trying(t *testing.T, hold chan struct{}, mesh float64) *app.App {
	t.Helper()
	a := temp(t, app.Compute{
		Readings: func(j job.Job) (assess.Assessment, error) { return bare(j), nil },
		Solve: func(ctx context.Context, j job.Job, _ func(string, int, int)) (assess.Assessment, error) {
			if hold != nil {
				select {
				case <-hold:
				case <-ctx.Done():
					return assess.Assessment{}, ctx.Err()
				}
			}
			out := bare(j)
			tied, err := assess.TieCard(*j.Engine)
			if err != nil {
				return out, err
			}
			if mesh == 0 {
				both, err := assess.Twins(ctx, j, nil)
				if err != nil {
					return out, err
				}
				tied = both[1]
			}
			ps, err := engine.Pull(ctx, tied.Engine, []float64{50, 75, 100}, engine.Options{Mesh: mesh}, nil)
			p := assess.Points(ps)
			out.Pull = &assess.Pull{Before: p, After: p}
			return out, err
		},
	})
	if _, err := a.ImportFolder(t.Context(), folder(t)); err != nil {
		t.Fatal(err)
	}
	return a
}

const demoID = "hill-climb-six"

func question(to map[string]float64) app.Question { return app.Question{State: "after", To: to} }

// A question goes from coarse over refined to banded: the old curve stays what the job's pull says, the coarse change is near the refined
// one, the band holds the change, and no change is no answer.
func TestTryStages(t *testing.T) {
	if testing.Short() {
		t.Skip("pulls of a six-cylinder engine on the usual mesh")
	}
	a := trying(t, nil, 0)
	whole, err := a.Solved(t.Context(), demoID)
	if err != nil {
		t.Fatal(err)
	}
	none, err := a.Try(t.Context(), demoID, question(nil), app.Coarse)
	if err != nil || none.New != nil || len(none.Sets) != 0 || len(none.Old) != 3 {
		t.Fatalf("nothing asked: %+v, %v", none, err)
	}
	q := question(map[string]float64{"runner.length": 0.40})
	var got [3]app.Tried
	for i, stage := range []app.Stage{app.Coarse, app.Refined, app.Banded} {
		if got[i], err = a.Try(t.Context(), demoID, q, stage); err != nil {
			t.Fatal(stage, err)
		}
		t.Logf("%s took %v", stage, got[i].Took)
	}
	for i, o := range whole.Assessment.Pull.After {
		coarse, fine := got[0].New[i], got[1].New[i]
		if got[0].Old[i].Torque != o.Torque || got[1].Old[i].Torque != o.Torque {
			t.Errorf("%.0f rpm: the old curve moved", o.Speed)
		}
		// A coarse pull is within 2 %, a coarse difference better: half of that.
		if math.Abs(coarse.Torque-fine.Torque) > 0.01*o.Torque || math.Abs(coarse.Power-coarse.Torque*o.Speed*math.Pi/30e3) > 1e-9 {
			t.Errorf("%.0f rpm: %.1f N·m coarse, %.1f refined, %.1f as it is", o.Speed, coarse.Torque, fine.Torque, o.Torque)
		}
		c := got[2].Change[i]
		if math.Abs(c.Torque-(fine.Torque-o.Torque)) > 1e-9 || c.TorqueLo > c.Torque || c.TorqueHi < c.Torque || c.TorqueHi <= c.TorqueLo {
			t.Errorf("%.0f rpm: change %+v of %.2f N·m", o.Speed, c, fine.Torque-o.Torque)
		}
	}
	if len(got[0].Cautions) == 0 || got[0].Change != nil || got[1].Change != nil {
		t.Errorf("cautions %v", got[0].Cautions)
	}
	c, err := a.TryCycle(t.Context(), demoID, q, 75, 4)
	if err != nil {
		t.Fatal(err)
	}
	if c.Cylinder != 4 || len(c.Bore) != len(c.X) || len(c.Rise) != len(c.Angle) || slices.Max(c.Rise) > 1.0001 || slices.Min(c.Rise) < 0 || c.Ambient < 9e4 {
		t.Errorf("cycle of cylinder %d: %d bores, %d places", c.Cylinder, len(c.Bore), len(c.X))
	}
	// The passage is that of the question: 400 mm and the port's 90 mm.
	if end := c.X[len(c.X)-1]; end < 0.47 || end > 0.49 {
		t.Errorf("the last place is %.3f m from the mouth", end)
	}
}

// Questions that cannot be answered, each of its kind.
func TestTryRefusals(t *testing.T) {
	hold := make(chan struct{})
	a := trying(t, hold, 0.05)
	if _, err := a.Try(t.Context(), demoID, question(nil), app.Coarse); fault.KindOf(err) != fault.Conflict {
		t.Errorf("before the pull is there: %v", err)
	}
	close(hold)
	if _, err := a.Solved(t.Context(), demoID); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		id   string
		q    app.Question
		kind fault.Kind
	}{
		"no such job":  {"none", question(nil), fault.NotFound},
		"state":        {demoID, app.Question{State: "between"}, fault.Invalid},
		"out of reach": {demoID, question(map[string]float64{"compression": 90}), fault.Invalid},
	} {
		if _, err := a.Try(t.Context(), c.id, c.q, app.Coarse); fault.KindOf(err) != c.kind {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := a.TryCycle(t.Context(), demoID, question(nil), 75, 7); fault.KindOf(err) != fault.Invalid {
		t.Errorf("cylinder 7 of six: %v", err)
	}
	if _, err := a.TryCycle(t.Context(), demoID, question(nil), 1, 1); fault.KindOf(err) != fault.Invalid {
		t.Errorf("60 rpm: %v", err)
	}
	if _, err := app.Knobs(job.Job{}); fault.KindOf(err) != fault.Invalid {
		t.Errorf("no engine: %v", err)
	}
	if knobs, err := app.Knobs(job.Job{Engine: &job.Engine{Cylinders: 3}}); fault.KindOf(err) != fault.Invalid {
		t.Errorf("an engine that cannot be: %v, %v", knobs, err)
	}
}

// While a slider moves, newer questions stop older ones: of many asked at once the last is answered, the others say that they were
// superseded or were quick enough; none breaks another, and a caller who leaves is let go.
func TestTrySuperseded(t *testing.T) {
	a := trying(t, nil, 0.05)
	if _, err := a.Solved(t.Context(), demoID); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Try(t.Context(), demoID, question(nil), app.Coarse); err != nil { // tied and warm
		t.Fatal(err)
	}
	var all sync.WaitGroup
	errs := make([]error, 8)
	for i := range errs {
		all.Go(func() {
			_, errs[i] = a.Try(t.Context(), demoID, question(map[string]float64{"runner.length": 0.33 + 0.005*float64(i)}), app.Coarse)
		})
		time.Sleep(5 * time.Millisecond)
	}
	all.Wait()
	stopped := 0
	for i, err := range errs {
		if errors.Is(err, app.ErrSuperseded) && fault.KindOf(err) == fault.Conflict {
			stopped++
		} else if err != nil {
			t.Errorf("question %d: %v", i, err)
		}
	}
	if errs[7] != nil || stopped < 4 {
		t.Errorf("the last: %v; %d of 8 were stopped", errs[7], stopped)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := a.Try(ctx, demoID, question(map[string]float64{"compression": 11}), app.Refined); !errors.Is(err, context.Canceled) {
		t.Errorf("whoever left: %v", err)
	}
	if _, err := a.Try(t.Context(), demoID, question(map[string]float64{"compression": 11}), app.Coarse); err != nil {
		t.Errorf("after all that: %v", err)
	}
}
