package web

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
)

// A form is what was typed into a page and what is wrong with it, so that nothing is lost.
type form struct {
	Do    string     // which form of the page it was; empty: none was sent
	Typed url.Values // as it was sent
	Wrong app.FieldProblems
}

// A field is one field of a form as a template draws it.
type field struct {
	ID, Name, Label, Hint, Value, Wrong, Kind string
}

// Field is a field of the form do: what was typed into it before, or initial.
func (f form) Field(do, name, label, hint, initial string) field {
	out := field{ID: do + "-" + name, Name: name, Label: label, Hint: hint, Value: initial, Kind: "text"}
	if f.Do == do {
		out.Value, out.Wrong = f.Typed.Get(name), f.Wrong[name]
	}
	return out
}

// Chosen reports whether an option is the one that was chosen.
func (f form) Chosen(do, name, value, initial string) bool {
	if f.Do == do {
		return f.Typed.Get(name) == value
	}
	return value == initial
}

// Trouble is what is wrong with a field of the form do.
func (f form) Trouble(do, name string) string {
	if f.Do != do {
		return ""
	}
	return f.Wrong[name]
}

// A newSittingPage begins a sitting.
type newSittingPage struct {
	sheet
	form
	Bench job.Bench
	Now   string
	Error string
}

func (s *server) showNewSitting(w http.ResponseWriter, r *http.Request) {
	s.newSitting(w, r, http.StatusOK, form{}, "")
}

