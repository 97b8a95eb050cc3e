package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"html/template"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/internal/plot"
	"runnel/unit"
)

// maxMesh is the most that is taken as one mesh or picture [bytes]: two million triangles of binary STL are 100 MB.
const maxMesh = 400 << 20

// changePassage takes what was typed or sent on the page of a passage.
func (s *server) changePassage(w http.ResponseWriter, r *http.Request) {
	fields, name, data, err := readForm(w, r)
	if err != nil {
		s.refusePassage(w, r, typedForm{}, err)
		return
	}
	at := app.PassagePlace{Job: r.PathValue("id"), Piece: r.PathValue("piece"), Opening: r.PathValue("opening"), Round: fields.Get("round")}
	form := typedForm{Do: fields.Get("do"), Fields: fields, Typed: fields.Get("text"), FileName: name}
	switch form.Do {
	case "stations":
		err = s.app.SaveStations(r.Context(), at, form.Typed)
	case "walls":
		err = s.app.SaveWalls(r.Context(), at, form.Typed)
	case "mesh":
		if name == "" {
			err = fault.Errorf(fault.Invalid, "no file arrived: choose an STL file")
			break
		}
		count, _ := strconv.Atoi(fields.Get("stations"))
		holes := 0.0
		if typed := strings.TrimSpace(fields.Get("holes")); typed != "" {
			if holes, err = unit.Length.Parse(typed); err != nil {
				err = fault.As(fault.Invalid, err)
				break
			}
			if !(holes > 0) {
				err = fault.Errorf(fault.Invalid, `holes up to %s: write a width above zero, such as "15 mm"`, typed)
				break
			}
		}
		err = s.app.AddMesh(r.Context(), at, name, data, app.MeshReading{
			Unit: fields.Get("unit"), Sure: fields.Get("sure") != "", Along: fields.Get("along"), Reverse: fields.Get("reverse") != "", Stations: min(max(count, 0), 400), HoleLimit: holes,
		})
	case "traverse":
		if name == "" {
			err = fault.Errorf(fault.Invalid, "no file arrived: choose the CSV of the probe")
			break
		}
		err = s.app.AddTraverse(r.Context(), at, name, data, fields.Get("place"), fields.Get("meter"))
	case "remove":
		err = s.removeFile(r, at.Job, fields.Get("number"))
	default:
		err = fault.Errorf(fault.Invalid, "the page does not know what to do with this form")
	}
	if err != nil {
		s.refusePassage(w, r, form, err)
		return
	}
	to := passageAddress(at.Job, at.Piece, at.Opening) + "?round=" + url.QueryEscape(at.Round) + "&did=passage-" + url.QueryEscape(form.Do)
	if wantsJSON(r) { // a script goes there itself, so that the page is drawn once
		s.answerJSON(w, http.StatusOK, map[string]string{"go": to})
		return
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

func (s *server) removeFile(r *http.Request, id, number string) error {
	n, err := strconv.ParseInt(number, 10, 64)
	if err != nil {
		return fault.Errorf(fault.Invalid, "%q is no number of a file", number)
	}
	return s.app.RemoveFile(r.Context(), id, n)
}

// refusePassage shows the page again with what was typed and why it cannot be taken. A script is told in JSON.
func (s *server) refusePassage(w http.ResponseWriter, r *http.Request, form typedForm, err error) {
	if big, ok := errors.AsType[*http.MaxBytesError](err); ok {
		err = fault.Errorf(fault.Invalid, "that is more than %d MB: thin the mesh out before sending it", big.Limit>>20)
	}
	kind := fault.KindOf(err)
	if kind == fault.Internal {
		s.fail(w, r, err)
		return
	}
	form.Ask = app.UnitAsked(err)
	form.Cells = app.CellErrors(err)
	switch {
	case form.Ask != nil:
		form.Wrong = sentence(form.Ask.Ask)
	case form.Cells != nil: // in the units of the file
		form.Wrong = sentence(err.Error())
	default:
		form.Wrong = sentence(systemOf(r).Text(err.Error()))
	}
	if wantsJSON(r) {
		s.refuseJSON(w, statusOf[kind], form)
		return
	}
	if form.Fields != nil {
		q := r.URL.Query()
		q.Set("round", form.Fields.Get("round"))
		r.URL.RawQuery = q.Encode()
	}
	s.passagePage(w, r, statusOf[kind], form)
}

func wantsJSON(r *http.Request) bool {
	return strings.Contains(r.Header.Get("Accept"), "application/json")
}

func (s *server) refuseJSON(w http.ResponseWriter, status int, form typedForm) {
	out := map[string]string{"wrong": form.Wrong}
	if form.Ask != nil {
		out["unit"] = form.Ask.Likely
	}
	s.answerJSON(w, status, out)
}

func (s *server) answerJSON(w http.ResponseWriter, status int, v any) {
	h := w.Header()
	h.Set("Content-Type", "application/json; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	if err := json.NewEncoder(w).Encode(v); err != nil {
		s.log.Debug("answer cut short", "error", err)
	}
}

// tryStations says of stations that are still being typed what is known of them and what is wrong.
func (s *server) tryStations(w http.ResponseWriter, r *http.Request) {
	text, err := io.ReadAll(http.MaxBytesReader(w, r.Body, 4<<20))
	if err != nil {
		s.fail(w, r, arrival(err))
		return
	}
	s.answerJSON(w, http.StatusOK, app.TryStations(string(text)))
}

// readForm reads the fields of a form and the one file that may come with it.
func readForm(w http.ResponseWriter, r *http.Request) (fields url.Values, name string, data []byte, err error) {
	r.Body = http.MaxBytesReader(w, r.Body, maxMesh)
	parts, err := r.MultipartReader()
	if errors.Is(err, http.ErrNotMultipart) {
		err := r.ParseForm()
		return r.PostForm, "", nil, fault.As(fault.Invalid, err)
	}
	if err != nil {
		return nil, "", nil, fault.As(fault.Invalid, err)
	}
	fields = url.Values{}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return fields, name, data, nil
		}
		if err != nil {
			return fields, "", nil, arrival(err)
		}
		if part.FileName() == "" {
			text, err := io.ReadAll(io.LimitReader(part, 4<<20))
			if err != nil {
				return fields, "", nil, arrival(err)
			}
			fields.Add(part.FormName(), string(text))
			continue
		}
		if name, data, err = readPart(part, r.ContentLength); err != nil {
			return fields, "", nil, err
		}
	}
}

