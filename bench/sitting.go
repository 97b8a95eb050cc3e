package bench

import (
	"errors"
	"fmt"
	"math"
	"time"

	"runnel/gas"
	"runnel/job"
)

// A Sitting is one spell at a bench, ready to correct its readings. It does not change after it is made.
type Sitting struct {
	Leakage Leakage       // law of the leakage; Points is 0 when it was not measured
	Checks  []Check       // flows of the check plate in order of time
	Marks   []string      // what is wrong with the sitting; every reading of it carries them
	Air     gas.Air       // the room's air when the sitting began
	Notes   []gas.Warning // limits that were left on the way

	setup *Setup
	card  job.Sitting
	air   []job.AirRecord
	zeros map[string][]zero
}

// A Check is one flow of the check plate.
type Check struct {
	At            time.Time
	EffectiveArea float64 // as read [m²]
	Deviation     float64 // as read over known, less one [-]
	Outside       bool    // beyond the limit of the bench card
	U             float64 // relative standard uncertainty of this flow for itself: settling or reading by eye, setting up anew [-]

	meter string // it was flowed by
	role  string // of the channel that was read; empty when typed without a meter
}

// errNoAir is returned for a sitting without air.
var errNoAir = errors.New("no air record: write the room's pressure, temperature and humidity under [[air]]")

// Sitting works out the state of the bench in one sitting: its air, zeros, leakage and check plate. traces holds the traces
// that leakage and check plate name. What is missing or outside its limits is a mark, not an error; an error names what
// cannot be used at all.
func (s *Setup) Sitting(card job.Sitting, traces map[string]job.Trace) (*Sitting, error) {
	wrap := func(err error) error { return fmt.Errorf("sitting %q: %w", card.ID, err) }
	if len(card.Air) == 0 {
		return nil, wrap(errNoAir)
	}
	sit := &Sitting{setup: s, card: card, air: sortedAir(card)}
	for i, r := range sit.air {
		a, err := roomOf(r).air.Properties()
		if err != nil {
			return nil, wrap(fmt.Errorf("air record %d: %w", i+1, err))
		}
		if i == 0 {
			sit.Air = a
		}
	}
	var err error
	if sit.zeros, err = s.readZeros(card); err != nil {
		return nil, wrap(err)
	}
	if err := sit.readLeakage(traces); err != nil {
		return nil, wrap(err)
	}
	if err := sit.readChecks(traces); err != nil {
		return nil, wrap(err)
	}
	return sit, nil
}

// readLeakage fits the leakage of the sitting.
func (s *Sitting) readLeakage(traces map[string]job.Trace) error {
	if len(s.card.Leakage) == 0 {
		s.mark("leakage was not measured; up to %.3g %% of a reading is allowed for", 100*s.leakLimit())
		return nil
	}
	points, common := make([]LeakPoint, 0, len(s.card.Leakage)), 0.0
	for i, l := range s.card.Leakage {
		p, u, err := s.leakPoint(l, traces)
		if err != nil {
			return fmt.Errorf("leakage point %d: %w", i+1, err)
		}
		points, common = append(points, p), max(common, u)
	}
	var err error
	if s.Leakage, err = FitLeakage(points, common); err != nil {
		return err
	}
	if s.Leakage.Seen == 0 && s.Leakage.Bound == 0 {
		s.mark("leakage was not seen, and the least that would have been is not known; up to %.3g %% of a reading is allowed for", 100*s.leakLimit())
	}
	s.Notes = append(s.Notes, s.Leakage.Warnings...)
	return nil
}

// readChecks compares the flows of the check plate with its known effective area.
func (s *Sitting) readChecks(traces map[string]job.Trace) error {
	plate := s.setup.card.CheckPlate
	if plate.EffectiveArea == 0 {
		s.mark("the bench has no check plate")
		return nil
	}
	if len(s.card.Checks) == 0 {
		s.mark("the check plate was not flowed; a drift of the bench of up to %.3g %% between sittings is allowed for", 100*s.plateLimit())
		return nil
	}
	limit := s.plateLimit()
	for i, c := range s.card.Checks {
		area, u := c.EffectiveArea, math.Hypot(or(c.UByEye, defaultUByEye), s.setup.card.SetupRepeat)
		if c.Trace != "" {
			t, err := s.take(job.Reading{At: c.At, Trace: c.Trace}, job.RigCard{Meter: c.Meter}, traces)
			if err != nil {
				return fmt.Errorf("check-plate flow %d: %w", i+1, err)
			}
			leak, uLeak, w := s.leak(&t)
			s.Notes = append(append(s.Notes, t.warnings...), w...)
			net := t.gauge.plates.correct(t.mass-leak, t.op.room.Density)
			if area, err = t.op.piece.EffectiveArea(net); err != nil {
				return fmt.Errorf("check-plate flow %d: %w", i+1, err)
			}
			out := Reading{ID: fmt.Sprintf("check plate, flow %d", i+1), EffectiveArea: area, Leak: leak}
			if err := s.budget(&out, &t, job.Reading{ID: out.ID}, uLeak); err != nil {
				return fmt.Errorf("check-plate flow %d: %w", i+1, err)
			}
			u = ownRelative(out.Budget, false)
		}
		dev := area/plate.EffectiveArea - 1
		k := Check{At: c.At, EffectiveArea: area, Deviation: dev, Outside: !(dev >= -limit && dev <= limit), U: u, meter: c.Meter}
		if g, err := s.setup.gauge(c.Meter); err == nil {
			k.role = g.role()
		}
		s.Checks = append(s.Checks, k)
		if k.Outside {
			s.mark("check plate reads %+.2f %% (limit ±%.3g %%)", 100*dev, 100*limit)
		}
	}
	return nil
}

func (s *Sitting) mark(format string, args ...any) {
	s.Marks = append(s.Marks, fmt.Sprintf(format, args...))
}

func (s *Sitting) plateLimit() float64 { return or(s.setup.card.CheckPlate.Limit, defaultPlateLimit) }

func (s *Sitting) leakLimit() float64 { return or(s.setup.card.LeakLimit, defaultLeakLimit) }
