package app

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"runnel/bench"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/measure"
)

// A CheckChart is the history of a check plate as a control chart, Shewhart with a moving average (EWMA) on it.
type CheckChart struct {
	Unit     string       `json:"unit"`   // of every value: "m³/s", or "1" for deviations
	Centre   float64      `json:"centre"` // [unit of the chart]
	Sigma    float64      `json:"sigma"`  // standard deviation of one flow by the moving range [unit of the chart]; 0: not known yet
	Lo       float64      `json:"lo"`     // lower limit, three sigma [unit of the chart]
	Hi       float64      `json:"hi"`     // upper limit [unit of the chart]
	Limit    float64      `json:"limit"`  // deviation beyond which the bench card marks a sitting [-]; 0: not charted as deviation
	Points   []CheckPoint `json:"points"` // in order of time
	Rules    []string     `json:"rules"`  // that a point may break, in words
	Warnings []string     `json:"warnings"`
}

// A CheckPoint is one flow of a check plate.
type CheckPoint struct {
	Label     string    `json:"label"` // sitting
	Job       string    `json:"job,omitempty"`
	At        time.Time `json:"at"`
	Value     float64   `json:"value"`      // [unit of the chart]
	Average   float64   `json:"average"`    // moving average up to it [unit of the chart]
	AverageLo float64   `json:"average_lo"` // its lower limit [unit of the chart]
	AverageHi float64   `json:"average_hi"` // its upper limit [unit of the chart]
	Signals   []string  `json:"signals"`    // rules that it breaks
}

// chartRules lists the rules in words.
func chartRules() []string {
	var out []string
	for _, r := range []measure.Rule{measure.RuleBeyond, measure.RuleTwoOf3, measure.RuleFourOf5, measure.RuleEightSide, measure.RuleSixTrend, measure.RuleAverage} {
		out = append(out, string(r))
	}
	return out
}

// chartOf charts the values of points. Too few for a scatter, or none, leaves the limits open with a warning.
func chartOf(values []float64, points []CheckPoint) (CheckChart, error) {
	out := CheckChart{Unit: "m³/s", Points: points, Rules: chartRules(), Warnings: []string{}}
	c, err := measure.ControlChart(values, measure.ChartOptions{})
	if errors.Is(err, measure.ErrTooFew) || errors.Is(err, measure.ErrNoScatter) {
		out.Centre = measure.Mean(values)
		for i := range out.Points {
			p := &out.Points[i]
			p.Average, p.AverageLo, p.AverageHi, p.Signals = p.Value, p.Value, p.Value, []string{}
		}
		out.Warnings = append(out.Warnings, "no limits yet: "+err.Error())
		return out, nil
	}
	if err != nil {
		return CheckChart{}, err
	}
	out.Centre, out.Sigma, out.Lo, out.Hi = c.Centre, c.Sigma, c.Lo, c.Hi
	out.Warnings = append(out.Warnings, measureWords(c.Warnings)...)
	for i, k := range c.Points {
		p := &out.Points[i]
		p.Average, p.AverageLo, p.AverageHi, p.Signals = k.Average, k.AverageLo, k.AverageHi, []string{}
		for _, s := range k.Signals {
			p.Signals = append(p.Signals, string(s))
		}
	}
	return out, nil
}

// checksOf returns the deviations of the check plate in every sitting of a job.
func checksOf(j job.Job) ([]CheckPoint, error) {
	setup, err := bench.NewSetup(j.Bench)
	if err != nil {
		return nil, fmt.Errorf("bench %q: %w", j.Bench.ID, err)
	}
	var out []CheckPoint
	for _, card := range j.Sittings {
		sit, err := setup.Sitting(card, j.Traces)
		if err != nil {
			return nil, err
		}
		for _, c := range sit.Checks {
			if c.Deviation-c.Deviation != 0 {
				continue
			}
			at := c.At
			if at.IsZero() { // a flow without a time of its own was taken in its sitting
				at = card.At
			}
			out = append(out, CheckPoint{Label: card.ID, Job: j.ID, At: at, Value: c.Deviation})
		}
	}
	return out, nil
}

// ChartOf charts the check plate of the sittings of one job as deviations from its known area.
func ChartOf(j job.Job) (CheckChart, error) {
	points, err := checksOf(j)
	if err != nil {
		return CheckChart{}, invalid(err)
	}
	return deviations(points, j.Bench.CheckPlate.Limit)
}

func deviations(points []CheckPoint, limit float64) (CheckChart, error) {
	points = sortedBy(points, func(p CheckPoint) int64 { return p.At.UnixNano() })
	if limit == 0 {
		limit = plateLimit
	}
	if len(points) == 0 {
		return CheckChart{Unit: "1", Limit: limit, Points: []CheckPoint{}, Rules: chartRules(), Warnings: []string{"no flow of the check plate is recorded"}}, nil
	}
	values := make([]float64, len(points))
	for i, p := range points {
		values[i] = p.Value
	}
	out, err := chartOf(values, points)
	out.Unit, out.Limit = "1", limit
	if worst := math.Abs(out.Centre); err == nil && worst > limit {
		out.Warnings = append(out.Warnings, fmt.Sprintf("the check plate reads %+.2f %% on average, beyond the limit of %.2g %%: the bench is off, however steadily", 100*out.Centre, 100*limit))
	}
	return out, err
}

// plateLimit is the deviation of a check plate that marks a sitting where the bench card is silent [-], as in package bench.
const plateLimit = 0.01

// mostHistory is the number of jobs whose sittings are looked through for the history of a bench.
const mostHistory = 50

// ControlChart returns the history of the check plate of a job's bench over all jobs kept here that were flowed on the same
// bench with the same plate, in order of time.
func (a *App) ControlChart(ctx context.Context, id string) (CheckChart, error) {
	b, _, err := a.open(ctx, id)
	if err != nil {
		return CheckChart{}, err
	}
	points, err := checksOf(b.job)
	if err != nil {
		return CheckChart{}, invalid(err)
	}
	rows, err := a.store.Jobs(ctx)
	if err != nil {
		return CheckChart{}, err
	}
	looked := 0
	for _, row := range rows {
		if row.ID == id || looked == mostHistory {
			continue
		}
		if err := ctx.Err(); err != nil {
			return CheckChart{}, err
		}
		other, err := a.jobChecks(ctx, row)
		if err != nil {
			a.log.Warn("control chart: a job is left out", "job", row.ID, "error", err)
			continue
		}
		if other.bench != b.job.Bench.ID || other.plate.ID != b.job.Bench.CheckPlate.ID {
			continue
		}
		looked++
		points = append(points, other.points...)
	}
	return deviations(points, b.job.Bench.CheckPlate.Limit)
}

// facts reads a job without putting it on the shelf, unless it is there.
func (a *App) facts(ctx context.Context, id string, revision int, hash string) (job.Job, error) {
	if b, ok := a.held(ctx, hash); ok {
		return b.job, nil
	}
	files, err := a.store.Files(ctx, id, revision)
	if err != nil {
		return job.Job{}, err
	}
	j, _, err := a.readFolder(ctx, files)
	if err != nil {
		return job.Job{}, fault.Errorf(fault.Internal, "job %q as it was kept: %w", id, err)
	}
	return j, nil
}