// readPart reads a file of a form of so many bytes, -1 when they are not known. It makes room for all of them at once: to grow with a large mesh
// takes as long as to read it.
func readPart(part *multipart.Part, most int64) (string, []byte, error) {
	var data bytes.Buffer
	data.Grow(int(min(max(most, 0), maxMesh)) + bytes.MinRead)
	_, err := data.ReadFrom(part)
	return part.FileName(), data.Bytes(), arrival(err)
}

// arrival gives an error of a transfer its kind.
func arrival(err error) error {
	if _, ok := errors.AsType[*http.MaxBytesError](err); ok || err == nil {
		return err
	}
	return fault.Errorf(fault.Invalid, "the file did not arrive whole: %w", err)
}

func (s *server) sendView(w http.ResponseWriter, r *http.Request) {
	v, err := s.app.PassageView(r.Context(), r.PathValue("id"), r.PathValue("piece"), r.PathValue("opening"), r.URL.Query().Get("round"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Header().Set("Cache-Control", "no-store")
	if _, err := w.Write(v.Bytes()); err != nil {
		s.log.Debug("view cut short", "error", err)
	}
}

// templateCount is the number of sections drawn on templates unless more are asked for.
const templateCount = 20

func (s *server) sendTemplates(w http.ResponseWriter, r *http.Request) {
	b, err := s.app.Passage(r.Context(), r.PathValue("id"), r.PathValue("piece"), r.PathValue("opening"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	q := r.URL.Query()
	st, ok := b.State(q.Get("round"))
	if !ok {
		s.fail(w, r, fault.Errorf(fault.NotFound, "nothing is known of this passage in round %q", q.Get("round")))
		return
	}
	count, err := strconv.Atoi(q.Get("count"))
	if err != nil || count < 1 {
		count = templateCount
	}
	t, err := b.Templates(st, min(count, 200))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	for i, m := range t.Marks {
		t.Marks[i].Label = systemOf(r).Text(m.Label)
	}
	name := "templates-" + b.Piece.ID + "-" + b.Opening
	if strings.HasSuffix(r.URL.Path, ".pdf") {
		data, err := t.PDF()
		if err != nil {
			s.fail(w, r, err)
			return
		}
		s.download(w, name+".pdf", "application/pdf", data)
		return
	}
	sheet, _ := strconv.Atoi(q.Get("sheet"))
	svg, sheets, err := t.SVG(max(sheet, 0))
	if err == nil && sheet >= sheets {
		err = fault.Errorf(fault.NotFound, "there are only %d sheets", sheets)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.download(w, name+".svg", "image/svg+xml", []byte(svg))
}

// A traverseView is a pitot traverse as the page shows it.
type traverseView struct {
	File   app.TraverseFile
	Answer app.TraverseAnswer
	Wrong  string
	Map    template.HTML
}

func (s *server) traverseView(r *http.Request, b app.PassageBook, t app.TraverseFile) traverseView {
	v, u := traverseView{File: t}, show{systemOf(r)}
	a, err := s.app.TraverseResult(r.Context(), b, t)
	if err != nil {
		v.Wrong = sentence(u.sys.Text(err.Error()))
		return v
	}
	v.Answer, v.Map = a, velocityMap(a, u)
	return v
}

// velocityMap draws the velocities over the section to scale, with the probes.
func velocityMap(a app.TraverseAnswer, u show) template.HTML {
	var b strings.Builder
	lo, hi := 0.0, 0.0
	for _, p := range a.Section.Outline {
		lo, hi = min(lo, p[0], p[1]), max(hi, p[0], p[1])
	}
	mm := func(x float64) string { return number(1e3*x, 2) }
	plain := func(x float64) string { return strings.Replace(mm(x), "−", "-", 1) }
	b.WriteString(`<svg class="vmap" viewBox="` + plain(lo*1.06) + " " + plain(lo*1.06) + " " + plain((hi-lo)*1.06) + " " + plain((hi-lo)*1.06) + `" role="img" aria-label="Velocity over the section">`)
	pitch := a.Profile.Pitch
	share := func(v float64) float64 {
		if a.Profile.Highest > 0 {
			return v / a.Profile.Highest
		}
		return 0
	}
	slowest := a.Profile.Highest
	for _, p := range a.Profile.Map {
		slowest = min(slowest, p.Velocity)
	}
	var way strings.Builder
	for _, p := range a.Section.Outline {
		way.WriteString(plain(p[0]) + " " + plain(-p[1]) + " ")
	}
	outline := `<path d="M` + way.String()
	// What lies between the last whole cell and the wall is as slow as the slowest cell, or slower.
	b.WriteString(outline + `Z" fill="` + ramp(share(slowest)).Hex() + `"/><g shape-rendering="crispEdges">`)
	for _, p := range a.Profile.Map {
		b.WriteString(`<rect x="` + plain(p.Point[0]-pitch/2) + `" y="` + plain(-p.Point[1]-pitch/2) + `" width="` + plain(pitch*1.03) + `" height="` + plain(pitch*1.03) + `" fill="` + ramp(share(p.Velocity)).Hex() + `"/>`)
	}
	b.WriteString("</g>" + outline + `Z" fill="none" stroke="currentColor" stroke-width=".5"/>`)
	for _, p := range a.Points {
		b.WriteString(`<circle cx="` + plain(p.X) + `" cy="` + plain(-p.Y) + `" r=".7" fill="#fff" stroke="#111" stroke-width=".25"><title>` + u.Speed(p.Velocity) + `</title></circle>`)
	}
	b.WriteString("</svg>")
	return template.HTML(b.String()) //nolint:gosec // numbers between fixed strings
}

// ramp is a colour for a share from 0 to 1 that can be told apart with every kind of colour vision: cividis, after Nuñez, Anderton and
// Renslow, PLoS ONE 13 (2018) e0199239; stops from memory. The script of the page has the same stops.
func ramp(share float64) plot.RGB {
	stops := [...][3]float64{{0, 34, 78}, {53, 69, 108}, {102, 105, 112}, {148, 142, 119}, {200, 184, 102}, {253, 231, 55}}
	x := min(max(share, 0), 1) * float64(len(stops)-1)
	i := min(int(x), len(stops)-2)
	w := x - float64(i)
	at := func(k int) uint8 { return uint8(stops[i][k]*(1-w) + stops[i+1][k]*w + 0.5) }
	return plot.RGB{R: at(0), G: at(1), B: at(2)}
}
