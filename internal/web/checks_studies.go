package web

import (
	"math"
	"net/url"
	"strings"

	"runnel/internal/app"
	"runnel/measure"
)

// A studyPage is the page of repeatability studies.
type studyPage struct {
	checkPage[app.StudyAnswer]
	Shares, Eaten picture
}

func (s *server) studies() *checkKind[app.StudyAnswer] {
	sent := func(v url.Values) app.StudySent {
		return app.StudySent{Name: v.Get("file"), Text: v.Get("text"), Title: v.Get("title"), Claim: v.Get("claim"), Design: v.Get("design")}
	}
	return &checkKind[app.StudyAnswer]{
		tab: "people", list: "/bench/checks/people", title: "Repeatability", template: "checks_people.html", drawer: app.Studies, command: "study",
		work: func(v url.Values) (app.StudyAnswer, error) { return s.app.StudyOf(sent(v)) },
		keep: func(v url.Values) (string, error) { return s.app.KeepStudy(sent(v)) },
		one:  s.app.KeptStudy,
		all:  s.app.KeptStudies,
		page: func(p checkPage[app.StudyAnswer]) any { return newStudyPage(p) },
	}
}

func newStudyPage(p checkPage[app.StudyAnswer]) studyPage {
	out := studyPage{checkPage: p}
	if a := p.Answer; a != nil {
		out.Shares = drawnFor(app.SharesPicture(*a), pairFigure)
		if a.Claim > 0 {
			out.Eaten = drawnFor(app.EatenPicture(*a), pairFigure)
		}
	}
	return out
}

// Places are the decimals that a reading is shown with.
func (p studyPage) Places() int { return placesOf(p.Answer.Mean) }

// placesOf are the decimals that show five figures of a value, so that a column of its like stands in line.
func placesOf(v float64) int {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0
	}
	return min(max(0, 5-wholeDigits(v)), 12)
}

// Unit is the unit of the study's readings.
func (p studyPage) Unit() string { return app.UnitWord(p.Answer.Unit) }

// Like shows how a study is written.
func (studyPage) Like() string {
	return "piece,person,flow_cfm\nplate 1,Ann,…\nplate 1,Ann,…\nplate 1,Ben,…\nplate 1,Ben,…"
}

// A labsPage is the page of comparisons between shops.
type labsPage struct {
	checkPage[app.LabsScored]
	Fig picture
}

func (s *server) comparisons() *checkKind[app.LabsScored] {
	sent := func(v url.Values) app.LabsSent {
		return app.LabsSent{Name: v.Get("file"), Text: v.Get("text"), Title: v.Get("title")}
	}
	return &checkKind[app.LabsScored]{
		tab: "shops", list: "/bench/checks/shops", title: "Between shops", template: "checks_shops.html", drawer: app.Comparisons, command: "compare-benches",
		work: func(v url.Values) (app.LabsScored, error) { return app.LabsOf(sent(v)) },
		keep: func(v url.Values) (string, error) { return s.app.KeepLabs(sent(v)) },
		one:  s.app.KeptLabs,
		all:  s.app.AllKeptLabs,
		page: func(p checkPage[app.LabsScored]) any { return newLabsPage(p) },
	}
}

func newLabsPage(p checkPage[app.LabsScored]) labsPage {
	out := labsPage{checkPage: p}
	if a := p.Answer; a != nil {
		out.Fig = drawn(app.LabsPicture(a.Facts, a.LabsAnswer))
	}
	return out
}

// Places are the decimals that a result is shown with.
func (p labsPage) Places() int { return placesOf(p.Answer.Consensus) }

// Unit is the unit of the results.
func (p labsPage) Unit() string { return app.UnitWord(p.Answer.Unit) }

// Differing names the shops that contradict what they are held against.
func (p labsPage) Differing(a app.LabsScored) string {
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
