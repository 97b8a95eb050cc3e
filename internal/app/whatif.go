package app

import (
	"context"
	"math"
	"strings"
	"time"

	"runnel/assess"
	"runnel/engine"
	"runnel/internal/fault"
	"runnel/job"
)

// A Stage is how good an answer to a what-if is wanted.
type Stage string

// The stages of an answer, each better and slower than the one before.
const (
	Coarse  Stage = "coarse"  // the change found on a coarse mesh, put onto the pull of the engine as it is
	Refined Stage = "refined" // the pull of the changed engine on the usual mesh
	Banded  Stage = "banded"  // the same with the 95 % band on the change
)

// A Question is a change of an engine that has not been made.
type Question struct {
	State string             // "before" or "after" the work
	To    map[string]float64 // wanted value of a setting by its name [SI unit of the setting]
}

// A Tried is the answer to a Question.
type Tried struct {
	Stage    Stage
	Sets     []assess.Set
	Old, New []assess.Point  // New is nil when nothing is changed
	Change   []assess.Change // with its band, once banded
	Cautions []string
	Loose    []float64     // speeds that did not settle [rev/min]
	Took     time.Duration // without the waiting for another answer
}

// A Knob is one setting of the engine as it is.
type Knob struct {
	assess.Setting
	Now     float64 // present value [SI unit of Dim]
	Missing string  // why the engine has no such thing; empty: it has
}

// Knobs lists what may be changed on the engine of a job, with the present values. Errors: Invalid for a job without an engine.
func Knobs(j job.Job) ([]Knob, error) {
	if j.Engine == nil {
		return nil, fault.As(fault.Invalid, assess.ErrNoEngine)
	}
	t, err := assess.TieCard(*j.Engine)
	if err != nil {
		return nil, tryFault(err)
	}
	var out []Knob
	for _, s := range assess.Settings() {
		k := Knob{Setting: s}
		if k.Now, err = s.Now(t); err != nil {
			k.Missing = strings.TrimPrefix(err.Error(), assess.ErrSetting.Error()+": "+s.Name+": ")
		}
		out = append(out, k)
	}
	return out, nil
}

// tryFault marks what the description or the question is at fault for.
func tryFault(err error) error {
	if err != nil && assess.Invalid(err) {
		return fault.As(fault.Invalid, err)
	}
	return err
}

// Try answers a question about the engine of a job. A newer question about the same engine stops the answer to an older one, which
// then returns ErrSuperseded. Errors: Conflict while the job's pull is not there yet; Invalid for a change that cannot be made.
func (a *App) Try(ctx context.Context, id string, q Question, stage Stage) (Tried, error) {
	t, old, err := a.trialOf(ctx, id, q.State)
	if err != nil {
		return Tried{}, err
	}
	out := Tried{Stage: stage, Old: old}
	err = t.answers.run(ctx, func(ctx context.Context) error {
		if err := t.prepared(ctx); err != nil {
			return err
		}
		from := a.now()
		err := t.try(ctx, q, &out)
		out.Took = a.now().Sub(from)
		return err
	})
	return out, tryFault(err)
}

// try answers a question into out.
func (t *trial) try(ctx context.Context, q Question, out *Tried) (err error) {
	if out.Sets, err = t.sets(q); err != nil {
		return err
	}
	e, err := assess.Make(t.tied, out.Sets)
	if err != nil {
		return err
	}
	if len(out.Sets) == 0 {
		return t.warmUp(ctx, out.Old)
	}
	if out.Stage == Coarse {
		err = t.coarsely(ctx, e, out)
	} else {
		err = t.finely(ctx, e, out)
	}
	if err != nil {
		return err
	}
	if out.Stage == Banded {
		if out.Change, err = assess.Gain(ctx, t.tied, out.Sets, out.Old, out.New); err != nil {
			return err
		}
	}
	out.Cautions = assess.Cautions(t.tied, out.Sets, out.Old, out.New)
	return nil
}

// sets turns wanted values into settings, in the order they are listed.
func (t *trial) sets(q Question) ([]assess.Set, error) {
	var out []assess.Set
	for _, s := range assess.Settings() {
		to, ok := q.To[s.Name]
		if !ok {
			continue
		}
		from, err := s.Now(t.tied)
		if err != nil {
			return nil, err
		}
		set, err := s.Of(from, to)
		if err != nil {
			return nil, err
		}
		out = append(out, set)
	}
	return out, nil
}

// coarseCycles is how many cycles a coarse answer runs at most: it starts from the answer before, which is near.
const coarseCycles = 4

func speedsOf(ps []assess.Point) []float64 {
	out := make([]float64, len(ps))
	for i, p := range ps {
		out[i] = p.Speed / 60
	}
	return out
}

