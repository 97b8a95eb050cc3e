package app

import (
	"math"
	"slices"

	"runnel/bench"
	"runnel/job"
	"runnel/measure"
)

// leakage works out the flow with everything blanked, as the sitting will when the point is kept.
func (e *Estimate) leakage(j job.Job, sitting string) {
	s, err := sittingOf(j, sitting)
	if err != nil {
		*e = e.not(err.Error())
		return
	}
	s.Checks, s.Readings = nil, nil
	s.Leakage = []job.LeakPoint{{At: e.at, Trace: traceName, Meter: e.meter}}
	setup, err := bench.NewSetup(j.Bench)
	if err != nil {
		*e = e.not(err.Error())
		return
	}
	r := raw{j.Bench, s}
	read, drop, ok := e.settleRaw(j.Bench)
	shown, least, ok := r.sees(read, ok && e.Settled)
	sit, err := setup.Sitting(s, map[string]job.Trace{traceName: e.trace})
	switch {
	case err == nil:
		e.Drop = sit.Leakage.High
		flow, u, _ := sit.Leakage.At(e.Drop)
		e.Flow, e.Expanded = flow, 2*u
	case ok && math.Abs(shown) < least: // the noise of a needle at rest may lie below zero
		e.Drop = r.from(drop)
	default:
		*e = e.not(reasonOf(err))
		return
	}
	if ok && shown < least {
		e.unseen(s, setup, least)
	}
}

// seesFrom is the pressure difference of the meter, over its standard uncertainty at rest, from which a leakage counts as
// seen: its flow is then known to a tenth.
const seesFrom = 5.0

// A raw is what sensors show beside the zeros of a sitting.
type raw struct {
	card    job.Bench
	sitting job.Sitting
}

// sees returns the pressure difference that the meter shows beyond its zero, and the least it can tell from its own noise and
// zero [Pa]. It is not ok where the meter is none of pressure difference or its needle does not stand.
func (r raw) sees(read measure.Settled, stands bool) (shown, least float64, ok bool) {
	if !stands || r.sensor(read.Name).Role != "meter_dp" {
		return 0, 0, false
	}
	// The zero was taken as well as this was, so that its uncertainty counts once more.
	return r.from(read), seesFrom * math.Sqrt2 * read.U, true
}

// from returns the mean of a channel by its calibration and from its latest zero [SI].
func (r raw) from(read measure.Settled) float64 {
	zero := 0.0
	for _, z := range latestZeros(r.card, r.sitting) {
		if z.channel == read.Name {
			zero = z.value
		}
	}
	return corrected(r.sensor(read.Name), read.Mean) - zero
}

func (r raw) sensor(channel string) job.Sensor {
	i := slices.IndexFunc(r.card.Sensors, func(x job.Sensor) bool { return x.Channel == channel })
	if i < 0 {
		return job.Sensor{}
	}
	return r.card.Sensors[i]
}

// unseen takes "settled" back where the meter cannot tell the leakage from its own noise and zero, and says what it could see:
// the flow at a pressure difference of least [Pa].
func (e *Estimate) unseen(s job.Sitting, setup *bench.Setup, least float64) {
	e.Settled, e.ill, e.Text = false, true, "too little for "+e.meter+" to see"
	s.Leakage = nil
	sit, err := setup.Sitting(s, nil)
	if err != nil {
		return
	}
	out, err := sit.Read(job.Reading{ID: "least", At: e.at, MeterDP: least, TestPressure: e.Drop, Typed: "corrected"}, job.RigCard{Meter: e.meter}, nil, bench.Reference{})
	if err == nil {
		e.Least = out.Mass / out.Room.Density
	}
}

// corrected returns what a sensor shows [SI] by its calibration [SI].
func corrected(x job.Sensor, si float64) float64 {
	u, _, err := unitOfSensor(x)
	if err != nil || len(x.Calibration) == 0 {
		return si
	}
	v, sum := u.FromSI(si), 0.0
	for _, c := range slices.Backward(x.Calibration) {
		sum = sum*v + c
	}
	return u.ToSI(sum)
}

// settleRaw judges the steadiness of a trace by the channels of meter and test pressure as they are. It returns the means of
// what the two show.
func (e *Estimate) settleRaw(card job.Bench) (read, drop measure.Settled, ok bool) {
	var channels []measure.Channel
	for _, x := range zeroSensors(card) {
		if ch, ok := e.trace.Channel(x.Channel); ok {
			channels = append(channels, measure.Channel{Name: x.Channel, X: ch.Values, Rests: x.Role != "test_dp"})
		}
	}
	j, err := measure.SettleJoint(e.trace.Time, channels, measure.SettleOptions{})
	if err != nil {
		e.Text = reasonOf(err)
		return read, drop, false
	}
	drop = j.Channels[len(j.Channels)-1]
	for _, c := range j.Channels {
		if c.Name == roleChannel(card, "test_dp") {
			drop = c
		} else {
			read = c
		}
	}
	drop.Steady, drop.From, drop.To = j.Steady, j.From, j.To
	e.settle(drop, 0, j.Faults)
	return read, drop, read.Name != ""
}

// roleChannel is the channel that has a role; empty when there is none.
func roleChannel(card job.Bench, role string) string {
	for _, s := range card.Sensors {
		if s.Role == role {
			return s.Channel
		}
	}
	return ""
}
