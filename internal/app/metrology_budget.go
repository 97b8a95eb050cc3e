package app

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"runnel/assess"
	"runnel/bench"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/measure"
)

// A BudgetAnswer is the uncertainty budget of one reading and, when asked for, what drawing its inputs gives.
type BudgetAnswer struct {
	Reading    assess.Reading `json:"reading"`
	Lo         float64        `json:"lo95_m2"`               // lower end of the first-order interval of the effective area [m²]
	Hi         float64        `json:"hi95_m2"`               // upper end [m²]
	MonteCarlo *DrawnAnswer   `json:"monte_carlo,omitempty"` // nil when not asked for
}

// A DrawnAnswer is the effective area of a reading with its inputs drawn (JCGM 101), beside the first-order budget.
type DrawnAnswer struct {
	Draws     int       `json:"draws"`
	Seed      uint64    `json:"seed"`
	Mean      float64   `json:"mean_m2"`      // [m²]
	URel      float64   `json:"u_rel"`        // standard deviation over the mean [-]
	Lo        float64   `json:"lo95_m2"`      // [m²]
	Hi        float64   `json:"hi95_m2"`      // [m²]
	Tolerance float64   `json:"tolerance_m2"` // what the ends may differ by: half a unit in the last of two digits of u [m²]
	Agrees    bool      `json:"agrees"`
	Note      string    `json:"note"`    // where it disagrees, in words
	Heights   []float64 `json:"heights"` // share of the draws in each of even steps from From to To [-]
	From      float64   `json:"from_m2"` // [m²]
	To        float64   `json:"to_m2"`   // [m²]
	Warnings  []string  `json:"warnings"`
}

// A Drawing asks for a Monte Carlo run.
type Drawing struct {
	Draws int    // 0: none
	Seed  uint64 // the same seed gives the same answer
}

// BudgetOf returns the budget of a reading of a job. progress may be nil.
func BudgetOf(ctx context.Context, j job.Job, id string, d Drawing, progress func(done, total int)) (BudgetAnswer, error) {
	card, taken, err := findReading(j, id)
	if err != nil {
		return BudgetAnswer{}, err
	}
	one := j
	one.Sittings = []job.Sitting{card}
	one.Sittings[0].Readings = []job.Reading{taken}
	one.Compare, one.Engine = nil, nil
	a, err := assess.Readings(one)
	if err != nil {
		return BudgetAnswer{}, invalid(err)
	}
	if len(a.Readings) != 1 {
		return BudgetAnswer{}, fmt.Errorf("reading %q became %d readings", id, len(a.Readings))
	}
	out := BudgetAnswer{Reading: a.Readings[0]}
	if !out.Reading.Usable {
		return BudgetAnswer{}, fault.Errorf(fault.Invalid, "reading %q does not count: %s", id, out.Reading.Refused)
	}
	half := out.Reading.UExpandedRel * out.Reading.EffectiveArea
	out.Lo, out.Hi = out.Reading.EffectiveArea-half, out.Reading.EffectiveArea+half
	if d.Draws == 0 {
		return out, nil
	}
	out.MonteCarlo, err = draw(ctx, j, card, taken, d, progress)
	return out, err
}

func findReading(j job.Job, id string) (job.Sitting, job.Reading, error) {
	var ids []string
	for _, s := range j.Sittings {
		for _, r := range s.Readings {
			if r.ID == id {
				return s, r, nil
			}
			ids = append(ids, r.ID)
		}
	}
	if len(ids) > 12 {
		ids = append(ids[:12], "…")
	}
	return job.Sitting{}, job.Reading{}, fault.Errorf(fault.NotFound, "reading %q is not in the job: name one of %s", id, strings.Join(ids, ", "))
}

func draw(ctx context.Context, j job.Job, card job.Sitting, r job.Reading, d Drawing, progress func(done, total int)) (*DrawnAnswer, error) {
	setup, err := bench.NewSetup(j.Bench)
	if err != nil {
		return nil, invalid(err)
	}
	sit, err := setup.Sitting(card, j.Traces)
	if err != nil {
		return nil, invalid(err)
	}
	at := slices.IndexFunc(j.Rigs, func(c job.RigCard) bool { return c.ID == r.Rig })
	if at < 0 {
		return nil, fault.Errorf(fault.Invalid, "reading %q names rig card %q, which is not in the job", r.ID, r.Rig)
	}
	rig := j.Rigs[at]
	rng := rand.New(rand.NewPCG(d.Seed, seedStream)) // the seed is the user's
	got, err := sit.Propagate(rng, r, rig, j.Traces, measure.PropagateOptions{Draws: d.Draws, Progress: progress})
	if err != nil {
		if errors.Is(err, measure.ErrTooFew) {
			return nil, fault.Errorf(fault.Invalid, "Monte Carlo: %w", err)
		}
		return nil, invalid(err)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	out := &DrawnAnswer{
		Draws: got.Draws, Seed: d.Seed, Mean: got.Mean, URel: got.U / got.Mean, Lo: got.Lo, Hi: got.Hi, Tolerance: got.Agreement.Tolerance,
		Agrees: got.Agreement.Agrees, Note: got.Agreement.Note, Warnings: measureWords(got.Warnings),
	}
	if end := endScatter(got.U, got.Draws); !out.Agrees && got.Agreement.Tolerance < extraEnds*end {
		out.Note += fmt.Sprintf("; but the ends of %d draws are themselves uncertain by %.2g of u: draw more before believing it", got.Draws, end/got.U)
	}
	out.From, out.To, out.Heights = heights(got.Sorted())
	return out, nil
}

// seedStream is the second word of the generator's seed: it tells this use of a seed from others.
const seedStream = 0x62756467

// extraEnds is how many standard deviations of an end must fit into the tolerance before a disagreement counts.
const extraEnds = 2

// endScatter returns the standard deviation of an end of the drawn 95 % interval [unit of u], for a distribution that is
// nearly normal there: sqrt(p(1 − p)/M)/f with the density f = 0.0584/u at 1.96 u. Source: the scatter of a sample quantile
// (textbook).
func endScatter(u float64, draws int) float64 {
	return math.Sqrt(0.025*0.975/float64(draws)) / 0.0584 * u
}

// bins is the number of steps of a histogram.
const bins = 41

// heights counts sorted values into even steps over all but the outermost thousandth on either side.
func heights(sorted []float64) (from, to float64, h []float64) {
	n := len(sorted)
	from, to = sorted[n/1000], sorted[n-1-n/1000]
	h = make([]float64, bins)
	if !(to > from) {
		return from, to, h
	}
	for _, v := range sorted {
		if i := int((v - from) / (to - from) * bins); v >= from && v <= to {
			h[min(i, bins-1)] += 1 / float64(n)
		}
	}
	return from, to, h
}
