package web

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"net/http"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/unit"
)

//go:embed templates/*.html
var templateFiles embed.FS

// parsePages returns the pages for readers of each system of units, which differ in how sentences of the engineering are told.
func parsePages(a *assets) (map[unit.System]*template.Template, error) {
	pages := make(map[unit.System]*template.Template, 2)
	for _, sys := range []unit.System{unit.Metric, unit.US} {
		t, err := template.New("").Funcs(words(a, sys)).ParseFS(templateFiles, "templates/*.html")
		if err != nil {
			return nil, fmt.Errorf("web: %w", err)
		}
		pages[sys] = t
	}
	return pages, nil
}

// A sheet is what every page has round its own content.
type sheet struct {
	Title string
	Here  string // the page's own address, to come back to
	Theme string // "auto", "light" or "dark"
	U     show
	Job   *jobHead // nil outside a job
	Note  string   // what was just done, in words
	Demo  bool     // the whole shop is invented
}

// A jobHead heads the pages of one job.
type jobHead struct {
	ID       string
	Title    string
	Customer string
	Invented bool
	Tab      string // the page of the job that is open
}

func (s *server) sheet(r *http.Request, title string) sheet {
	return sheet{Title: title, Here: r.URL.RequestURI(), Theme: themeOf(r), U: show{systemOf(r)}, Note: notes[r.URL.Query().Get("did")], Demo: s.opt.Demo}
}

func (s *server) jobSheet(r *http.Request, j job.Job, tab, title string) sheet {
	sh := s.sheet(r, title+" · "+j.Title)
	sh.Job = &jobHead{ID: j.ID, Title: j.Title, Customer: j.Customer.Name, Invented: j.Invented, Tab: tab}
	return sh
}

// render renders a page in full before it sends the first byte.
func (s *server) render(w http.ResponseWriter, r *http.Request, status int, name string, page any) {
	var b bytes.Buffer
	if err := s.pages[systemOf(r)].ExecuteTemplate(&b, name, page); err != nil {
		s.log.Error("template", "page", name, "path", r.URL.Path, "error", err)
		http.Error(w, "This page could not be drawn. It is our fault; the details are in the log.", http.StatusInternalServerError)
		return
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	if _, err := w.Write(b.Bytes()); err != nil {
		s.log.Debug("page cut short", "error", err)
	}
}

// A failure is a page that says what went wrong and what to do.
type failure struct {
	sheet
	Status   int
	Heading  string
	Text     string
	Problems job.Problems
}

var statusOf = map[fault.Kind]int{
	fault.Internal: http.StatusInternalServerError,
	fault.Invalid:  http.StatusUnprocessableEntity,
	fault.NotFound: http.StatusNotFound,
	fault.Conflict: http.StatusConflict,
	fault.Device:   http.StatusBadGateway,
}

var headingOf = map[fault.Kind]string{
	fault.Internal: "Something broke",
	fault.Invalid:  "That cannot be read yet",
	fault.NotFound: "There is nothing here",
	fault.Conflict: "Someone changed it first",
	fault.Device:   "The bench did not answer",
}

// fail answers with the page of the error's kind. Of our own faults a stranger sees nothing but that there was one.
func (s *server) fail(w http.ResponseWriter, r *http.Request, err error) {
	kind := fault.KindOf(err)
	var problems job.Problems
	text := sentence(systemOf(r).Text(err.Error()))
	if ps, ok := errors.AsType[job.Problems](err); ok {
		problems, kind = ps, fault.Invalid
		text = "The job folder has to be mended first."
	} else if kind == fault.Internal {
		s.log.Error("page", "path", r.URL.Path, "error", err)
		text = "This is our fault, not yours. Nothing you entered was changed; the details are in the log."
	}
	s.failPage(w, r, statusOf[kind], headingOf[kind], text, problems)
}

func (s *server) failPage(w http.ResponseWriter, r *http.Request, status int, heading, text string, problems job.Problems) {
	s.render(w, r, status, "failure.html", failure{
		sheet: s.sheet(r, heading), Status: status, Heading: heading, Text: text, Problems: problems,
	})
}

func (s *server) notFound(w http.ResponseWriter, r *http.Request) {
	s.failPage(w, r, http.StatusNotFound, headingOf[fault.NotFound], "No page of Runnel has this address. It may belong to a job that was deleted or renamed.", nil)
}

// assessed returns the job a request is about, or answers with the failure.
func (s *server) assessed(w http.ResponseWriter, r *http.Request) (app.Assessed, bool) {
	a, err := s.app.Assessment(r.Context(), r.PathValue("id"))
	if err != nil {
		s.fail(w, r, err)
		return app.Assessed{}, false
	}
	return a, true
}

// notes are what a page says after something was done; an address can only name one of them.
var notes = map[string]string{
	"booked-in":    "The job is booked in.",
	"new":          "The folder was sound, and its job is in the book.",
	"changed":      "The job was changed; the state before is kept in its record.",
	"round-added":  "The round is added. Plan its readings at the live bench, in a new sitting or in the last one.",
	"unchanged":    "This folder was already here, so nothing changed.",
	"brought-back": "The job is back.",
	"deleted":      "The job was put away. It can be brought back below.",

	"passage-mesh":     "The mesh was cut into sections; its stations are in the job's folder.",
	"passage-stations": "The stations are kept; the state before is in the job's record.",
	"passage-walls":    "The wall readings are kept with the stations.",
	"passage-traverse": "The traverse was worked out.",
	"passage-remove":   "The file was put away.",
	checkKept:          "It is kept in the shop's folder.",
	checkAway:          "It is put away. Nothing is lost: it can be brought back below.",
	checkBack:          "It is back among those that are kept.",
	"calibration-kept": "The calibration is kept in the shop's folder.",
	"calibration-card": "The curve is on the shop's bench card. The card before is in its record, and can be brought back there.",
	"slices-add":       "The picture is kept.",
	"slices-change":    "The picture was changed.",
	"slices-outline":   "The outline is kept as it was drawn.",
	"slices-remove":    "The picture was put away.",
}

func systemOf(r *http.Request) unit.System {
	if c, err := r.Cookie(unitsCookie); err == nil {
		if s, err := unit.ParseSystem(c.Value); err == nil {
			return s
		}
	}
	return unit.Metric
}
