package web_test

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"runnel/assess"
	"runnel/internal/app"
	"runnel/job"
)

// What stands beside a pull stands on the engine page, in the reader's units; what could not be computed leaves no empty part behind.
func TestEngineParts(t *testing.T) {
	with := func(change func(*assess.Pull)) app.Compute {
		c := instant()
		whole := c.Solve
		c.Solve = func(ctx context.Context, j job.Job, tell func(string, int, int)) (assess.Assessment, error) {
			a, err := whole(ctx, j, tell)
			change(a.Pull)
			return a, err
		}
		return c
	}
	run := &assess.DynoFit{
		Note: "Fitted to two points.", Band: &assess.Narrowed{Unfitted: 20, Fitted: 8, Share: 0.6}, ChangeBand: &assess.Narrowed{Unfitted: 2, Fitted: 2},
	}
	for _, c := range []struct {
		name       string
		change     func(*assess.Pull)
		want, none []string
	}{
		{"all of it", func(*assess.Pull) {}, []string{
			"from the mean, after the work",
			"spread is <b class=\"nums\">3.0 %</b>, at 7000 rpm", "cylinder 3 worst", "Volumetric efficiency of every cylinder",
			"Air, g/s", "33.33", "chokes", "0.41", "Throttle loss, kPa", "1.200", "25.0 %</b>.", "Rule of the test", "28.0 %</td>", "75.0</b> mm",
			"At the valves of cylinder 1 over one cycle, at 6000 rpm", "Pressure at the intake valve", "Pressure at the exhaust valve",
			"Mixture.", "type approval", "On a dynamometer.",
		}, []string{"Measured run", "Tuned speed</dt>"}},
		{"nothing beside it", func(p *assess.Pull) { p.Demand, p.Ducts = nil, nil }, []string{"Tuned speed</dt>", "Mixture."}, []string{"Air demand", "s-ducts", "Rule of the test"}},
		{"one cylinder", func(p *assess.Pull) {
			for i := range p.After {
				p.After[i].Cylinders = p.After[i].Cylinders[:1]
			}
		}, []string{"Air demand"}, []string{"s-filling"}},
		{"all alike", func(p *assess.Pull) {
			for i := range p.After {
				p.After[i].Cylinders = p.After[i].Cylinders[:2]
			}
		}, []string{"All cylinders are filled alike"}, []string{"Volumetric efficiency of every cylinder"}},
		{"uneven before the work", func(p *assess.Pull) {
			for i := range p.After {
				p.After[i].Cylinders = p.After[i].Cylinders[:2]
				p.Before[i].Cylinders = []assess.Cylinder{{Number: 1, VE: 0.9}, {Number: 2, VE: 0.88}}
			}
		}, []string{"Before the work the largest spread was <b class=\"nums\">2.2 %</b>", "cylinder 2 was filled worst", "Now all cylinders are filled alike", "from the mean, before the work"}, nil},
		{"best at the end", func(p *assess.Pull) { p.Demand.Tuned[0].AtEnd = true }, []string{"its best may lie beyond"}, nil},
		{"an open exhaust valve", func(p *assess.Pull) { p.Ducts[0].Exhaust, p.Ducts[1].Exhaust = nil, nil }, []string{"Pressure at the intake valve"}, []string{"Pressure at the exhaust valve"}},
		{"no throttle", func(p *assess.Pull) { p.Demand.Throttle = nil }, []string{"Air demand"}, []string{"Throttle"}},
		{"a run", func(p *assess.Pull) { p.Dyno = run }, []string{"Measured run", "60 % narrower, ±8.0 N·m instead of ±20.0 N·m", "the change is as wide as before", "no absolute torque or power is promised"}, nil},
		{"the usual words said once", func(p *assess.Pull) { p.Warnings = []string{assess.NoPromise, "another word"} }, []string{"Another word."}, []string{assess.NoPromise}},
	} {
		a := newApp(t, with(c.change))
		importSix(t, a)
		w := get(t, newSite(t, a), "/jobs/six/engine")
		text := w.Body.String()
		if w.Code != http.StatusOK {
			t.Errorf("%s: %d", c.name, w.Code)
		}
		for _, want := range c.want {
			if !strings.Contains(text, want) {
				t.Errorf("%s: no %q", c.name, want)
			}
		}
		for _, none := range c.none {
			if strings.Contains(text, none) {
				t.Errorf("%s: there is %q", c.name, none)
			}
		}
	}
}
