package app

import (
	"context"
	"slices"
	"strings"
	"time"

	"runnel/assess"
	"runnel/bench"
	"runnel/internal/store"
	"runnel/job"
)

// A StepState is how a step of a sitting stands.
type StepState string

// The states of a step.
const (
	StepOpen    StepState = "not done"
	StepDone    StepState = "done"
	StepOutside StepState = "outside limits"
	StepSkipped StepState = "skipped"
)

// A Step is one step of a sitting.
type Step struct {
	Key   string
	State StepState
	Says  []string // what stands there, and what is wrong with it
	Why   string   // why it was skipped
}

// A Walk is a sitting as it is walked through, step by step.
type Walk struct {
	Facts    job.Job
	Sitting  job.Sitting
	Tag      string // names the state of the sitting, for SittingRef
	Revision int
	Words    string // of the note, without the reasons of skipped steps
	Steps    []Step
	Next     string // the first step that is neither done nor skipped; empty: readings may go on
	Readings []WalkReading
	Marks    []string // what every reading of the sitting carries
	Problem  string   // why the sitting cannot be used at all
	CanUndo  bool
}

// A WalkReading is a reading with what came out of it.
type WalkReading struct {
	job.Reading
	Result assess.Reading
}

// Step returns a step by its key.
func (w Walk) Step(key string) Step {
	i := slices.IndexFunc(w.Steps, func(s Step) bool { return s.Key == key })
	if i < 0 {
		return Step{}
	}
	return w.Steps[i]
}

// ZeroSensors lists the sensors whose zero is taken off.
func (w Walk) ZeroSensors() []job.Sensor { return zeroSensors(w.Facts.Bench) }

// Walk returns a sitting with the state of its steps.
func (a *App) Walk(ctx context.Context, id, sitting string) (Walk, error) {
	b, row, err := a.open(ctx, id)
	if err != nil {
		return Walk{}, err
	}
	files, err := a.store.Files(ctx, id, row.Revision)
	if err != nil {
		return Walk{}, err
	}
	s, err := sittingOf(b.job, sitting)
	if err != nil {
		return Walk{}, err
	}
	w := Walk{Facts: b.job, Sitting: s, Tag: tagOf(files[s.File]), Revision: row.Revision, CanUndo: a.canUndo(ctx, row, s, files)}
	_, w.Words = readNote(s.Note)
	w.judge(a.now())
	as, err := a.readings(b)
	if err != nil {
		return Walk{}, err
	}
	for _, r := range s.Readings {
		one := WalkReading{Reading: r}
		if i := slices.IndexFunc(as.Readings, func(x assess.Reading) bool { return x.ID == r.ID }); i >= 0 {
			one.Result = as.Readings[i]
		}
		w.Readings = append(w.Readings, one)
	}
	return w, nil
}

// canUndo reports whether the sitting has changed since its job's revision before, and was there then.
func (a *App) canUndo(ctx context.Context, row store.Job, s job.Sitting, files store.Files) bool {
	if row.Revision < 2 {
		return false
	}
	old, err := a.store.Files(ctx, row.ID, row.Revision-1)
	return err == nil && old[s.File] != nil && string(old[s.File]) != string(files[s.File])
}

// judge says how every step stands.
func (w *Walk) judge(now time.Time) {
	sit, ref, problem := sittingAtWork(w.Facts, w.Sitting)
	w.Problem = problem
	skips, _ := readNote(w.Sitting.Note)
	for _, key := range StepKeys() {
		st := Step{Key: key, State: StepOpen}
		if stepDone(w.Facts, w.Sitting, key) {
			st.State = StepDone
		} else if why, ok := skips[key]; ok {
			st.State, st.Why = StepSkipped, why
		}
		w.Steps = append(w.Steps, st)
	}
	if open := openSteps(w.Facts, w.Sitting); len(open) > 0 {
		w.Next = open[0]
	}
	if sit == nil {
		return
	}
	w.Marks = sit.Marks
	w.outside(StepAir, airTrouble(w.Facts.Bench, w.Sitting, now))
	w.outside(StepLeakage, leakTrouble(w.Facts.Bench, sit, ref))
	w.outside(StepCheck, checkTrouble(sit))
}

