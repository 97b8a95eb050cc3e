package web

import (
	"html/template"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"runnel/assess"
	"runnel/internal/app"
	"runnel/internal/plot"
	"runnel/job"
)

// A storyPage is a job from booking in to its answer.
type storyPage struct {
	sheet
	J           job.Job
	Names       names
	Headline    *assess.Verdict
	Steps       []step
	WaySetup    string // what the flows of the steps were taken with
	Reference   assess.Reference
	Tables      []flowTable
	Verdicts    []assess.Verdict
	VerdictFig  picture
	Matches     []assess.Match
	MatchNotes  []string
	MatchFig    picture
	LiftFig     picture
	Restriction []assess.Restriction
	RestrictFig picture
	Sittings    []sittingLine
	Usable      int
	Refused     []assess.Reading
	Warnings    []string
	Progress    app.Progress
	Pull        *assess.Pull
	Best        *assess.Change // the largest change of torque, nil without a pull
}

// A step is one round on the way.
type step struct {
	job.Round
	Flowed int // usable readings
	Flow   float64
	Known  bool
	Word   string
	Change float64 // mean effective area against the first round, ratio [-]; 0 not known
}

// A sittingLine is the short of a sitting.
type sittingLine struct {
	assess.Sitting
	Facts    job.Sitting
	Readings int
	Worst    float64 // size of the largest check-plate deviation [-]
	Leak     float64 // leakage over the mean reading's flow [-]; 0 not known
}

func (s *server) showStory(w http.ResponseWriter, r *http.Request) {
	a, ok := s.assessed(w, r)
	if !ok {
		return
	}
	s.render(w, r, http.StatusOK, "story.html", newStory(s.jobSheet(r, a.Job, "story", "Story"), a))
}

func newStory(sh sheet, a app.Assessed) *storyPage {
	as := a.Assessment
	p := &storyPage{
		sheet: sh, J: a.Job, Names: namesOf(a.Job), Headline: app.Headline(a.Job, as), Reference: as.Reference,
		Tables: flowTables(a.Job, as), Restriction: as.Restriction, Sittings: sittingLines(a.Job, as),
		Warnings: as.Warnings, Progress: a.Progress, Pull: as.Pull,
	}
	p.Steps, p.WaySetup = steps(p, as)
	for _, v := range as.Verdicts {
		if v.Opening == "" {
			p.Verdicts = append(p.Verdicts, v)
		}
	}
	for _, r := range as.Readings {
		if r.Usable {
			p.Usable++
		} else {
			p.Refused = append(p.Refused, r)
		}
	}
	if as.Pull != nil {
		for i := range as.Pull.Change {
			if c := &as.Pull.Change[i]; p.Best == nil || c.Torque > p.Best.Torque {
				p.Best = c
			}
		}
	}
	p.figures(as)
	return p
}

func (p *storyPage) figures(as assess.Assessment) {
	var wide, narrow []plot.VerdictRow
	for _, v := range p.Verdicts {
		v.Refused = p.U.sys.Text(v.Refused)
		wide = append(wide, plot.VerdictRow{Label: p.verdictLabel(v), Verdict: v})
		entry, _, _ := strings.Cut(p.Names.Setup(v), " ")
		narrow = append(narrow, plot.VerdictRow{Label: p.Names.Round(v.To) + ", " + entry, Verdict: v})
	}
	if len(wide) > 0 {
		p.VerdictFig.Wide = drawn(plot.Verdicts(wide, as.Reference.SmallestChange)).Wide
		p.VerdictFig.Narrow = drawn(plot.Verdicts(narrow, as.Reference.SmallestChange)).Narrow
	}
	main := app.MainPiece(p.J)
	var rows []plot.MatchRow
	matches := slices.Clone(as.Match)
	slices.SortStableFunc(matches, func(a, b assess.Match) int { return rigPlace(p.J, a.Rig) - rigPlace(p.J, b.Rig) })
	for _, m := range matches {
		if m.Lift != 0 || len(m.Runners) < 2 {
			continue
		}
		p.Matches = append(p.Matches, m)
		if m.Note != "" && !slices.Contains(p.MatchNotes, m.Note) {
			p.MatchNotes = append(p.MatchNotes, m.Note)
		}
		if m.Piece == main {
			rows = append(rows, plot.MatchRow{Label: p.Names.Round(m.Round) + ", " + p.Names.Entry(m.Rig), Match: m})
		}
	}
	if len(rows) > 0 {
		p.MatchFig = drawn(plot.Match(rows, p.U.sys))
	}
	if len(as.Restriction) > 0 {
		p.RestrictFig = drawn(plot.Restriction(as.Restriction, p.Names.Piece))
	}
	if curves := liftCurves(p.J, p.Names, as); len(curves) > 0 {
		p.LiftFig = drawn(plot.OverLift(curves, p.U.sys))
	}
}

// SpreadKnown reports whether it is known of any match how far its spread may be off.
func (p storyPage) SpreadKnown() bool {
	return slices.ContainsFunc(p.Matches, func(m assess.Match) bool { return m.TrueSpread(1) != "" })
}

// TractNote returns the words under the i-th state of the tract: none where the next state says the same.
func (p storyPage) TractNote(i int) string {
	note := p.Restriction[i].Note
	if i+1 < len(p.Restriction) && p.Restriction[i+1].Note == note {
		return ""
	}
	return note
}

func rigPlace(j job.Job, id string) int {
	return slices.IndexFunc(j.Rigs, func(r job.RigCard) bool { return r.ID == id })
}

