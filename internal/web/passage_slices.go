package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/passage"
)

// A slicesPage is the pictures of mould slices of one passage in a round.
type slicesPage struct {
	sheet
	J        job.Job
	Names    names
	Base     string
	Opening  string
	Rounds   []job.Round
	Round    string
	Pictures []slicePicture
	Ready    int // traced and placed
	Do       string
	Wrong    string
	At       int64 // the picture the form was about
	Fields   url.Values
}

type slicePicture struct {
	app.SlicePicture

	Points  string // of the outline, for SVG
	Outline string // as JSON for the script
	Place   string
}

func (s *server) showSlices(w http.ResponseWriter, r *http.Request) {
	s.slicesPage(w, r, http.StatusOK, r.URL.Query().Get("round"), slicesPage{})
}

func (s *server) slicesPage(w http.ResponseWriter, r *http.Request, status int, round string, p slicesPage) {
	b, err := s.app.Passage(r.Context(), r.PathValue("id"), r.PathValue("piece"), r.PathValue("opening"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	words := capital(opening(b.Piece.Kind, b.Opening))
	p.sheet, p.J, p.Names = s.jobSheet(r, b.Job, "passages", "Slices of "+words), b.Job, namesOf(b.Job)
	p.Base, p.Opening, p.Rounds, p.Round = passageAddress(b.Job.ID, b.Piece.ID, b.Opening), words, b.Rounds, round
	if r.Method != http.MethodGet {
		p.Here = p.Base + "/slices?round=" + url.QueryEscape(round)
	}
	if p.Round == "" && len(b.Rounds) > 0 {
		p.Round = b.Rounds[0].ID
	}
	for _, pic := range b.Pictures {
		if pic.Round != p.Round {
			continue
		}
		one := slicePicture{SlicePicture: pic}
		var pts strings.Builder
		for _, q := range pic.Outline {
			pts.WriteString(strconv.FormatFloat(q[0], 'f', 1, 64) + "," + strconv.FormatFloat(q[1], 'f', 1, 64) + " ")
		}
		one.Points = pts.String()
		if pic.At != nil {
			one.Place = p.U.Length(*pic.At) + " " + p.U.LengthUnit()
			if len(pic.Outline) > 0 {
				p.Ready++
			}
		}
		data, err := json.Marshal(pic.Outline)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		one.Outline = string(data)
		p.Pictures = append(p.Pictures, one)
	}
	s.render(w, r, status, "passage_slices.html", p)
}

func (s *server) changeSlices(w http.ResponseWriter, r *http.Request) {
	fields, name, data, err := readForm(w, r)
	if err != nil {
		s.fail(w, r, fault.As(fault.Invalid, err))
		return
	}
	at := app.PassagePlace{Job: r.PathValue("id"), Piece: r.PathValue("piece"), Opening: r.PathValue("opening"), Round: fields.Get("round")}
	do := fields.Get("do")
	number, _ := strconv.ParseInt(fields.Get("number"), 10, 64)
	to := passageAddress(at.Job, at.Piece, at.Opening) + "/slices?round=" + url.QueryEscape(at.Round) + "&did=slices-" + url.QueryEscape(do)
	switch do {
	case "add":
		if name == "" {
			err = fault.Errorf(fault.Invalid, "no file arrived: choose a picture, PNG or JPEG")
			break
		}
		_, err = s.app.AddPicture(r.Context(), at, name, data, fields.Get("place"), fields.Get("scale"))
	case "change":
		_, err = s.app.ChangePicture(r.Context(), at.Job, number, app.PictureChange{Scale: fields.Get("scale"), Place: fields.Get("place")})
	case "outline":
		var points []passage.Point
		if json.Unmarshal([]byte(fields.Get("outline")), &points) != nil || len(points) == 0 {
			err = fault.Errorf(fault.Invalid, "the outline did not arrive whole")
			break
		}
		_, err = s.app.ChangePicture(r.Context(), at.Job, number, app.PictureChange{Outline: points})
	case "remove":
		err = s.app.RemoveFile(r.Context(), at.Job, number)
	case "use":
		err = s.app.SaveSlices(r.Context(), at)
		to = passageAddress(at.Job, at.Piece, at.Opening) + "?round=" + url.QueryEscape(at.Round) + "&did=passage-stations"
	default:
		err = fault.Errorf(fault.Invalid, "the page does not know what to do with this form")
	}
	if err == nil {
		http.Redirect(w, r, to, http.StatusSeeOther)
		return
	}
	if fault.KindOf(err) == fault.Internal {
		s.fail(w, r, err)
		return
	}
	s.slicesPage(w, r, statusOf[fault.KindOf(err)], at.Round, slicesPage{Do: do, Wrong: sentence(err.Error()), At: number, Fields: fields})
}

func (s *server) sendPicture(w http.ResponseWriter, r *http.Request) {
	number, err := strconv.ParseInt(r.PathValue("number"), 10, 64)
	if err != nil {
		s.notFound(w, r)
		return
	}
	_, kind, data, err := s.app.Picture(r.Context(), r.PathValue("id"), number)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if !strings.HasPrefix(kind, "image/") {
		s.notFound(w, r)
		return
	}
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Cache-Control", "private, max-age=3600")
	if _, err := w.Write(data); err != nil {
		s.log.Debug("picture cut short", "error", err)
	}
}

// Pixels is a width in pixels for the page.
func (p slicePicture) Pixels() string {
	return strconv.Itoa(p.Width) + " × " + strconv.Itoa(p.Height)
}
