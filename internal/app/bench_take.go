package app

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"runnel/internal/fault"
	"runnel/job"
)

// A BenchDo is one touch at the live bench.
type BenchDo struct {
	Do   string    `json:"do"`   // "begin", "repeat", "keep", "undo", "next", "previous", "choose", "step", "plan", "skip", "air", "stop"
	Seq  uint64    `json:"seq"`  // of the estimate that is kept
	Step string    `json:"step"` // for "step" and "skip"
	To   int       `json:"to"`   // place in the queue, for "choose"
	Why  string    `json:"why"`
	Plan PlanTyped `json:"plan"`
}

// DoBench carries out one touch and returns the bench as it is then. What "keep" returns from is on disk.
func (a *App) DoBench(ctx context.Context, do BenchDo) (BenchView, error) {
	if err := a.ResumeBench(ctx); err != nil {
		return BenchView{Chosen: -1}, err
	}
	d := a.bench.now()
	if d == nil {
		return BenchView{Chosen: -1}, errNoBench
	}
	d.acting.Lock()
	defer d.acting.Unlock()
	d.say("")
	err := d.do(ctx, do)
	return d.tell(), err
}

func (d *desk) do(ctx context.Context, do BenchDo) error {
	switch do.Do {
	case "begin", "repeat":
		return d.begin(ctx)
	case "keep":
		return d.keep(ctx, do.Seq)
	case "undo":
		return d.undo(ctx)
	case "stop":
		d.halt()
		return d.note(ctx, factTaking, takingFact{})
	case "next":
		return d.choose(+1)
	case "previous":
		return d.choose(-1)
	case "choose":
		return d.chooseAt(do.To)
	case "step":
		return d.step(do.Step)
	case "plan":
		return d.setPlan(ctx, do.Plan)
	case "skip":
		return d.skip(ctx, do)
	case "air":
		return d.writeAir(ctx)
	}
	return fault.Errorf(fault.Invalid, "%q is nothing the live bench can do", do.Do)
}

func (d *desk) say(text string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.message = text
}

func (d *desk) jobID() string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.facts.ID
}

// whatever refers to the sitting whatever it is by now: what is taken at the bench is added to it.
func (d *desk) whatever() SittingRef { return SittingRef{Job: d.jobID(), Sitting: d.sitting} }

