package app

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"runnel/internal/fault"
	"runnel/job"
	"runnel/unit"
)

// A CalibrationSent is a calibration as it was sent: a file in the form of "runnel calibrate", and what may be said beside it.
type CalibrationSent struct {
	Name   string // of the file; empty: TOML or CSV as the text looks
	Text   string
	Title  string // empty: as the file says
	Day    string // "2026-05-02"; empty: as the file says
	Every  string // "365 d"; empty: as the file says
	Common string // "0.3 %"; empty: as the file says
}

// A CalibrationTried is a calibration with the curve that comes out.
type CalibrationTried struct {
	Facts  job.Calibration
	Answer CalibrationAnswer
	Text   string // as it is kept, TOML
}

// TryCalibration works a calibration out without keeping it; whether a new one is due is said for today. What is wrong with the
// text comes back as job.Problems, with what was typed beside it as FieldProblems.
func (a *App) TryCalibration(s CalibrationSent) (CalibrationTried, error) {
	s.Text = strings.ReplaceAll(s.Text, "\r\n", "\n") // a browser sends every line of a form so
	name := fileName(s.Name, s.Text, "calibration")
	c, err := job.ReadCalibration(name, []byte(s.Text))
	if err != nil {
		return CalibrationTried{}, err
	}
	changed, err := s.onto(&c, a.now())
	if err != nil {
		return CalibrationTried{}, err
	}
	out := CalibrationTried{Facts: c, Text: s.Text}
	if changed || !strings.HasSuffix(strings.ToLower(name), ".toml") {
		text, err := c.File()
		if err != nil {
			return CalibrationTried{}, invalid(err)
		}
		out.Text = string(text)
	}
	out.Answer, err = Calibrate(c, a.now())
	return out, err
}

// fileName is the name of a file that was sent, in messages; text without a name is TOML where its first words look so.
func fileName(name, text, otherwise string) string {
	if name = filepath.Base(strings.ReplaceAll(strings.TrimSpace(name), `\`, "/")); name != "." && name != "/" {
		return name
	}
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(strings.TrimPrefix(line, "\ufeff"))
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		if strings.HasPrefix(line, "[") || strings.Contains(line, "=") {
			return otherwise + ".toml"
		}
		break
	}
	return otherwise + ".csv"
}

// onto puts what was typed beside a file onto the calibration.
func (s CalibrationSent) onto(c *job.Calibration, now time.Time) (changed bool, err error) {
	before := *c
	t := newTypist(now)
	if title := t.text("title", s.Title, ""); title != "" {
		c.Title = title
	}
	if at := t.day("day", s.Day); !at.IsZero() {
		c.At = at
	}
	if s.Every != "" {
		if c.Every = t.quantity("every", s.Every, unit.Time, ""); c.Every < 0 {
			t.wrong("every", `write the longest time to the next calibration, as "365 d"`)
		}
	}
	if s.Common != "" {
		if c.UCommon = t.share("common", s.Common, ""); c.UCommon > 0.5 {
			t.wrong("common", `write one standard uncertainty, as "0.3 %"`)
		}
	}
	same := before.Title == c.Title && before.At.Equal(c.At) && before.Every == c.Every && before.UCommon == c.UCommon
	return !same, t.err()
}

// day reads a day; empty is none.
func (t *typist) day(field, typed string) time.Time {
	typed = strings.TrimSpace(typed)
	if typed == "" {
		return time.Time{}
	}
	at, err := time.Parse(time.DateOnly, typed)
	if err != nil {
		t.wrong(field, fmt.Sprintf(`%q is no day: write it like "2026-05-02"`, typed))
	}
	return at
}

// A KeptCalibration is one of the shop's calibrations as it lies in its folder.
type KeptCalibration struct {
	Name    string // of its file, without the folder
	Tried   CalibrationTried
	Meters  []string // names of the meters on the shop's card that use its curve
	OnCard  bool     // its curve is on the shop's card
	Problem string   // why it cannot be read, when it cannot
}

// CurveID is the name that a kept calibration's curve has on the bench card.
func (k KeptCalibration) CurveID() string { return curveID(k.Name) }

func curveID(name string) string { return strings.TrimSuffix(name, filepath.Ext(name)) }

// Calibrations lists the shop's calibrations by day, the newest first; a file that cannot be read is listed with what is wrong.
func (a *App) Calibrations(ctx context.Context) ([]KeptCalibration, error) {
	card := a.cardOrNone(ctx)
	read := func(name string) (KeptCalibration, error) { return a.readKept(name, card) }
	return keptOf(a, Calibrations, read, func(k KeptCalibration) time.Time { return k.Tried.Facts.At })
}

// cardOrNone is the shop's bench card where there is a sound one.
func (a *App) cardOrNone(ctx context.Context) job.Bench {
	s, err := a.ShopBench(ctx)
	if err != nil {
		return job.Bench{}
	}
	return s.Card
}

func (a *App) readKept(name string, card job.Bench) (KeptCalibration, error) {
	text, err := a.checkText(Calibrations, name)
	if fault.KindOf(err) == fault.NotFound {
		return KeptCalibration{}, err
	}
	k := KeptCalibration{Name: name}
	if err == nil {
		k.Tried, err = a.TryCalibration(CalibrationSent{Name: name, Text: text})
	}
	if err != nil {
		k.Problem = err.Error()
	}
	k.OnCard = slices.ContainsFunc(card.Calibrations, func(c job.Curve) bool { return c.ID == k.CurveID() })
	for _, m := range card.Meters {
		if m.Calibration == k.CurveID() {
			k.Meters = append(k.Meters, orWord(m.Title, m.ID))
		}
	}
	return k, nil
}

// Calibration returns one of the shop's calibrations.
func (a *App) Calibration(ctx context.Context, name string) (KeptCalibration, error) {
	return a.readKept(name, a.cardOrNone(ctx))
}

// KeepCalibration writes a calibration into the shop's folder and returns the name of its file.
func (a *App) KeepCalibration(_ context.Context, s CalibrationSent) (string, error) {
	t, err := a.TryCalibration(s)
	if err != nil {
		return "", err
	}
	if t.Facts.At.IsZero() {
		return "", FieldProblems{"day": "write the day it was made, so that it can be said when it is due again"}.err()
	}
	return a.keepCheck(Calibrations, t.Facts.At, t.Facts.Title, ".toml", t.Text)
}
