package handover

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"runnel/assess"
	"runnel/internal/plot"
	"runnel/unit"
)

// warnings numbers the warnings that travel with the figures. Warnings that differ only in the value that was got are one.
type warnings struct {
	sys   unit.System // units they are told in
	stems noted
	got   map[string]*noted
}

const gotWords = " (got "

// number returns the numbers of the warnings as a table shows them: "1, 4".
func (w *warnings) number(texts []string) string {
	var mine noted
	for _, t := range texts {
		stem, value, found := strings.Cut(w.sys.Text(t), gotWords)
		w.stems.add(stem)
		mine.add(stem)
		if !found {
			continue
		}
		if w.got == nil {
			w.got = map[string]*noted{}
		}
		if w.got[stem] == nil {
			w.got[stem] = &noted{}
		}
		w.got[stem].add(strings.TrimSuffix(value, ")"))
	}
	out := ""
	for i, stem := range w.stems.all {
		if slices.Contains(mine.all, stem) {
			if out != "" {
				out += ", "
			}
			out += strconv.Itoa(i + 1)
		}
	}
	return out
}

// all lists the warnings in the order of their numbers.
func (w *warnings) all() []string {
	out := slices.Clone(w.stems.all)
	for i, stem := range out {
		if g := w.got[stem]; g != nil {
			out[i] = stem + gotWords + strings.Join(g.all, "; ") + ")"
		}
	}
	return out
}

func (b *builder) readings() Section {
	s := Section{ID: "readings", Title: "Every reading"}
	for _, p := range b.j.Pieces {
		t := b.readingTable(p.ID)
		if len(t.Rows) == 0 {
			continue
		}
		s.Blocks = append(s.Blocks, t)
		if f, ok := b.liftFigure(p.ID); ok {
			s.Blocks = append(s.Blocks, Picture{Figure: f, Caption: "Flow over valve lift, each dot one reading with its 95 % interval."})
		}
	}
	if len(s.Blocks) == 0 {
		return s
	}
	s.Blocks = append([]Block{Paragraph{Text: "Flows are corrected to the reference air and test pressure in the head of this record, leakage taken off. ±U is the expanded " +
		"uncertainty at 95 % of the single reading, with all that is common to the bench; most of that drops out when two readings are compared. " +
		"The effective area is the area of an ideal nozzle that would pass the same air."}}, s.Blocks...)
	return s
}

func (b *builder) readingTable(piece string) Table {
	metric, us := unit.Metric.Flow(), unit.US.Flow()
	t := Table{Caption: b.piece(piece)}
	rs := b.readingsOf(piece)
	lifts := slices.ContainsFunc(rs, func(r assess.Reading) bool { return r.Lift > 0 })
	t.Columns = []Column{{Head: upper(b.opening(piece))}}
	if lifts {
		t.Columns = append(t.Columns, Column{Head: "Lift", Unit: "mm", Number: true}, Column{Head: "Lift", Unit: "in", Number: true})
	}
	t.Columns = append(t.Columns,
		Column{Head: "Reading"},
		Column{Head: "Flow", Unit: metric.Unit, Number: true},
		Column{Head: "Flow", Unit: us.Unit, Number: true},
		Column{Head: "±U", Unit: "%", Number: true},
		Column{Head: "Eff. area", Unit: "mm²", Number: true},
		Column{Head: "Eff. area", Unit: "in²", Number: true},
		Column{Head: "Drop as taken", Unit: "kPa", Number: true},
		Column{Head: "Drop as taken", Unit: "inH2O", Number: true},
		Column{Head: "See"},
	)
	group := ""
	for _, r := range rs {
		g := b.round(r.Round) + ", " + b.entry(r.Rig)
		if g != group {
			t.Rows = append(t.Rows, Row{Group: g})
			group = g
		}
		t.Rows = append(t.Rows, b.readingRow(r, lifts))
	}
	return t
}

// liftFigure draws flow over valve lift of a piece, a curve for each opening in each round; no more than six of them.
func (b *builder) liftFigure(piece string) (plot.Figure, bool) {
	var curves []plot.LiftCurve
	at := map[string]int{}
	last := ""
	for _, r := range b.readingsOf(piece) {
		if r.Lift <= 0 || !r.Usable {
			continue
		}
		label := b.opening(piece) + " " + r.Opening + ", " + b.round(r.Round)
		i, ok := at[label]
		if !ok {
			i = len(curves)
			at[label] = i
			curves = append(curves, plot.LiftCurve{Label: label})
		}
		curves[i].Readings = append(curves[i].Readings, r)
		last = r.Round
	}
	for i, c := range curves {
		curves[i].Ink = plot.After
		if c.Readings[0].Round != last {
			curves[i].Ink, curves[i].Dash = plot.Before, true
		}
	}
	f := plot.OverLift(curves, b.o.System)
	f.Height = 250
	return f, len(curves) > 0 && len(curves) <= 6
}

func (b *builder) readingRow(r assess.Reading, lifts bool) Row {
	metric, us := unit.Metric.Flow(), unit.US.Flow()
	row := Row{Cells: []string{r.Opening}}
	if lifts {
		row.Cells = append(row.Cells, plot.Number(1e3*r.Lift, 2), plot.Number(unit.Length.In(r.Lift, "in"), 3))
	}
	row.Cells = append(row.Cells, r.ID)
	if !r.Usable {
		row.Rest, row.Mark = "does not count: "+orDash(b.told(r.Refused)), CautionMark
		return row
	}
	row.Cells = append(row.Cells,
		plot.Number(metric.Value(r.Flow), metric.Decimals), plot.Number(us.Value(r.Flow), us.Decimals),
		plot.Number(100*r.UExpandedRel, 2),
		plot.Number(1e6*r.EffectiveArea, 1), plot.Number(unit.Area.In(r.EffectiveArea, "in²"), 4),
		plot.Number(r.TestPressure/1e3, 3), plot.Number(unit.Pressure.In(r.TestPressure, "inH2O"), 2),
		b.w.number(r.Warnings),
	)
	return row
}

// readingsOf returns the readings of a piece in order of the work: round, rig card, opening, lift.
func (b *builder) readingsOf(piece string) []assess.Reading {
	var out []assess.Reading
	for _, r := range b.a.Readings {
		if r.Piece == piece {
			out = append(out, r)
		}
	}
	openings := b.openings(piece)
	slices.SortStableFunc(out, func(x, y assess.Reading) int {
		return cmp.Or(cmp.Compare(b.order(x.Round), b.order(y.Round)), cmp.Compare(b.entry(x.Rig), b.entry(y.Rig)),
			cmp.Compare(slices.Index(openings, x.Opening), slices.Index(openings, y.Opening)), cmp.Compare(x.Lift, y.Lift))
	})
	return out
}

func (b *builder) travelling() Section {
	s := Section{ID: "warnings", Title: "Warnings that travel with these figures"}
	b.w.number(b.a.Warnings)
	if b.a.Pull != nil {
		b.w.number(b.a.Pull.Warnings)
	}
	if len(b.w.stems.all) == 0 {
		s.Blocks = append(s.Blocks, Paragraph{Text: "None: no limit of a standard was left and no check of the bench failed."})
		return s
	}
	s.Blocks = append(s.Blocks, List{Items: items(sentences(b.w.all())), Numbered: true})
	return s
}
