package assess

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"runnel/bench"
	"runnel/job"
	"runnel/tract"
)

// states are the two states of the tract that are compared.
var states = [...]string{"before", "after"}

// A pieceArea is the effective area of one piece of the tract in one state: the mean of its openings.
type pieceArea struct {
	piece job.Piece
	round string
	rig   job.RigCard
	lift  float64 // [m]
	area  float64 // [m²]
	u     float64 // relative standard uncertainty [-]
}

// restrictions puts the pieces of the tract in series, before and after.
func (s *solver) restrictions() {
	if len(s.job.Tract) == 0 {
		return
	}
	one := s.tractBench() // the drift of the bench between the sittings is no change of the tract
	var last []pieceArea
	for _, state := range states {
		pieces, missing := one.tractIn(state)
		if len(missing) > 0 {
			s.out.Warnings = appendNew(s.out.Warnings, fmt.Sprintf("restriction: no usable reading of %s, so the tract is not complete", list(missing)))
		}
		if len(pieces) < 2 || (state == "after" && slices.Equal(ids(pieces), ids(last))) {
			continue
		}
		last = pieces
		r, err := s.restriction(state, pieces)
		if err != nil {
			s.out.Warnings = appendNew(s.out.Warnings, "restriction "+state+": "+err.Error())
			continue
		}
		r.Bench, r.Bridged = one.sitting, one.bridged
		if words := r.BenchWords(); words != "" {
			r.Note += " " + words
		}
		s.out.Restriction = append(s.out.Restriction, r)
	}
}

func ids(pieces []pieceArea) []string {
	var out []string
	for _, p := range pieces {
		out = append(out, p.piece.ID+"@"+p.round)
	}
	return out
}

// tractIn collects the pieces of the tract in a state: the first or the last round of each that has a usable reading.
func (s *solver) tractIn(state string) (found []pieceArea, missing []string) {
	for _, id := range s.job.Tract {
		p, ok := s.pieceIn(id, state)
		if !ok {
			missing = append(missing, id)
			continue
		}
		found = append(found, p)
	}
	return found, missing
}

func (s *solver) pieceIn(id, state string) (pieceArea, bool) {
	rounds := slices.Clone(s.job.Rounds)
	if state == "after" {
		slices.Reverse(rounds)
	}
	for _, round := range rounds {
		if round.Piece != id {
			continue
		}
		if p, ok := s.best(id, round.ID); ok {
			return p, true
		}
	}
	return pieceArea{}, false
}

// best picks the readings that stand for a piece in a round: drawn as the engine draws, a radiused entry before a bare one,
// and the highest lift that the engine's intake valve reaches, or the lowest where it reaches none.
func (s *solver) best(piece, round string) (pieceArea, bool) {
	var pick []bench.Reading
	most := s.intakeLift()
	rank := func(r bench.Reading) float64 {
		v := r.Lift
		if v > most*(1+1e-9) {
			v = -v // the lowest of what is never reached, and below all that is
		}
		if isRadiused(r) {
			v++ // more than any lift
		}
		return v
	}
	for _, r := range s.readings {
		if r.Rig.Piece != piece || r.Round != round || r.Rig.Direction == "out" {
			continue
		}
		if len(pick) > 0 && rank(r) < rank(pick[0]) {
			continue
		}
		if len(pick) > 0 && rank(r) > rank(pick[0]) {
			pick = pick[:0]
		}
		pick = append(pick, r)
	}
	if len(pick) == 0 {
		return pieceArea{}, false
	}
	out := pieceArea{piece: s.pieces[piece], round: round, rig: pick[0].Rig, lift: pick[0].Lift, area: meanOfOpenings(pick)}
	for _, r := range pick {
		out.u = math.Max(out.u, r.URel)
	}
	return out, true
}

// intakeLift returns the highest lift of the intake valve by the engine card [m], infinite where it is not known.
func (s *solver) intakeLift() float64 {
	e := s.job.Engine
	if e == nil {
		return math.Inf(1)
	}
	l := e.Cam.Intake
	peak := l.PeakLift
	for _, p := range l.Table {
		rocker := l.Rocker
		if rocker == 0 {
			rocker = 1
		}
		peak = max(peak, p.Lift*rocker)
	}
	if peak <= l.Lash {
		return math.Inf(1)
	}
	return peak - l.Lash
}

