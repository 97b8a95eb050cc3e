package assess

import (
	"math"
	"slices"
	"strings"

	"runnel/bench"
	"runnel/engine"
)

// A oneBench is a job whose readings all stand for the bench as it was in one sitting, so that the engine and the tract before and after
// differ by their pieces and not by what the bench did between the sittings.
type oneBench struct {
	*solver // of the readings carried over

	to      *bench.Reading // nil without readings of the pieces
	sitting string         // of to
	bridged []string       // what carried readings of other sittings, in the order they are met
}

// oneBench carries the readings of the engine's pieces over to one sitting.
func (s *solver) oneBench() oneBench { return s.inBenchOf(s.enginePieces(), s.enginePieces()) }

// tractBench carries the readings of the pieces of the tract over to one sitting: to that of the engine's pieces where there is an engine, so
// that the tract and the twins stand on the same areas, else to that of the pieces worked on.
func (s *solver) tractBench() oneBench {
	first := s.enginePieces()
	for _, piece := range s.job.Tract {
		before, _ := s.pieceIn(piece, states[0])
		if after, ok := s.pieceIn(piece, states[1]); ok && before.round != after.round {
			first = appendNew(first, piece)
		}
	}
	return s.inBenchOf(append(first, s.job.Tract...), s.job.Tract)
}

// inBenchOf carries the readings of pieces over to one sitting, as the verdicts take the drift of the bench off: by the flows of the check
// plate in both, or where it does not tell by nothing, with a drift up to its limit allowed for.
//
// It is the sitting of the first reading after the work, as for a verdict, of the pieces of first in their order: of the runners before the
// head, the throttle body last. One whose check plate tells of the drift goes before one that does not tie the others.
func (s *solver) inBenchOf(first, pieces []string) oneBench {
	one := *s
	out := oneBench{solver: &one, bridged: []string{}}
	for _, piece := range first {
		for _, r := range s.standingIn(piece, states[1]) {
			if out.to == nil || r.Bench.Seen && !out.to.Bench.Seen {
				out.to = &r
			}
		}
	}
	if out.to == nil {
		return out
	}
	used := map[string]bool{} // ids of readings of the rounds that stand for a state
	for _, piece := range pieces {
		for _, state := range states {
			for _, r := range s.standingIn(piece, state) {
				used[r.ID] = true
			}
		}
	}
	out.sitting = out.to.Sitting
	one.readings = slices.Clone(s.readings)
	for i := range one.readings {
		if !used[one.readings[i].ID] {
			continue
		}
		got, br := one.readings[i].InBenchOf(out.to)
		if br != nil {
			one.readings[i], out.bridged = got, appendNew(out.bridged, br.String())
		}
	}
	return out
}

// enginePieces are the pieces that the engine card names, the runners first; none without a card.
func (s *solver) enginePieces() []string {
	e := s.job.Engine
	if e == nil {
		return nil
	}
	var out []string
	for _, id := range []string{e.Inlet.RunnerPiece, e.Intake.FlowFrom, e.Exhaust.FlowFrom, e.Inlet.ThrottlePiece} {
		if id != "" {
			out = appendNew(out, id)
		}
	}
	return out
}

// standingIn returns the readings of a piece in the round that stands for a state.
func (s *solver) standingIn(piece, state string) []bench.Reading {
	p, ok := s.pieceIn(piece, state)
	if !ok {
		return nil
	}
	var out []bench.Reading
	for _, r := range s.readings {
		if r.Rig.Piece == piece && r.Round == p.round {
			out = append(out, r)
		}
	}
	return out
}

// areasOf lists the effective areas that an engine is tied to, in the order of its closures [m²].
func areasOf(f engine.Flowed) []float64 {
	out := slices.Clone(f.Runners)
	for _, p := range slices.Concat(f.In, f.Out) {
		out = append(out, p.Area)
	}
	return out
}

// BenchWords says of which sitting's bench the readings of a pull are, and what carried those of other sittings to it; empty where none
// was carried.
func BenchWords(sitting string, bridged []string) string {
	if len(bridged) == 0 {
		return ""
	}
	return putRight("readings before and after", sitting, bridged) + " What that leaves in doubt is within the bands."
}

// BenchWords says of which sitting's bench the areas of the tract are, and what carried those of other sittings to it; empty where none was
// carried.
func (r Restriction) BenchWords() string {
	if len(r.Bridged) == 0 {
		return ""
	}
	return putRight("areas", r.Bench, r.Bridged)
}

func putRight(what, sitting string, bridged []string) string {
	return "The " + what + " are put right to the bench as it stood in " + sitting + ", as for the verdicts, so that its drift is not taken for a change of the piece: " +
		strings.Join(bridged, "; ") + "."
}

// readingUnknowns puts in what each round has of its own and what both share [-]. It is that of the verdict over all openings of the
// runner piece between the rounds and under the rig card that the pull is tied to; where there is none, of the last over all openings,
// and without any the usual. What the bench leaves in doubt between the sittings of a piece is added where that verdict does not hold it.
func (s *solver) readingUnknowns(u *engine.Unknowns, one oneBench) {
	runners := s.job.Engine.Inlet.RunnerPiece
	own, held := 0.0, false
	from, _ := s.pieceIn(runners, states[0])
	to, _ := s.pieceIn(runners, states[1])
	for _, v := range s.out.Verdicts {
		if v.Piece != runners || v.Opening != "" || !(v.Ratio > 0) {
			continue
		}
		own = (v.Hi95 - v.Lo95) / (2 * 1.96 * v.Ratio) / math.Sqrt2
		if held = own > 0 && v.From == from.round && v.To == to.round && v.FromRig == from.rig.ID && v.ToRig == to.rig.ID; held {
			break
		}
	}
	common := 0.0
	for _, r := range s.readings {
		if r.Rig.Piece == runners {
			common = math.Max(common, r.URel)
		}
	}
	if own > 0 && common > 0 {
		u.ReadOwn, u.ReadCommon = own, common
	}
	doubt := 0.0
	for _, piece := range s.enginePieces() {
		if piece != runners || !held {
			doubt = math.Max(doubt, s.drift(piece, one))
		}
	}
	u.ReadOwn = math.Hypot(u.ReadOwn, doubt/math.Sqrt2)
}

// drift returns what the bench leaves in doubt of the ratio of a piece after and before, relative [-]: none within the same sittings.
func (s *solver) drift(piece string, one oneBench) float64 {
	var met [2][]string
	sum := 0.0
	for k, state := range states {
		u := 0.0
		for _, r := range s.standingIn(piece, state) {
			met[k] = appendNew(met[k], r.Sitting)
			if _, br := r.InBenchOf(one.to); br != nil {
				u = math.Max(u, math.Hypot(br.URel, br.Held))
			}
		}
		sum = math.Hypot(sum, u)
	}
	if slices.Equal(met[0], met[1]) {
		return 0
	}
	return sum
}
