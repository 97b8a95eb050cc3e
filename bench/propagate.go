package bench

import (
	"errors"
	"math/rand/v2"

	"runnel/job"
	"runnel/measure"
)

// A Drawn is the effective area of a reading with its inputs drawn from their distributions.
type Drawn struct {
	measure.Propagated // of the effective area [m²]

	Agreement measure.Agreement // with the first-order budget
}

// Propagate draws the inputs of a reading's budget from their distributions and takes each draw through the whole correction,
// beside the first-order budget that Read gives. The same seed gives the same answer. The correlation of the settling lines
// is that of the reading; opt.Correlation is not read.
//
// Errors: *Refused, which says why the reading cannot count or a draw has no area. Source: JCGM 101:2008, clauses 7 and 8.
func (s *Sitting) Propagate(rng *rand.Rand, r job.Reading, rig job.RigCard, traces map[string]job.Trace, opt measure.PropagateOptions) (Drawn, error) {
	ref, err := ReferenceOf(job.Reference{})
	if err != nil {
		return Drawn{}, err
	}
	out, err := s.Read(r, rig, traces, ref)
	if err != nil {
		return Drawn{}, err
	}
	if r.At.IsZero() {
		r.At = s.card.At
	}
	t, err := s.take(r, rig, traces)
	if err != nil {
		return Drawn{}, &Refused{r.ID, err}
	}
	_, uLeak, _ := s.leak(&t)
	knobs, together := s.knobs(&t, r, &out, uLeak)
	opt.Correlation = together
	p, err := measure.Propagate(rng, t.areaOf(knobs, out.Leak), out.Budget.Lines, opt)
	if err != nil {
		if errors.Is(err, measure.ErrNotFinite) {
			return Drawn{}, &Refused{r.ID, err}
		}
		return Drawn{}, err
	}
	agreement, err := measure.Agree(out.Budget, p, opt.Digits)
	return Drawn{p, agreement}, err
}
