package app

import (
	"slices"

	"runnel/job"
	"runnel/unit"
)

// A StudySent is a repeatability study as it was sent: a file in the form of "runnel study", and what may be said beside it.
type StudySent struct {
	Name, Text string // of the file; without a name TOML or CSV as the text looks
	Claim      string // change that is to be claimed, "2 %"; empty: as the file says
	Design     string // "crossed" or "nested"; empty: as the file, else the readings say
}

// StudyOf analyses a study as it was sent. What is wrong with the text comes back as job.Problems, with the rest as FieldProblems.
func (a *App) StudyOf(s StudySent) (StudyAnswer, error) {
	study, err := job.ReadStudy(fileName(s.Name, s.Text, "study"), []byte(s.Text))
	if err != nil {
		return StudyAnswer{}, err
	}
	t := newTypist(a.now())
	claim := t.quantity("claim", t.as("claim", s.Claim, "%", unit.Ratio), unit.Ratio, "")
	if claim < 0 {
		t.wrong("claim", `write its size, as "2 %"`)
	}
	if s.Design != "" && !slices.Contains([]string{"crossed", "nested"}, s.Design) {
		t.wrong("design", "choose who read what")
	}
	if err := t.err(); err != nil {
		return StudyAnswer{}, err
	}
	if s.Design != "" {
		study.Design = s.Design
	}
	return Study(study, claim)
}

// LabsOf scores a comparison of shops as it was sent, in the form of "runnel compare-benches". Without a name the text counts as
// TOML or CSV as it looks; what is wrong with it comes back as job.Problems.
func LabsOf(name, text string) (job.LabComparison, LabsAnswer, error) {
	c, err := job.ReadLabComparison(fileName(name, text, "shops"), []byte(text))
	if err != nil {
		return job.LabComparison{}, LabsAnswer{}, err
	}
	a, err := CompareBenches(c)
	return c, a, err
}
