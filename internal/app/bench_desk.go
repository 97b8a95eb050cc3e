package app

import (
	"context"
	"encoding/json"
	"slices"
	"sync"
	"time"

	"runnel/bench"
	"runnel/internal/capture"
	"runnel/internal/live"
	"runnel/job"
)

// Pace of the live bench.
const (
	estimateEvery = 200 * time.Millisecond
	ringSize      = 1800 // a minute of needles at 20 Hz with what goes between them
	idleFrames    = 5    // frames without a sample until one is shown all the same
	keptEstimates = 12   // as many as may be on their way to somebody's screen
	holdBand      = 0.05 // half width of the band of the test pressure [-]
)

// A BenchEvent is one thing that changed on the live bench, ready for whoever looks on.
type BenchEvent struct {
	Name string          // "needle", "estimate" or "state"
	Data json.RawMessage // a BenchNeedle, an Estimate or a BenchView
}

// A BenchNeedle is where the needle stood within a twentieth of a second.
type BenchNeedle struct {
	Time   float64         `json:"time_s"` // of the session [s]
	At     time.Time       `json:"at"`
	Flow   *float64        `json:"flow_m3_s"`         // by one look, not settled [m³/s]; null: no number
	Area   *float64        `json:"effective_area_m2"` // likewise [m²]
	Drop   *float64        `json:"test_pressure_pa"`  // [Pa]
	Faults []capture.Fault `json:"faults,omitempty"`
}

// A desk is the live bench at work on one sitting.
type desk struct {
	app     *App
	at      benchKept // in the store
	sitting string
	card    job.Bench // with the addresses that are read, which may be those of a simulated rig
	rig     *ownRig   // nil: real sensors
	whose   string    // bench card
	ref     bench.Reference
	session *capture.Session
	hub     *live.Hub[BenchEvent]
	frames  chan capture.Frame
	news    chan capture.Fault
	cancel  context.CancelFunc
	done    sync.WaitGroup
	acting  sync.Mutex // one touch at a time
	spoke   uint64     // frame of the last needle; for run only
	ill     int        // faults in it

	mu        sync.Mutex
	facts     job.Job
	sit       *bench.Sitting // nil: it cannot correct readings
	problem   string
	plan      BenchPlan
	task      string
	chosen    int // place in the queue
	taking    *taking
	estimates []Estimate
	seq       uint64
	frame     capture.Frame
	kept      *BenchKept
	message   string
}

// learn takes in the job as it is by now.
func (d *desk) learn(j job.Job) error {
	s, err := sittingOf(j, d.sitting)
	if err != nil {
		return err
	}
	sit, ref, problem := sittingAtWork(j, s)
	d.mu.Lock()
	defer d.mu.Unlock()
	d.facts, d.sit, d.ref, d.problem = j, sit, ref, problem
	for _, z := range latestZeros(j.Bench, s) {
		d.session.Zero(z.channel, z.value)
	}
	return nil
}

// A zeroNow is the zero of a channel, corrected.
type zeroNow struct {
	channel string
	value   float64 // [SI unit of the channel]
}

// latestZeros lists the newest zero of each channel.
func latestZeros(b job.Bench, s job.Sitting) []zeroNow {
	var out []zeroNow
	for _, x := range zeroSensors(b) {
		var newest *job.ZeroRecord
		for i, z := range s.Zero {
			if z.Channel == x.Channel && (newest == nil || !z.At.Before(newest.At)) {
				newest = &s.Zero[i]
			}
		}
		if newest == nil {
			continue
		}
		_, dim, err := unitOfSensor(x)
		if err != nil {
			continue
		}
		if si, err := dim.Parse(newest.Value); err == nil {
			out = append(out, zeroNow{x.Channel, corrected(x, si)})
		}
	}
	return out
}

// run turns frames into needles and works out estimates until the context ends.
func (d *desk) run(ctx context.Context) {
	tick := time.NewTicker(estimateEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case f := <-d.frames:
			d.needle(f)
		case <-tick.C:
			d.look()
		}
	}
}

// look publishes the estimate of what is being taken.
func (d *desk) look() {
	d.mu.Lock()
	t := d.taking
	d.mu.Unlock()
	if t == nil {
		return
	}
	e := d.estimate(*t).stands(t.best, d.session.Now())
	d.mu.Lock()
	if d.taking != t { // it was kept or begun anew meanwhile
		d.mu.Unlock()
		return
	}
	if t.best = nil; e.Settled {
		kept := e
		t.best = &kept
	}
	d.seq++
	e.Seq = d.seq
	d.estimates = append(d.estimates, e)
	if n := len(d.estimates); n > keptEstimates {
		d.estimates = slices.Delete(d.estimates, 0, n-keptEstimates)
	}
	d.mu.Unlock()
	d.publish("estimate", e)
}

// needle publishes a frame as a look at the flow.
func (d *desk) needle(f capture.Frame) {
	d.mu.Lock()
	d.frame = f
	sit, ref, rig := d.sit, d.ref, d.rigNow()
	d.mu.Unlock()
	n := BenchNeedle{Time: f.Time, At: f.At, Faults: f.Faults}
	drop, read := valueOf(f, roleChannel(d.card, "test_dp")), valueOf(f, roleChannel(d.card, "meter_dp"))
	if drop == nil && read == nil && f.Seq < d.spoke+idleFrames && len(f.Faults) == d.ill {
		return // sensors slower than frames: what there is to say was said
	}
	d.spoke, d.ill = f.Seq, len(f.Faults)
	n.Drop = drop
	if sit != nil && drop != nil && read != nil && *drop > 0 && *read > 0 {
		out, err := sit.Read(job.Reading{ID: "look", At: f.At, MeterDP: *read, TestPressure: *drop, Typed: "corrected"}, rig, nil, ref)
		if err == nil {
			n.Flow, n.Area = &out.Flow, &out.EffectiveArea
		}
	}
	d.publish("needle", n)
}

func valueOf(f capture.Frame, channel string) *float64 {
	for _, n := range f.Needles {
		if n.Channel == channel {
			return n.Value
		}
	}
	return nil
}

// rigNow is the rig card in use. It is called with the lock held.
func (d *desk) rigNow() job.RigCard {
	if d.task == StepReadings {
		if it, ok := d.itemNow(); ok {
			if g, ok := rigCard(d.facts, it.Rig); ok {
				return g
			}
		}
	}
	return job.RigCard{Meter: meterOf(d.facts, d.plan)}
}

// itemNow is the chosen item of the queue. It is called with the lock held.
func (d *desk) itemNow() (BenchItem, bool) {
	if d.chosen < 0 || d.chosen >= len(d.plan.Order) {
		return BenchItem{}, false
	}
	return d.plan.Order[d.chosen], true
}

func (d *desk) faults() []capture.Fault {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.frame.Faults
}

// publish hands something to whoever looks on.
func (d *desk) publish(name string, v any) {
	b, err := json.Marshal(v)
	if err != nil {
		d.app.log.Error("live bench", "event", name, "error", err)
		return
	}
	d.hub.Publish(BenchEvent{name, b})
}

// tell publishes the state as it is now.
func (d *desk) tell() BenchView {
	d.mu.Lock()
	v := d.view()
	d.mu.Unlock()
	d.publish("state", v)
	return v
}

// stop ends the session; what came in is kept.
func (d *desk) stop() error {
	d.cancel()
	err := d.session.Stop()
	d.done.Wait()
	d.hub.Close()
	return err
}