func (p *storyPage) verdictLabel(v assess.Verdict) string {
	label := p.Names.Round(v.From) + " → " + p.Names.Round(v.To)
	if v.Lift > 0 {
		label += ", lift " + p.U.Length(v.Lift) + " " + p.U.LengthUnit()
	}
	if v.FromRig != v.ToRig {
		label += ", " + p.Names.Entry(v.FromRig) + " → " + p.Names.Entry(v.ToRig)
	} else if _, ok := p.Names.rig[v.ToRig]; ok {
		label += ", " + p.Names.Entry(v.ToRig)
	}
	return label
}

// Open says what would settle a verdict that is not settled; nothing for one that is.
func (p *storyPage) Open(v assess.Verdict) string {
	if markOf(v.Word).Glyph != "open" {
		return ""
	}
	each := 1
	if v.Opening == "" {
		if piece := slices.IndexFunc(p.J.Pieces, func(x job.Piece) bool { return x.ID == v.Piece }); piece >= 0 {
			each = max(1, len(p.J.Pieces[piece].Openings))
		}
	}
	smallest := number(100*p.Reference.SmallestChange, 1) + " %"
	switch {
	case v.RepeatsNeeded > min(v.NFrom, v.NTo)/each:
		return "If the change is what it looks like, about " + strconv.Itoa(v.RepeatsNeeded) + " repeats of each opening a side would settle it."
	case v.RepeatsNeeded < 0:
		return "No number of repeats settles it: the change is as good as the smallest one worth claiming, " + smallest + ", or what the two sides share leaves more doubt."
	case v.Lo95 > 1 || v.Hi95 < 1:
		return "Something changed, but not surely by as much as the smallest change worth claiming, " + smallest + "."
	}
	return ""
}

// liftCurves is one curve an opening and round of the pieces that were flowed over lift.
func liftCurves(j job.Job, n names, as assess.Assessment) []plot.LiftCurve {
	var curves []plot.LiftCurve
	place := map[string]int{}
	for _, r := range as.Readings {
		if r.Lift <= 0 {
			continue
		}
		label := n.Round(r.Round) + ", " + opening("head", r.Opening)
		i, ok := place[label]
		if !ok {
			i = len(curves)
			place[label] = i
			curves = append(curves, plot.LiftCurve{Label: label, Ink: plot.After})
		}
		curves[i].Readings = append(curves[i].Readings, r)
	}
	first := ""
	for _, r := range j.Rounds { // the first round of a head is what the work began from
		for i := range curves {
			if strings.HasPrefix(curves[i].Label, n.Round(r.ID)+",") && (first == "" || first == r.ID) && len(j.Rounds) > 1 {
				first = r.ID
				if hasLater(curves, n.Round(r.ID)) {
					curves[i].Ink, curves[i].Dash = plot.Before, true
				}
			}
		}
	}
	return curves
}

func hasLater(curves []plot.LiftCurve, round string) bool {
	return slices.ContainsFunc(curves, func(c plot.LiftCurve) bool { return !strings.HasPrefix(c.Label, round+",") })
}

// steps is the way of the main piece, round by round, in the set-up that most of its rounds were flowed in.
func steps(p *storyPage, as assess.Assessment) (way []step, setup string) {
	main := app.MainPiece(p.J)
	var best flowTable
	for _, t := range p.Tables {
		if t.Piece == main && !t.Lifts && len(t.Rows) > len(best.Rows) {
			best = t
		}
	}
	usable := map[string]int{}
	for _, r := range as.Readings {
		if r.Usable {
			usable[r.Round]++
		}
	}
	for _, r := range p.J.Rounds {
		if r.Piece != main {
			continue
		}
		st := step{Round: r, Flowed: usable[r.ID]}
		for _, row := range best.Rows {
			if row.Round != r.ID {
				continue
			}
			st.Flow, st.Known = row.Mean.Flow, row.Mean.Known
			if v := row.Verdict; v != nil && v.Refused == "" {
				st.Word, st.Change = v.Word, v.Ratio
			}
		}
		way = append(way, st)
	}
	setup, _, _ = strings.Cut(best.Setup, ",")
	return way, setup
}

func sittingLines(j job.Job, as assess.Assessment) []sittingLine {
	facts := map[string]job.Sitting{}
	for _, s := range j.Sittings {
		facts[s.ID] = s
	}
	count, flow := map[string]int{}, map[string]float64{}
	for _, r := range as.Readings {
		if r.Usable {
			count[r.Sitting]++
			flow[r.Sitting] += r.Flow
		}
	}
	var out []sittingLine
	for _, s := range as.Sittings {
		l := sittingLine{Sitting: s, Facts: facts[s.ID], Readings: count[s.ID]}
		for _, d := range s.CheckDeviation {
			if d*d > l.Worst*l.Worst {
				l.Worst = math.Abs(d)
			}
		}
		if n := count[s.ID]; n > 0 && flow[s.ID] > 0 {
			l.Leak = s.LeakFlow * float64(n) / flow[s.ID]
		}
		out = append(out, l)
	}
	return out
}

// A picture is a figure drawn for a wide and for a narrow page; the style sheet shows one of them.
type picture struct{ Wide, Narrow template.HTML }

// Widths a figure is drawn for [px].
const (
	wideFigure   = 860.0 // [px]
	pairFigure   = 440.0 // two beside each other [px]
	narrowFigure = 350.0 // [px]
)

func drawn(f plot.Figure) picture { return drawnFor(f, wideFigure) }

func drawnFor(f plot.Figure, width float64) picture {
	wide, narrow := f, f
	wide.Width, narrow.Width = width, narrowFigure
	return picture{template.HTML(wide.SVG()), template.HTML(narrow.SVG())} //nolint:gosec // package plot escapes every text it is given
}
