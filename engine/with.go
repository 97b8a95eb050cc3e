package engine

import (
	"math"
	"slices"

	"runnel/wave"
)

// A Change is one what-if on an engine. Changes are made by the functions of this file and applied by With.
type Change func(*Engine)

// With returns a copy of the engine with the changes made in order; the receiver stays as it was.
func (e *Engine) With(changes ...Change) *Engine {
	c := *e
	c.Phases = slices.Clone(e.Phases)
	c.Inlet.Runners = slices.Clone(e.Inlet.Runners)
	c.Assumed = slices.Clone(e.Assumed)
	for _, f := range changes {
		f(&c)
	}
	return &c
}

func everyRunner(f func(r *Runner)) Change {
	return func(e *Engine) {
		for i := range e.Inlet.Runners {
			f(&e.Inlet.Runners[i])
		}
	}
}

// RunnerLength makes every runner length [m] long; measured sections stretch with it.
func RunnerLength(length float64) Change { return everyRunner(func(r *Runner) { r.Length = length }) }

// RunnerLonger makes every runner longer by d [m].
func RunnerLonger(d float64) Change { return everyRunner(func(r *Runner) { r.Length += d }) }

// RunnerSection multiplies the section area of every runner by f [-].
func RunnerSection(f float64) Change {
	return everyRunner(func(r *Runner) {
		r.Entry *= math.Sqrt(f)
		r.Exit *= math.Sqrt(f)
		r.Shape = reshape(r.Shape, func(_, a float64) float64 { return a * f })
	})
}

// RunnerTaper opens the mouth of every runner so that its area over that at the head face is multiplied by f [-], straight between.
func RunnerTaper(f float64) Change {
	return everyRunner(func(r *Runner) {
		r.Entry *= math.Sqrt(f)
		if len(r.Shape) == 0 {
			return
		}
		last := r.Shape[len(r.Shape)-1].X
		r.Shape = reshape(r.Shape, func(x, a float64) float64 { return a * (1 + (f-1)*(1-x/last)) })
	})
}

func reshape(s []wave.Station, f func(x, a float64) float64) []wave.Station {
	out := slices.Clone(s)
	for i := range out {
		out[i].Area = f(out[i].X, out[i].Area)
	}
	return out
}

// PlenumVolume sets the volume of each plenum [m³].
func PlenumVolume(v float64) Change { return func(e *Engine) { e.Inlet.Plenum = v } }

// ThrottleBore scales the throttle's effective area to a bore of to [m] from a bore of from [m].
func ThrottleBore(from, to float64) Change {
	return func(e *Engine) { e.Inlet.Throttle *= to / from * (to / from) }
}

// CamDuration makes both lobes longer by d [rad crank] about their peaks.
func CamDuration(d float64) Change {
	return func(e *Engine) { e.Intake, e.Exhaust = e.Intake.Change(0, d, 1), e.Exhaust.Change(0, d, 1) }
}

// LobeCentres moves the intake lobe later by in and the exhaust lobe later by out [rad crank].
func LobeCentres(in, out float64) Change {
	return func(e *Engine) { e.Intake, e.Exhaust = e.Intake.Change(in, 0, 1), e.Exhaust.Change(out, 0, 1) }
}

// CamLift multiplies the lift of both lobes by f [-].
func CamLift(f float64) Change {
	return func(e *Engine) { e.Intake, e.Exhaust = e.Intake.Change(0, 0, f), e.Exhaust.Change(0, 0, f) }
}

// Compression sets the compression ratio [-].
func Compression(r float64) Change { return func(e *Engine) { e.Crank.CompressionRatio = r } }