func (s *server) newSitting(w http.ResponseWriter, r *http.Request, status int, f form, trouble string) {
	j, err := s.app.Facts(r.Context(), r.PathValue("id"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	p := newSittingPage{sheet: s.jobSheet(r, j, "sittings", "New sitting"), form: f, Bench: j.Bench, Now: time.Now().Format(browserTime), Error: trouble} //nolint:forbidigo // what the form proposes
	p.Here = "/jobs/" + url.PathEscape(j.ID) + "/sittings/new"
	s.render(w, r, status, "sitting_new.html", p)
}

// browserTime is how a browser's field for an instant writes it.
const browserTime = "2006-01-02T15:04"

func (s *server) beginSitting(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	f, ok := s.readForm(w, r)
	if !ok {
		return
	}
	f.Do = "air"
	sitting, err := s.app.BeginSitting(r.Context(), id, app.NewSitting{
		ID: f.Typed.Get("id"), By: f.Typed.Get("by"), Note: f.Typed.Get("note"), Air: airTyped(f.Typed),
	})
	if err != nil {
		if s.wrongForm(&f, err) {
			s.newSitting(w, r, statusOf[fault.KindOf(err)], f, "")
			return
		}
		s.fail(w, r, err)
		return
	}
	if f.Typed.Get("then") == "bench" {
		if err := s.app.OpenBench(r.Context(), id, sitting); err == nil {
			http.Redirect(w, r, "/bench", http.StatusSeeOther)
			return
		}
	}
	http.Redirect(w, r, walkPath(id, sitting)+"?did=sat-begun", http.StatusSeeOther)
}

func airTyped(v url.Values) app.AirTyped {
	return app.AirTyped{At: v.Get("at"), Pressure: v.Get("pressure"), Temperature: v.Get("temp"), Humidity: v.Get("rh")}
}

func walkPath(id, sitting string) string {
	return "/jobs/" + url.PathEscape(id) + "/sittings/" + url.PathEscape(sitting) + "/walk"
}

// readForm reads a posted form of moderate size.
func (s *server) readForm(w http.ResponseWriter, r *http.Request) (form, bool) {
	r.Body = http.MaxBytesReader(w, r.Body, 64<<10)
	if err := r.ParseForm(); err != nil {
		s.fail(w, r, fault.As(fault.Invalid, err))
		return form{}, false
	}
	return form{Do: r.PostForm.Get("do"), Typed: r.PostForm}, true
}

// wrongForm takes the problems of a form out of an error; false when it has none.
func (s *server) wrongForm(f *form, err error) bool {
	wrong, ok := errors.AsType[app.FieldProblems](err)
	f.Wrong = wrong
	return ok
}

// A walkPage walks through a sitting, step by step.
type walkPage struct {
	sheet
	form
	app.Walk
	Names  names
	Now    string
	Error  string // what went wrong with what was sent, beside the fields
	Faults []app.BenchFault
}

func (s *server) showWalk(w http.ResponseWriter, r *http.Request) {
	s.walk(w, r, http.StatusOK, form{}, "")
}

func (s *server) walk(w http.ResponseWriter, r *http.Request, status int, f form, trouble string) {
	walk, err := s.app.Walk(r.Context(), r.PathValue("id"), r.PathValue("sitting"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	p := walkPage{
		sheet: s.jobSheet(r, walk.Facts, "sittings", "Sitting "+walk.Sitting.ID), form: f, Walk: walk, Names: namesOf(walk.Facts),
		Now: time.Now().Format(browserTime), Error: trouble, //nolint:forbidigo // what the form proposes
	}
	p.Here = walkPath(walk.Facts.ID, walk.Sitting.ID)
	if p.Faults, err = s.app.BenchFaults(r.Context(), walk.Facts.ID, walk.Sitting.ID); err != nil {
		s.fail(w, r, err)
		return
	}
	if note := walkNotes[r.URL.Query().Get("did")]; note != "" {
		p.Note = note
	}
	s.render(w, r, status, "sitting_walk.html", p)
}

// walkNotes are what the walk says after something was done.
var walkNotes = map[string]string{
	"sat-begun": "The sitting is begun, and its air is written down. The zero comes next.",
	"air":       "The air is written down.",
	"zero":      "The zero is written down.",
	"leakage":   "The leakage is written down.",
	"check":     "The flow of the check plate is written down.",
	"skip":      "The step is skipped. The reason stays in the note, and every reading carries the mark.",
	"unskip":    "The step is no longer skipped.",
	"reading":   "The reading is kept.",
	"void":      "The reading no longer counts. It stays in the list with its reason.",
	"unvoid":    "The reading counts again.",
	"strike":    "The record is taken out. The state before stays in the job's record.",
	"note":      "The note is kept.",
	"undo":      "The last change is undone. Undo again brings it back.",
}

// changeWalk carries out one form of the walk.
func (s *server) changeWalk(w http.ResponseWriter, r *http.Request) {
	f, ok := s.readForm(w, r)
	if !ok {
		return
	}
	ref := app.SittingRef{Job: r.PathValue("id"), Sitting: r.PathValue("sitting"), Tag: f.Typed.Get("tag")}
	err := s.doWalk(r, ref, f)
	if err == nil {
		did, _, _ := strings.Cut(f.Do, "-")
		http.Redirect(w, r, walkPath(ref.Job, ref.Sitting)+"?did="+url.QueryEscape(did)+"#step-"+url.PathEscape(stepOf(f)), http.StatusSeeOther)
		return
	}
	kind := fault.KindOf(err)
	if ps, bad := errors.AsType[job.Problems](err); bad {
		s.walk(w, r, http.StatusUnprocessableEntity, f, ps.Error())
		return
	}
	switch {
	case s.wrongForm(&f, err):
		s.walk(w, r, statusOf[kind], f, "")
	case kind == fault.Conflict || kind == fault.Invalid:
		s.walk(w, r, statusOf[kind], f, sentence(err.Error()))
	default:
		s.fail(w, r, err)
	}
}

// stepOf is the step a form belongs to.
func stepOf(f form) string {
	if step := f.Typed.Get("step"); step != "" {
		return step
	}
	switch did, _, _ := strings.Cut(f.Do, "-"); did {
	case "reading", "void", "unvoid":
		return app.StepReadings
	case "air", "zero", "leakage", "check":
		return did
	}
	return app.StepAir
}

func (s *server) doWalk(r *http.Request, ref app.SittingRef, f form) error {
	ctx, v := r.Context(), f.Typed
	did, _, _ := strings.Cut(f.Do, "-")
	switch did {
	case "air":
		return s.app.AddAir(ctx, ref, airTyped(v))
	case "zero":
		values := map[string]string{}
		for k := range v {
			values[k] = v.Get(k)
		}
		return s.app.AddZero(ctx, ref, v.Get("at"), values)
	case "leakage":
		return s.app.AddLeakage(ctx, ref, app.LeakTyped{At: v.Get("at"), TestPressure: v.Get("test_pressure"), Flow: v.Get("flow"), UFlow: v.Get("u_flow"), Meter: v.Get("meter")})
	case "check":
		return s.app.AddCheck(ctx, ref, app.CheckTyped{At: v.Get("at"), EffectiveArea: v.Get("effective_area"), Meter: v.Get("meter")})
	case "skip":
		return s.app.Skip(ctx, ref, v.Get("step"), v.Get("why"))
	case "unskip":
		return s.app.Unskip(ctx, ref, v.Get("step"))
	case "reading":
		_, err := s.app.AddReading(ctx, ref, app.ReadingTyped{
			Rig: v.Get("rig"), Round: v.Get("round"), Opening: v.Get("opening"), Lift: v.Get("lift"), MeterDP: v.Get("meter_dp"), Scale: v.Get("scale"),
			TestPressure: v.Get("test_pressure"), UByEye: v.Get("u_by_eye"), At: v.Get("at"), Note: v.Get("note"),
		})
		return err
	case "void":
		return s.app.Void(ctx, ref, v.Get("reading"), v.Get("why"))
	case "unvoid":
		return s.app.Unvoid(ctx, ref, v.Get("reading"))
	case "strike":
		at, err := strconv.Atoi(v.Get("at"))
		if err != nil {
			return fault.Errorf(fault.Invalid, "which record is to be taken out cannot be read")
		}
		return s.app.Strike(ctx, ref, v.Get("step"), at, v.Get("why"))
	case "note":
		return s.app.SaveNote(ctx, ref, v.Get("by"), v.Get("note"))
	case "undo":
		return s.app.Undo(ctx, ref)
	}
	return fault.Errorf(fault.Invalid, "this form is not known: load the page again")
}
