package handover

import (
	"math"
	"slices"
	"strings"

	"runnel/assess"
	"runnel/internal/plot"
	"runnel/unit"
)

// A comparison is all verdicts of one piece between the same two rounds and rig cards.
type comparison struct {
	piece, from, to, fromRig, toRig string
	all                             []assess.Verdict
}

// comparisons groups the verdicts in the order they come.
func (b *builder) comparisons() []comparison {
	var out []comparison
	for _, v := range b.a.Verdicts {
		i := slices.IndexFunc(out, func(c comparison) bool {
			return c.piece == v.Piece && c.from == v.From && c.to == v.To && c.fromRig == v.FromRig && c.toRig == v.ToRig
		})
		if i < 0 {
			out = append(out, comparison{v.Piece, v.From, v.To, v.FromRig, v.ToRig, nil})
			i = len(out) - 1
		}
		out[i].all = append(out[i].all, v)
	}
	return out
}

// whole says whether the comparison spans all the work on its piece, from the first round to the last.
func (b *builder) whole(c comparison) bool {
	first, last := "", ""
	for _, r := range b.j.Rounds {
		if r.Piece == c.piece {
			if first == "" {
				first = r.ID
			}
			last = r.ID
		}
	}
	return c.from == first && c.to == last
}

// wholeFirst returns the comparisons with those that span all the work in front.
func (b *builder) wholeFirst() []comparison {
	all := b.comparisons()
	slices.SortStableFunc(all, func(x, y comparison) int {
		switch wx, wy := b.whole(x), b.whole(y); {
		case wx == wy:
			return 0
		case wx:
			return -1
		}
		return 1
	})
	return all
}

// headline is the verdict that speaks for the comparison: the mean of all openings, over all lifts or at the highest one.
func (c comparison) headline() (assess.Verdict, bool) {
	best := -1
	for i, v := range c.all {
		if v.Opening != "" {
			continue
		}
		if best < 0 || (c.all[best].Lift != 0 && (v.Lift == 0 || v.Lift > c.all[best].Lift)) {
			best = i
		}
	}
	if best < 0 && len(c.all) == 1 {
		best = 0
	}
	if best < 0 {
		return assess.Verdict{}, false
	}
	return c.all[best], true
}

func (b *builder) result() Section {
	s := Section{ID: "result", Title: "What came of it"}
	var shown []plot.VerdictRow
	for _, c := range b.wholeFirst() {
		v, ok := c.headline()
		if !ok {
			continue
		}
		s.Blocks = append(s.Blocks, Outcome{Mark: markOf(v), Text: b.verdictWords(v)})
		if v.Refused == "" {
			shown = append(shown, plot.VerdictRow{Label: b.comparisonWords(c), Verdict: v})
		}
	}
	if o, ok := b.matchWords(); ok {
		s.Blocks = append(s.Blocks, o)
	}
	if o, ok := b.restrictionWords(); ok {
		s.Blocks = append(s.Blocks, o)
	}
	if o, ok := b.pullWords(); ok {
		s.Blocks = append(s.Blocks, o)
	}
	if o, ok := b.doubtWords(); ok {
		s.Blocks = append(s.Blocks, o)
	}
	if f, ok := b.matchFigure(); ok {
		s.Blocks = append(s.Blocks, Picture{Figure: f, Caption: "Each dot is one opening with its 95 % interval, what is common to all readings of the bench left out. The upright line is the mean of the row." + b.spreadWords()})
	} else if len(shown) > 1 {
		s.Blocks = append(s.Blocks, Picture{Figure: plot.Verdicts(shown, b.a.Reference.SmallestChange), Caption: b.shadeWords()})
	}
	if len(s.Blocks) == 0 {
		s.Blocks = append(s.Blocks, Paragraph{Text: "No comparison could be made: the job holds no two rounds that were flowed alike."})
	}
	return s
}

// doubtWords says on the first page what stands against the figures.
func (b *builder) doubtWords() (Outcome, bool) {
	var parts []string
	out := 0
	for _, r := range b.a.Readings {
		if !r.Usable {
			out++
		}
	}
	if out > 0 {
		parts = append(parts, plural(out, "reading does", "readings do")+" not count; the reasons stand in the table of readings")
	}
	marked := 0
	for _, s := range b.a.Sittings {
		if len(s.Marks) > 0 {
			marked++
		}
	}
	if marked > 0 {
		parts = append(parts, plural(marked, "sitting at the bench is", "sittings at the bench are")+" marked; see the state of the bench")
	}
	if len(parts) == 0 {
		return Outcome{}, false
	}
	return Outcome{Mark: CautionMark, Text: sentence(strings.Join(parts, ". "))}, true
}

