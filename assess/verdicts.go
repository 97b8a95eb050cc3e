package assess

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"runnel/bench"
	"runnel/job"
	"runnel/measure"
)

// verdicts answers every comparison the job asks for; without any, the first against the last round of every piece, on each rig
// card that both share.
func (s *solver) verdicts() error {
	for _, c := range s.comparisons() {
		from, to := s.rounds[c.From], s.rounds[c.To]
		before, after := s.taken(c.From, c.FromRig), s.taken(c.To, c.ToRig)
		for _, lift := range lifts(before, after) {
			b, a := atLift(before, lift), atLift(after, lift)
			base := Verdict{Piece: to.Piece, From: c.From, To: c.To, FromRig: c.FromRig, ToRig: c.ToRig, Lift: lift, Over: []string{}, Bridged: []string{}, Cancelled: []string{}, Marks: []string{}, Warnings: []string{}}
			if from.Piece != to.Piece {
				base.Word, base.Refused = "not comparable", fmt.Sprintf("round %s is of %s and round %s of %s", c.From, from.Piece, c.To, to.Piece)
				s.out.Verdicts = append(s.out.Verdicts, base)
				continue
			}
			if len(s.pieces[to.Piece].Openings) > 1 {
				v, over, err := bench.CompareOpenings(b, a, s.options())
				whole, bo, ao := base, b, a
				if err == nil {
					bo, ao = among(b, over), among(a, over)
					if len(over) < len(s.pieces[to.Piece].Openings) {
						whole.Over = s.ordered(to.Piece, over)
					}
				}
				if err := s.addVerdict(whole, v, err, bo, ao); err != nil {
					return err
				}
			}
			for _, o := range s.openings(to.Piece, b, a) {
				base.Opening = o
				bo, ao := ofOpening(b, o), ofOpening(a, o)
				v, err := bench.Compare(bo, ao, s.options())
				if err := s.addVerdict(base, v, err, bo, ao); err != nil {
					return err
				}
			}
		}
		if len(before) == 0 || len(after) == 0 {
			s.out.Warnings = appendNew(s.out.Warnings, fmt.Sprintf("comparison %s to %s: no usable readings on one side", c.From, c.To))
		}
	}
	return nil
}

func (s *solver) options() bench.CompareOptions {
	return bench.CompareOptions{Smallest: smallest(s.job), Fitted: s.fitted()}
}

// fitted is what is known of throttle bodies that may be fitted before a piece.
func (s *solver) fitted() map[string]bench.Fitted {
	out := map[string]bench.Fitted{}
	for _, p := range s.job.Pieces {
		if p.Kind != "throttle_body" {
			continue
		}
		if b, ok := s.pieceIn(p.ID, "after"); ok {
			out[p.ID] = bench.Fitted{EffectiveArea: b.area, URel: b.u}
		}
	}
	return out
}

func (s *solver) addVerdict(out Verdict, v bench.Verdict, err error, before, after []bench.Reading) error {
	out.NFrom, out.NTo = len(before), len(after)
	unlike, notLike := errors.AsType[*bench.UnlikeError](err)
	switch {
	case notLike:
		out.Word, out.Refused = "not comparable", unlike.Error()
	case errors.Is(err, measure.ErrTooFew):
		out.Word, out.Refused = "not comparable", err.Error()
	case err != nil:
		return fmt.Errorf("verdict %s to %s, opening %q: %w", out.From, out.To, out.Opening, err)
	default:
		out.FromFlow, out.ToFlow = s.ref.Flow(v.MeanBefore), s.ref.Flow(v.MeanAfter)
		out.Ratio, out.Lo95, out.Hi95, out.Word, out.RepeatsNeeded, out.Provable = v.Ratio, v.Lo95, v.Hi95, v.Text, v.RepeatsNeeded, v.Provable
		for _, b := range v.Bridged {
			out.Bridged = append(out.Bridged, b.String())
		}
		for _, c := range v.Cancelled {
			out.Cancelled = appendNew(out.Cancelled, c.Quantity)
		}
		out.Marks = marksOf(v.Marks, slices.Concat(before, after))
		if all := len(s.pieces[out.Piece].Openings); len(out.Over) > 0 {
			out.Warnings = append(out.Warnings, fmt.Sprintf("the mean is of %s: %d of %d openings were not flowed on both sides", openingWords(out.Over), all-len(out.Over), all))
		}
		for _, w := range v.Warnings {
			out.Warnings = appendNew(out.Warnings, fmt.Sprintf("limit not met: %s (got %.4g)", w.Limit, w.Got))
		}
		for _, w := range v.LeftWarnings {
			out.Warnings = appendNew(out.Warnings, "limit not met: "+w.String())
		}
	}
	s.out.Verdicts = append(s.out.Verdicts, out)
	return nil
}

// marksOf says beside each mark of a verdict or a match how many of its readings carry it, where not all do.
func marksOf(marks []string, all []bench.Reading) []string {
	out := make([]string, 0, len(marks))
	for _, m := range marks {
		n := 0
		for _, r := range all {
			if slices.Contains(r.Marks, m) {
				n++
			}
		}
		if n < len(all) {
			m += fmt.Sprintf(" (%d of %d readings)", n, len(all))
		}
		out = append(out, m)
	}
	return out
}

