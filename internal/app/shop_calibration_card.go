package app

import (
	"context"
	"reflect"
	"slices"
	"strings"
	"time"

	"runnel/internal/fault"
	"runnel/job"
)

// A CardChange is what putting a kept calibration on the shop's bench card would change.
type CardChange struct {
	Calibration KeptCalibration
	Meter       job.Meter  // that is corrected by the curve from then on; empty: none yet
	Was         string     // calibration that the meter names now; empty: none
	Tag         string     // of the card as it is now
	Lines       []DiffLine // what changes in its text, with the lines around
	Nothing     bool       // the card says so already
	text        []byte
}

// CardWith works out what the shop's bench card would be with the curve of a kept calibration on it, used by a meter; an empty
// meter means that none uses it yet. The card is not changed.
func (a *App) CardWith(ctx context.Context, name, meter string) (CardChange, error) {
	k, err := a.Calibration(ctx, name)
	if err != nil {
		return CardChange{}, err
	}
	if k.Problem != "" {
		return CardChange{}, fault.Errorf(fault.Invalid, "%s cannot be read: %s", name, k.Problem)
	}
	s, err := a.ShopBench(ctx)
	if err != nil {
		return CardChange{}, err
	}
	if !s.There {
		return CardChange{}, fault.Errorf(fault.Invalid, "the shop has no bench card yet: begin one first")
	}
	out := CardChange{Calibration: k, Tag: s.Tag}
	if meter != "" {
		i := slices.IndexFunc(s.Card.Meters, func(m job.Meter) bool { return m.ID == meter })
		if i < 0 {
			return CardChange{}, fault.Errorf(fault.Invalid, "the shop's bench card has no meter %q: choose one of its meters", meter)
		}
		out.Meter = s.Card.Meters[i]
		if out.Was = out.Meter.Calibration; out.Was == k.CurveID() {
			out.Was = ""
		}
	}
	curve, err := k.Tried.Answer.Card(k.Tried.Facts, k.CurveID())
	if err != nil {
		return CardChange{}, err
	}
	if out.text, err = withCurve(s.Card, s.Text, string(curve), k.CurveID(), meter); err != nil {
		return CardChange{}, err
	}
	out.Lines, out.Nothing = diffLines(s.Text, string(out.text)), string(out.text) == s.Text
	return out, nil
}

// PutOnCard puts the curve of a kept calibration on the shop's bench card, used by a meter; see CardWith. The card before stays
// among its states.
func (a *App) PutOnCard(ctx context.Context, e ShopEdit, name, meter string) error {
	a.shopping.Lock()
	defer a.shopping.Unlock()
	if err := a.sameCard(ctx, e.Tag); err != nil {
		return err
	}
	c, err := a.CardWith(ctx, name, meter)
	if err != nil || c.Nothing {
		return err
	}
	what := "calibration " + c.Calibration.CurveID() + " put on the card"
	if meter != "" {
		what += ", used by meter " + meter
	}
	return a.saveShop(ctx, c.text, e.Why, what)
}

// withCurve puts a curve on a bench card and has a meter name it. The text of the card stays as it was written, comments
// included, where its form allows; else the card is written anew, and the comment at its head stays.
func withCurve(card job.Bench, text, curve, id, meter string) ([]byte, error) {
	edited := text
	if !slices.ContainsFunc(card.Calibrations, func(c job.Curve) bool { return c.ID == id }) {
		edited = strings.TrimRight(edited, "\n") + "\n\n" + strings.TrimRight(curve, "\n") + "\n"
	}
	if meter != "" {
		edited = nameCurve(edited, meter, id)
	}
	added, err := curveOf(curve, id)
	if err != nil {
		return nil, err
	}
	want := card
	want.Calibrations = append(slices.DeleteFunc(slices.Clone(card.Calibrations), func(c job.Curve) bool { return c.ID == id }), added)
	want.Meters = slices.Clone(card.Meters)
	for i := range want.Meters {
		if want.Meters[i].ID == meter {
			want.Meters[i].Calibration = id
		}
	}
	if got, err := job.LoadBench(benchFile, []byte(edited)); err == nil && sameBench(got, want) {
		return []byte(edited), nil
	}
	out, err := writtenFiles(job.Job{Bench: want}, func(name string) bool { return name == benchFile })
	if err != nil {
		return nil, err
	}
	return append(headComment([]byte(text)), out[benchFile]...), nil
}