// warmUp computes the engine as it is on the coarse mesh, once: coarse answers are differences from it.
func (t *trial) warmUp(ctx context.Context, old []assess.Point) error {
	if t.base != nil {
		return nil
	}
	opt := engine.Quick(&t.coarse)
	opt.MaxCycles = 40
	p, err := engine.Pull(ctx, t.tied.Engine, engine.QuickSpeeds(speedsOf(old)), opt, nil)
	if err == nil {
		t.base = p
	}
	return err
}

func (t *trial) coarsely(ctx context.Context, e *engine.Engine, out *Tried) error {
	if err := t.warmUp(ctx, out.Old); err != nil {
		return err
	}
	opt := engine.Quick(&t.coarse)
	opt.MaxCycles = coarseCycles
	p, err := engine.Pull(ctx, e, engine.QuickSpeeds(speedsOf(out.Old)), opt, nil)
	if err != nil {
		return err
	}
	at, torque, air := make([]float64, len(p)), make([]float64, len(p)), make([]float64, len(p))
	for i := range p {
		at[i], torque[i], air[i] = p[i].Speed*60, p[i].Torque-t.base[i].Torque, p[i].AirFlow/t.base[i].AirFlow
	}
	for _, o := range out.Old {
		n := assess.Point{Speed: o.Speed, Settled: true, Torque: o.Torque + between(at, torque, o.Speed)}
		n.TorqueLo, n.TorqueHi, n.Power = n.Torque, n.Torque, n.Torque*o.Speed*radPerRev/1e3
		f := between(at, air, o.Speed)
		n.VE, n.AirFlow = o.VE*f, o.AirFlow*f
		out.New = append(out.New, n)
	}
	return nil
}

const radPerRev = 2 * math.Pi / 60 // [rad/s per rev/min]

// between returns y at v, straight between the rising points x.
func between(x, y []float64, v float64) float64 {
	for i := 1; i < len(x); i++ {
		if v <= x[i] {
			f := max((v-x[i-1])/(x[i]-x[i-1]), 0)
			return y[i-1] + f*(y[i]-y[i-1])
		}
	}
	return y[len(y)-1]
}

func (t *trial) finely(ctx context.Context, e *engine.Engine, out *Tried) error {
	key := questionKey(out.Sets)
	if t.done != key {
		p, err := engine.Pull(ctx, e, speedsOf(out.Old), engine.Options{Warm: &t.fine}, nil)
		if err != nil {
			return err
		}
		t.done, t.last = key, assess.Points(p)
	}
	out.New = append([]assess.Point{}, t.last...)
	for _, p := range out.New {
		if !p.Settled {
			out.Loose = append(out.Loose, p.Speed)
		}
	}
	return nil
}

// A Cycle is one cycle of the changed engine, for its picture.
type Cycle struct {
	Sets []assess.Set
	*engine.Recording
	Ambient float64       // absolute pressure of the room [Pa]
	Bore    []float64     // diameter of the passage at the recording's places [m]
	Rise    []float64     // piston's travel from top centre over the stroke, at the recording's angles [-]
	Took    time.Duration // without the waiting for another answer
}

// cycleSamples is how many crank angles a Cycle has: one every four degrees.
const cycleSamples = 180

// TryCycle runs the engine of a question at a speed [rev/s] until it repeats itself and returns one cycle of a cylinder, 1 for the
// first. Errors: as Try.
func (a *App) TryCycle(ctx context.Context, id string, q Question, speed float64, cylinder int) (*Cycle, error) {
	t, _, err := a.trialOf(ctx, id, q.State)
	if err != nil {
		return nil, err
	}
	out := &Cycle{}
	err = t.cycles.run(ctx, func(ctx context.Context) error {
		if err := t.prepared(ctx); err != nil {
			return err
		}
		from := a.now()
		defer func() { out.Took = a.now().Sub(from) }()
		if out.Sets, err = t.sets(q); err != nil {
			return err
		}
		e, err := assess.Make(t.tied, out.Sets)
		if err != nil {
			return err
		}
		if cylinder < 1 || cylinder > e.Cylinders() {
			return fault.Errorf(fault.Invalid, "cylinder %d: the engine has cylinders 1 to %d", cylinder, e.Cylinders())
		}
		if out.Recording, err = engine.Record(ctx, e, speed, cylinder, cycleSamples, engine.Options{}); err != nil {
			return err
		}
		out.dress(e)
		return nil
	})
	return out, tryFault(err)
}

func (c *Cycle) dress(e *engine.Engine) {
	c.Ambient = e.Air.Pressure
	area := assess.PassageArea(e, c.Cylinder)
	for _, x := range c.X {
		c.Bore = append(c.Bore, 2*math.Sqrt(area(x)/math.Pi))
	}
	for _, th := range c.Angle {
		c.Rise = append(c.Rise, e.Crank.Travel(th)/e.Crank.Stroke)
	}
}
