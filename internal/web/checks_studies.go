package web

import (
	"math"
	"net/http"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/measure"
)

// A studyPage is a repeatability study.
type studyPage struct {
	checksSheet
	Answer        *app.StudyAnswer
	Shares, Eaten picture
}

func (s *server) studyPage(r *http.Request, f form) studyPage {
	return studyPage{checksSheet: s.checksSheet(r, "people", "/bench/checks/people", "Repeatability", f)}
}

func (s *server) showStudy(w http.ResponseWriter, r *http.Request) {
	s.render(w, r, http.StatusOK, "checks_people.html", s.studyPage(r, form{}))
}

func (s *server) tryStudy(w http.ResponseWriter, r *http.Request) {
	f, ok := s.readCheck(w, r)
	if !ok {
		return
	}
	f.Do = "file"
	p := s.studyPage(r, f)
	var a app.StudyAnswer
	err := nothingSent(p.Text)
	if err == nil {
		a, err = s.app.StudyOf(app.StudySent{Name: p.File, Text: p.Text, Claim: f.Typed.Get("claim"), Design: f.Typed.Get("design")})
	}
	status, ok := p.refused(s, err)
	if !ok {
		s.fail(w, r, err)
		return
	}
	if err == nil {
		p.Answer, p.Shares = &a, drawnFor(app.SharesPicture(a), pairFigure)
		if a.Claim > 0 {
			p.Eaten = drawnFor(app.EatenPicture(a), pairFigure)
		}
	}
	s.render(w, r, status, "checks_people.html", p)
}

// nothingSent is the failure of a form that came without any text.
func nothingSent(text string) error {
	if text == "" {
		return fault.Errorf(fault.Invalid, "nothing arrived: choose a file, or write its text into the field")
	}
	return nil
}

// Places are the decimals that a reading is shown with.
func (p studyPage) Places() int { return placesOf(p.Answer.Mean) }

// placesOf are the decimals that show five figures of a value, so that a column of its like stands in line.
func placesOf(v float64) int {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0
	}
	return min(max(0, 4-int(math.Floor(math.Log10(math.Abs(v))))), 12)
}

// Unit is the unit of the study's readings.
func (p studyPage) Unit() string { return app.UnitWord(p.Answer.Unit) }

// Like shows how a study is written.
func (studyPage) Like() string {
	return "piece,person,flow_cfm\nplate 1,Ann,…\nplate 1,Ann,…\nplate 1,Ben,…\nplate 1,Ben,…"
}

// A labsPage is a comparison of shops.
type labsPage struct {
	checksSheet
	Answer *app.LabsAnswer
	Fig    picture
}

func (s *server) labsPage(r *http.Request, f form) labsPage {
	return labsPage{checksSheet: s.checksSheet(r, "shops", "/bench/checks/shops", "Between shops", f)}
}

func (s *server) showLabs(w http.ResponseWriter, r *http.Request) {
	s.render(w, r, http.StatusOK, "checks_shops.html", s.labsPage(r, form{}))
}

func (s *server) tryLabs(w http.ResponseWriter, r *http.Request) {
	f, ok := s.readCheck(w, r)
	if !ok {
		return
	}
	f.Do = "file"
	p := s.labsPage(r, f)
	err := nothingSent(p.Text)
	if err == nil {
		c, a, wrong := app.LabsOf(p.File, p.Text)
		if err = wrong; err == nil {
			p.Answer, p.Fig = &a, drawn(app.LabsPicture(c, a))
		}
	}
	status, ok := p.refused(s, err)
	if !ok {
		s.fail(w, r, err)
		return
	}
	s.render(w, r, status, "checks_shops.html", p)
}

// Places are the decimals that a result is shown with.
func (p labsPage) Places() int { return placesOf(p.Answer.Consensus) }

// Unit is the unit of the results.
func (p labsPage) Unit() string { return app.UnitWord(p.Answer.Unit) }

// Stated reports whether a shop stated an uncertainty, so that it has an En.
func (labsPage) Stated(s measure.LabScore) bool { return s.Word != measure.LabUnstated }

// Differs reports whether a shop and what it is held against contradict each other.
func (labsPage) Differs(s measure.LabScore) bool { return s.Word == measure.LabDiffers }

// Like shows how a comparison is written.
func (labsPage) Like() string {
	return "shop,flow_cfm,u_percent\nNorth,…,0.5\nSouth,…,0.7\nEast,…,0.5"
}