// begin starts a trace: the opening is open and the blower runs. A trace that was on its way is dropped.
func (d *desk) begin(ctx context.Context) error {
	t, target, err := d.toTake()
	if err != nil {
		return err
	}
	if d.rig != nil {
		if err := d.rig.set(ctx, d, *t); err != nil {
			return fault.As(fault.Device, err)
		}
	}
	t.from = d.session.Now()
	if err := d.note(ctx, factTaking, takingFact{Task: t.task, Item: t.item, From: int64(t.from), At: t.at}); err != nil {
		return fault.Errorf(fault.Device, "not begun: the disk does not take it: %w", err)
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	d.taking, d.estimates = t, nil
	d.session.Hold(target, holdBand)
	return nil
}

// toTake is what is to be taken now, and the test pressure to hold [Pa].
func (d *desk) toTake() (t *taking, target float64, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	t = &taking{task: d.task, at: stampOf(d.app.now())}
	s, err := sittingOf(d.facts, d.sitting)
	if err != nil {
		return nil, 0, err
	}
	switch d.task {
	case StepReadings:
		if open := openSteps(d.facts, s); len(open) > 0 {
			return nil, 0, fault.Errorf(fault.Invalid, "%s first: do it, or skip it with a reason", strings.Join(open, " and "))
		}
		it, ok := d.itemNow()
		if !ok {
			return nil, 0, fault.Errorf(fault.Invalid, "nothing is left to take: make a plan first")
		}
		t.item = it
		if g, ok := rigCard(d.facts, it.Rig); ok {
			target = g.TestPressure
		}
	case StepAir:
		return nil, 0, fault.Errorf(fault.Invalid, "the air is written down, not taken")
	}
	return t, target, nil
}

// halt drops the trace that is on its way.
func (d *desk) halt() {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.taking, d.estimates = nil, nil
	d.session.Hold(0, holdBand)
}

// estimateOf finds the estimate that somebody saw.
func (d *desk) estimateOf(seq uint64) (Estimate, taking, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.taking == nil {
		return Estimate{}, taking{}, fault.Errorf(fault.Conflict, "nothing is being taken")
	}
	i := slices.IndexFunc(d.estimates, func(e Estimate) bool { return e.Seq == seq })
	if i < 0 {
		return Estimate{}, taking{}, fault.Errorf(fault.Conflict, "that number has gone by: keep the one on the screen")
	}
	if e := d.estimates[i]; !e.Settled {
		return Estimate{}, taking{}, fault.Errorf(fault.Invalid, "not settled yet: %s", e.Text)
	}
	return d.estimates[i], *d.taking, nil
}

// keep keeps what stands on the screen: the samples first, then the record with its trace.
func (d *desk) keep(ctx context.Context, seq uint64) error {
	e, t, err := d.estimateOf(seq)
	if err != nil {
		return err
	}
	if err := d.session.Flush(ctx); err != nil {
		return fault.Errorf(fault.Device, "not kept: the samples cannot be written: %w", err)
	}
	k := &BenchKept{Task: t.task, Opening: t.item.Opening, Lift: t.item.Lift, Flow: e.Flow, U: e.Expanded, Area: e.Area, Seq: seq, At: e.at}
	_, err = d.app.editSitting(ctx, sittingEdit{SittingRef: d.whatever(), what: keptWords(t), do: func(j job.Job, s *job.Sitting, traces map[string]job.Trace) error {
		k.ID = e.record(j, s, traces, t)
		return nil
	}})
	if err != nil {
		return fmt.Errorf("not kept: %w", err)
	}
	d.after(k, t)
	return d.note(ctx, factTaking, takingFact{})
}

func keptWords(t taking) string {
	switch t.task {
	case StepZero:
		return "zero taken at the bench"
	case StepLeakage:
		return "leakage taken at the bench"
	case StepCheck:
		return "check plate taken at the bench"
	}
	return "reading of opening " + t.item.Opening + " taken at the bench"
}

// record adds what was taken to a sitting and returns its name.
func (e Estimate) record(j job.Job, s *job.Sitting, traces map[string]job.Trace, t taking) string {
	switch t.task {
	case StepZero:
		s.Zero = append(s.Zero, e.zeros...)
		return strconv.Itoa(len(s.Zero))
	case StepLeakage:
		name := freeTrace(j, "leak-"+s.ID)
		traces[name] = e.trace
		s.Leakage = append(s.Leakage, job.LeakPoint{At: e.at, Trace: name, Meter: e.meter})
		return strconv.Itoa(len(s.Leakage))
	case StepCheck:
		name := freeTrace(j, "check-"+s.ID)
		traces[name] = e.trace
		s.Checks = append(s.Checks, job.PlateCheck{At: e.at, Trace: name, Meter: e.meter})
		return strconv.Itoa(len(s.Checks))
	}
	id := nextReading(j)
	name := freeTrace(j, id)
	traces[name] = e.trace
	s.Readings = append(s.Readings, job.Reading{
		ID: id, Rig: t.item.Rig, Round: t.item.Round, Opening: t.item.Opening, Lift: t.item.Lift, At: e.at, Trace: name,
	})
	return id
}

// freeTrace returns the name of a trace that is not there.
func freeTrace(j job.Job, stem string) string {
	name := "traces/" + stem + ".csv"
	for n := 2; ; n++ {
		if _, there := j.Traces[name]; !there {
			return name
		}
		name = "traces/" + stem + "-" + strconv.Itoa(n) + ".csv"
	}
}

// after goes on to what comes next.
func (d *desk) after(k *BenchKept, t taking) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.kept, d.taking, d.estimates = k, nil, nil
	d.session.Hold(0, holdBand)
	s, err := sittingOf(d.facts, d.sitting)
	if err != nil {
		return
	}
	switch t.task {
	case StepReadings:
		d.message = "kept as " + k.ID
		d.chosen = next(d.plan.queue(s), max(0, d.chosen))
	case StepLeakage:
		d.message = "leakage kept; take it at another test pressure, or go on"
		if len(s.Leakage) >= 3 {
			d.nextStep(s)
		}
	default:
		d.message = keptNote(t.task)
		d.nextStep(s)
	}
}

