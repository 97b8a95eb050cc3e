package app

import (
	"context"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"runnel/internal/capture"
	"runnel/internal/capture/sources"
	"runnel/job"
)

// A probe reads sensors while they are set up. Nothing of it is kept.
type probe struct {
	job     string
	session *capture.Session
	cancel  context.CancelFunc
	done    sync.WaitGroup
	seen    atomic.Int64 // when somebody last looked [s]
}

// probeIdle is how long a probe goes on that nobody looks at: ports are wanted elsewhere.
const probeIdle = 60 * time.Second

// openAll makes the sources of a bench card.
func openAll(card job.Bench, clock capture.Clock) ([]capture.Source, error) {
	return sources.Open(card, clock)
}

// ProbeSensors reads sensors as they were typed, before they are saved; an empty id means the shop's bench. The live bench is
// stopped for it: a port can be read by one only.
func (a *App) ProbeSensors(ctx context.Context, id string, list []SensorTyped) error {
	a.bench.opening.Lock()
	defer a.bench.opening.Unlock()
	j, err := a.probed(ctx, id)
	if err != nil {
		return err
	}
	t := newTypist(a.now())
	j.Bench.Sensors = readSensors(t, list)
	if err := t.err(); err != nil {
		return err
	}
	if d := a.bench.now(); d != nil {
		a.bench.put(nil)
		if err := d.stop(); err != nil {
			return err
		}
	}
	a.stopProbe()
	clock := capture.NewClock(time.Now) //nolint:forbidigo // samples are timed by the machine itself
	card, _, srcs, err := a.openSources(j, clock)
	if err != nil {
		if wrong := checkSources(j.Bench); wrong != nil {
			return wrong
		}
		return err
	}
	within, cancel := context.WithCancel(context.Background())
	s, err := capture.Start(within, capture.Config{Bench: card, Sources: srcs, Clock: clock, History: 30 * time.Second})
	if err != nil {
		cancel()
		return err
	}
	p := &probe{job: id, session: s, cancel: cancel}
	p.look(time.Now()) //nolint:forbidigo // someone looks now
	p.done.Go(func() { p.idle(within, a) })
	a.bench.mu.Lock()
	defer a.bench.mu.Unlock()
	a.bench.probe = p
	return nil
}

// probed is the job whose bench is set up; for the shop's bench, one that has nothing else.
func (a *App) probed(ctx context.Context, id string) (job.Job, error) {
	if id != "" {
		return a.Facts(ctx, id)
	}
	s, err := a.ShopBench(ctx)
	return job.Job{Invented: a.demo, Bench: s.Card}, err
}

func (p *probe) look(now time.Time) { p.seen.Store(now.Unix()) }

// idle ends the probe when nobody has looked for a while.
func (p *probe) idle(ctx context.Context, a *App) {
	tick := time.NewTicker(5 * time.Second)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case now := <-tick.C:
			if now.Unix()-p.seen.Load() > int64(probeIdle.Seconds()) {
				go a.StopProbe() // it waits for this goroutine
				return
			}
		}
	}
}

// StopProbe ends the probe of the sensor page.
func (a *App) StopProbe() {
	a.bench.opening.Lock()
	defer a.bench.opening.Unlock()
	a.stopProbe()
}

// stopProbe is called with the lock of opening held.
func (a *App) stopProbe() {
	a.bench.mu.Lock()
	p := a.bench.probe
	a.bench.probe = nil
	a.bench.mu.Unlock()
	if p == nil {
		return
	}
	p.cancel()
	if err := p.session.Stop(); err != nil {
		a.log.Debug("sensor page", "error", err)
	}
	p.done.Wait()
}

// SensorSigns returns what the sensors of a job show now: of the probe, else of the live bench. ok is false when nothing is
// read.
func (a *App) SensorSigns(id string) (s capture.State, probing, ok bool) {
	a.bench.mu.Lock()
	p, d := a.bench.probe, a.bench.desk
	a.bench.mu.Unlock()
	switch {
	case p != nil && p.job == id:
		p.look(time.Now()) //nolint:forbidigo // someone looks now
		return p.session.State(), true, true
	case d != nil && id != "" && d.jobID() == id:
		return d.session.State(), false, true
	}
	return capture.State{}, false, false
}

// Simulated reports whether the live bench of a job would be a rig in this program.
func Simulated(j job.Job) bool {
	return j.Invented && !slices.ContainsFunc(j.Bench.Sensors, func(s job.Sensor) bool { return s.Source != "" })
}
