package web

import (
	"net/http"
	"net/url"
	"slices"
	"strings"

	"runnel/internal/app"
	"runnel/job"
	"runnel/passage"
	"runnel/unit"
)

// A passagesPage lists the openings of a job and what is known of the passages behind them.
type passagesPage struct {
	sheet
	Pieces []passagePiece
	Known  int
}

type passagePiece struct {
	Title string
	Lines []passageLine
}

type passageLine struct {
	Title, Address string
	States         []app.PassageState
}

// passageAddress is the address of a passage.
func passageAddress(id, piece, opening string) string {
	return "/jobs/" + url.PathEscape(id) + "/passages/" + url.PathEscape(piece) + "/" + url.PathEscape(opening)
}

func (s *server) showPassages(w http.ResponseWriter, r *http.Request) {
	j, lines, err := s.app.Passages(r.Context(), r.PathValue("id"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	p := passagesPage{sheet: s.jobSheet(r, j, "passages", "Passages")}
	for _, l := range lines {
		title := orID(l.Piece.Title, l.Piece.ID)
		if len(p.Pieces) == 0 || p.Pieces[len(p.Pieces)-1].Title != title {
			p.Pieces = append(p.Pieces, passagePiece{Title: title})
		}
		at := &p.Pieces[len(p.Pieces)-1]
		at.Lines = append(at.Lines, passageLine{capital(opening(l.Piece.Kind, l.Opening)), passageAddress(j.ID, l.Piece.ID, l.Opening), l.States})
		p.Known += len(l.States)
	}
	s.render(w, r, http.StatusOK, "passages.html", p)
}

// A passagePage is the passage behind one opening.
type passagePage struct {
	sheet
	J          job.Job
	Names      names
	Base       string
	Piece      job.Piece
	Opening    string // in words
	Book       app.PassageBook
	State      *app.PassageState // nil when nothing is known in the round that is looked at
	Before     *app.PassageState // nil when there is none to hold it against
	Round      string            // that is looked at
	RoundTitle string
	Sections   app.SectionsAnswer
	Ledger     *app.StateLedger
	Ask        app.LedgerAsk
	LedgerNote string // why there is none
	Bars       []headroomBar
	Cautions   []string
	AreaFig    picture
	SpeedFig   picture
	LedgerFig  picture
	CutFig     picture
	Removed    *passage.Difference
	RemoveNote string
	Alloy      string
	Rows       []stationRow
	Data       viewData
	Traverses  []traverseView
	HasOutline bool
	typedForm
}

// A typedForm is what was typed into a form of the page that could not be taken, and why.
type typedForm struct {
	Do       string // which form
	Wrong    string
	Cells    []*passage.CellError
	Ask      *app.UnitQuestionError
	Typed    string // stations, walls
	Fields   url.Values
	FileName string
}

// A headroomBar is one line of the headroom.
type headroomBar struct {
	Name  string
	Gain  float64 // [-]
	Share float64 // of the longest [-]
}

// A stationRow is one station in the table.
type stationRow struct {
	app.SectionAnswer

	Number int
	Gain   float64 // flow gained for one per cent more area here [%]
	Cut    float64 // depth that may come off [m]
	Then   float64 // area after that [m²]
	Room   float64 // flow gained by it [-]
}

func (s *server) showPassage(w http.ResponseWriter, r *http.Request) {
	s.passagePage(w, r, http.StatusOK, typedForm{})
}

func (s *server) passagePage(w http.ResponseWriter, r *http.Request, status int, form typedForm) {
	a, err := s.app.Corrected(r.Context(), r.PathValue("id"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	b, err := s.app.Passage(r.Context(), a.Job.ID, r.PathValue("piece"), r.PathValue("opening"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	words := opening(b.Piece.Kind, b.Opening)
	p := passagePage{
		sheet: s.jobSheet(r, a.Job, "passages", capital(words)), J: a.Job, Names: namesOf(a.Job), Base: passageAddress(a.Job.ID, b.Piece.ID, b.Opening),
		Piece: b.Piece, Opening: capital(words), Book: b, typedForm: form,
	}
	q := r.URL.Query()
	if r.Method != http.MethodGet {
		p.Here = p.Base
	}
	p.choose(q.Get("round"), q.Get("before"))
	p.Ask = app.LedgerAsk{Drop: q.Get("dp"), Surface: q.Get("surface"), Rig: q.Get("rig"), Entry: q.Get("entry")}
	if p.State != nil {
		p.fill(a)
		for _, t := range b.Traverses {
			if t.Round == p.State.Round {
				p.Traverses = append(p.Traverses, s.traverseView(r, b, t))
			}
		}
	}
	s.render(w, r, status, "passage.html", p)
}

// choose picks the state that is looked at and the one it is held against.
func (p *passagePage) choose(round, before string) {
	states := p.Book.States
	if round == "" {
		if last, ok := p.Book.Last(); ok {
			round = last.Round
		} else if len(p.Book.Rounds) > 0 {
			round = p.Book.Rounds[0].ID
		}
	}
	p.Round, p.RoundTitle = round, p.Names.Round(round)
	i := slices.IndexFunc(states, func(s app.PassageState) bool { return s.Round == round })
	if i < 0 {
		return
	}
	p.State = &states[i]
	k := slices.IndexFunc(states, func(s app.PassageState) bool { return s.Round == before })
	if before == "" && i > 0 {
		k = 0
	}
	if k >= 0 && k != i {
		p.Before = &states[k]
	}
}

// fill works everything out that is shown of a state.
func (p *passagePage) fill(a app.Assessed) {
	p.Sections = app.Sections(app.ReadPassage{Passage: p.State.Passage})
	for _, w := range p.State.Warnings {
		p.Cautions = append(p.Cautions, sentence(p.U.sys.Text(w)))
	}
	p.Cautions = append(p.Cautions, p.Book.WordsOnWall(*p.State)...)
	_, p.Alloy = app.AlloyDensity(p.Piece.Material)
	readings := a.Assessment.Readings
	l, err := p.Book.Ledger(*p.State, readings, p.Ask)
	if err != nil {
		p.LedgerNote = sentence(p.U.sys.Text(err.Error()))
	} else {
		p.Ledger = &l
		p.Bars = headroomBars(l.Headroom)
		p.LedgerFig = drawn(ledgerFigure(l.Ledger, p.U.sys))
	}
	var old *app.StateLedger
	if p.Before != nil {
		ask := p.Ask
		ask.Rig = ""
		if o, err := p.Book.Ledger(*p.Before, readings, ask); err == nil {
			old = &o
		}
		if d, err := p.Book.Removed(*p.Before, *p.State); err != nil {
			p.RemoveNote = sentence(p.U.sys.Text(err.Error()))
		} else {
			p.Removed = &d
			p.CutFig = drawn(cutFigure(d, p.Piece.LeastWall, p.U.sys))
		}
	}
	p.AreaFig = drawnFor(areaFigure(p), pairFigure)
	if p.Ledger != nil {
		p.SpeedFig = drawnFor(speedFigure(p, old), pairFigure)
	}
	p.rows()
	p.Data = p.viewData()
}

func headroomBars(h app.HeadroomAnswer) []headroomBar {
	out := []headroomBar{{Name: "With the best entry", Gain: h.Entry}, {Name: "With a smooth wall", Gain: h.Wall}, {Name: "With both, if what is unexplained stays", Gain: h.Both}}
	if h.Found != 0 {
		out = append(out, headroomBar{Name: "With what is unexplained found and mended", Gain: h.Found})
	}
	out = append(out, headroomBar{Name: "The physical ceiling on these sections", Gain: h.Ceiling})
	if h.WallKnown {
		out = append(out, headroomBar{Name: "With both, and every section opened to the least wall", Gain: h.Opened})
	}
	most := 0.0
	for _, b := range out {
		most = max(most, b.Gain)
	}
	for i := range out {
		if most > 0 {
			out[i].Share = max(0, out[i].Gain/most)
		}
	}
	return out
}

func (p *passagePage) rows() {
	for i, s := range p.Sections.Sections {
		row := stationRow{SectionAnswer: s, Number: i + 1}
		if p.Ledger != nil {
			for _, g := range p.Ledger.Sensitivity {
				if g.Station == i {
					row.Gain = g.Gain
				}
			}
			for _, m := range p.Ledger.Rooms {
				if m.Station == i {
					row.Cut, row.Then, row.Room = m.Cut, m.Area, m.Gain
				}
			}
		}
		p.Rows = append(p.Rows, row)
	}
	for _, s := range p.State.Passage.Stations() {
		p.HasOutline = p.HasOutline || len(s.Outline) > 0
	}
}

// Losses are the lines of the ledger with the wall friction as one.
func (p passagePage) Losses() []app.LossAnswer {
	var out []app.LossAnswer
	wall := -1
	for _, l := range p.Ledger.Losses {
		switch {
		case l.Kind != "friction":
			out = append(out, l)
		case wall < 0:
			wall = len(out)
			l.Name = "wall friction, whole length"
			out = append(out, l)
		default:
			out[wall].Drop += l.Drop
			out[wall].Share += l.Share
			out[wall].To = l.To
		}
	}
	return out
}

// StationsText is what the form of stations holds.
func (p passagePage) StationsText() string {
	if p.Do == "stations" {
		return p.Typed
	}
	if p.State != nil {
		return p.State.Text
	}
	return strings.ReplaceAll("s_mm,shape,diameter_mm,wall_mm,bend_deg\n0,round,,,0\n", "_mm", "_"+p.U.LengthUnit())
}

// Field is what was typed into a field of the form that was refused.
func (p passagePage) Field(do, name string) string {
	if p.Do != do || p.Fields == nil {
		return ""
	}
	return p.Fields.Get(name)
}

// MassOf is the mass of a volume of the piece's alloy [m³].
func (p passagePage) MassOf(volume float64) string {
	density, _ := app.AlloyDensity(p.Piece.Material)
	return figure(p.U.sys.Mass(), density*volume)
}

// Cubic shows a volume of the size of a passage with its unit.
func (s show) Cubic(si float64) string {
	if s.IsUS() {
		return unit.Volume.Format(si, "in³", 2)
	}
	return unit.Volume.Format(si, "cm³", 1)
}

// Speed shows a velocity with its unit.
func (s show) Speed(si float64) string {
	if s.IsUS() {
		return unit.Velocity.Format(si, "ft/s", 0)
	}
	return unit.Velocity.Format(si, "m/s", 1)
}

// Degrees is an angle in degrees.
func (s show) Degrees(rad float64) string { return number(unit.Angle.In(rad, "°"), 1) + "°" }

// Fine is a short length: a wall or a depth of cut.
func (s show) Fine(si float64) string {
	if s.IsUS() {
		return number(unit.Length.In(si, "in"), 4)
	}
	return number(1e3*si, 2)
}

// Inside is a title in the middle of a sentence.
func (n names) Inside(title string) string { return inSentence(title) }
