package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
)

// A jobCardPage is where a job is written on: one more round, or job.toml as a whole.
type jobCardPage struct {
	sheet
	form
	J        job.Job
	Kept     string // job.toml as it is
	Tag      string // names that state
	Like     string // what is added to it for a start: the lines of an engine card
	Problems job.Problems
	Error    string
}

// Text is job.toml as it was typed, else as it is.
func (p jobCardPage) Text() string {
	if p.Do == "write" {
		return p.Typed.Get("text")
	}
	return p.Kept + p.Like
}

// Rows is the height that shows all of the text: a finger scrolls the page, not a field in it.
func (p jobCardPage) Rows() int { return max(20, 2+strings.Count(p.Text(), "\n")) }

// Why is the reason as it was typed.
func (p jobCardPage) Why() string { return p.Typed.Get("why") }

// likeEngine are the lines of an engine card that are needed, to be filled in; what is left to fill in is refused line by line.
func likeEngine(j job.Job) string {
	cylinders, piece := "0", ""
	if i := slices.IndexFunc(j.Pieces, func(p job.Piece) bool { return p.Kind == "manifold" }); i >= 0 {
		cylinders, piece = strconv.Itoa(len(j.Pieces[i].Openings)), "runner_piece = "+job.Quoted(j.Pieces[i].ID)+"\n"
	}
	const cam = `opens = "…"      # "12 deg", as a cam card has it
closes = "…"
peak_lift = "…"  # at the valve, "10.5 mm"
`
	return `
[engine]
cylinders = ` + cylinders + `
bore = "…"       # "86 mm", or "3.386 in"
stroke = "…"
compression_ratio = 0  # a number, 10.2

[engine.cam.intake]
` + cam + `
[engine.cam.exhaust]
` + cam + `
[engine.intake_valve]
head = "…"       # diameter

[engine.exhaust_valve]
head = "…"

[engine.inlet]
runner_length = "…"  # plenum to head face
` + piece
}

func (s *server) showJobCard(w http.ResponseWriter, r *http.Request) {
	s.jobCard(w, r, http.StatusOK, form{}, nil)
}

// jobCard draws the page; err is what was wrong with what was sent.
func (s *server) jobCard(w http.ResponseWriter, r *http.Request, status int, f form, err error) {
	j, text, tag, broken := s.app.JobText(r.Context(), r.PathValue("id"))
	if broken != nil {
		s.fail(w, r, broken)
		return
	}
	p := jobCardPage{sheet: s.jobSheet(r, j, "record", "Change the job"), form: f, J: j, Kept: text, Tag: tag}
	p.Here = jobCardPath(j.ID)
	if j.Engine == nil && r.URL.Query().Get("add") == "engine" {
		p.Like = likeEngine(j)
	}
	if ps, ok := errors.AsType[job.Problems](err); ok {
		p.Error, p.Problems = "job.toml has to be mended first; nothing was changed.", ps
	} else if err != nil && f.Wrong == nil {
		p.Error = sentence(err.Error())
	}
	s.render(w, r, status, "job_card.html", p)
}

func jobCardPath(id string) string { return "/jobs/" + url.PathEscape(id) + "/card" }

// changeJobCard adds a round, or writes job.toml anew.
func (s *server) changeJobCard(w http.ResponseWriter, r *http.Request) {
	f, ok := s.readForm(w, r)
	if !ok {
		return
	}
	id, v := r.PathValue("id"), f.Typed
	did := "changed"
	var err error
	if f.Do == "round" {
		did = "round-added"
		_, err = s.app.AddRound(r.Context(), id, app.NewRound{Piece: v.Get("piece"), Title: v.Get("title"), Did: v.Get("did")})
	} else {
		f.Do = "write"
		err = s.app.SaveJobText(r.Context(), id, v.Get("tag"), strings.TrimRight(v.Get("text"), " \t\r\n")+"\n", v.Get("why"))
	}
	if err == nil {
		http.Redirect(w, r, "/jobs/"+url.PathEscape(id)+"?did="+did, http.StatusSeeOther)
		return
	}
	kind := fault.KindOf(err)
	if kind == fault.Internal || kind == fault.NotFound {
		s.fail(w, r, err)
		return
	}
	s.wrongForm(&f, err)
	s.jobCard(w, r, statusOf[kind], f, err)
}