// skip goes on without a step, to the one after it: else the plate that is put on next would be kept as what was skipped.
func (d *desk) skip(ctx context.Context, do BenchDo) error {
	if err := d.app.Skip(ctx, d.whatever(), do.Step, do.Why); err != nil {
		return err
	}
	if !d.leave(do.Step) {
		return nil
	}
	return d.note(ctx, factTaking, takingFact{})
}

// leave opens what comes after a step that was just skipped, and reports whether it was the one at hand.
func (d *desk) leave(step string) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	s, err := sittingOf(d.facts, d.sitting)
	if err != nil || d.task != step {
		return false
	}
	d.taking, d.estimates = nil, nil
	d.session.Hold(0, holdBand)
	d.message = skippedNote(step)
	d.nextStep(s)
	return true
}

func skippedNote(step string) string {
	if step == StepCheck {
		return "check plate skipped"
	}
	return step + " skipped"
}

func keptNote(task string) string {
	if task == StepZero {
		return "zero kept"
	}
	return "check plate kept"
}

// nextStep goes to the first step that is open, else to the readings. It is called with the lock held.
func (d *desk) nextStep(s job.Sitting) {
	d.task = StepReadings
	if open := openSteps(d.facts, s); len(open) > 0 {
		d.task = open[0]
	}
}

// choose goes to the next or previous item of the queue.
func (d *desk) choose(by int) error {
	d.mu.Lock()
	n, at := len(d.plan.Order), d.chosen
	d.mu.Unlock()
	if n == 0 {
		return fault.Errorf(fault.Invalid, "there is no plan to go through: make one first")
	}
	return d.chooseAt(((at+by)%n + n) % n)
}

func (d *desk) chooseAt(i int) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if i < 0 || i >= len(d.plan.Order) {
		return fault.Errorf(fault.NotFound, "the plan has no reading number %d", i+1)
	}
	d.chosen, d.taking, d.estimates, d.task = i, nil, nil, StepReadings
	d.session.Hold(0, holdBand)
	return nil
}

// step goes to a step of the sitting.
func (d *desk) step(key string) error {
	if !slices.Contains(StepKeys(), key) || key == StepAir {
		return fault.Errorf(fault.Invalid, "%q is no step that is taken at the bench", key)
	}
	d.halt()
	d.mu.Lock()
	defer d.mu.Unlock()
	d.task = key
	return nil
}

// setPlan makes a plan and goes to its first reading.
func (d *desk) setPlan(ctx context.Context, f PlanTyped) error {
	d.mu.Lock()
	j := d.facts
	d.mu.Unlock()
	t := newTypist(d.app.now())
	p := f.read(t, j, uint64(d.app.now().UnixNano())) //nolint:gosec // any number will do
	if err := t.err(); err != nil {
		return err
	}
	if err := d.note(ctx, factPlan, p); err != nil {
		return fmt.Errorf("the plan was not kept: %w", err)
	}
	d.halt()
	d.mu.Lock()
	defer d.mu.Unlock()
	d.plan, d.chosen = p, -1
	s, err := sittingOf(d.facts, d.sitting)
	if err != nil {
		return err
	}
	d.chosen = next(p.queue(s), 0)
	d.nextStep(s)
	return nil
}

// writeAir writes down what the bench's own sensors say of the room.
func (d *desk) writeAir(ctx context.Context) error {
	f := AirTyped{}
	for _, c := range d.session.State().Channels {
		if c.Raw == nil || c.Age < 0 || c.Age > 10 {
			continue
		}
		switch c.Role {
		case "air_pressure":
			f.Pressure = shownIn(*c.Value, "Pa")
		case "air_temp":
			f.Temperature = shownIn(*c.Value, "K")
		case "air_rh":
			f.Humidity = shownIn(100**c.Value, "%")
		}
	}
	if f.Pressure == "" || f.Temperature == "" || f.Humidity == "" {
		return fault.Errorf(fault.Invalid, "the bench has no sensors of pressure, temperature and humidity that answer: write the air down on the sitting's page")
	}
	if err := d.app.AddAir(ctx, d.whatever(), f); err != nil {
		return err
	}
	d.say("the air is written down")
	return nil
}

// shownIn writes a number with its unit, to what a sensor can tell apart.
func shownIn(v float64, u string) string {
	return strings.TrimSpace(strconv.FormatFloat(v, 'g', 6, 64) + " " + u)
}
