package app

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"runnel/assess"
	"runnel/internal/capture"
	"runnel/internal/capture/rig"
	"runnel/job"
)

// rigRoles are the channels a simulated rig has, which are named as the roles are.
func rigRoles() []string {
	return []string{"meter_dp", "test_dp", "air_pressure", "air_temp", "air_rh"}
}

// rigOptions ask for a bench whose luck is ordinary. The seed a rig has by itself makes a check plate read 0.8 to 1 % high, which
// a shop would not leave so: its limit is 1 %.
const rigOptions = "rig:?seed=3"

// simulated returns a bench card whose sensors are read from a rig in this program. A linear calibration is undone in the
// address, so that what the card makes of a sample is what the rig has.
func simulated(card job.Bench) job.Bench {
	card.Sensors = slices.Clone(card.Sensors)
	for i, s := range card.Sensors {
		if !slices.Contains(rigRoles(), s.Role) {
			continue
		}
		address := rigOptions + "#" + s.Role
		if c := s.Calibration; len(c) == 2 && c[1] != 0 {
			address = rigOptions + "&scale=" + strconv.FormatFloat(1/c[1], 'g', 12, 64) + "&offset=" + strconv.FormatFloat(-c[0]/c[1], 'g', 12, 64) + "#" + s.Role
		}
		card.Sensors[i].Source = address
	}
	return card
}

// An ownRig is a simulated bench in this program: what is under test there follows what the page asks for.
type ownRig struct{ source *rig.Source }

// tight lets a simulated bench leak so little that a plate, which cannot see it, is not put off by it either.
func (r *ownRig) tight() error {
	_, err := r.source.Do("leak 0.3 cfm")
	return err
}

// ownRigOf finds the rig among sources; nil when there is none.
func ownRigOf(srcs []capture.Source) *ownRig {
	for _, s := range srcs {
		if r, ok := s.(*rig.Source); ok {
			return &ownRig{r}
		}
	}
	return nil
}

// set clamps on the rig what is to be taken, as somebody at a real bench would.
func (r *ownRig) set(ctx context.Context, d *desk, t taking) error {
	passes := 0.0
	if t.task == StepReadings {
		passes = d.app.likely(ctx, d.jobID(), t.item)
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	var lines []string
	switch t.task {
	case StepZero:
		lines = []string{"blower off"}
	case StepLeakage:
		lines = []string{"blower on", "blank", "pressure " + leakPressure(d)}
	case StepCheck:
		lines = []string{"blower on", area(orElse(d.facts.Bench.CheckPlate.EffectiveArea, 600e-6)), "pressure " + pascals(d.ref.TestPressure)}
	default:
		g, _ := rigCard(d.facts, t.item.Rig)
		lines = []string{"blower on", area(passes), "pressure " + pascals(orElse(g.TestPressure, d.ref.TestPressure))}
	}
	for _, line := range lines {
		if _, err := r.source.Do(line); err != nil {
			return fmt.Errorf("simulated rig, %q: %w", line, err)
		}
	}
	return nil
}

func area(m2 float64) string {
	return "piece " + strconv.FormatFloat(m2*1e6, 'f', 3, 64) + " mm2"
}

func pascals(p float64) string { return strconv.FormatFloat(p, 'f', 1, 64) + " Pa" }

// leakPressure goes through three test pressures in turn.
func leakPressure(d *desk) string {
	n := 0
	if s, err := sittingOf(d.facts, d.sitting); err == nil {
		n = len(s.Leakage)
	}
	return pascals(d.ref.TestPressure * []float64{1, 0.4, 0.7}[n%3])
}

// likely is what an opening should pass: the mean effective area of its usable readings in the job, in the same round if
// there are any [m²]. An opening that was never flowed passes 900 mm² and a little that goes by its name.
func (a *App) likely(ctx context.Context, id string, it BenchItem) float64 {
	var as assess.Assessment
	if b, _, err := a.open(ctx, id); err == nil {
		if as, err = a.readings(b); err != nil {
			as.Readings = nil
		}
	}
	sum, n, best := 0.0, 0.0, -1
	for _, r := range as.Readings {
		if !r.Usable || r.Opening != it.Opening || !(r.EffectiveArea > 0) {
			continue
		}
		near := 0
		if r.Rig == it.Rig {
			near += 2
		}
		if r.Round == it.Round {
			near++
		}
		if r.Lift != it.Lift {
			near = -1
		}
		switch {
		case near > best:
			best, sum, n = near, r.EffectiveArea, 1
		case near == best:
			sum, n = sum+r.EffectiveArea, n+1
		}
	}
	if n > 0 {
		return sum / n
	}
	return 900e-6 * (1 + 0.01*float64(strings.Count(it.Opening, "")+int(it.Opening[len(it.Opening)-1])%7-3))
}
