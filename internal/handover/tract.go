package handover

import (
	"math"

	"runnel/assess"
	"runnel/internal/plot"
	"runnel/unit"
)

func (b *builder) restrictionWords() (Outcome, bool) {
	n := len(b.a.Restriction)
	if n == 0 {
		return Outcome{}, false
	}
	r := b.a.Restriction[n-1]
	text := "In the tract as it is now, the piece that holds the flow back most is: " + b.piece(r.HoldsBack)
	for _, p := range r.Pieces {
		if p.Piece == r.HoldsBack {
			return Outcome{Text: text + ", with " + percent(p.Share, 0) + " of the pressure lost. One per cent more flow through it would give about " +
				plot.Number(p.Gain, 2) + nb + "% more through the whole."}, true
		}
	}
	return Outcome{Text: text + "."}, true
}

func (b *builder) restriction() Section {
	s := Section{ID: "restriction", Title: "What holds the flow back"}
	if len(b.a.Restriction) == 0 {
		return s
	}
	s.Blocks = append(s.Blocks, Picture{
		Figure:  plot.Restriction(b.a.Restriction, b.piece),
		Caption: "Pieces in the order the air meets them. The longest part takes most of the pressure drop and holds the flow back.",
	})
	t := Table{Columns: []Column{
		{Head: "Piece"},
		{Head: "Round"},
		{Head: "Eff. area", Unit: "mm²", Number: true},
		{Head: "Eff. area", Unit: "in²", Number: true},
		{Head: "Share of the drop", Unit: "%", Number: true},
		{Head: "Gain of the whole", Unit: "% per %", Number: true},
	}}
	var notes noted
	for _, r := range b.a.Restriction {
		t.Rows = append(t.Rows, Row{Group: "Tract " + r.State})
		for _, p := range r.Pieces {
			t.Rows = append(t.Rows, Row{Cells: append([]string{b.piece(p.Piece), b.round(p.Round)},
				append(areas(p.Area), plot.Number(100*p.Share, 1), plot.Number(p.Gain, 2))...)})
		}
		t.Rows = append(t.Rows,
			boundRow("Whole, best estimate", r.Area, true),
			boundRow("Whole, nothing carried on at the joints", r.Lower, false),
			boundRow("Whole, all carried on", r.Upper, false))
		notes.add(sentence(b.told(r.Note)))
	}
	t.Notes = append([]string{"The pieces were flowed one by one. How much of the speed of the air is carried from one into the next is not known from that; the two bounds show what it can do."}, notes.all...)
	s.Blocks = append(s.Blocks, t)
	return s
}

func boundRow(what string, area float64, bold bool) Row {
	return Row{Cells: append(append([]string{what, ""}, areas(area)...), "", ""), Bold: bold}
}

func areas(a float64) []string {
	return []string{plot.Number(1e6*a, 1), plot.Number(unit.Area.In(a, "in²"), 4)}
}

// largest returns the change of torque that is largest in size.
func largest(p assess.Pull) (assess.Change, bool) {
	var best assess.Change
	for _, c := range p.Change {
		if abs(c.Torque) > abs(best.Torque) {
			best = c
		}
	}
	return best, len(p.Change) > 0
}

func (b *builder) pullWords() (Outcome, bool) {
	if b.a.Pull == nil {
		return Outcome{}, false
	}
	c, ok := largest(*b.a.Pull)
	if !ok {
		return Outcome{}, false
	}
	st := b.o.System.Torque()
	text := "A prediction, not a measurement: on the stated assumptions the torque of the engine changes by " +
		plot.Signed(st.Value(c.Torque), 1) + nb + st.Unit + " (95" + nb + "% band " + plot.Signed(st.Value(c.TorqueLo), 1) + " to " +
		plot.Signed(st.Value(c.TorqueHi), 1) + ") at " + plot.Number(c.Speed, 0) + nb + "rpm, where the change is largest."
	if c.TorqueLo <= 0 && c.TorqueHi >= 0 {
		text += " The band holds zero: whether the change can be felt is not proven."
	}
	if b.a.Pull.Dyno != nil {
		text += " What is not known of the engine was fitted to a dynamometer run of it."
	}
	return Outcome{Text: text + " The power of the engine itself is not promised."}, true
}

func (b *builder) pull() Section {
	s := Section{ID: "pull", Title: "What the engine is likely to do with it"}
	p := b.a.Pull
	if p == nil {
		why := "No engine card came with the job, so no torque or power is predicted."
		if b.j.Engine != nil {
			why = "No torque or power is predicted: the engine was not computed, or could not be; the warnings below say what is known of it."
		}
		s.Blocks = append(s.Blocks, Paragraph{Text: why})
		return s
	}
	s.Blocks = append(s.Blocks,
		Paragraph{Text: "These curves are predicted by a one-dimensional gas-dynamic model of the engine whose pieces are tied to the readings above. " +
			"What is not known of the engine is taken alike before and after; the claim is the difference with its band. " +
			"The level of either curve is no promise: only a dynamometer shows what the engine gives."},
		Picture{Figure: plot.TorqueChange(*p, b.o.System), Caption: "Change of torque, after less before, with its 95 % band. Where the band holds zero, no change is claimed."},
		Picture{Figure: low(plot.Torque(*p, b.o.System)), Caption: "Predicted torque before (dashed) and after (solid), each with the band of what is not known."},
		Picture{Figure: low(plot.Power(*p, b.o.System)), Caption: "Predicted power before (dashed) and after (solid), each with its band."},
		b.pullTable(*p))
	if p.Dyno != nil {
		s.Blocks = append(s.Blocks, b.dyno(*p.Dyno)...)
	}
	if len(p.Assumed) > 0 {
		s.Blocks = append(s.Blocks, Paragraph{Text: "Not known, and taken instead", Style: Head}, List{Items: items(sentences(b.toldAll(p.Assumed)))})
	}
	if len(p.Closures) > 0 {
		s.Blocks = append(s.Blocks, b.closureTable(*p))
	}
	if len(p.Guides) > 0 {
		s.Blocks = append(s.Blocks, b.guideTable(*p))
	}
	return s
}

