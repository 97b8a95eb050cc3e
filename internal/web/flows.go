package web

import (
	"slices"
	"strings"

	"runnel/assess"
	"runnel/job"
)

// A flowTable is the flows of one piece in one set-up: a row a round and a column an opening; for a piece with
// valves a row a lift and a column a round.
type flowTable struct {
	Piece      string // id
	Title      string // piece
	Setup      string // entry, what is blanked
	Lifts      bool
	Head       []string // columns
	Rows       []flowRow
	HasMean    bool // rows end with the mean of the openings
	HasVerdict bool // and with a verdict
}

type flowRow struct {
	Round   string // id
	Title   string
	Lift    float64 // valve lift [m]
	Sub     string  // when it was done
	Cells   []flowCell
	Mean    flowCell
	Verdict *assess.Verdict
	Against string // the round the verdict compares with
}

// Few reports whether the table has so few columns that it need not fill the page.
func (t flowTable) Few() bool { return len(t.Head) < 4 }

// A flowCell is one flow with the half-width of its 95 % interval.
type flowCell struct {
	Known   bool
	Flow    float64 // [m³/s]
	Half    float64 // [m³/s]
	N       int     // readings
	Odd     bool
	Word    string // verdict against an earlier round, empty when there is none
	Against string
	Reading string // the reading to open; the first when there are several
	Refused int    // readings that do not count
}

// A cellKey says where a flow stands.
type cellKey struct {
	rig, round, opening string
	lift                float64
}

// flows sorts an assessment by cell.
type flows struct {
	n        names
	readings map[cellKey][]assess.Reading
	match    map[cellKey]assess.MatchOpening
	verdicts []assess.Verdict
}

func newFlows(n names, as assess.Assessment) flows {
	f := flows{n: n, readings: map[cellKey][]assess.Reading{}, match: map[cellKey]assess.MatchOpening{}, verdicts: as.Verdicts}
	for _, r := range as.Readings {
		k := cellKey{r.Rig, r.Round, r.Opening, r.Lift}
		f.readings[k] = append(f.readings[k], r)
	}
	for _, m := range as.Match {
		for _, o := range m.Runners {
			f.match[cellKey{m.Rig, m.Round, o.Opening, m.Lift}] = o
		}
	}
	return f
}

func flowTables(j job.Job, as assess.Assessment) []flowTable {
	n := namesOf(j)
	f := newFlows(n, as)
	var tables []flowTable
	for _, p := range j.Pieces {
		for _, g := range setups(j, n, p.ID) {
			if t, ok := f.table(j, p, g); ok {
				tables = append(tables, t)
			}
		}
	}
	return tables
}

// A group is the rig cards of a piece that set it up the same way, whatever plate was in the meter.
type group struct {
	setup string
	rigs  []string
}

func setups(j job.Job, n names, piece string) []group {
	var all []group
	for _, rig := range j.Rigs {
		if rig.Piece != piece {
			continue
		}
		text := setup(n, rig)
		i := slices.IndexFunc(all, func(g group) bool { return g.setup == text })
		if i < 0 {
			i, all = len(all), append(all, group{setup: text})
		}
		all[i].rigs = append(all[i].rigs, rig.ID)
	}
	return all
}

func (f flows) table(j job.Job, p job.Piece, g group) (flowTable, bool) {
	flowed := map[string]bool{}
	var lifts []float64
	for k := range f.readings {
		if slices.Contains(g.rigs, k.rig) {
			flowed[k.round] = true
			if !slices.Contains(lifts, k.lift) {
				lifts = append(lifts, k.lift)
			}
		}
	}
	var rounds []job.Round
	for _, r := range j.Rounds {
		if r.Piece == p.ID && flowed[r.ID] {
			rounds = append(rounds, r)
		}
	}
	if len(rounds) == 0 {
		return flowTable{}, false
	}
	slices.Sort(lifts)
	t := flowTable{Piece: p.ID, Title: f.n.Piece(p.ID), Setup: g.setup, Lifts: len(lifts) > 1 || lifts[0] > 0}
	if t.Lifts {
		f.byLift(&t, p, g, rounds, lifts)
	} else {
		f.byRound(&t, p, g, rounds)
	}
	return t, true
}