// comparisonWords names a comparison: "Intake manifold, as received to finished".
func (b *builder) comparisonWords(c comparison) string {
	s := b.piece(c.piece) + ", " + b.round(c.from) + " to " + b.round(c.to)
	if c.fromRig != c.toRig {
		return s + " (" + b.entry(c.fromRig) + " against " + b.entry(c.toRig) + ")"
	}
	return s + " (" + b.entry(c.toRig) + ")"
}

// subject is what a verdict speaks of: "Intake manifold: mean flow of the runners".
func (b *builder) subject(v assess.Verdict) string {
	what := b.opening(v.Piece)
	s := upper(b.piece(v.Piece)) + ": "
	switch {
	case v.Opening != "":
		s += "flow of " + what + " " + v.Opening
	case len(b.openings(v.Piece)) == 1:
		s += "flow"
	default:
		s += "mean flow of the " + what + "s"
	}
	if v.Lift > 0 {
		s += " at " + nbUnit(b.o.System.Length().Show(v.Lift)) + " lift"
	}
	return s
}

func (b *builder) openings(piece string) []string {
	for _, p := range b.j.Pieces {
		if p.ID == piece {
			return p.Openings
		}
	}
	return nil
}

// verdictWords is a verdict as a customer reads it.
func (b *builder) verdictWords(v assess.Verdict) string {
	rounds := " from " + quoted(b.round(v.From)) + " to " + quoted(b.round(v.To))
	if v.Refused != "" {
		return b.subject(v) + rounds + " is not comparable. " + sentence(b.told(v.Refused))
	}
	rounds += ", " + b.entry(v.ToRig)
	if v.FromRig != v.ToRig {
		rounds += " against " + b.entry(v.FromRig)
	}
	lo, hi := v.Lo95-1, v.Hi95-1
	size := percent(math.Abs(v.Ratio-1), 1)
	switch markOf(v) {
	case GainMark:
		return b.subject(v) + " rose by " + size + rounds + " (95" + nb + "% interval " + span(lo, hi) + "): a proven gain."
	case LossMark:
		return b.subject(v) + " fell by " + size + rounds + " (95" + nb + "% interval " + span(-hi, -lo) + "): a proven loss."
	case SameMark, CautionMark, NoMark:
	}
	s := b.subject(v) + " moved by " + change(v.Ratio, 1) + rounds + " (95" + nb + "% interval " + plot.Signed(100*lo, 1) + " to " +
		plot.Signed(100*hi, 1) + nb + "%): " + v.Word + "."
	each := 1
	if v.Opening == "" {
		each = max(1, len(b.openings(v.Piece)))
	}
	switch {
	case v.RepeatsNeeded > min(v.NFrom, v.NTo)/each:
		s += " To settle it, about " + plural(v.RepeatsNeeded, "reading", "readings") + " of each opening on each side would be needed, if the change is what it looks like."
	case v.RepeatsNeeded < 0:
		s += " No number of repeats would settle it: the change is as good as the smallest one worth claiming, " + percent(b.a.Reference.SmallestChange, 1) +
			", or what the two sides share leaves more doubt."
	case strings.HasPrefix(v.Word, "no proven") && (lo > 0 || hi < 0):
		s += " Something changed, but the interval does not clear the smallest change worth claiming, " + percent(b.a.Reference.SmallestChange, 1) + "."
	}
	return s
}

func quoted(s string) string { return "‘" + s + "’" }

// span writes an interval of ratios in per cent: "3.6 to 4.6 %".
func span(lo, hi float64) string {
	return plot.Number(100*lo, 1) + " to " + plot.Number(100*hi, 1) + nb + "%"
}

func (b *builder) shadeWords() string {
	return "Change with its 95 % interval. The shaded range is ±" + plot.Number(100*b.a.Reference.SmallestChange, 1) +
		" %, the smallest change worth claiming; a verdict is proven when its whole interval lies outside."
}

func (b *builder) verdicts() Section {
	s := Section{ID: "verdicts", Title: "Did it really help?"}
	all := b.wholeFirst()
	for _, c := range all {
		if len(c.all) == 1 && c.all[0].Refused != "" {
			s.Blocks = append(s.Blocks,
				Paragraph{Text: b.comparisonWords(c), Style: Head},
				Outcome{Mark: CautionMark, Text: "Not comparable: " + sentence(b.told(c.all[0].Refused))})
			continue
		}
		s.Blocks = append(s.Blocks, Paragraph{Text: b.comparisonWords(c), Style: Head}, b.verdictTable(c))
		if f, ok := b.verdictFigure(c); ok && (b.whole(c) || len(all) == 1) {
			s.Blocks = append(s.Blocks, Picture{Figure: f, Caption: b.shadeWords()})
		}
	}
	return s
}