func isRadiused(r bench.Reading) bool { return entryOf(r.Rig) == "radiused" }

// meanOfOpenings returns the mean effective area over openings, each the mean of its readings [m²].
func meanOfOpenings(rs []bench.Reading) float64 {
	mean, area := meanByOpening(rs), 0.0
	for _, o := range slices.Sorted(maps.Keys(mean)) { // in one order, so that the sum is the same to the last bit
		area += mean[o] / float64(len(mean))
	}
	return area
}

// meanByOpening returns the mean effective area of each opening [m²].
func meanByOpening(rs []bench.Reading) map[string]float64 {
	sum, n := map[string]float64{}, map[string]float64{}
	for _, r := range rs {
		sum[r.Opening] += r.EffectiveArea
		n[r.Opening]++
	}
	for k := range sum {
		sum[k] /= n[k]
	}
	return sum
}

func (s *solver) restriction(state string, pieces []pieceArea) (Restriction, error) {
	feeds := s.feeds()
	in := tract.Series{Pressure: s.ref.Air.Pressure, Drop: s.ref.TestPressure, Gamma: s.ref.Air.Kappa}
	for _, p := range pieces {
		q := tract.Piece{Name: p.piece.ID, Area: p.area, U: p.u, Exit: p.piece.ExitArea, Carried: p.piece.CarriedOn}
		if p.piece.Kind == "throttle_body" {
			q.Feeds = feeds
		}
		in.Pieces = append(in.Pieces, q)
	}
	w, err := in.Solve()
	if err != nil {
		return Restriction{}, err
	}
	out := Restriction{State: state, Area: w.Area, Lower: w.Lower, Upper: w.Upper, HoldsBack: w.HoldsBack, Pieces: []RestrictionPiece{}}
	for i, sh := range w.Shares {
		out.Pieces = append(out.Pieces, RestrictionPiece{Piece: sh.Piece, Round: pieces[i].round, Area: pieces[i].area, Share: sh.Drop, Gain: sh.Gain})
	}
	out.Note = restrictionNote(pieces, w, feeds)
	return out, nil
}

func restrictionNote(pieces []pieceArea, w tract.Whole, feeds float64) string {
	title := map[string]string{}
	for _, p := range pieces {
		title[p.piece.ID] = p.piece.ID
		if p.piece.Title != "" {
			title[p.piece.ID] = p.piece.Title
		}
	}
	var note strings.Builder
	fmt.Fprintf(&note, "Pieces measured apart, put in series at the reference test pressure; the bounds are nothing and all of the exit head carried on. "+
		"%s: the largest share of the pressure drop. %s: one per cent more gives the whole the most.", title[w.HoldsBack], title[w.NextBest])
	for _, p := range pieces {
		if p.lift > 0 {
			fmt.Fprintf(&note, " %s: at %.1f mm lift.", title[p.piece.ID], p.lift*1e3)
		}
		if p.piece.Kind == "throttle_body" && feeds > 1 {
			fmt.Fprintf(&note, " %s: feeds %.1f runners at a time (cylinders times intake duration over a cycle).", title[p.piece.ID], feeds)
		}
	}
	for _, warn := range w.Warnings {
		note.WriteString(" " + warn + ".")
	}
	return note.String()
}

// feeds returns how many runners draw at the same time on average [-]: cylinders times intake duration over the cycle.
func (s *solver) feeds() float64 {
	e := s.job.Engine
	if e == nil {
		return 1
	}
	d := e.Cam.Intake.Duration
	if d == 0 && len(e.Cam.Intake.Table) == 0 {
		d = e.Cam.Intake.Opens + math.Pi + e.Cam.Intake.Closes
	}
	if d == 0 && len(e.Cam.Intake.Table) > 1 {
		d = e.Cam.Intake.Table[len(e.Cam.Intake.Table)-1].Angle - e.Cam.Intake.Table[0].Angle
	}
	return math.Max(1, float64(e.Cylinders)*d/(4*math.Pi))
}

func list(words []string) string {
	switch len(words) {
	case 0:
		return ""
	case 1:
		return words[0]
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}
