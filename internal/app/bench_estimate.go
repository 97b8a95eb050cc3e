package app

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"runnel/bench"
	"runnel/internal/capture"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/measure"
)

// An Estimate is the reading as it would be kept now. The numbers come out of the same code, from the same trace, as those of
// the reading once it is kept.
type Estimate struct {
	Seq      uint64  `json:"seq"`
	Settled  bool    `json:"settled"`
	Text     string  `json:"text"`     // why it is not settled yet, or what to do
	Steady   float64 `json:"steady_s"` // how long the needle has been steady [s]
	Need     float64 `json:"need_s"`   // how long it must be [s]
	Length   float64 `json:"length_s"` // of the trace [s]
	From     float64 `json:"from_s"`   // start of the steady part, in time of the session [s]
	To       float64 `json:"to_s"`     // its end [s]
	Samples  int     `json:"samples"`
	Unusable bool    `json:"unusable"` // no number can be given

	Flow         float64            `json:"flow_m3_s"`         // at the reference; of leakage, at the room's air [m³/s]
	Expanded     float64            `json:"u_flow_m3_s"`       // half of the 95 % interval [m³/s]
	Area         float64            `json:"effective_area_m2"` // effective area [m²]
	AreaExpanded float64            `json:"u_area_m2"`         // half of its 95 % interval [m²]
	Peak         float64            `json:"peak_m3_s"`         // top of the needle [m³/s]
	Waver        float64            `json:"waver"`             // twice the standard deviation over the mean [-]
	Drop         float64            `json:"test_pressure_pa"`  // mean pressure drop [Pa]
	Deviation    float64            `json:"deviation"`         // of the check plate from what it is known to be [-]
	Zeros        map[string]float64 `json:"zeros_si,omitempty"`
	Least        float64            `json:"least_m3_s"` // least leakage the meter could see; 0: it sees this one [m³/s]
	Marks        []string           `json:"marks,omitempty"`

	trace job.Trace
	meter string // leakage and check plate are flowed with
	at    time.Time
	zeros []job.ZeroRecord
	ill   bool // a fault, or a setting that is off, stands against it
}

// A taking is a reading on its way: what is under test and since when.
type taking struct {
	task string
	item BenchItem
	from time.Duration // time of the session
	at   time.Time
	best *Estimate // the last settled mean, while it stands; for the desk's run only
}

// Limits of a settled reading.
const (
	freshTail   = 1500 * time.Millisecond // the steady part must reach this close to now
	mostSettleU = 0.003                   // standard uncertainty from settling that is still called settled, relative [-]
	restShare   = 0.05                    // test pressure beyond which the blower is not off, over the reference [-]
	zeroQuiet   = 3.0                     // how long a zero is averaged at least [s]
)

// window is how far back a trace reaches: long enough to show what is steady, short enough to follow a change.
func window(quiet float64) time.Duration {
	return time.Duration(max(20, 3*quiet) * float64(time.Second))
}

// estimate works out the reading as it would be kept now. It must not be called with the lock held.
func (d *desk) estimate(t taking) Estimate {
	d.mu.Lock()
	sit, plan, facts, card := d.sit, d.plan, d.facts, d.card
	d.mu.Unlock()
	to := d.session.Now()
	from := max(t.from, to-window(plan.Quiet))
	e := Estimate{Need: plan.Quiet, at: stampOf(d.app.now()), meter: meterOf(facts, plan)}
	trace, err := d.session.Trace(from, to)
	if err != nil || len(trace.Time) < 2 {
		return e.not("no samples yet")
	}
	e.trace, e.Samples, e.Length = trace, len(trace.Time), trace.Time[len(trace.Time)-1]
	shift := from.Seconds()
	switch t.task {
	case StepZero:
		e.zero(facts, card, d.ref)
	case StepLeakage:
		e.leakage(facts, d.sitting)
	case StepCheck:
		e.check(sit, facts, d.ref)
	default:
		e.reading(sit, facts, t, d.ref)
	}
	e.From, e.To = e.From+shift, e.To+shift
	e.troubled(d.faults(), card)
	return e
}