// outside notes what is wrong with a step that was done.
func (w *Walk) outside(key string, says []string) {
	i := slices.IndexFunc(w.Steps, func(s Step) bool { return s.Key == key })
	if len(says) == 0 || w.Steps[i].State != StepDone {
		return
	}
	w.Steps[i].State, w.Steps[i].Says = StepOutside, says
}

// sittingAtWork makes a sitting ready to correct readings; problem says in words why it cannot.
func sittingAtWork(j job.Job, s job.Sitting) (*bench.Sitting, bench.Reference, string) {
	ref, err := bench.ReferenceOf(j.Reference)
	if err != nil {
		return nil, ref, err.Error()
	}
	setup, err := bench.NewSetup(j.Bench)
	if err != nil {
		return nil, ref, err.Error()
	}
	sit, err := setup.Sitting(s, j.Traces)
	if err != nil {
		return nil, ref, err.Error()
	}
	return sit, ref, ""
}

// stepDone reports whether the records of a step are there.
func stepDone(j job.Job, s job.Sitting, key string) bool {
	switch key {
	case StepAir:
		return len(s.Air) > 0
	case StepZero:
		return len(missingZeros(j.Bench, s)) == 0
	case StepLeakage:
		return len(s.Leakage) > 0
	case StepCheck:
		return len(s.Checks) > 0 || j.Bench.CheckPlate.EffectiveArea == 0
	}
	return slices.ContainsFunc(s.Readings, func(r job.Reading) bool { return r.Void == "" })
}

// openSteps lists the steps before the readings that are neither done nor skipped.
func openSteps(j job.Job, s job.Sitting) []string {
	skips, _ := readNote(s.Note)
	var open []string
	for _, key := range StepKeys() {
		if _, skipped := skips[key]; key != StepReadings && !skipped && !stepDone(j, s, key) {
			open = append(open, key)
		}
	}
	return open
}

func airTrouble(b job.Bench, s job.Sitting, now time.Time) []string {
	age := AirAge(s, now)
	limit := time.Duration(orElse(b.AirAge, 3600) * float64(time.Second))
	if age <= limit || age > 24*time.Hour { // an old sitting is looked at, not worked in
		return nil
	}
	return []string{"the last air record is " + age.Round(time.Minute).String() + " old (limit " + limit.String() + "): write down the air again"}
}

// AirAge is how old the newest air record of a sitting is.
func AirAge(s job.Sitting, now time.Time) time.Duration {
	newest := s.At
	for _, r := range s.Air {
		if r.At.After(newest) {
			newest = r.At
		}
	}
	return now.Sub(newest)
}

func checkTrouble(sit *bench.Sitting) []string {
	if !slices.ContainsFunc(sit.Checks, func(c bench.Check) bool { return c.Outside }) {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(sit.Marks), func(m string) bool { return !strings.HasPrefix(m, "check plate reads") })
}

// leakTrouble compares the leakage at the reference with what the check plate passes there: readings are of that size.
func leakTrouble(b job.Bench, sit *bench.Sitting, ref bench.Reference) []string {
	plate := b.CheckPlate.EffectiveArea
	if sit.Leakage.Points == 0 || plate == 0 {
		return nil
	}
	flow, _, _ := sit.Leakage.At(ref.TestPressure)
	share, limit := flow/ref.Flow(plate), orElse(b.LeakLimit, 0.02)
	if share <= limit {
		return nil
	}
	return []string{"the leakage is " + percent(share) + " of what the check plate passes (limit " + percent(limit) + "): find the leak, or readings carry the mark"}
}
