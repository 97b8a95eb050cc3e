package app

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"runnel/internal/fault"
	"runnel/job"
	"runnel/unit"
)

// calibrationsDir holds the calibrations of the shop's bench, beside its card: one file each, as "runnel calibrate" reads it.
const calibrationsDir = "calibrations"

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

func (a *App) calibrationsPath() string { return filepath.Join(a.shop, calibrationsDir) }

// calibrationNames lists the files of the shop's calibrations.
func (a *App) calibrationNames() ([]string, error) {
	list, err := os.ReadDir(a.calibrationsPath())
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fault.As(fault.Invalid, fmt.Errorf("the shop's calibrations: %w", err))
	}
	var out []string
	for _, e := range list {
		if ext := strings.ToLower(filepath.Ext(e.Name())); e.IsDir() || (ext != ".toml" && ext != ".csv") || strings.HasPrefix(e.Name(), ".") {
			continue
		}
		out = append(out, e.Name())
	}
	return out, nil
}

// Calibrations lists the shop's calibrations by day, the newest first; a file that cannot be read is listed with what is wrong.
func (a *App) Calibrations(ctx context.Context) ([]KeptCalibration, error) {
	names, err := a.calibrationNames()
	if err != nil || len(names) == 0 {
		return nil, err
	}
	card := a.cardOrNone(ctx)
	var out []KeptCalibration
	for _, name := range names {
		out = append(out, a.readKept(name, card))
	}
	slices.SortStableFunc(out, func(x, y KeptCalibration) int { return y.Tried.Facts.At.Compare(x.Tried.Facts.At) })
	return out, nil
}

// cardOrNone is the shop's bench card where there is a sound one.
func (a *App) cardOrNone(ctx context.Context) job.Bench {
	s, err := a.ShopBench(ctx)
	if err != nil {
		return job.Bench{}
	}
	return s.Card
}

func (a *App) readKept(name string, card job.Bench) KeptCalibration {
	k := KeptCalibration{Name: name}
	data, err := os.ReadFile(filepath.Join(a.calibrationsPath(), name))
	if err == nil {
		k.Tried, err = a.TryCalibration(CalibrationSent{Name: name, Text: string(data)})
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
	return k
}

// Calibration returns one of the shop's calibrations.
func (a *App) Calibration(ctx context.Context, name string) (KeptCalibration, error) {
	names, err := a.calibrationNames()
	if err != nil {
		return KeptCalibration{}, err
	}
	if !slices.Contains(names, name) {
		return KeptCalibration{}, fault.Errorf(fault.NotFound, "no calibration of the shop is called %q", name)
	}
	return a.readKept(name, a.cardOrNone(ctx)), nil
}

// KeepCalibration writes a calibration into the shop's folder and returns the name of its file. One that is kept already, to the
// letter, is not kept twice; none is ever written over.
func (a *App) KeepCalibration(_ context.Context, s CalibrationSent) (string, error) {
	t, err := a.TryCalibration(s)
	if err != nil {
		return "", err
	}
	if t.Facts.At.IsZero() {
		return "", FieldProblems{"day": "write the day it was made, so that it can be said when it is due again"}.err()
	}
	a.shopping.Lock()
	defer a.shopping.Unlock()
	if a.jobsFolder() {
		return "", fault.Errorf(fault.Invalid, "%s holds a job: start Runnel with --shop and a folder of the shop's own", a.shop)
	}
	if err := os.MkdirAll(a.calibrationsPath(), 0o755); err != nil {
		return "", fault.As(fault.Invalid, fmt.Errorf("the shop's calibrations: %w", err))
	}
	base := t.Facts.At.Format(time.DateOnly) + "-" + slug(orWord(t.Facts.Title, "calibration"))
	for n := 1; ; n++ {
		name := base + ".toml"
		if n > 1 {
			name = fmt.Sprintf("%s-%d.toml", base, n)
		}
		file := filepath.Join(a.calibrationsPath(), name)
		was, err := os.ReadFile(file)
		switch {
		case err == nil && string(was) == t.Text:
			return name, nil
		case err == nil:
			continue
		case !errors.Is(err, fs.ErrNotExist):
			return "", fault.As(fault.Invalid, err)
		}
		if err := lasting(file, []byte(t.Text)); err != nil {
			return "", fault.As(fault.Invalid, fmt.Errorf("writing the calibration: %w", err))
		}
		a.log.Info("calibration kept", "file", name)
		return name, nil
	}
}