// How long a settled mean stands on the screen, so that "settled" does not flicker: while the needle is steady and the part
// found in the moving window has only become shorter, and while the needle twitches.
const (
	standFor   = 6 * time.Second
	twitchOnly = 1500 * time.Millisecond
)

// stands lets the last settled mean stand for a moment. A fault ends it at once.
func (e Estimate) stands(best *Estimate, now time.Duration) Estimate {
	limit := twitchOnly
	if e.Text == wordSettling {
		limit = standFor
	}
	if e.Settled || e.Unusable || e.ill || best == nil || now.Seconds()-best.To > (limit+freshTail).Seconds() {
		return e
	}
	return *best
}

// wordSettling is what an estimate says while the needle is steady, but not for long enough.
const wordSettling = "settling"

// not says why there is no settled reading.
func (e Estimate) not(text string) Estimate {
	e.Settled, e.Unusable, e.Text = false, true, text
	return e
}

const traceName = "traces/live.csv"

// reading estimates the reading of an opening.
func (e *Estimate) reading(sit *bench.Sitting, j job.Job, t taking, ref bench.Reference) {
	rig, ok := rigCard(j, t.item.Rig)
	if !ok {
		*e = e.not("choose what is to be taken first")
		return
	}
	r := job.Reading{ID: "live", Rig: t.item.Rig, Round: t.item.Round, Opening: t.item.Opening, Lift: t.item.Lift, At: e.at, Trace: traceName}
	e.fromBench(sit, r, rig, ref)
	if rig.TestPressure > 0 && !e.Unusable && math.Abs(e.Drop/rig.TestPressure-1) > holdBand {
		e.Settled, e.ill, e.Text = false, true, "bring the test pressure into its band"
	}
}

// check estimates a flow of the check plate.
func (e *Estimate) check(sit *bench.Sitting, j job.Job, ref bench.Reference) {
	e.fromBench(sit, job.Reading{ID: "live", At: e.at, Trace: traceName}, job.RigCard{Meter: e.meter}, ref)
	if known := j.Bench.CheckPlate.EffectiveArea; known > 0 && !e.Unusable {
		e.Deviation = e.Area/known - 1
	}
}

// fromBench lets package bench correct the trace as it will correct the reading.
func (e *Estimate) fromBench(sit *bench.Sitting, r job.Reading, rig job.RigCard, ref bench.Reference) {
	if sit == nil {
		*e = e.not("the sitting cannot correct readings yet")
		return
	}
	out, err := sit.Read(r, rig, map[string]job.Trace{traceName: e.trace}, ref)
	if err != nil {
		*e = e.not(reasonOf(err))
		return
	}
	e.Flow, e.Expanded = out.Flow, out.Flow*out.Expanded.U/out.EffectiveArea
	e.Area, e.AreaExpanded, e.Peak, e.Drop = out.EffectiveArea, out.Expanded.U, out.Peak, out.TestPressure
	e.Marks = out.Marks
	e.settle(out.Settled, out.USettling, out.Faults)
}

// reasonOf is an error of a reading without the name of a reading and a trace that do not exist yet.
func reasonOf(err error) string {
	if r, ok := errors.AsType[*bench.Refused](err); ok {
		err = r.Err
	}
	switch {
	case errors.Is(err, measure.ErrFrozen):
		return "a sensor is frozen: it repeats one value"
	case errors.Is(err, measure.ErrClipped):
		return "a sensor stands at the end of its range"
	case errors.Is(err, measure.ErrTooFew):
		return "too few samples yet"
	}
	if in := errors.Unwrap(err); in != nil {
		return in.Error()
	}
	return err.Error()
}

// settle judges whether the needle stands.
func (e *Estimate) settle(s measure.Settled, uRel float64, faults []measure.Fault) {
	e.Waver, e.From, e.To = s.WaverRel, s.From, s.To
	if !s.Steady {
		e.Steady, e.Text = 0, "the needle moves"
		return
	}
	e.Steady = s.To - s.From
	bad := slices.IndexFunc(faults, func(f measure.Fault) bool {
		return (f.Kind == measure.FaultFrozen || f.Kind == measure.FaultClipped) && f.To > e.Length-e.Need
	})
	switch {
	case bad >= 0:
		e.ill, e.Text = true, fmt.Sprintf("%s: %s", faults[bad].Channel, faults[bad].Kind)
	case e.Length-s.To > freshTail.Seconds():
		e.Steady, e.Text = 0, "the needle moves again"
	case e.Steady < e.Need:
		e.Text = wordSettling
	case uRel > mostSettleU:
		e.Text = "it wavers too much for its length: wait on"
	default:
		e.Settled, e.Text = true, "settled"
	}
}