// low makes a figure less high, so that three of them fit on a page.
func low(f plot.Figure) plot.Figure {
	f.Height = 250
	return f
}

func sentences(words []string) []string {
	var out []string
	for _, w := range words {
		out = append(out, sentence(w))
	}
	return out
}

func (b *builder) pullTable(p assess.Pull) Table {
	nm, lb := unit.Metric.Torque(), unit.US.Torque()
	kw, hp := unit.Metric.Power(), unit.US.Power()
	t := Table{Columns: []Column{
		{Head: "Speed", Unit: "rpm", Number: true},
		{Head: "Torque before", Unit: nm.Unit, Number: true},
		{Head: "after", Unit: nm.Unit, Number: true},
		{Head: "Change", Unit: nm.Unit, Number: true},
		{Head: "95 % from", Unit: nm.Unit, Number: true},
		{Head: "to", Unit: nm.Unit, Number: true},
		{Head: "Change", Unit: lb.Unit, Number: true},
		{Head: "Change of power", Unit: kw.Unit, Number: true},
		{Head: "95 % from", Unit: kw.Unit, Number: true},
		{Head: "to", Unit: kw.Unit, Number: true},
		{Head: "Change of power", Unit: hp.Unit, Number: true},
	}}
	unsettled := false
	for _, c := range p.Change {
		before, after := at(p.Before, c.Speed), at(p.After, c.Speed)
		speed := plot.Number(c.Speed, 0)
		if !before.Settled || !after.Settled {
			speed, unsettled = "* "+speed, true
		}
		t.Rows = append(t.Rows, Row{Cells: []string{
			speed, plot.Number(before.Torque, 1), plot.Number(after.Torque, 1),
			plot.Signed(c.Torque, 1), plot.Signed(c.TorqueLo, 1), plot.Signed(c.TorqueHi, 1), plot.Signed(lb.Value(c.Torque), 1),
			plot.Signed(c.Power, 1), plot.Signed(c.PowerLo, 1), plot.Signed(c.PowerHi, 1), plot.Signed(hp.Value(1e3*c.Power), 1),
		}})
	}
	if unsettled {
		t.Notes = []string{"* did not settle within the cycles computed: read with care."}
	}
	return t
}

func at(points []assess.Point, speed float64) assess.Point {
	for _, p := range points {
		if p.Speed == speed {
			return p
		}
	}
	return assess.Point{}
}

// closureTable says how near the model comes to the readings it is tied to, a row for each state.
func (b *builder) closureTable(p assess.Pull) Table {
	t := Table{
		Caption: "How the model is tied to the readings",
		Columns: []Column{
			{Head: "State"},
			{Head: "Readings tied", Number: true},
			{Head: "Model over corrected reading, least", Number: true},
			{Head: "largest", Number: true},
			{Head: "Farthest off"},
		},
	}
	area := b.o.System.Area()
	for _, state := range []string{"before", "after"} {
		n, lo, hi, far := 0, math.Inf(1), math.Inf(-1), assess.Closure{Ratio: 1}
		for _, c := range p.Closures {
			if c.State != state {
				continue
			}
			n++
			lo, hi = min(lo, c.Ratio), max(hi, c.Ratio)
			if abs(c.Ratio-1) >= abs(far.Ratio-1) {
				far = c
			}
		}
		if n > 0 {
			t.Rows = append(t.Rows, Row{Cells: []string{
				upper(state), plot.Number(float64(n), 0), plot.Number(lo, 4), plot.Number(hi, 4),
				b.told(far.Opening) + ": " + nbUnit(area.Show(far.Measured)) + " corrected reading, " + nbUnit(area.Show(far.Simulated)) + " in the model",
			}})
		}
	}
	if words := assess.BenchWords(p.Bench, p.Bridged); words != "" {
		t.Notes = []string{b.told(words)}
	}
	return t
}

func (b *builder) guideTable(p assess.Pull) Table {
	t := Table{
		Caption: "Closed-form guides beside the prediction",
		Columns: []Column{{Head: "Guide"}, {Head: "Value"}, {Head: "What it says"}, {Head: "Source"}},
	}
	for _, g := range p.Guides {
		dec := 0
		if abs(g.Value) < 10 {
			dec = 2
		}
		value := plot.Number(g.Value, dec)
		if air := b.o.System.MassFlow(); g.Unit == air.Dimension.SI().Name {
			value = nbUnit(air.Show(g.Value))
		} else if g.Unit != "" && g.Unit != "-" {
			value += nb + g.Unit
		}
		t.Rows = append(t.Rows, Row{Cells: []string{g.Name, value, sentence(b.told(g.Note)), g.Source}})
	}
	return t
}
