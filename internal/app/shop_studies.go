package app

import (
	"path/filepath"
	"slices"
	"strings"
	"time"

	"runnel/internal/fault"
	"runnel/job"
	"runnel/unit"
)

// A StudySent is a repeatability study as it was sent: a file in the form of "runnel study", and what may be said beside it.
type StudySent struct {
	Name, Text string // of the file; without a name TOML or CSV as the text looks
	Title      string // empty: as the file says
	Claim      string // change that is to be claimed, "2 %"; empty: as the file says
	Design     string // "crossed" or "nested"; empty: as the file, else the readings say
}

// StudyOf analyses a study as it was sent. What is wrong with the text comes back as job.Problems, with the rest as FieldProblems.
func (a *App) StudyOf(s StudySent) (StudyAnswer, error) {
	study, _, err := a.study(s)
	if err != nil {
		return StudyAnswer{}, err
	}
	return Study(study, 0)
}

// study reads what was sent, and says whether something was typed beside the file.
func (a *App) study(s StudySent) (study job.Study, typed bool, err error) {
	if study, err = job.ReadStudy(fileName(s.Name, s.Text, "study"), []byte(s.Text)); err != nil {
		return study, false, err
	}
	t := newTypist(a.now())
	claim := t.quantity("claim", t.as("claim", s.Claim, "%", unit.Ratio), unit.Ratio, "")
	if claim < 0 {
		t.wrong("claim", `write its size, as "2 %"`)
	}
	if s.Design != "" && !slices.Contains([]string{"crossed", "nested"}, s.Design) {
		t.wrong("design", "choose who read what")
	}
	title := t.text("title", s.Title, "")
	if err := t.err(); err != nil {
		return study, false, err
	}
	study.Title, study.Design = orWord(title, study.Title), orWord(s.Design, study.Design)
	study.Claim = orElse(claim, study.Claim)
	return study, title != "" || s.Design != "" || claim > 0, nil
}

// KeepStudy writes a study into the shop's folder, once it can be analysed, and returns the name of its file. It stays as it was sent
// unless something was typed beside it.
func (a *App) KeepStudy(s StudySent) (string, error) {
	study, typed, err := a.study(s)
	if err == nil {
		_, err = Study(study, 0)
	}
	if err != nil {
		return "", err
	}
	f := checkFile{sent: s.Name, text: s.Text, typed: typed, anew: study.File, kind: "study"}
	return a.keepSent(Studies, study.Title, f)
}

// A checkFile is a check on its way into its drawer.
type checkFile struct {
	sent, text string // name and text, as they were sent
	kind       string // the name where it was sent without one
	typed      bool   // something stands beside it, so that it is written anew
	anew       func() ([]byte, error)
}

// keepSent keeps a check as of today.
func (a *App) keepSent(d Drawer, title string, f checkFile) (string, error) {
	f.text = strings.ReplaceAll(f.text, "\r\n", "\n") // a browser sends every line of a form so
	name := fileName(f.sent, f.text, f.kind)
	ext := strings.ToLower(filepath.Ext(name))
	if f.typed || (ext != ".toml" && ext != ".csv") {
		text, err := f.anew()
		if err != nil {
			return "", invalid(err)
		}
		f.text, ext = string(text), ".toml"
	}
	return a.keepCheck(d, a.now(), orWord(title, strings.TrimSuffix(name, filepath.Ext(name))), ext, f.text)
}

// A KeptCheck is a study or a comparison of the shop as it lies in its drawer, with the answer it gives.
type KeptCheck[A any] struct {
	Name    string // of its file, without the folder
	Day     time.Time
	Text    string
	Answer  A
	Problem string // why it cannot be read, when it cannot
}

// keptCheck reads one check of a drawer; work is what makes an answer of its text.
func keptCheck[A any](a *App, d Drawer, name string, work func(text string) (A, error)) (KeptCheck[A], error) {
	text, err := a.checkText(d, name)
	if fault.KindOf(err) == fault.NotFound {
		return KeptCheck[A]{}, err
	}
	k := KeptCheck[A]{Name: name, Day: a.dayOf(d, name), Text: text}
	if err == nil {
		k.Answer, err = work(text)
	}
	if err != nil {
		k.Problem = err.Error()
	}
	return k, nil
}

// keptOf reads what lies in a drawer, the newest first. A check that is put away meanwhile is not among it.
func keptOf[K any](a *App, d Drawer, read func(string) (K, error), day func(K) time.Time) ([]K, error) {
	names, err := checkFiles(a.inDrawer(d))
	if err != nil {
		return nil, err
	}
	var out []K
	for _, name := range names {
		k, err := read(name)
		if fault.KindOf(err) == fault.NotFound {
			continue
		}
		if err != nil {
			return nil, err
		}
		out = append(out, k)
	}
	slices.SortStableFunc(out, func(x, y K) int { return day(y).Compare(day(x)) })
	return out, nil
}

// KeptStudies lists the shop's studies, the newest first; a file that cannot be read is listed with what is wrong.
func (a *App) KeptStudies() ([]KeptCheck[StudyAnswer], error) {
	return keptOf(a, Studies, a.KeptStudy, func(k KeptCheck[StudyAnswer]) time.Time { return k.Day })
}

// KeptStudy returns one of the shop's studies.
func (a *App) KeptStudy(name string) (KeptCheck[StudyAnswer], error) {
	return keptCheck(a, Studies, name, func(text string) (StudyAnswer, error) { return a.StudyOf(StudySent{Name: name, Text: text}) })
}

// A LabsSent is a comparison of shops as it was sent: a file in the form of "runnel compare-benches", and its title.
type LabsSent struct {
	Name, Text string // of the file; without a name TOML or CSV as the text looks
	Title      string // empty: as the file says
}

// A LabsScored is a comparison of shops with its scores.
type LabsScored struct {
	LabsAnswer

	Facts job.LabComparison
}

// LabsOf scores a comparison of shops as it was sent. What is wrong with it comes back as job.Problems.
func LabsOf(s LabsSent) (LabsScored, error) {
	c, err := job.ReadLabComparison(fileName(s.Name, s.Text, "shops"), []byte(s.Text))
	if err != nil {
		return LabsScored{}, err
	}
	c.Title = orWord(strings.TrimSpace(s.Title), c.Title)
	a, err := CompareBenches(c)
	return LabsScored{LabsAnswer: a, Facts: c}, err
}

// KeepLabs writes a comparison of shops into the shop's folder, once it can be scored, and returns the name of its file. It stays as it
// was sent unless a title was typed beside it.
func (a *App) KeepLabs(s LabsSent) (string, error) {
	c, err := LabsOf(s)
	if err != nil {
		return "", err
	}
	f := checkFile{sent: s.Name, text: s.Text, typed: strings.TrimSpace(s.Title) != "", anew: c.Facts.File, kind: "shops"}
	return a.keepSent(Comparisons, c.Facts.Title, f)
}

// AllKeptLabs lists the shop's comparisons, the newest first; a file that cannot be read is listed with what is wrong.
func (a *App) AllKeptLabs() ([]KeptCheck[LabsScored], error) {
	return keptOf(a, Comparisons, a.KeptLabs, func(k KeptCheck[LabsScored]) time.Time { return k.Day })
}

// KeptLabs returns one of the shop's comparisons.
func (a *App) KeptLabs(name string) (KeptCheck[LabsScored], error) {
	return keptCheck(a, Comparisons, name, func(text string) (LabsScored, error) { return LabsOf(LabsSent{Name: name, Text: text}) })
}
