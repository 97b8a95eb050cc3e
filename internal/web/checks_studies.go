package web

import (
	"math"
	"net/http"
	"strings"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/measure"
)

// A studyPage is a repeatability study: one that was sent, one that is kept, or the list of those.
type studyPage struct {
	checksSheet
	Answer        *app.StudyAnswer
	Shares, Eaten picture
	One           *app.KeptStudy // the one that the page is about; nil: none
	Kept          []app.KeptStudy
	Away          awayList
}

func (s *server) studyPage(r *http.Request, path string, f form) studyPage {
	p := studyPage{checksSheet: s.checksSheet(r, "people", path, "Repeatability", f)}
	p.Note = became(r)
	return p
}

// withStudies lists what is kept.
func (p *studyPage) withStudies(s *server) {
	var err error
	if p.Kept, err = s.app.KeptStudies(); err != nil {
		p.Error = sentence(err.Error())
	}
	p.Away = s.away(app.Studies, studyPath)
}

func (p *studyPage) answer(a app.StudyAnswer) {
	p.Answer, p.Shares = &a, drawnFor(app.SharesPicture(a), pairFigure)
	if a.Claim > 0 {
		p.Eaten = drawnFor(app.EatenPicture(a), pairFigure)
	}
}

func (s *server) showStudy(w http.ResponseWriter, r *http.Request) {
	p := s.studyPage(r, studiesPath, form{})
	p.withStudies(s)
	s.render(w, r, http.StatusOK, "checks_people.html", p)
}

func (s *server) showKeptStudy(w http.ResponseWriter, r *http.Request) {
	k, err := s.app.KeptStudy(r.PathValue("name"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	p := s.studyPage(r, studyPath(k.Name), form{})
	p.One = &k
	if k.Problem == "" {
		p.answer(k.Answer)
	}
	s.render(w, r, http.StatusOK, "checks_people.html", p)
}

// tryStudy works a study out, and keeps it when that is asked for.
func (s *server) tryStudy(w http.ResponseWriter, r *http.Request) {
	f, ok := s.readCheck(w, r)
	if !ok {
		return
	}
	v := f.Typed
	sent := app.StudySent{Name: v.Get("file"), Text: v.Get("text"), Title: v.Get("title"), Claim: v.Get("claim"), Design: v.Get("design")}
	err := nothingSent(sent.Text)
	if err == nil && f.Do == "keep" {
		var name string
		if name, err = s.app.KeepStudy(sent); err == nil {
			http.Redirect(w, r, studyPath(name)+"?did="+checkKept, http.StatusSeeOther)
			return
		}
	}
	f.Do = "file"
	p := s.studyPage(r, studiesPath, f)
	var a app.StudyAnswer
	if err == nil {
		a, err = s.app.StudyOf(sent)
	}
	status, ok := p.refused(s, err)
	if !ok {
		s.fail(w, r, err)
		return
	}
	if err == nil {
		p.answer(a)
	}
	p.withStudies(s)
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

// Address is the page of a study that is kept.
func (studyPage) Address(name string) string { return studyPath(name) }

// ItsFile is the file of the study that the page is about.
func (p studyPage) ItsFile() keptFile {
	return keptFile{app.Studies, "study", p.One.Name, p.One.Text, studyPath(p.One.Name)}
}

// Like shows how a study is written.
func (studyPage) Like() string {
	return "piece,person,flow_cfm\nplate 1,Ann,…\nplate 1,Ann,…\nplate 1,Ben,…\nplate 1,Ben,…"
}

// A labsPage is a comparison of shops: one that was sent, one that is kept, or the list of those.
type labsPage struct {
	checksSheet
	Answer *app.LabsAnswer
	Fig    picture
	One    *app.KeptLabs // the one that the page is about; nil: none
	Kept   []app.KeptLabs
	Away   awayList
}

func (s *server) labsPage(r *http.Request, path string, f form) labsPage {
	p := labsPage{checksSheet: s.checksSheet(r, "shops", path, "Between shops", f)}
	p.Note = became(r)
	return p
}

// withLabs lists what is kept.
func (p *labsPage) withLabs(s *server) {
	var err error
	if p.Kept, err = s.app.AllKeptLabs(); err != nil {
		p.Error = sentence(err.Error())
	}
	p.Away = s.away(app.Comparisons, oneLabsPath)
}

func (p *labsPage) answer(c job.LabComparison, a app.LabsAnswer) {
	p.Answer, p.Fig = &a, drawn(app.LabsPicture(c, a))
}

func (s *server) showLabs(w http.ResponseWriter, r *http.Request) {
	p := s.labsPage(r, labsPath, form{})
	p.withLabs(s)
	s.render(w, r, http.StatusOK, "checks_shops.html", p)
}

func (s *server) showKeptLabs(w http.ResponseWriter, r *http.Request) {
	k, err := s.app.KeptLabs(r.PathValue("name"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	p := s.labsPage(r, oneLabsPath(k.Name), form{})
	p.One = &k
	if k.Problem == "" {
		p.answer(k.Facts, k.Answer)
	}
	s.render(w, r, http.StatusOK, "checks_shops.html", p)
}

// tryLabs scores a comparison, and keeps it when that is asked for.
func (s *server) tryLabs(w http.ResponseWriter, r *http.Request) {
	f, ok := s.readCheck(w, r)
	if !ok {
		return
	}
	sent := app.LabsSent{Name: f.Typed.Get("file"), Text: f.Typed.Get("text"), Title: f.Typed.Get("title")}
	err := nothingSent(sent.Text)
	if err == nil && f.Do == "keep" {
		var name string
		if name, err = s.app.KeepLabs(sent); err == nil {
			http.Redirect(w, r, oneLabsPath(name)+"?did="+checkKept, http.StatusSeeOther)
			return
		}
	}
	f.Do = "file"
	p := s.labsPage(r, labsPath, f)
	if err == nil {
		var c job.LabComparison
		var a app.LabsAnswer
		if c, a, err = app.LabsOf(sent); err == nil {
			p.answer(c, a)
		}
	}
	status, ok := p.refused(s, err)
	if !ok {
		s.fail(w, r, err)
		return
	}
	p.withLabs(s)
	s.render(w, r, status, "checks_shops.html", p)
}

// Places are the decimals that a result is shown with.
func (p labsPage) Places() int { return placesOf(p.Answer.Consensus) }

// Unit is the unit of the results.
func (p labsPage) Unit() string { return app.UnitWord(p.Answer.Unit) }

// Address is the page of a comparison that is kept.
func (labsPage) Address(name string) string { return oneLabsPath(name) }

// ItsFile is the file of the comparison that the page is about.
func (p labsPage) ItsFile() keptFile {
	return keptFile{app.Comparisons, "compare-benches", p.One.Name, p.One.Text, oneLabsPath(p.One.Name)}
}

// Differing names the shops that contradict what they are held against.
func (p labsPage) Differing(a app.LabsAnswer) string {
	var names []string
	for _, s := range a.Scores {
		if p.Differs(s) {
			names = append(names, s.Lab)
		}
	}
	return strings.Join(names, ", ")
}

// Stated reports whether a shop stated an uncertainty, so that it has an En.
func (labsPage) Stated(s measure.LabScore) bool { return s.Word != measure.LabUnstated }

// Differs reports whether a shop and what it is held against contradict each other.
func (labsPage) Differs(s measure.LabScore) bool { return s.Word == measure.LabDiffers }

// Like shows how a comparison is written.
func (labsPage) Like() string {
	return "shop,flow_cfm,u_percent\nNorth,…,0.5\nSouth,…,0.7\nEast,…,0.5"
}
