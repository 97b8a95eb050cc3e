package assess

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strconv"

	"runnel/bench"
	"runnel/engine"
	"runnel/job"
)

// Progress is told how far long work is: done of total steps of a stage. It may be called from several goroutines, one at a time.
type Progress func(stage string, done, total int)

// NoPromise stands among the warnings of every pull before and after.
const NoPromise = "The pull compares before and after with what was measured and assumed here; it promises no absolute torque or power."

// settleShare is the tolerance that the torque of a pull is settled to [-]; the band on a change carries it twice.
const settleShare = 0.001

// bandSeed makes the draws of the band the same every time.
const bandSeed = 20260307

// Solve returns the whole assessment of a job: Readings, and the pull before and after when the engine is known. progress may
// be nil.
//
// An engine that cannot be computed is a warning of the assessment, not an error: the readings stand by themselves. Errors: those
// of Readings, and that of ctx.
func Solve(ctx context.Context, j job.Job, progress Progress) (Assessment, error) {
	if progress == nil {
		progress = func(string, int, int) {}
	}
	s, err := solve(j)
	if err != nil {
		return Assessment{}, err
	}
	if j.Engine == nil {
		return s.out, nil
	}
	p, err := s.pull(ctx, progress)
	if ctx.Err() != nil {
		return s.out, ctx.Err()
	}
	if err != nil {
		s.out.Warnings = appendNew(s.out.Warnings, "the pull could not be computed: "+err.Error())
		return s.out, nil
	}
	s.out.Pull = p
	return s.out, nil
}

// pull computes the engine before and after, tied to the readings of its pieces, and the band on the difference.
func (s *solver) pull(ctx context.Context, progress Progress) (*Pull, error) {
	speeds, err := Speeds(*s.job.Engine)
	if err != nil {
		return nil, err
	}
	out := &Pull{Bridged: []string{}, Closures: []Closure{}, Guides: []Guide{}, Assumed: []string{}, Warnings: []string{}, Change: []Change{}}
	tied, err := s.ties(ctx, progress)
	if err != nil {
		return nil, err
	}
	var points [2][]engine.Point
	for k, t := range tied {
		for _, a := range t.Assumed {
			out.Assumed = appendNew(out.Assumed, a)
		}
		for _, w := range t.Warnings {
			out.Warnings = appendNew(out.Warnings, w)
		}
		out.Closures = append(out.Closures, t.Closures...)
		out.Bench, out.Bridged = t.Bench, t.Bridged
		out.Dyno = t.Dyno
		progress("pull "+t.State, 0, len(speeds))
		if points[k], err = engine.Pull(ctx, t.Engine, speeds, engine.Options{}, func(done, total int) { progress("pull "+t.State, done, total) }); err != nil {
			return nil, err
		}
		for _, w := range PullWarnings(points[k]) {
			out.Warnings = appendNew(out.Warnings, t.State+": "+w)
		}
	}
	out.Before, out.After = Points(points[0]), Points(points[1])
	if err := beside(ctx, out, tied, points, progress); err != nil {
		return nil, err
	}
	progress("band", 0, 1)
	if err := band(ctx, out, tied, points); err != nil {
		return nil, err
	}
	progress("band", 1, 1)
	out.Guides = guides(tied[1].Engine, points[1])
	out.Warnings = appendNew(out.Warnings, NoPromise)
	return out, nil
}

// beside puts the air demand and one cycle's pressures beside a pull. What of them cannot be computed is a warning: the pull stands by
// itself. Error: that of ctx.
func beside(ctx context.Context, out *Pull, tied []Tied, points [2][]engine.Point, progress Progress) error {
	demand, err := demandOf(tied[1], points[1], AllowedLoss)
	if err != nil {
		out.Warnings = appendNew(out.Warnings, "the air demand could not be computed: "+err.Error())
	} else {
		out.Demand = &demand
		for _, w := range demand.Warnings {
			out.Warnings = appendNew(out.Warnings, w)
		}
	}
	if err := record(ctx, out, tied, points, progress); err != nil {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		out.Warnings = appendNew(out.Warnings, "the pressures over a cycle could not be computed: "+err.Error())
	}
	return nil
}

