package app

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"sync"
	"time"

	"runnel/internal/capture"
	"runnel/internal/fault"
	"runnel/internal/live"
	"runnel/internal/store"
	"runnel/job"
)

// A benchRoom holds the one live bench of an App.
type benchRoom struct {
	opening sync.Mutex // one opens or closes at a time
	mu      sync.Mutex
	desk    *desk
	probe   *probe
}

func (b *benchRoom) now() *desk {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.desk
}

func (b *benchRoom) put(d *desk) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.desk = d
}

// OpenBench opens the live bench on a sitting: its sensors are read from now on. A bench that is open on another sitting is
// closed first.
func (a *App) OpenBench(ctx context.Context, id, sitting string) error {
	a.bench.opening.Lock()
	defer a.bench.opening.Unlock()
	j, err := a.Facts(ctx, id)
	if err != nil {
		return err
	}
	if _, err := sittingOf(j, sitting); err != nil {
		return err
	}
	if d := a.bench.now(); d != nil && d.facts.ID == id && d.sitting == sitting {
		return nil
	}
	if err := a.closeBench(ctx); err != nil {
		return err
	}
	a.stopProbe()
	d, err := a.newDesk(ctx, j, sitting)
	if err != nil {
		return err
	}
	a.bench.put(d)
	a.log.Info("live bench open", "job", id, "sitting", sitting, "simulated", d.rig != nil)
	return nil
}

// newDesk starts to read the sensors of a job's bench.
func (a *App) newDesk(within context.Context, j job.Job, sitting string) (*desk, error) {
	clock := capture.NewClock(time.Now) //nolint:forbidigo // samples are timed by the machine itself
	card, own, srcs, err := a.openSources(j, clock)
	if err != nil {
		return nil, err
	}
	whose, err := a.CardWords(within, j.ID)
	if err != nil {
		return nil, err
	}
	at, before, err := a.keptBench(within, j, sitting, whose)
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithCancel(context.Background())
	d := &desk{
		app: a, at: at, news: make(chan capture.Fault, 256), sitting: sitting, card: card, rig: own, whose: whose, hub: live.NewHub[BenchEvent](ringSize), frames: make(chan capture.Frame, 64),
		cancel: cancel, chosen: -1, plan: BenchPlan{Quiet: usualQuiet}, task: StepReadings,
	}
	d.session, err = capture.Start(ctx, capture.Config{
		Bench: card, Sources: srcs, Clock: clock, Keep: a.keepSamples(at), Told: d.told,
		Watch: func(f capture.Frame) {
			select {
			case d.frames <- f:
			default: // the needle may miss a frame; the samples do not
			}
		},
	})
	if err != nil {
		cancel()
		return nil, err
	}
	err = d.learn(j)
	if s, e := sittingOf(j, sitting); e == nil {
		d.nextStep(s)
	}
	if err == nil {
		err = d.resume(within, before)
	}
	if err != nil {
		cancel()
		return nil, errors.Join(err, d.session.Stop())
	}
	d.done.Go(func() { d.run(ctx) })
	d.done.Go(func() { d.keepFaults(ctx) })
	return d, nil
}

// openSources makes the sources of a job's bench. An invented job whose bench has no sources gets a simulated rig, so that it
// can be tried; a real job never does.
func (a *App) openSources(j job.Job, clock capture.Clock) (job.Bench, *ownRig, []capture.Source, error) {
	card := j.Bench
	switch {
	case Simulated(j):
		card = simulated(card)
	case !slices.ContainsFunc(card.Sensors, func(s job.Sensor) bool { return s.Source != "" }):
		return card, nil, nil, fault.Errorf(fault.Invalid, "no sensor of bench %q has a source yet: say where each is read from on the sensor page", card.ID)
	}
	srcs, err := openAll(card, clock)
	own := ownRigOf(srcs)
	if own != nil && Simulated(j) {
		err = own.tight()
	}
	return card, own, srcs, err
}

// CloseBench stops reading the sensors. What was taken stays.
func (a *App) CloseBench(ctx context.Context) error {
	a.bench.opening.Lock()
	defer a.bench.opening.Unlock()
	return a.closeBench(ctx)
}

func (a *App) closeBench(ctx context.Context) error {
	d := a.bench.now()
	if d == nil {
		return nil
	}
	a.bench.put(nil)
	return errors.Join(d.stop(), a.store.CloseSitting(ctx, d.at.id, store.By{Who: a.who, What: "live bench closed on sitting " + d.sitting}))
}

// ResumeBench opens the live bench again on the sitting it was open on when Runnel ended. Without one it does nothing.
func (a *App) ResumeBench(ctx context.Context) error {
	if a.bench.now() != nil {
		return nil
	}
	open, err := a.store.OpenSittings(ctx)
	if err != nil {
		return err
	}
	for _, s := range open {
		if s.Job != "" && s.Title != "" {
			return a.OpenBench(ctx, s.Job, s.Title)
		}
	}
	return nil
}

// Bench returns the live bench as it is; its Open is false when there is none.
func (a *App) Bench() BenchView {
	d := a.bench.now()
	if d == nil {
		return BenchView{Chosen: -1}
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.view()
}

// A BenchWatch looks on at the live bench.
type BenchWatch struct {
	desk *desk
	w    *live.Watcher[BenchEvent]
	said bool
}

// WatchBench looks on. Close the watch when done.
func (a *App) WatchBench(ctx context.Context) (*BenchWatch, error) {
	if err := a.ResumeBench(ctx); err != nil {
		return nil, err
	}
	d := a.bench.now()
	if d == nil {
		return nil, errNoBench
	}
	return &BenchWatch{desk: d, w: d.hub.Watch()}, nil
}

// Next waits for what is new. At first it returns the state as it is and the last minute of needles. The error is that of the
// context, or live.ErrClosed when the bench was closed.
func (w *BenchWatch) Next(ctx context.Context) ([]BenchEvent, error) {
	news, _, err := w.w.Next(ctx)
	if err != nil {
		return nil, err
	}
	if w.said {
		return news, nil
	}
	w.said = true
	news = slices.DeleteFunc(news, func(e BenchEvent) bool { return e.Name != "needle" })
	w.desk.mu.Lock()
	v := w.desk.view()
	w.desk.mu.Unlock()
	b, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	return append(news, BenchEvent{"state", b}), nil
}

// Close leaves.
func (w *BenchWatch) Close() { w.w.Close() }

// benchChanged tells the live bench that its job has changed.
func (a *App) benchChanged(j job.Job) {
	d := a.bench.now()
	if d == nil || d.jobID() != j.ID {
		return
	}
	if err := d.learn(j); err != nil {
		a.log.Warn("live bench", "job", j.ID, "error", err)
		return
	}
	d.tell()
}

// endBench stops reading as Runnel ends. The sitting stays open, so that the next start goes on with it.
func (a *App) endBench() error {
	a.bench.opening.Lock()
	defer a.bench.opening.Unlock()
	a.stopProbe()
	d := a.bench.now()
	if d == nil {
		return nil
	}
	a.bench.put(nil)
	return d.stop()
}
