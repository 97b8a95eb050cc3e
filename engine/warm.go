package engine

import (
	"math"

	"runnel/wave"
)

// A Warm is the settled state of an engine at the speeds of a pull, from which a changed engine is started. A Pull with Options.Warm
// starts from it where it holds a speed and leaves its own states in it. It belongs to one Pull at a time.
type Warm struct {
	state map[int64]*warmState
}

type warmState struct {
	pipes *wave.Snapshot
	cyl   []cylinderState
}

type cylinderState struct {
	air, burned, temp, pressure float64
	walls                       walls
}

// key is a speed as a key: a thousandth of a revolution per minute.
func key(n float64) int64 { return int64(math.Round(n * 60000)) }

func (m *machine) save() *warmState {
	s := &warmState{pipes: m.net.Snapshot()}
	for _, c := range m.cyl {
		s.cyl = append(s.cyl, cylinderState{c.air, c.burned, c.temp, c.pressure, c.walls})
	}
	return s
}

// load takes over a saved state; the engine may have other pipes, but not another number of cylinders.
func (m *machine) load(s *warmState) bool {
	if s == nil || len(s.cyl) != len(m.cyl) {
		return false
	}
	m.net.Restore(s.pipes)
	for i, c := range m.cyl {
		q := s.cyl[i]
		m := q.air*(1+c.fuelAir) + q.burned
		c.start(q.pressure, q.temp, q.burned/m)
		c.walls.ref, c.walls.polyPV, c.walls.wasOpen = q.walls.ref, q.walls.polyPV, q.walls.wasOpen
	}
	return true
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
	return was, left
}

func (w *Warm) keep(speeds []float64, left []*warmState) {
	if w == nil {
		return
	}
	if w.state == nil {
		w.state = map[int64]*warmState{}
	}
	for i, n := range speeds {
		w.state[key(n)] = left[i]
	}
}