// band samples what is not known in common for before and after.
func band(ctx context.Context, out *Pull, tied []Tied, p [2][]engine.Point) error {
	bands, err := tied[0].fit.Bands(ctx, tied[0].plain, tied[1].plain, p[0], p[1], tied[0].options())
	if err != nil {
		return err
	}
	for i, b := range bands {
		out.Before[i].TorqueLo, out.Before[i].TorqueHi = b.Before.Lo, b.Before.Hi
		out.After[i].TorqueLo, out.After[i].TorqueHi = b.After.Lo, b.After.Hi
		out.Change = append(out.Change, changeOf(b))
	}
	if out.Dyno == nil {
		return nil
	}
	// What the bands would be without the run: so that the record can say what the run was worth.
	was, err := (*engine.Fit)(nil).Bands(ctx, tied[0].plain, tied[1].plain, p[0], p[1], tied[0].options())
	if err != nil {
		return err
	}
	before := func(p engine.BandPoint) engine.Interval { return p.Before }
	gain := func(p engine.BandPoint) engine.Interval { return p.Gain }
	out.Dyno.Band = narrowed(intervals(was, before), intervals(bands, before))
	out.Dyno.ChangeBand = narrowed(intervals(was, gain), intervals(bands, gain))
	return nil
}

// flowed collects what the bench says of the engine's pieces in a state.
func (s *solver) flowed(state string) (engine.Flowed, []string) {
	var f engine.Flowed
	var notes []string
	e := s.job.Engine
	if e.Inlet.RunnerPiece != "" {
		if p, ok := s.pieceIn(e.Inlet.RunnerPiece, state); ok {
			f.Drop = dropOf(p.rig, s.ref)
			f.Runners, notes = s.runners(p, e.Cylinders)
		} else {
			notes = append(notes, "no usable reading of "+e.Inlet.RunnerPiece+": its runners are taken as described on the engine card")
		}
	}
	if e.Inlet.ThrottlePiece != "" {
		if p, ok := s.pieceIn(e.Inlet.ThrottlePiece, state); ok {
			f.Throttle = p.area
		}
	}
	if e.Intake.FlowFrom != "" {
		f.In = s.overLift(e.Intake.FlowFrom, state, "in")
		f.HeadDrop = s.ref.TestPressure
	}
	if e.Exhaust.FlowFrom != "" {
		f.Out = s.overLift(e.Exhaust.FlowFrom, state, "out")
		f.HeadDrop = s.ref.TestPressure
	}
	return f, notes
}

func dropOf(rig job.RigCard, ref bench.Reference) float64 {
	if rig.TestPressure > 0 {
		return rig.TestPressure
	}
	return ref.TestPressure
}

// runners returns the effective area of each cylinder's runner [m²]; one that was not flowed takes the mean of the others, and one
// that was and is no cylinder's is named.
func (s *solver) runners(p pieceArea, cylinders int) (areas []float64, notes []string) {
	mean := meanByOpening(s.standing(p))
	areas = make([]float64, cylinders)
	for i := range areas {
		a, ok := mean[strconv.Itoa(i+1)]
		if !ok {
			a = p.area
			notes = append(notes, fmt.Sprintf("runner %d was not flowed: it is taken as the mean of the others", i+1))
		}
		areas[i] = a
		delete(mean, strconv.Itoa(i+1))
	}
	for _, name := range slices.Sorted(maps.Keys(mean)) {
		notes = append(notes, fmt.Sprintf("opening %s was flowed, but it feeds none of the %d cylinders: openings are numbered as the cylinders", name, cylinders))
	}
	return areas, notes
}

// standing returns the readings that stand for a piece.
func (s *solver) standing(p pieceArea) []bench.Reading {
	return atLift(s.taken(p.round, p.rig.ID), p.lift)
}

// overLift returns the effective area of a head over lift in one direction: of each lift the mean over its openings, each the mean of its
// repeats. Where a lift was read with a radiused entry and with a bare one, the radiused stands.
func (s *solver) overLift(piece, state, direction string) []engine.FlowPoint {
	p, ok := s.pieceIn(piece, state)
	if !ok {
		return nil
	}
	at := map[float64][]bench.Reading{}
	for _, r := range s.readings {
		d := r.Rig.Direction
		if d == "" {
			d = "in"
		}
		if r.Rig.Piece != piece || r.Round != p.round || d != direction || r.Lift == 0 {
			continue
		}
		was := at[r.Lift]
		if radiused := isRadiused(r); len(was) > 0 && isRadiused(was[0]) != radiused {
			if !radiused {
				continue
			}
			was = nil
		}
		at[r.Lift] = append(was, r)
	}
	var out []engine.FlowPoint
	for _, lift := range slices.Sorted(maps.Keys(at)) {
		out = append(out, engine.FlowPoint{Lift: lift, Area: meanOfOpenings(at[lift])})
	}
	return out
}
