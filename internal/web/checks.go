package web

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
)

// maxCheck is the most that is taken as a file of a check of the bench [bytes]; a long study has some kilobytes.
const maxCheck = 1 << 20

// checkRoutes are the pages of what is found out about the shop's bench itself.
func (s *server) checkRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /bench/checks", s.showChecks)
	mux.HandleFunc("POST /bench/checks", s.changeChecks)
	mux.HandleFunc("GET /bench/checks/calibrations/{name}", s.showCalibration)
	mux.HandleFunc("POST /bench/checks/calibrations/{name}", s.moveCheck(app.Calibrations, "/bench/checks", calibrationPath))
	mux.HandleFunc("GET /bench/checks/calibrations/{name}/card", s.showOntoCard)
	mux.HandleFunc("POST /bench/checks/calibrations/{name}/card", s.putOnCard)
	mux.HandleFunc("GET /bench/checks/plate", s.showCheckPlate)
	keptRoutes(mux, s, s.studies())
	keptRoutes(mux, s, s.comparisons())
}

// A checksSheet is what the pages of the checks have in common: which of them is open, what was sent as a file and what is wrong.
type checksSheet struct {
	sheet
	form
	Tab      string
	File     string // name of the file that was sent
	Text     string // of the file, as it was sent
	Problems job.Problems
	Error    string
}

func (s *server) checksSheet(r *http.Request, tab, path, title string, f form) checksSheet {
	p := checksSheet{sheet: s.sheet(r, title), form: f, Tab: tab, File: f.Typed.Get("file"), Text: f.Typed.Get("text")}
	p.Here = path
	return p
}

// refused takes up what is wrong with what was sent, and reports the status to answer with; false when it is our own fault.
func (p *checksSheet) refused(s *server, err error) (status int, ok bool) {
	if err == nil {
		return http.StatusOK, true
	}
	kind := fault.KindOf(err)
	if ps, bad := errors.AsType[job.Problems](err); bad {
		p.Error, p.Problems = "This file has to be mended first. Mend it below, or choose it anew.", ps
		return http.StatusUnprocessableEntity, true
	}
	switch {
	case s.wrongForm(&p.form, err):
	case kind == fault.Internal:
		return 0, false
	default:
		p.Error = sentence(err.Error())
	}
	return statusOf[kind], true
}

// readCheck reads a form of the checks, which may carry one file: its text stands in the field "text" from then on.
func (s *server) readCheck(w http.ResponseWriter, r *http.Request) (form, bool) {
	r.Body = http.MaxBytesReader(w, r.Body, maxCheck)
	fields, name, data, err := readForm(w, r)
	if _, big := errors.AsType[*http.MaxBytesError](err); big {
		err = fault.Errorf(fault.Invalid, "that is more than 1 MB: it is no file of plates, readings or results")
	}
	if err != nil {
		s.fail(w, r, err)
		return form{}, false
	}
	if name != "" {
		fields.Set("file", name)
		fields.Set("text", string(data))
	}
	return form{Do: fields.Get("do"), Typed: fields}, true
}

// A checksPage is the calibration of the shop's bench: what it is corrected by, a new calibration, and those kept.
type checksPage struct {
	checksSheet
	Meters []app.MeterCurve
	Kept   []app.KeptCalibration
	Shop   app.ShopBench
	Tried  *calibrationView // what was just worked out
	Table  app.CalibrationTyped
	Units  []string
	Away   awayList
}

// A calibrationView is a calibration as a page shows it.
type calibrationView struct {
	U show
	app.CalibrationTried
	Curve, Residuals picture
	Check            *chartView
}

func calibrationViewOf(u show, t app.CalibrationTried) *calibrationView {
	v := &calibrationView{
		U: u, CalibrationTried: t,
		Curve: drawnFor(app.CurvePicture(t.Answer, u.sys), pairFigure), Residuals: drawnFor(app.ResidualPicture(t.Answer, u.sys), pairFigure),
	}
	if t.Answer.Check != nil {
		v.Check = chartViewOf(u, "Check plate since then", *t.Answer.Check)
	}
	return v
}

func (s *server) showChecks(w http.ResponseWriter, r *http.Request) {
	s.checks(w, r, form{}, app.CalibrationTyped{}, nil, nil)
}

// checks draws the page of calibrations; tried is what was worked out, err what was wrong with what was sent.
func (s *server) checks(w http.ResponseWriter, r *http.Request, f form, table app.CalibrationTyped, tried *app.CalibrationTried, err error) {
	p := checksPage{checksSheet: s.checksSheet(r, "calibration", "/bench/checks", "Checks of the bench", f), Table: table, Units: app.FlowUnits()}
	if p.Table.Unit == "" {
		p.Table.Unit = p.U.FlowUnit()
	}
	for len(p.Table.Plates) < fewPlates {
		p.Table.Plates = append(p.Table.Plates, app.PlateTyped{})
	}
	status, ok := p.refused(s, err)
	if !ok {
		s.fail(w, r, err)
		return
	}
	if tried != nil {
		p.Tried = calibrationViewOf(p.U, *tried)
	}
	if p.Kept, err = s.app.Calibrations(r.Context()); err != nil {
		s.fail(w, r, err)
		return
	}
	p.Meters, p.Away = s.app.MeterCurves(r.Context()), s.away(app.Calibrations, calibrationPath)
	if p.Shop, err = s.app.ShopBench(r.Context()); err != nil && p.Error == "" {
		p.Error = "The shop's bench card has to be mended first: look at the page of the shop's bench."
	}
	s.render(w, r, status, "checks.html", p)
}

