package bench

import (
	"fmt"
	"math"
	"slices"
	"time"

	"runnel/gas"
	"runnel/job"
	"runnel/measure"
	"runnel/meter"
)

// A Reading is a settled, corrected flow of one opening under one rig card.
type Reading struct {
	ID      string
	Sitting string
	Round   string
	Opening string
	Lift    float64 // valve lift [m]
	At      time.Time
	Rig     job.RigCard
	Bench   Stability // how the bench stood in the sitting

	EffectiveArea float64          // effective area of the opening [m²]
	Mass          float64          // mass flow through it, leakage taken off and by the calibration [kg/s]
	Leak          float64          // leakage that was taken off [kg/s]
	Flow          float64          // volume flow at the reference air and test pressure [m³/s]
	FlowSqrtRule  float64          // the same by the square-root rule [m³/s]
	Peak          float64          // top of the needle, at the reference as Flow [m³/s]; Flow when typed
	TestPressure  float64          // mean pressure drop as taken [Pa]
	Room          gas.Air          // air of the room
	Meter         meter.Flow       // what the meter said at the mean of what it showed
	Nozzle        gas.Nozzle       // state that drove the flow through the piece
	Budget        measure.Budget   // uncertainty budget of EffectiveArea
	Expanded      measure.Expanded // expanded uncertainty of EffectiveArea at 95 %
	URel          float64          // combined standard uncertainty over EffectiveArea [-]
	USettling     float64          // its type A part from settling, over EffectiveArea [-]

	Settled  measure.Settled // the mass flow over the steady part [kg/s]; zero when typed
	Typed    bool            // typed by hand instead of a trace
	Faults   []measure.Fault // what is wrong with the trace
	Marks    []string        // what is wrong with the reading or its sitting; shown wherever the reading is shown
	Warnings []gas.Warning   // limits that were left; shown likewise
}

// A Refused is a reading that cannot count, with the reason.
type Refused struct { //nolint:errname // it reads as bench.Refused, and is the reading as much as the error
	ID  string // the reading
	Err error  // why: measure.ErrFrozen, measure.ErrClipped, gas.ErrNoDrop and others, wrapped
}

func (r *Refused) Error() string { return fmt.Sprintf("reading %q is refused: %v", r.ID, r.Err) }

// Unwrap returns the reason.
func (r *Refused) Unwrap() error { return r.Err }

// Read corrects one reading taken under rig and states it at ref. traces holds the trace it names.
//
// The flow of every sample is averaged over the steady part that meter and test pressure share, zeros taken off; leakage goes
// off as mass flow at the test pressure; the effective area follows from the state of the air at the piece.
//
//	Ae = f·(ṁ − ṁ_leak)·sqrt(R·T0)/(p0·ψ(1 − Δp/p0))
//
// f is what the known plates of a calibration make of the volume flow read, where the meter's card names one; else 1.
//
// Errors: *Refused, which says why the reading cannot count.
func (s *Sitting) Read(r job.Reading, rig job.RigCard, traces map[string]job.Trace, ref Reference) (Reading, error) {
	out, err := s.read(r, rig, traces, ref)
	if err != nil {
		return Reading{}, &Refused{r.ID, err}
	}
	return out, nil
}

func (s *Sitting) read(r job.Reading, rig job.RigCard, traces map[string]job.Trace, ref Reference) (Reading, error) {
	if r.Void != "" {
		return Reading{}, fmt.Errorf("void: %s", r.Void)
	}
	if r.At.IsZero() {
		r.At = s.card.At
	}
	t, err := s.take(r, rig, traces)
	if err != nil {
		return Reading{}, err
	}
	out := Reading{
		ID: r.ID, Sitting: s.card.ID, Bench: s.stability(&t.gauge), Round: r.Round, Opening: r.Opening, Lift: r.Lift, At: r.At, Rig: rig,
		TestPressure: t.at.drop, Room: t.op.room, Meter: t.op.flow, Nozzle: t.op.piece,
		Settled: t.flow, Typed: t.typed, Faults: t.faults(),
	}
	leak, uLeak, w := s.leak(&t)
	net := t.mass - leak
	out.Leak, out.Mass = leak, t.gauge.plates.correct(net, out.Room.Density)
	if !(net > 0) {
		return Reading{}, fmt.Errorf("no flow is left of %.4g kg/s through the meter when leakage of %.4g kg/s is taken off", t.mass, leak)
	}
	if out.EffectiveArea, err = t.op.piece.EffectiveArea(out.Mass); err != nil {
		return Reading{}, err
	}
	out.Flow = ref.Flow(out.EffectiveArea)
	out.FlowSqrtRule = sqrtRule(out.Mass/out.Room.Density, out.TestPressure, out.Room.Density, ref)
	out.Peak = out.Flow
	if !t.typed {
		out.Peak = out.Flow * (t.flow.Peak - leak) / net
	}
	if err := s.budget(&out, &t, r, uLeak); err != nil {
		return Reading{}, err
	}
	out.Marks = slices.Concat(s.Marks, t.marks, s.leakMark(out))
	out.Warnings = slices.Concat(t.warnings, w, t.gauge.plates.warnings(net, out.Room.Density, out.At), t.op.room.Warnings, t.gauge.plates.answered(t.op.flow.Warnings), s.rigWarnings(out, &t))
	return out, nil
}

// leak returns the leakage at the test pressure as mass flow and its standard uncertainty [kg/s]. Where it is not known, or how
// much of it would have been seen, up to the limit of the bench card is allowed for.
func (s *Sitting) leak(t *taking) (mass, u float64, w []gas.Warning) {
	q, uq, w := s.Leakage.At(t.at.drop)
	if s.Leakage.Points == 0 || s.Leakage.Seen == 0 && s.Leakage.Bound == 0 {
		return 0, s.leakLimit() * t.mass / math.Sqrt(3), w
	}
	return q * t.op.room.Density, uq * t.op.room.Density, w
}

func (s *Sitting) leakMark(r Reading) []string {
	if share := r.Leak / r.Mass; share > s.leakLimit() {
		return []string{fmt.Sprintf("leakage is %.2g %% of the reading (limit %.3g %%)", 100*share, 100*s.leakLimit())}
	}
	return nil
}

// rigWarnings lists what the set-up says against the reading.
func (s *Sitting) rigWarnings(r Reading, t *taking) []gas.Warning {
	var w []gas.Warning
	if n := r.Rig.TestPressure; n > 0 && math.Abs(r.TestPressure/n-1) > 0.05 {
		w = append(w, gas.Warning{Limit: fmt.Sprintf("rig card %s: test pressure within 5 %% of %.0f Pa [Pa]", r.Rig.ID, n), Got: r.TestPressure})
	}
	if t.op.blind {
		w = append(w, gas.Warning{Limit: "meter before the piece: its pressure loss is known; taken as none [Pa]", Got: 0})
	}
	if r.Nozzle.Choked() {
		w = append(w, gas.Warning{Limit: "effective area: pressure ratio above that at which an ideal nozzle chokes", Got: r.Nozzle.Downstream / r.Nozzle.Pressure})
	}
	return w
}