// comparisons returns what is to be compared, every rig card named.
func (s *solver) comparisons() []job.Compare {
	asked := s.job.Compare
	if len(asked) == 0 {
		for _, p := range s.job.Pieces {
			var of []string
			for _, r := range s.job.Rounds {
				if r.Piece == p.ID {
					of = append(of, r.ID)
				}
			}
			if len(of) > 1 {
				asked = append(asked, job.Compare{From: of[0], To: of[len(of)-1]})
			}
		}
	}
	var out []job.Compare
	for _, c := range asked {
		switch {
		case c.FromRig != "" && c.ToRig == "":
			c.ToRig = c.FromRig
		case c.FromRig == "" && c.ToRig != "":
			c.FromRig = c.ToRig
		}
		if c.FromRig != "" {
			out = append(out, c)
			continue
		}
		out = append(out, s.spread(c)...)
	}
	return out
}

// spread turns a comparison without rig cards into one for each card that both rounds share; when they share none, the first
// card of each is put side by side, so that a bridge or a refusal is shown.
func (s *solver) spread(c job.Compare) []job.Compare {
	a, b := s.rigsOf(c.From), s.rigsOf(c.To)
	var out []job.Compare
	for _, rig := range a {
		if slices.Contains(b, rig) {
			c.FromRig, c.ToRig = rig, rig
			out = append(out, c)
		}
	}
	if len(out) == 0 && len(a) > 0 && len(b) > 0 {
		c.FromRig, c.ToRig = a[0], b[0]
		out = append(out, c)
	}
	return out
}

func (s *solver) rigsOf(round string) []string {
	var out []string
	for _, r := range s.readings {
		if r.Round == round {
			out = appendNew(out, r.Rig.ID)
		}
	}
	return out
}

func (s *solver) taken(round, rig string) []bench.Reading {
	var out []bench.Reading
	for _, r := range s.readings {
		if r.Round == round && r.Rig.ID == rig {
			out = append(out, r)
		}
	}
	return out
}

func lifts(groups ...[]bench.Reading) []float64 {
	var out []float64
	for _, g := range groups {
		for _, r := range g {
			if !slices.Contains(out, r.Lift) {
				out = append(out, r.Lift)
			}
		}
	}
	slices.Sort(out)
	return out
}

func atLift(rs []bench.Reading, lift float64) []bench.Reading {
	return slices.DeleteFunc(slices.Clone(rs), func(r bench.Reading) bool { return r.Lift != lift })
}

// among returns the readings of some openings.
func among(rs []bench.Reading, openings []string) []bench.Reading {
	return slices.DeleteFunc(slices.Clone(rs), func(r bench.Reading) bool { return !slices.Contains(openings, r.Opening) })
}

// ordered returns openings in the order of their piece.
func (s *solver) ordered(piece string, openings []string) []string {
	return slices.DeleteFunc(slices.Clone(s.pieces[piece].Openings), func(o string) bool { return !slices.Contains(openings, o) })
}

func ofOpening(rs []bench.Reading, o string) []bench.Reading {
	return slices.DeleteFunc(slices.Clone(rs), func(r bench.Reading) bool { return r.Opening != o })
}

// openings returns the openings of a piece that were flowed on either side, in the piece's order.
func (s *solver) openings(piece string, groups ...[]bench.Reading) []string {
	var out []string
	for _, o := range s.pieces[piece].Openings {
		for _, g := range groups {
			if slices.ContainsFunc(g, func(r bench.Reading) bool { return r.Opening == o }) {
				out = appendNew(out, o)
			}
		}
	}
	return out
}

// matches says how evenly the openings flow, for every piece with several openings, round, rig card and lift.
func (s *solver) matches() error {
	for _, round := range s.job.Rounds {
		piece := s.pieces[round.Piece]
		if len(piece.Openings) < 2 {
			continue
		}
		for _, rig := range s.rigsOf(round.ID) {
			all := s.taken(round.ID, rig)
			for _, lift := range lifts(all) {
				rs := atLift(all, lift)
				if len(meanByOpening(rs)) < 2 {
					continue
				}
				m, err := bench.MatchOpenings(rs, piece.Openings, measure.MatchOptions{Smallest: s.out.Reference.SmallestChange})
				if _, notLike := errors.AsType[*bench.UnlikeError](err); notLike {
					s.out.Warnings = appendNew(s.out.Warnings, fmt.Sprintf("match of %s, %s: %v", round.ID, rig, err))
					continue
				}
				if err != nil {
					return fmt.Errorf("match of %s, %s: %w", round.ID, rig, err)
				}
				s.out.Match = append(s.out.Match, matchOut(piece.ID, round.ID, rig, lift, m, rs))
			}
		}
	}
	return nil
}

func matchOut(piece, round, rig string, lift float64, m bench.Match, rs []bench.Reading) Match {
	out := Match{
		Piece: piece, Round: round, Rig: rig, Lift: lift, Mean: m.Mean, MeanLo: m.MeanLo, MeanHi: m.MeanHi, SpreadRel: m.SpreadRel, SpreadLo: m.SpreadLo, SpreadHi: m.SpreadHi,
		RunnerSD: m.RunnerSD, RepeatSD: m.RepeatSD, Runners: []MatchOpening{}, NotFlowed: m.NotFlowed, Note: m.Note,
	}
	if out.NotFlowed == nil {
		out.NotFlowed = []string{}
	}
	var marks []string
	for _, r := range rs {
		for _, m := range r.Marks {
			marks = appendNew(marks, m)
		}
	}
	if out.Marks = marksOf(marks, rs); len(marks) > 0 {
		out.Note += "; readings of " + round + " are marked: " + strings.Join(out.Marks, ", ")
	}
	for _, o := range m.Openings {
		out.Runners = append(out.Runners, MatchOpening{
			Opening: o.Opening, Flow: o.Flow, Lo95: o.Lo95, Hi95: o.Hi95, N: o.N, Dev: o.Dev, Apart: o.Apart,
			ApartHalf: o.Half, Odd: o.Odd,
		})
	}
	return out
}
