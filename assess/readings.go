package assess

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"runnel/bench"
	"runnel/job"
	"runnel/measure"
	"runnel/unit"
)

// A solver carries what the steps of an assessment hand to each other.
type solver struct {
	job      job.Job
	ref      bench.Reference
	rigs     map[string]job.RigCard
	rounds   map[string]job.Round
	pieces   map[string]job.Piece
	readings []bench.Reading // the usable ones, in the order of the job
	out      Assessment
}

// Readings returns the quick part of an assessment: everything but the pull.
//
// A reading that cannot count is kept with Usable false and the reason. Errors: those of a bench card, a sitting or a
// reference that cannot be; they name it.
func Readings(j job.Job) (Assessment, error) {
	s, err := solve(j)
	if err != nil {
		return Assessment{}, err
	}
	return s.out, nil
}

func solve(j job.Job) (*solver, error) {
	s := &solver{job: j, rigs: map[string]job.RigCard{}, rounds: map[string]job.Round{}, pieces: map[string]job.Piece{}}
	for _, r := range j.Rigs {
		s.rigs[r.ID] = r
	}
	for _, r := range j.Rounds {
		s.rounds[r.ID] = r
	}
	for _, p := range j.Pieces {
		s.pieces[p.ID] = p
	}
	var err error
	if s.ref, err = bench.ReferenceOf(j.Reference); err != nil {
		return nil, fmt.Errorf("reference of the job: %w", err)
	}
	s.out = Assessment{
		Job: j.ID, Title: j.Title, Invented: j.Invented, Reference: referenceOut(s.ref, smallest(j)),
		Sittings: []Sitting{}, Readings: []Reading{}, Verdicts: []Verdict{}, Match: []Match{}, Restriction: []Restriction{}, Warnings: []string{},
	}
	if err := s.read(); err != nil {
		return nil, err
	}
	if err := s.verdicts(); err != nil {
		return nil, err
	}
	if err := s.matches(); err != nil {
		return nil, err
	}
	s.restrictions()
	return s, nil
}

// defaultSmallest is the smallest change worth claiming [-] where the job does not set one.
const defaultSmallest = 0.005

func smallest(j job.Job) float64 {
	if j.Reference.SmallestChange > 0 {
		return j.Reference.SmallestChange
	}
	return defaultSmallest
}

func referenceOut(r bench.Reference, smallest float64) Reference {
	return Reference{
		TestPressure: r.TestPressure, Pressure: r.Air.Pressure, Temperature: r.Air.Temperature, Humidity: r.Air.Humidity,
		Density: r.Air.Density, SmallestChange: smallest,
	}
}

// read corrects every reading of every sitting.
func (s *solver) read() error {
	setup, err := bench.NewSetup(s.job.Bench)
	if err != nil {
		return fmt.Errorf("bench %q: %w", s.job.Bench.ID, err)
	}
	for _, card := range s.job.Sittings {
		sit, err := setup.Sitting(card, s.job.Traces)
		if err != nil {
			return err
		}
		s.out.Sittings = append(s.out.Sittings, sittingOut(card, sit, s.ref))
		for _, r := range card.Readings {
			got, err := sit.Read(r, s.rigs[r.Rig], s.job.Traces, s.ref)
			if refused, ok := errors.AsType[*bench.Refused](err); ok {
				s.out.Readings = append(s.out.Readings, s.refused(card, r, refused))
				continue
			}
			if err != nil {
				return err
			}
			s.readings = append(s.readings, got)
			s.out.Readings = append(s.out.Readings, s.readingOut(r, got))
		}
	}
	return nil
}

