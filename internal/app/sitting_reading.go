package app

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"runnel/internal/fault"
	"runnel/job"
	"runnel/unit"
)

// A ReadingTyped is a reading taken by eye, as it was typed.
type ReadingTyped struct {
	Rig, Round, Opening, Lift     string
	MeterDP, TestPressure, UByEye string
	Scale                         string // instead of MeterDP, with a plate on a percent scale
	At, Note                      string
}

// AddReading adds a reading taken by eye and returns its id. The steps before the readings have to be done or skipped.
func (a *App) AddReading(ctx context.Context, ref SittingRef, f ReadingTyped) (string, error) {
	id := ""
	_, err := a.editSitting(ctx, sittingEdit{SittingRef: ref, what: "reading taken by eye", why: f.Note, do: func(j job.Job, s *job.Sitting, _ map[string]job.Trace) error {
		if open := openSteps(j, *s); len(open) > 0 {
			return fault.Errorf(fault.Invalid, "%s first: do it, or skip it with a reason", strings.Join(open, " and "))
		}
		t := newTypist(a.now())
		r := f.read(t, j)
		if err := t.err(); err != nil {
			return err
		}
		r.ID = nextReading(j)
		id = r.ID
		s.Readings = append(s.Readings, r)
		return nil
	}})
	return id, err
}

func (f ReadingTyped) read(t *typist, j job.Job) job.Reading {
	r := job.Reading{
		At: t.instant(f.At), Note: t.text("note", f.Note, ""),
		TestPressure: t.quantity("test_pressure", f.TestPressure, unit.Pressure, `write the pressure drop across the piece, like "28 inH2O"`),
		UByEye:       t.share("u_by_eye", f.UByEye, `write how far off the eye may be, as a standard uncertainty of the flow, like "0.5 %"`),
	}
	f.shown(t, &r, j)
	if r.TestPressure < 0 || t.problems["test_pressure"] == "" && r.TestPressure == 0 {
		t.wrong("test_pressure", "write the pressure drop without its sign")
	}
	var rigs []string
	for _, g := range j.Rigs {
		rigs = append(rigs, g.ID)
	}
	r.Rig = t.oneOf("rig", f.Rig, rigs, "a rig card")
	f.under(t, &r, j)
	return r
}

// shown reads what the meter of the rig card shows: a pressure difference, or its percent scale.
func (f ReadingTyped) shown(t *typist, r *job.Reading, j job.Job) {
	if !onPercentScale(j, strings.TrimSpace(f.Rig)) {
		r.MeterDP = t.quantity("meter_dp", f.MeterDP, unit.Pressure, `write the pressure difference of the meter, like "1.9 kPa"`)
		if r.MeterDP < 0 || t.problems["meter_dp"] == "" && r.MeterDP == 0 {
			t.wrong("meter_dp", "write a difference above zero; swap the hoses when it reads below")
		}
		if strings.TrimSpace(f.Scale) != "" {
			t.wrong("scale", "the meter of this rig card has no percent scale: leave it empty")
		}
		return
	}
	r.Scale = t.quantity("scale", f.Scale, unit.Ratio, `write what the percent scale of the meter shows, like "72 %"`)
	if r.Scale < 0 || r.Scale > 1.2 || t.problems["scale"] == "" && r.Scale == 0 {
		t.wrong("scale", `write it in per cent of the full flow, like "72 %"`)
	}
	if strings.TrimSpace(f.MeterDP) != "" {
		t.wrong("meter_dp", "the meter of this rig card is read on its percent scale: leave it empty")
	}
}

// onPercentScale reports whether the meter of a rig card is a plate on a percent scale.
func onPercentScale(j job.Job, rig string) bool {
	return slices.ContainsFunc(j.Rigs, func(g job.RigCard) bool { return g.ID == rig && j.Bench.OnPercentScale(g) })
}

// under reads what was under test, as the rig card allows.
func (f ReadingTyped) under(t *typist, r *job.Reading, j job.Job) {
	piece, ok := pieceOfRig(j, r.Rig)
	if !ok {
		return
	}
	var rounds []string
	for _, x := range j.Rounds {
		if x.Piece == piece.ID {
			rounds = append(rounds, x.ID)
		}
	}
	r.Round = t.oneOf("round", f.Round, rounds, "a round of the rig card's piece")
	r.Opening = t.oneOf("opening", f.Opening, piece.Openings, "an opening of the rig card's piece")
	if piece.Kind == "head" {
		r.Lift = t.quantity("lift", f.Lift, unit.Length, `write the valve lift, like "8 mm"`)
	} else if strings.TrimSpace(f.Lift) != "" {
		t.wrong("lift", "only a head has a lift: leave it empty")
	}
}

func pieceOfRig(j job.Job, rig string) (job.Piece, bool) {
	for _, g := range j.Rigs {
		if g.ID != rig {
			continue
		}
		for _, p := range j.Pieces {
			if p.ID == g.Piece {
				return p, true
			}
		}
	}
	return job.Piece{}, false
}

var readingNumber = regexp.MustCompile(`^r(\d{1,6})$`)

// nextReading returns an id that no reading of the job has, one above the highest number.
func nextReading(j job.Job) string {
	highest, width := 0, 3
	for _, s := range j.Sittings {
		for _, r := range s.Readings {
			if m := readingNumber.FindStringSubmatch(r.ID); m != nil {
				if n, err := strconv.Atoi(m[1]); err == nil && n >= highest {
					highest, width = n, len(m[1])
				}
			}
		}
	}
	return fmt.Sprintf("r%0*d", width, highest+1)
}

// Void says that a reading does not count, and why. The reading stays.
func (a *App) Void(ctx context.Context, ref SittingRef, reading, why string) error {
	why = strings.Join(strings.Fields(why), " ")
	if why == "" {
		return FieldProblems{"why": "write why the reading does not count: the reason stays with it"}.err()
	}
	return a.record(ctx, ref, "reading "+reading+" voided", why, func(_ job.Job, s *job.Sitting) error {
		r, err := readingIn(s, reading)
		if err != nil {
			return err
		}
		if r.Void != "" {
			return fault.Errorf(fault.Conflict, "reading %q does not count already: %s", reading, r.Void)
		}
		r.Void = why
		return nil
	})
}

// Unvoid lets a reading count again.
func (a *App) Unvoid(ctx context.Context, ref SittingRef, reading string) error {
	return a.record(ctx, ref, "reading "+reading+" counts again", "", func(_ job.Job, s *job.Sitting) error {
		r, err := readingIn(s, reading)
		if err != nil {
			return err
		}
		if r.Void == "" {
			return fault.Errorf(fault.Conflict, "reading %q counts already", reading)
		}
		r.Void = ""
		return nil
	})
}

func readingIn(s *job.Sitting, id string) (*job.Reading, error) {
	i := slices.IndexFunc(s.Readings, func(r job.Reading) bool { return r.ID == id })
	if i < 0 {
		return nil, fault.Errorf(fault.NotFound, "sitting %q has no reading %q", s.ID, id)
	}
	return &s.Readings[i], nil
}
