package handover

import (
	"cmp"
	"slices"
	"strings"

	"runnel/assess"
	"runnel/internal/plot"
	"runnel/unit"
)

// matches returns the matches of more than one opening in order of the work, by piece and rig card.
func (b *builder) matches() []assess.Match {
	var out []assess.Match
	for _, m := range b.a.Match {
		if len(m.Runners) > 1 {
			out = append(out, m)
		}
	}
	slices.SortStableFunc(out, func(x, y assess.Match) int {
		return cmp.Or(cmp.Compare(b.pieceOrder(x.Piece), b.pieceOrder(y.Piece)), cmp.Compare(x.Lift, y.Lift),
			cmp.Compare(x.Rig, y.Rig), cmp.Compare(b.order(x.Round), b.order(y.Round)))
	})
	return out
}

func (b *builder) pieceOrder(id string) int {
	for i, p := range b.j.Pieces {
		if p.ID == id {
			return i
		}
	}
	return len(b.j.Pieces)
}

// matchRun is the longest row of rounds of one piece under one rig card and lift: it is the one drawn first.
func (b *builder) matchRun() []assess.Match {
	var best, run []assess.Match
	for _, m := range b.matches() {
		if len(run) > 0 && (run[0].Piece != m.Piece || run[0].Rig != m.Rig || run[0].Lift != m.Lift) {
			run = nil
		}
		run = append(run, m)
		if len(run) > len(best) {
			best = run
		}
	}
	return best
}

func (b *builder) matchFigure() (plot.Figure, bool) {
	run := b.matchRun()
	if len(run) < 2 {
		return plot.Figure{}, false
	}
	var rows []plot.MatchRow
	for _, m := range run {
		rows = append(rows, plot.MatchRow{Label: b.round(m.Round), Match: m})
	}
	f := plot.Match(rows, b.o.System)
	f.Title = b.piece(run[0].Piece) + ": flow of every " + b.opening(run[0].Piece) + ", " + b.entry(run[0].Rig)
	return f, true
}

// matchWords says how evenly the openings flow now.
func (b *builder) matchWords() (Outcome, bool) {
	run := b.matchRun()
	if len(run) == 0 {
		return Outcome{}, false
	}
	last := run[len(run)-1]
	what := b.opening(last.Piece)
	text := "The " + plural(len(last.Runners), what, what+"s") + " now flow within " + percent(last.SpreadRel, 1) + " of one another, largest against smallest"
	if words := last.TrueSpread(1); words != "" {
		text += " (" + nbPercent(words) + ")"
	}
	if len(run) > 1 {
		text += ", where it was " + percent(run[0].SpreadRel, 1) + " " + quoted(b.round(run[0].Round))
	}
	text += " (" + b.piece(last.Piece) + ", " + b.entry(last.Rig) + ")."
	var odd []string
	for _, o := range last.Runners {
		if o.Odd {
			odd = append(odd, o.Opening+" ("+plot.Signed(100*o.Apart, 1)+nb+"% from the others)")
		}
	}
	if len(odd) > 0 {
		text += " Out of line with the rest: " + what + " " + listed(odd) + "."
		return Outcome{Mark: CautionMark, Text: text}, true
	}
	text += " None is out of line with the rest"
	if far := last.Farthest(); far != nil {
		text += "; " + what + " " + far.Opening + " " + far.Differs()
	}
	return Outcome{Mark: NoMark, Text: text + "."}, true
}

// spreadWords says for below the picture how far the spread of each row may be off.
func (b *builder) spreadWords() string {
	var rows []string
	for _, m := range b.matchRun() {
		if words := m.TrueSpread(1); words != "" {
			rows = append(rows, b.round(m.Round)+" "+percent(m.SpreadRel, 1)+", "+nbPercent(words))
		}
	}
	if len(rows) == 0 {
		return ""
	}
	return " Spread, largest less smallest, with the range that holds the true one at 95" + nb + "%: " + strings.Join(rows, "; ") + "."
}

func (b *builder) match() Section {
	s := Section{ID: "match", Title: "How evenly the openings flow"}
	all := b.matches()
	metric, us := unit.Metric.Flow(), unit.US.Flow()
	t := Table{Columns: []Column{
		{Head: "Round"},
		{Head: "Mean", Unit: metric.Unit, Number: true},
		{Head: "Mean", Unit: us.Unit, Number: true},
		{Head: "Spread", Unit: "%", Number: true},
		{Head: "True spread, 95 %"},
		{Head: "Between openings", Unit: "s, %", Number: true},
		{Head: "Repeats", Unit: "s, %", Number: true},
		{Head: "Largest from the mean"},
		{Head: "Not flowed"},
	}}
	group := ""
	for _, m := range all {
		g := b.piece(m.Piece) + ", " + b.entry(m.Rig)
		if m.Lift > 0 {
			g += ", lift " + nbUnit(b.o.System.Length().Show(m.Lift))
		}
		if g != group {
			t.Rows = append(t.Rows, Row{Group: g})
			group = g
		}
		t.Rows = append(t.Rows, Row{Cells: []string{
			b.round(m.Round), plot.Number(metric.Value(m.Mean), metric.Decimals), plot.Number(us.Value(m.Mean), us.Decimals),
			plot.Number(100*m.SpreadRel, 1), orDash(nbPercent(m.SpreadRange(1))), plot.Number(100*m.RunnerSD, 2), plot.Number(100*m.RepeatSD, 2),
			b.farthest(m), orDash(listed(m.NotFlowed)),
		}})
	}
	if len(t.Rows) == 0 {
		return s
	}
	var notes noted
	for _, m := range all {
		notes.add(sentence(b.told(m.Note)))
	}
	t.Notes = append([]string{"Spread is largest less smallest over the mean. Every reading is a little off, and so is the spread read from them: the true one lies in the range beside it, with 95 % and more, openings that were not flowed counted in. s is a standard deviation, between openings with the noise of repeats taken out."}, notes.all...)
	s.Blocks = append(s.Blocks, t)
	return s
}

// farthest names the opening farthest from the mean: "3, −1.2 %, odd one out".
func (b *builder) farthest(m assess.Match) string {
	far := slices.MaxFunc(m.Runners, func(x, y assess.MatchOpening) int { return cmp.Compare(abs(x.Dev), abs(y.Dev)) })
	s := b.opening(m.Piece) + nb + far.Opening + ", " + plot.Signed(100*far.Dev, 1) + nb + "%"
	if far.Odd {
		s += ", odd one out"
	}
	return s
}

func abs(v float64) float64 { return max(v, -v) }
