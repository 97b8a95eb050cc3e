package app

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"runnel/job"
	"runnel/unit"
)

// A BenchPlan is what is to be taken in a sitting: openings × repeats under one rig card, in a fixed order.
type BenchPlan struct {
	Rig      string      `json:"rig"`
	Round    string      `json:"round"`
	Openings []string    `json:"openings"`
	Lifts    []float64   `json:"lifts_m,omitempty"` // of a head [m]
	Repeats  int         `json:"repeats"`
	Random   bool        `json:"random"`   // the order is drawn anew for every repeat, against drift
	Quiet    float64     `json:"settle_s"` // how long the needle must be steady [s]
	Order    []BenchItem `json:"order"`
}

// A BenchItem is one reading that is to be taken.
type BenchItem struct {
	Rig     string  `json:"rig"`
	Round   string  `json:"round"`
	Opening string  `json:"opening"`
	Lift    float64 `json:"lift_m"` // valve lift [m]; 0 for a piece without a valve
	Repeat  int     `json:"repeat"` // counts from 1
}

// A PlanTyped is a plan as it was typed.
type PlanTyped struct {
	Rig, Round      string
	Openings        []string // none: all of the piece
	Lifts           string   // "4 mm, 8 mm, 12 mm", for a head
	Repeats, Settle string
	Random          bool
}

// Bounds of a plan.
const (
	mostRepeats = 20
	mostItems   = 2000
	leastQuiet  = 2.0  // [s]
	mostQuiet   = 60.0 // [s]
	usualQuiet  = 8.0  // [s]
)

func (f PlanTyped) read(t *typist, j job.Job, seed uint64) BenchPlan {
	var rigs []string
	for _, g := range j.Rigs {
		rigs = append(rigs, g.ID)
	}
	p := BenchPlan{Rig: t.oneOf("rig", f.Rig, rigs, "a rig card"), Random: f.Random, Repeats: 3, Quiet: usualQuiet}
	piece, ok := pieceOfRig(j, p.Rig)
	if !ok {
		return p
	}
	var rounds []string
	for _, x := range j.Rounds {
		if x.Piece == piece.ID {
			rounds = append(rounds, x.ID)
		}
	}
	p.Round = t.oneOf("round", f.Round, rounds, "a round of "+orWord(piece.Title, piece.ID))
	for _, o := range piece.Openings { // in the order of the piece
		if len(f.Openings) == 0 || slices.Contains(f.Openings, o) {
			p.Openings = append(p.Openings, o)
		}
	}
	if len(p.Openings) == 0 {
		t.wrong("openings", "choose at least one opening of "+orWord(piece.Title, piece.ID))
	}
	if n := strings.TrimSpace(f.Repeats); n != "" {
		v, err := strconv.Atoi(n)
		if err != nil || v < 1 || v > mostRepeats {
			t.wrong("repeats", fmt.Sprintf("write a whole number from 1 to %d", mostRepeats))
		}
		p.Repeats = v
	}
	if strings.TrimSpace(f.Settle) != "" {
		p.Quiet = t.quantity("settle", f.Settle, unit.Time, "")
		if !(p.Quiet >= leastQuiet && p.Quiet <= mostQuiet) {
			t.wrong("settle", fmt.Sprintf(`write a time from "%g s" to "%g s"`, leastQuiet, mostQuiet))
		}
	}
	p.lifts(t, f.Lifts, piece)
	if t.err() == nil {
		p.order(seed)
		if len(p.Order) > mostItems {
			t.wrong("repeats", fmt.Sprintf("that is %d readings: choose fewer, up to %d", len(p.Order), mostItems))
		}
	}
	return p
}

// lifts reads the lifts of a head.
func (p *BenchPlan) lifts(t *typist, typed string, piece job.Piece) {
	if piece.Kind != "head" {
		return
	}
	for word := range strings.SplitSeq(typed, ",") {
		if strings.TrimSpace(word) == "" {
			continue
		}
		v := t.quantity("lifts", word, unit.Length, "")
		if v <= 0 {
			t.wrong("lifts", "a lift is above zero")
		}
		p.Lifts = append(p.Lifts, v)
	}
	if len(p.Lifts) == 0 {
		t.wrong("lifts", `write the valve lifts, like "4 mm, 8 mm, 12 mm"`)
	}
}

// order lays the readings out: all openings once, then all again, so that drift falls on every opening alike.
func (p *BenchPlan) order(seed uint64) {
	lifts := p.Lifts
	if len(lifts) == 0 {
		lifts = []float64{0}
	}
	draw := rand.New(rand.NewPCG(seed, 0x62656e6368)) //nolint:gosec // an order, not a secret
	p.Order = nil
	for n := 1; n <= p.Repeats; n++ {
		openings := slices.Clone(p.Openings)
		if p.Random {
			draw.Shuffle(len(openings), func(a, b int) { openings[a], openings[b] = openings[b], openings[a] })
		}
		for _, o := range openings {
			for _, l := range lifts {
				p.Order = append(p.Order, BenchItem{Rig: p.Rig, Round: p.Round, Opening: o, Lift: l, Repeat: n})
			}
		}
	}
}

// A Queued is an item of the plan with the reading that took it.
type Queued struct {
	BenchItem
	Reading string `json:"reading,omitempty"` // empty: still to be taken
}

// queue lines the plan up with the readings of the sitting that count: what was taken follows from the facts, so that a
// restart, an undo or a reading taken elsewhere leave it right.
func (p BenchPlan) queue(s job.Sitting) []Queued {
	out := make([]Queued, len(p.Order))
	used := map[string]bool{}
	for i, it := range p.Order {
		out[i].BenchItem = it
		for _, r := range s.Readings {
			if r.Void == "" && !used[r.ID] && it.takes(r) {
				out[i].Reading, used[r.ID] = r.ID, true
				break
			}
		}
	}
	return out
}

// takes reports whether a reading is one of an item.
func (it BenchItem) takes(r job.Reading) bool {
	return r.Rig == it.Rig && r.Round == it.Round && r.Opening == it.Opening && math.Abs(r.Lift-it.Lift) < 1e-6
}

// next returns the first item at or after from, round the end, that is still to be taken; −1 when there is none.
func next(queue []Queued, from int) int {
	for k := range queue {
		if i := (from + k) % len(queue); queue[i].Reading == "" {
			return i
		}
	}
	return -1
}

func orWord(a, b string) string {
	if a != "" {
		return a
	}
	return b
}