func setup(n names, rig job.RigCard) string {
	parts := []string{n.Entry(rig.ID)}
	if len(rig.Fitted) > 0 {
		var with []string
		for _, p := range rig.Fitted {
			with = append(with, n.Piece(p))
		}
		parts = append(parts, "with "+strings.Join(with, ", "))
	}
	if rig.Blanked != "" {
		parts = append(parts, "blanked: "+rig.Blanked)
	}
	if rig.Direction == "out" {
		parts = append(parts, "flowed outwards")
	}
	return strings.Join(parts, ", ")
}

func (f flows) byRound(t *flowTable, p job.Piece, g group, rounds []job.Round) {
	for _, o := range p.Openings {
		t.Head = append(t.Head, opening(p.Kind, o))
	}
	t.HasMean = len(p.Openings) > 1
	for _, r := range rounds {
		row := flowRow{Round: r.ID, Title: f.n.Round(r.ID)}
		if !r.Date.IsZero() {
			row.Sub = r.Date.Format("2 Jan 2006")
		}
		for _, o := range p.Openings {
			row.Cells = append(row.Cells, f.cellOf(g, r.ID, o, 0))
		}
		for _, rig := range g.rigs {
			if row.Verdict == nil {
				row.Verdict = f.verdict(rig, r.ID, "", 0)
			}
		}
		row.Mean = meanOf(row)
		if row.Verdict != nil {
			row.Against, t.HasVerdict = f.n.Round(row.Verdict.From), true
		}
		t.Rows = append(t.Rows, row)
	}
}

func (f flows) byLift(t *flowTable, p job.Piece, g group, rounds []job.Round, lifts []float64) {
	type column struct{ round, opening string }
	var cols []column
	for _, r := range rounds {
		for _, o := range p.Openings {
			flowed := func(l float64) bool { return f.cellOf(g, r.ID, o, l).Reading != "" }
			if slices.ContainsFunc(lifts, flowed) {
				cols = append(cols, column{r.ID, o})
				t.Head = append(t.Head, f.n.Round(r.ID)+", "+opening(p.Kind, o))
			}
		}
	}
	for _, l := range lifts {
		row := flowRow{Lift: l}
		for _, c := range cols {
			row.Cells = append(row.Cells, f.cellOf(g, c.round, c.opening, l))
		}
		t.Rows = append(t.Rows, row)
	}
}

// cellOf is the flow under the first rig card of a group that was used.
func (f flows) cellOf(g group, round, opening string, lift float64) flowCell {
	for _, rig := range g.rigs {
		if c := f.cell(cellKey{rig, round, opening, lift}); c.Reading != "" {
			return c
		}
	}
	return flowCell{}
}

// cell is the flow of one opening: as the match gives it, else the mean of its readings.
func (f flows) cell(k cellKey) flowCell {
	var c flowCell
	sum, half := 0.0, 0.0
	for _, r := range f.readings[k] {
		if !r.Usable {
			c.Refused++
			continue
		}
		if c.N == 0 {
			c.Reading = r.ID
		}
		c.N++
		sum += r.Flow
		half = max(half, r.Flow*r.UExpandedRel)
	}
	if c.N == 0 {
		if all := f.readings[k]; len(all) > 0 {
			c.Reading = all[0].ID
		}
		return c
	}
	c.Known, c.Flow, c.Half = true, sum/float64(c.N), half
	if m, ok := f.match[k]; ok {
		c.Flow, c.Half, c.Odd = m.Flow, (m.Hi95-m.Lo95)/2, m.Odd
	}
	if v := f.verdict(k.rig, k.round, k.opening, k.lift); v != nil {
		c.Word, c.Against = v.Word, f.n.Round(v.From)
	}
	return c
}

// meanOf is the mean of the openings of a row.
func meanOf(row flowRow) flowCell {
	var c flowCell
	for _, one := range row.Cells {
		if one.Known {
			c.Flow += one.Flow
			c.N++
		}
	}
	if c.N == 0 {
		return c
	}
	c.Known = true
	c.Flow /= float64(c.N)
	if row.Verdict != nil {
		c.Word = row.Verdict.Word
	}
	return c
}

// verdict finds the comparison that ends in a round under a rig card: the one that begins earliest, as they are listed.
func (f flows) verdict(rig, round, opening string, lift float64) *assess.Verdict {
	for i := range f.verdicts {
		v := &f.verdicts[i]
		if v.To == round && v.ToRig == rig && v.Opening == opening && v.Lift == lift {
			return v
		}
	}
	return nil
}
