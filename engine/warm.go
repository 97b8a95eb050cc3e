package engine

import (
	"math"

	"runnel/wave"
)

// A Warm is the settled state of an engine at the speeds of a pull, from which a changed engine is started. A Pull with Options.Warm
// starts from it where it holds a speed and leaves its own states in it. It belongs to one Pull at a time.
type Warm struct {
	state    map[int64]*warmState
	readOnly bool
}

type warmState struct {
	pipes *wave.Snapshot
	cyl   []cylinderState
}

type cylinderState struct {
	air, burned, temp, pressure float64
	rate                        [3]float64
	walls                       walls
	burn                        burning
}

// key is a speed as a key: a thousandth of a revolution per minute.
func key(n float64) int64 { return int64(math.Round(n * 60000)) }

func (m *machine) save() *warmState {
	s := &warmState{pipes: m.net.Snapshot()}
	for _, c := range m.cyl {
		q := cylinderState{air: c.air, burned: c.burned, temp: c.temp, pressure: c.pressure, rate: c.rate, walls: c.walls}
		if c.burn != nil {
			q.burn = *c.burn
		}
		s.cyl = append(s.cyl, q)
	}
	return s
}

// load takes over a saved state; the engine may have other pipes. A state of another number of cylinders, or none, is passed over.
func (m *machine) load(s *warmState) {
	if s == nil || len(s.cyl) != len(m.cyl) {
		return
	}
	m.net.Restore(s.pipes)
	for i, c := range m.cyl {
		q := s.cyl[i]
		was := q.air*(1+c.fuelAir) + q.burned
		c.start(q.pressure, q.temp, q.burned/was)
		c.rate = q.rate
		if c.burn != nil { // a burn under way goes on
			c.burn.active, c.burn.fraction = q.burn.active, q.burn.fraction
			c.burn.fresh = q.burn.fresh * c.mass() / was
		}
		c.walls.ref, c.walls.polyPV, c.walls.wasOpen = q.walls.ref, q.walls.polyPV, q.walls.wasOpen
	}
}

// states returns what is held for the speeds [rev/s], nil where nothing is, and a place for what is left behind. Both are nil for a nil Warm.
func (w *Warm) states(speeds []float64) (was, left []*warmState) {
	if w == nil {
		return nil, nil
	}
	was, left = make([]*warmState, len(speeds)), make([]*warmState, len(speeds))
	for i, n := range speeds {
		was[i] = w.state[key(n)]
	}
	if w.readOnly {
		left = nil
	}
	return was, left
}

func (w *Warm) keep(speeds []float64, left []*warmState) {
	if w == nil || w.readOnly {
		return
	}
	if w.state == nil {
		w.state = map[int64]*warmState{}
	}
	for i, n := range speeds {
		w.state[key(n)] = left[i]
	}
}

// Quick returns the options of a quick answer, warm-started from w and leaving its own states in it: a coarse mesh and a loose settling
// tolerance. Torque is within about 2 % of the fine answer; a difference is better.
func Quick(w *Warm) Options {
	return Options{Mesh: quickMesh, MaxCycles: 8, Tolerance: 5e-3, Warm: w}
}

const quickMesh = 0.045 // [m]

// QuickSpeeds returns up to seven of the speeds [rev/s], evenly spread with the ends within, for a quick answer.
func QuickSpeeds(speeds []float64) []float64 {
	n := min(len(speeds), 7)
	out := make([]float64, n)
	for i := range n {
		k := 0
		if n > 1 {
			k = (i*(len(speeds)-1) + (n-1)/2) / (n - 1)
		}
		out[i] = speeds[k]
	}
	return out
}
