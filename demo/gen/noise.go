package main

import (
	"math"
	"math/rand/v2"
)

// A wander is noise with memory: a first-order autoregression sampled evenly.
type wander struct {
	sd   float64 // standard deviation
	keep float64 // share of the value that is left after one sample [-]
	x    float64
}

// newWander starts a wander of standard deviation sd whose memory fades with time constant memory [s], sampled every step [s].
func newWander(r *rand.Rand, sd, memory, step float64) *wander {
	return &wander{sd: sd, keep: math.Exp(-step / memory), x: sd * r.NormFloat64()}
}

func (w *wander) next(r *rand.Rand) float64 {
	w.x = w.keep*w.x + w.sd*math.Sqrt(1-w.keep*w.keep)*r.NormFloat64()
	return w.x
}

// A hose is the lag of a pressure line: first order with a time constant.
type hose struct {
	keep float64
	x    float64
}

func newHose(lag, step float64) *hose { return &hose{keep: math.Exp(-step / lag)} }

func (h *hose) follow(x float64) float64 {
	h.x = h.keep*h.x + (1-h.keep)*x
	return h.x
}