// fewPlates is how many rows a new table has; addPlates how many are added at once, up to mostPlates.
const (
	fewPlates  = 5
	addPlates  = 3
	mostPlates = 60
)

// changeChecks works a calibration out of a file or a table, or keeps one.
func (s *server) changeChecks(w http.ResponseWriter, r *http.Request) {
	f, ok := s.readCheck(w, r)
	if !ok {
		return
	}
	v := f.Typed
	sent := app.CalibrationSent{Name: v.Get("file"), Text: v.Get("text"), Title: v.Get("title"), Day: v.Get("day"), Every: v.Get("every"), Common: v.Get("common")}
	table, err := app.CalibrationTyped{}, error(nil)
	switch f.Do {
	case "keep":
		name, err := s.app.KeepCalibration(r.Context(), sent)
		if err == nil {
			http.Redirect(w, r, calibrationPath(name)+"?did=calibration-kept", http.StatusSeeOther)
			return
		}
		s.triedAgain(w, r, f, sent, err)
		return
	case "rows":
		table = tableTyped(v)
		for range min(addPlates, mostPlates-len(table.Plates)) {
			table.Plates = append(table.Plates, app.PlateTyped{})
		}
		f.Do = "typed"
		s.checks(w, r, f, table, nil, nil)
		return
	case "typed":
		table = tableTyped(v)
		var text string
		text, err = s.app.CalibrationFile(table)
		sent = app.CalibrationSent{Name: "typed.toml", Text: text}
	default:
		f.Do = "file"
	}
	if err == nil {
		err = nothingSent(sent.Text)
	}
	if err != nil {
		s.checks(w, r, f, table, nil, err)
		return
	}
	tried, err := s.app.TryCalibration(sent)
	if err != nil {
		s.checks(w, r, f, table, nil, err)
		return
	}
	s.checks(w, r, f, table, &tried, nil)
}

// triedAgain shows a calibration that could not be kept once more, with what is wrong.
func (s *server) triedAgain(w http.ResponseWriter, r *http.Request, f form, sent app.CalibrationSent, wrong error) {
	sent.Day = ""
	tried, err := s.app.TryCalibration(sent)
	if err != nil {
		s.checks(w, r, f, app.CalibrationTyped{}, nil, wrong)
		return
	}
	s.checks(w, r, f, app.CalibrationTyped{}, &tried, wrong)
}

// tableTyped reads a table of plates out of a form.
func tableTyped(v url.Values) app.CalibrationTyped {
	t := app.CalibrationTyped{Title: v.Get("title"), Day: v.Get("day"), Every: v.Get("every"), Common: v.Get("common"), Unit: v.Get("unit")}
	for i := range mostPlates {
		at := "-" + strconv.Itoa(i)
		if !v.Has("known" + at) {
			break
		}
		t.Plates = append(t.Plates, app.PlateTyped{Plate: v.Get("plate" + at), Known: v.Get("known" + at), Read: v.Get("read" + at), UKnown: v.Get("u_known" + at), URead: v.Get("u_read" + at)})
	}
	return t
}

// A plateCell is one field of the table of plates.
type plateCell struct{ Name, Label, Value, Wrong string }

// CellsOf are the fields of the i-th row of the table of plates.
func (p checksPage) CellsOf(i int) []plateCell {
	t, at, row := p.Table.Plates[i], "-"+strconv.Itoa(i), strconv.Itoa(i+1)
	cells := []plateCell{
		{Name: "plate", Label: "Plate", Value: t.Plate},
		{Name: "known", Label: "Known flow", Value: t.Known},
		{Name: "read", Label: "Flow read", Value: t.Read},
		{Name: "u_known", Label: "Uncertainty of the known flow", Value: t.UKnown},
		{Name: "u_read", Label: "Uncertainty of the reading", Value: t.URead},
	}
	for k := range cells {
		cells[k].Name += at
		cells[k].Label += ", row " + row
		cells[k].Wrong = p.Trouble("typed", cells[k].Name)
	}
	return cells
}

// Day is the field of the day on which a calibration was made.
func (p checksPage) Day(do string) field {
	f := p.Field(do, "day", "Day it was made", "", "")
	f.Kind = "date"
	return f
}

// Address is the page of a kept calibration.
func (checksPage) Address(name string) string { return calibrationPath(name) }

// Like shows how a calibration is written.
func (checksPage) Like() string {
	return `title = "Bench 1 against the spring plates"
at = 2026-05-02
recalibrate_every = "365 d"
u_common = "0.3 %"

[[points]]
plate = "1 in"
known = "…"
read = "…"
u_known = "0.4 %"
u_read = "0.3 %"`
}

func calibrationPath(name string) string { return "/bench/checks/calibrations/" + url.PathEscape(name) }