func sittingOut(card job.Sitting, sit *bench.Sitting, ref bench.Reference) Sitting {
	out := Sitting{
		ID: card.ID, Density: sit.Air.Density, LeakK: sit.Leakage.K, LeakN: sit.Leakage.N,
		CheckDeviation: []float64{}, Marks: slices.Clone(sit.Marks),
	}
	if sit.Leakage.Points > 0 {
		out.LeakFlow, _, _ = sit.Leakage.At(ref.TestPressure)
	}
	for _, c := range sit.Checks {
		out.CheckDeviation = append(out.CheckDeviation, c.Deviation)
	}
	if out.Marks == nil {
		out.Marks = []string{}
	}
	for _, w := range sit.Notes {
		out.Marks = appendNew(out.Marks, "limit not met: "+w.String())
	}
	return out
}

func (s *solver) refused(card job.Sitting, r job.Reading, why *bench.Refused) Reading {
	rig := s.rigs[r.Rig]
	return Reading{
		ID: r.ID, Sitting: card.ID, Rig: r.Rig, Piece: rig.Piece, Round: r.Round, Opening: r.Opening, Entry: entryOf(rig), Lift: r.Lift,
		Refused: why.Err.Error(), Trace: r.Trace, Budget: []BudgetLine{}, Warnings: []string{},
	}
}

func entryOf(r job.RigCard) string {
	if r.Entry == "" {
		return "bare"
	}
	return r.Entry
}

func (s *solver) readingOut(r job.Reading, got bench.Reading) Reading {
	out := Reading{
		ID: r.ID, Sitting: got.Sitting, Rig: got.Rig.ID, Piece: got.Rig.Piece, Round: r.Round, Opening: r.Opening, Entry: entryOf(got.Rig),
		Lift: r.Lift, Usable: true, EffectiveArea: got.EffectiveArea, MassFlow: got.Mass, Flow: got.Flow,
		FlowCFM: unit.VolumeFlow.In(got.Flow, "cfm"), FlowSqrtRule: unit.VolumeFlow.In(got.FlowSqrtRule, "cfm"), TestPressure: got.TestPressure,
		URel: got.URel, UExpandedRel: got.Expanded.U / got.EffectiveArea, CoverageK: got.Expanded.K, Dof: finiteDof(got.Expanded.Dof),
		URepeat: got.USettling, Peak: unit.VolumeFlow.In(got.Peak, "cfm"), WaverRel: got.Settled.WaverRel, NEff: got.Settled.NEff,
		SteadyFrom: got.Settled.From, SteadyTo: got.Settled.To, Trace: r.Trace, Budget: budgetOut(got.Budget), Warnings: []string{},
	}
	for _, m := range got.Marks {
		out.Warnings = appendNew(out.Warnings, m)
	}
	for _, w := range got.Warnings {
		out.Warnings = appendNew(out.Warnings, "limit not met: "+w.String())
	}
	for _, f := range measure.Gathered(got.Faults) {
		if f.Kind == measure.FaultSpike || f.Kind == measure.FaultEmpty || f.Kind == measure.FaultDropOut {
			out.Warnings = appendNew(out.Warnings, f.Words())
		}
	}
	return out
}

func budgetOut(b measure.Budget) []BudgetLine {
	out := make([]BudgetLine, len(b.Lines))
	shares := b.Shares()
	for i, l := range b.Lines {
		out[i] = BudgetLine{
			Quantity: l.Quantity, Estimate: l.Estimate, U: l.U, Unit: l.Unit, Kind: fmt.Sprint(l.Kind), Distribution: fmt.Sprint(l.Distribution),
			Dof: finiteDof(l.Dof), Sensitivity: l.Sensitivity / b.Value, Share: shares[i],
		}
	}
	return out
}

// finiteDof returns degrees of freedom as the wire holds them [-]: -1 stands for very many.
func finiteDof(dof float64) float64 {
	if math.IsInf(dof, 0) || math.IsNaN(dof) || dof <= 0 || dof > 1e6 {
		return -1
	}
	return dof
}

func appendNew(list []string, s string) []string {
	if slices.Contains(list, s) {
		return list
	}
	return append(list, s)
}