// sameBench reports whether two cards say the same, in whatever order their curves stand.
func sameBench(a, b job.Bench) bool {
	byID := func(c job.Curve) string { return c.ID }
	a.Calibrations, b.Calibrations = sortedBy(a.Calibrations, byID), sortedBy(b.Calibrations, byID)
	return reflect.DeepEqual(a, b)
}

// curveOf reads the curve that a text of [[calibrations]] carries.
func curveOf(text, id string) (job.Curve, error) {
	b, err := job.LoadBench("curve "+id, []byte(curveProbe+text))
	if err != nil {
		return job.Curve{}, err
	}
	return b.Calibrations[0], nil
}

// nameCurve has a meter name a curve in the text of a card whose meters stand as [[meters]]; else the text is returned as it is.
func nameCurve(text, meter, id string) string {
	lines := strings.Split(text, "\n")
	for from := range lines {
		if strings.TrimSpace(lines[from]) != "[[meters]]" {
			continue
		}
		to := from + 1
		for to < len(lines) && !strings.HasPrefix(strings.TrimSpace(lines[to]), "[") {
			to++
		}
		block := lines[from+1 : to]
		if valueAt(block, "id") != tomlText(meter) {
			continue
		}
		line := "calibration = " + tomlText(id)
		if i := keyAt(block, "calibration"); i >= 0 {
			lines[from+1+i] = line
			return strings.Join(lines, "\n")
		}
		for to > from+1 && keyOf(lines[to-1]) == "" { // blank lines and comments before the next table are that one's
			to--
		}
		return strings.Join(slices.Insert(lines, to, line), "\n")
	}
	return text
}

// keyOf is the key that a line sets; empty when it sets none.
func keyOf(line string) string {
	key, _, ok := strings.Cut(line, "=")
	if key = strings.TrimSpace(key); !ok || strings.HasPrefix(key, "#") {
		return ""
	}
	return key
}

func keyAt(lines []string, key string) int {
	return slices.IndexFunc(lines, func(l string) bool { return keyOf(l) == key })
}

// valueAt is the value that a block of lines sets a key to, as it is written; a comment behind it is left out.
func valueAt(lines []string, key string) string {
	i := keyAt(lines, key)
	if i < 0 {
		return ""
	}
	_, value, _ := strings.Cut(lines[i], "=")
	value, _, _ = strings.Cut(value, "#")
	return strings.TrimSpace(value)
}

// A MeterCurve is a meter of the shop's bench card with the calibration it is corrected by.
type MeterCurve struct {
	Meter job.Meter
	Curve *job.Curve // nil: none
	Until time.Time  // day on which it has to be made anew
	Due   bool
	Kept  string // name of the kept calibration it came from; empty: not kept here
}

// MeterCurves lists the meters of the shop's bench card with what each is corrected by; none without a sound card.
func (a *App) MeterCurves(ctx context.Context) []MeterCurve {
	card := a.cardOrNone(ctx)
	names, err := checkFiles(a.inDrawer(Calibrations))
	if err != nil {
		a.log.Warn("calibrations of the shop", "error", err)
	}
	var out []MeterCurve
	for _, m := range card.Meters {
		c := MeterCurve{Meter: m}
		if i := slices.IndexFunc(card.Calibrations, func(k job.Curve) bool { return k.ID == m.Calibration }); i >= 0 {
			c.Curve = &card.Calibrations[i]
			c.Until = dueOn(c.Curve.At, c.Curve.Every)
			c.Due = a.now().After(c.Until)
		}
		if i := slices.IndexFunc(names, func(name string) bool { return m.Calibration != "" && curveID(name) == m.Calibration }); i >= 0 {
			c.Kept = names[i]
		}
		out = append(out, c)
	}
	return out
}

// dueOn is the day on which a calibration has to be made anew; every [s], 0: not said.
func dueOn(at time.Time, every float64) time.Time {
	return at.Add(time.Duration(job.CalibrationLife(every) * float64(time.Second)))
}

// DueOn is the day on which the calibration has to be made anew.
func (t CalibrationTried) DueOn() time.Time {
	if t.Facts.At.IsZero() {
		return time.Time{}
	}
	return dueOn(t.Facts.At, t.Facts.Every)
}