func (b *builder) verdictFigure(c comparison) (plot.Figure, bool) {
	var rows []plot.VerdictRow
	for _, v := range c.all {
		v.Refused = b.told(v.Refused)
		rows = append(rows, plot.VerdictRow{Label: b.verdictLabel(v), Verdict: v})
	}
	if len(rows) < 2 {
		return plot.Figure{}, false
	}
	return plot.Verdicts(rows, b.a.Reference.SmallestChange), true
}

func (b *builder) verdictLabel(v assess.Verdict) string {
	s := upper(b.opening(v.Piece)) + " " + v.Opening
	if v.Opening == "" {
		s = "All " + b.opening(v.Piece) + "s"
	}
	if v.Lift > 0 {
		s += ", " + b.o.System.Length().Show(v.Lift)
	}
	return s
}

func (b *builder) verdictTable(c comparison) Table {
	metric, us := unit.Metric.Flow(), unit.US.Flow()
	t := Table{Columns: []Column{
		{Head: upper(b.opening(c.piece))},
		{Head: "Before", Unit: metric.Unit, Number: true},
		{Head: "After", Unit: metric.Unit, Number: true},
		{Head: "Before", Unit: us.Unit, Number: true},
		{Head: "After", Unit: us.Unit, Number: true},
		{Head: "Change", Unit: "%", Number: true},
		{Head: "95 % from", Unit: "%", Number: true},
		{Head: "to", Unit: "%", Number: true},
		{Head: "Readings", Number: true},
		{Head: "Verdict"},
	}}
	bridged, shared, marked := noted{}, noted{}, marks{}
	for _, v := range c.all {
		row := Row{Cells: []string{b.verdictLabel(v)}, Mark: markOf(v), Bold: v.Opening == ""}
		if v.Refused != "" {
			row.Rest = "not comparable: " + b.told(v.Refused)
			t.Rows = append(t.Rows, row)
			continue
		}
		for _, st := range []unit.Style{metric, us} {
			row.Cells = append(row.Cells, plot.Number(st.Value(v.FromFlow), st.Decimals), plot.Number(st.Value(v.ToFlow), st.Decimals))
		}
		row.Cells = append(row.Cells, plot.Signed(100*(v.Ratio-1), 2), plot.Signed(100*(v.Lo95-1), 2), plot.Signed(100*(v.Hi95-1), 2),
			plot.Number(float64(v.NFrom), 0)+" + "+plot.Number(float64(v.NTo), 0), v.Word)
		t.Rows = append(t.Rows, row)
		bridged.add(b.toldAll(v.Bridged)...)
		shared.add(b.toldAll(v.Cancelled)...)
		for _, m := range slices.Concat(v.Marks, v.Warnings) {
			marked.add(b.told(m), b.verdictLabel(v))
		}
	}
	if len(bridged.all) > 0 {
		t.Notes = append(t.Notes, "The two were not tested alike; bridged by calculation, with its uncertainty: "+listed(bridged.all)+".")
	}
	for _, m := range marked.all {
		t.Notes = append(t.Notes, "Marked, to be read with care: "+m.text+" ["+strings.Join(m.of, "; ")+"].")
	}
	if len(shared.all) > 0 {
		t.Notes = append(t.Notes, "Common to both sides, so that it drops out of the comparison: "+listed(shared.all)+".")
	}
	return t
}

// marks is what verdicts are marked with, in order of first mention, each with the verdicts that are.
type marks struct {
	all []struct {
		text string
		of   []string
	}
}

// add notes a mark of a verdict; a count of readings at its end goes with the verdict.
func (n *marks) add(mark, verdict string) {
	if i := strings.LastIndex(mark, " ("); i > 0 && strings.HasSuffix(mark, " readings)") {
		mark, verdict = mark[:i], verdict+": "+mark[i+2:len(mark)-1]
	}
	for i := range n.all {
		if n.all[i].text == mark {
			n.all[i].of = append(n.all[i].of, verdict)
			return
		}
	}
	n.all = append(n.all, struct {
		text string
		of   []string
	}{mark, []string{verdict}})
}

// noted is a list without doubles, in order of first mention.
type noted struct{ all []string }

func (n *noted) add(words ...string) {
	for _, w := range words {
		if w != "" && !slices.Contains(n.all, w) {
			n.all = append(n.all, w)
		}
	}
}
