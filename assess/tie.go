package assess

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"

	"runnel/engine"
	"runnel/job"
)

// ErrNoEngine means that a job has no engine card, so that there is no engine to compute.
var ErrNoEngine = errors.New("the job has no engine card: add an [engine] table to job.toml")

// A Tied is an engine in one state, tied to the readings of its pieces and, where the card holds a dynamometer run, fitted to it.
type Tied struct {
	State    string         // "before", "after"; empty for an engine file
	Card     job.Engine     // as it was described
	Engine   *engine.Engine // the engine to run
	Bench    string         // sitting whose bench the readings stand for; empty without readings
	Bridged  []string       // what carried readings of other sittings to it
	Closures []Closure      // twins against their readings
	Assumed  []string       // what was not known and what was taken instead
	Warnings []string
	Dyno     *DynoFit // nil without a run

	plain    *engine.Engine // not fitted
	fit      *engine.Fit
	unknowns engine.Unknowns
}

// Ties returns the engine of a job before and after. progress may be nil. Errors: ErrNoEngine, those of Readings, those of package
// engine, that of ctx.
func Ties(ctx context.Context, j job.Job, progress Progress) ([]Tied, error) {
	s, err := solve(j)
	if err != nil {
		return nil, err
	}
	return s.ties(ctx, quietly(progress))
}

// Twins returns the engine of a job before and after, tied to its readings but not fitted to a run. It is the quick part of Ties.
func Twins(ctx context.Context, j job.Job, progress Progress) ([]Tied, error) {
	s, err := solve(j)
	if err != nil {
		return nil, err
	}
	return s.twins(ctx, quietly(progress))
}

// TieCard returns the engine of an engine card alone, not fitted to a run.
func TieCard(card job.Engine) (Tied, error) {
	e, err := engine.FromCard(card, engine.Flowed{})
	if err != nil {
		return Tied{}, err
	}
	return Tied{Card: card, Engine: e, plain: e, Assumed: e.Assumed, Bridged: []string{}, Closures: []Closure{}, unknowns: engine.DefaultUnknowns()}, nil
}

func quietly(progress Progress) Progress {
	if progress == nil {
		return func(string, int, int) {}
	}
	return progress
}

// ties makes the engine of both states and fits them to the card's run.
func (s *solver) ties(ctx context.Context, progress Progress) ([]Tied, error) {
	out, err := s.twins(ctx, progress)
	if err != nil {
		return nil, err
	}
	return out, Fit(ctx, out, progress)
}

func (s *solver) twins(ctx context.Context, progress Progress) ([]Tied, error) {
	if s.job.Engine == nil {
		return nil, ErrNoEngine
	}
	var out []Tied
	one := s.oneBench()
	for _, state := range states {
		progress("twins "+state, 0, 1)
		t, err := s.tie(state, one)
		if err != nil {
			return nil, err
		}
		out = append(out, t)
		progress("twins "+state, 1, 1)
		if err := ctx.Err(); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// tie makes the engine of one state from the card and ties it to the readings of its pieces, as they stand in one bench.
func (s *solver) tie(state string, one oneBench) (Tied, error) {
	read, _ := s.flowed(state)
	flowed, notes := one.flowed(state)
	e, err := engine.FromCard(*s.job.Engine, flowed)
	if err != nil {
		return Tied{}, err
	}
	tied, closures, err := e.Tie(flowed, 0)
	if err != nil {
		return Tied{}, err
	}
	t := Tied{State: state, Card: *s.job.Engine, Engine: tied, plain: tied, Bench: one.sitting, Bridged: one.bridged, Closures: []Closure{}, Assumed: append(notes, e.Assumed...), unknowns: engine.DefaultUnknowns()}
	s.readingUnknowns(&t.unknowns, one)
	areas := areasOf(read)
	for i, c := range closures {
		t.Closures = append(t.Closures, Closure{State: state, Opening: c.Opening, Read: areas[i], Measured: c.Measured, Simulated: c.Simulated, Ratio: c.Ratio})
		switch {
		case c.Reached:
		case c.Ratio < 1:
			t.Warnings = appendNew(t.Warnings, fmt.Sprintf("%s, %s: even without loss the described sections flow %.1f %% less than the reading: check the sections on the engine card",
				state, c.Opening, 100*(1-c.Ratio)))
		default:
			t.Warnings = appendNew(t.Warnings, fmt.Sprintf("%s, %s: no loss was found at which the described sections flow as the reading does, they still flow %.1f %% more: check the sections on the engine card",
				state, c.Opening, 100*(c.Ratio-1)))
		}
	}
	return t, nil
}

// options are those of a band: the same draws every time.
func (t Tied) options() engine.BandOptions {
	return engine.BandOptions{Unknowns: t.unknowns, Rand: rand.New(rand.NewPCG(bandSeed, 1))} // a fixed seed: the same job has the same band every time
}

// Pull computes the engine at the given speeds [rev/s] on a mesh [m], 0 for the usual one, with the 95 % band on torque.
// progress may be nil. Errors: as engine.Pull.
func (t Tied) Pull(ctx context.Context, speeds []float64, mesh float64, progress Progress) ([]Point, error) {
	progress = quietly(progress)
	progress("pull "+t.State, 0, len(speeds))
	ps, err := engine.Pull(ctx, t.Engine, speeds, engine.Options{Mesh: mesh}, func(done, total int) { progress("pull "+t.State, done, total) })
	if err != nil {
		return nil, err
	}
	out := Points(ps)
	progress("band", 0, 1)
	bands, err := t.fit.Band(ctx, t.plain, ps, t.options())
	if err != nil {
		return nil, err
	}
	for i, b := range bands {
		out[i].TorqueLo, out[i].TorqueHi = b.Lo, b.Hi
	}
	if t.Dyno != nil {
		if err := t.worth(ctx, ps, bands); err != nil {
			return nil, err
		}
	}
	progress("band", 1, 1)
	return out, nil
}

// worth notes what the run of the card was worth to the band of a pull.
func (t Tied) worth(ctx context.Context, ps []engine.Point, fitted []engine.Interval) error {
	unfitted, err := (*engine.Fit)(nil).Band(ctx, t.plain, ps, t.options())
	if err != nil {
		return err
	}
	t.Dyno.Band, t.Dyno.ChangeBand = narrowed(unfitted, fitted), nil
	return nil
}