// troubled takes "settled" back while a sensor of the reading is at fault.
func (e *Estimate) troubled(faults []capture.Fault, card job.Bench) {
	for _, f := range faults {
		i := slices.IndexFunc(card.Sensors, func(s job.Sensor) bool { return s.Channel == f.Channel })
		decides := i < 0 || card.Sensors[i].Role == "meter_dp" || card.Sensors[i].Role == "test_dp" || card.Sensors[i].Role == "meter_reading"
		switch f.Kind {
		case capture.Spikes, capture.WrongRate, capture.ClockStep, capture.DiskFull, capture.NotKept, capture.Unreadable, capture.NotHeld, capture.TwoSources:
			continue // the reading says so itself, or the number stands all the same
		case capture.Unplugged, capture.Frozen, capture.OutOfRange, capture.BrokerGone, capture.NotAnswered:
		}
		if decides {
			e.Settled, e.ill, e.Text = false, true, string(f.Kind)
		}
	}
}

// zero averages what the channels show at rest.
func (e *Estimate) zero(j job.Job, card job.Bench, ref bench.Reference) {
	e.Need, e.Zeros = zeroQuiet, map[string]float64{}
	e.Steady, e.To = min(e.Length, window(0).Seconds()), e.Length
	for _, x := range zeroSensors(card) {
		ch, ok := e.trace.Channel(x.Channel)
		if !ok {
			continue
		}
		u, _, err := unitOfSensor(x)
		if err != nil {
			*e = e.not(err.Error())
			return
		}
		mean, sd := restOf(e.trace.Time, ch.Values)
		if math.IsNaN(mean) {
			*e = e.not("no samples of " + x.Channel)
			return
		}
		if x.Role == "test_dp" && math.Abs(mean) > restShare*ref.TestPressure {
			*e = e.not("stop the blower: there is still a test pressure")
			return
		}
		e.Zeros[x.Channel] = mean
		e.Waver = max(e.Waver, 2*sd/ref.TestPressure)
		e.zeros = append(e.zeros, job.ZeroRecord{At: e.at, Channel: x.Channel, Value: shownIn(u.FromSI(mean), u.Name)})
	}
	if len(missingZeros(j.Bench, job.Sitting{Zero: e.zeros})) == len(zeroSensors(j.Bench)) {
		*e = e.not("no channel of the bench has a zero to take")
		return
	}
	e.Settled = e.Steady >= e.Need
	e.Text = map[bool]string{true: "settled", false: "averaging the zero"}[e.Settled]
}

// restOf returns mean and standard deviation of the last seconds of a channel at rest.
func restOf(times, values []float64) (mean, sd float64) {
	n, sum, squares := 0.0, 0.0, 0.0
	last := times[len(times)-1]
	for i, v := range values {
		if !math.IsNaN(v) && times[i] > last-10 {
			n, sum, squares = n+1, sum+v, squares+v*v
		}
	}
	if n == 0 {
		return math.NaN(), math.NaN()
	}
	mean = sum / n
	return mean, math.Sqrt(max(0, squares/n-mean*mean))
}

func rigCard(j job.Job, id string) (job.RigCard, bool) {
	i := slices.IndexFunc(j.Rigs, func(r job.RigCard) bool { return r.ID == id })
	if i < 0 {
		return job.RigCard{}, false
	}
	return j.Rigs[i], true
}

// meterOf is the meter that leakage and check plate are flowed with: that of the plan's rig card, else the first.
func meterOf(j job.Job, plan BenchPlan) string {
	if g, ok := rigCard(j, plan.Rig); ok {
		return g.Meter
	}
	if len(j.Bench.Meters) > 0 {
		return j.Bench.Meters[0].ID
	}
	return ""
}

var errNoBench = fault.Errorf(fault.Conflict, "the live bench is not open: open it on a sitting first")
