package app

import (
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
	sit, err := setup.Sitting(s, map[string]job.Trace{traceName: e.trace})
	if err != nil {
		*e = e.not(reasonOf(err))
		return
	}
	e.Drop = sit.Leakage.High
	flow, u, _ := sit.Leakage.At(e.Drop)
	e.Flow, e.Expanded = flow, 2*u
	e.settleRaw(j.Bench)
}

// settleRaw judges the steadiness of a trace by the channels of meter and test pressure as they are.
func (e *Estimate) settleRaw(card job.Bench) {
	var channels []measure.Channel
	for _, x := range zeroSensors(card) {
		if ch, ok := e.trace.Channel(x.Channel); ok {
			channels = append(channels, measure.Channel{Name: x.Channel, X: ch.Values, Rests: x.Role != "test_dp"})
		}
	}
	j, err := measure.SettleJoint(e.trace.Time, channels, measure.SettleOptions{})
	if err != nil {
		e.Text = reasonOf(err)
		return
	}
	drop := j.Channels[len(j.Channels)-1]
	for _, c := range j.Channels {
		if c.Name == roleChannel(card, "test_dp") {
			drop = c
		}
	}
	drop.Steady, drop.From, drop.To = j.Steady, j.From, j.To
	e.settle(drop, 0, j.Faults)
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
