package app

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"runnel/internal/fault"
	"runnel/internal/store"
	"runnel/job"
	"runnel/unit"
)

// An AirTyped is an air record as it was typed, every value with its unit.
type AirTyped struct {
	At, Pressure, Temperature, Humidity string
}

func (f AirTyped) read(t *typist) job.AirRecord {
	return job.AirRecord{
		At:          t.instant(f.At),
		Pressure:    t.quantity("pressure", f.Pressure, unit.Pressure, `write the barometer's reading at the shop, like "1013 hPa" or "29.9 inHg"`),
		Temperature: t.quantity("temp", f.Temperature, unit.Temperature, `write the temperature of the air the bench draws, like "20 °C" or "68 °F"`),
		Humidity:    t.share("rh", f.Humidity, `write the relative humidity, like "45 %"`),
	}
}

// A NewSitting is a sitting as it is begun: who is at the bench, and the room's air, without which no reading can be corrected.
type NewSitting struct {
	ID, By, Note string
	Air          AirTyped
}

var sittingName = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,40}$`)

// BeginSitting adds a sitting to a job. What is wrong with the form comes back as FieldProblems.
func (a *App) BeginSitting(ctx context.Context, id string, f NewSitting) (string, error) {
	t := newTypist(a.now())
	s := job.Sitting{ID: strings.TrimSpace(f.ID), By: t.text("by", f.By, ""), Note: t.text("note", f.Note, "")}
	s.Air = []job.AirRecord{f.Air.read(t)}
	s.At = s.Air[0].At
	if s.ID != "" && !sittingName.MatchString(s.ID) {
		t.wrong("id", "write lower-case letters, digits and dashes, at most 41")
	}
	if err := t.err(); err != nil {
		return "", err
	}
	card := ""
	words := func() string { return fmt.Sprintf("sitting %s: begun; %s", f.ID, card) }
	_, err := a.edit(ctx, edit{job: id, words: words, why: s.Note, do: func(j job.Job, files store.Files) (store.Files, error) {
		s := s
		if s.ID == "" {
			s.ID = freeSitting(j, s.At.Format("2006-01-02"))
		}
		s.File = "sittings/" + s.ID + ".toml"
		if _, there := files[s.File]; there || slices.ContainsFunc(j.Sittings, func(o job.Sitting) bool { return o.ID == s.ID }) {
			return nil, FieldProblems{"id": fmt.Sprintf("there is a sitting %q already: choose another name", s.ID)}.err()
		}
		kept, own := files[benchFile]
		f.ID, card = s.ID, "bench card: "+cardWords(kept, own)
		out, err := sittingFiles(s, nil, files)
		if own || err != nil {
			return out, err
		}
		out[benchFile], card, err = a.copyOfShop(ctx, "sitting "+s.ID+" was begun")
		return out, err
	}})
	return f.ID, err
}

// freeSitting returns a name that no sitting has.
func freeSitting(j job.Job, base string) string {
	return freeID(base, func(id string) bool {
		return slices.ContainsFunc(j.Sittings, func(s job.Sitting) bool { return s.ID == id || s.File == "sittings/"+id+".toml" })
	})
}

// AddAir adds a record of the room's air.
func (a *App) AddAir(ctx context.Context, ref SittingRef, f AirTyped) error {
	t := newTypist(a.now())
	r := f.read(t)
	if err := t.err(); err != nil {
		return err
	}
	return a.record(ctx, ref, "air recorded", "", func(_ job.Job, s *job.Sitting) error {
		s.Air = append(s.Air, r)
		return nil
	})
}

// AddZero adds what channels show with no flow, as typed, by channel. A channel left empty is left out.
func (a *App) AddZero(ctx context.Context, ref SittingRef, at string, values map[string]string) error {
	t := newTypist(a.now())
	when := t.instant(at)
	return a.record(ctx, ref, "zero recorded", "", func(j job.Job, s *job.Sitting) error {
		t := newTypist(a.now())
		if when.IsZero() {
			t.instant(at)
		}
		n := 0
		for _, x := range zeroSensors(j.Bench) {
			v := strings.TrimSpace(values[x.Channel])
			if v == "" {
				continue
			}
			n++
			if _, d, err := unitOfSensor(x); err != nil {
				t.wrong(x.Channel, err.Error())
			} else if _, err := d.Parse(v); err != nil {
				t.wrong(x.Channel, err.Error())
			}
			s.Zero = append(s.Zero, job.ZeroRecord{At: when, Channel: x.Channel, Value: v})
		}
		if n == 0 {
			for _, x := range zeroSensors(j.Bench) {
				t.wrong(x.Channel, `write what it shows with the blower off, like "1.2 Pa"`)
			}
		}
		return t.err()
	})
}

// zeroSensors lists the sensors whose zero is taken off.
func zeroSensors(b job.Bench) []job.Sensor {
	var out []job.Sensor
	for _, s := range b.Sensors {
		if s.Role == "meter_dp" || s.Role == "test_dp" || s.Role == "meter_reading" {
			out = append(out, s)
		}
	}
	return out
}

// unitOfSensor returns the unit a sensor reports in and its dimension.
func unitOfSensor(s job.Sensor) (unit.Unit, unit.Dimension, error) {
	fits := unit.All()
	switch s.Role {
	case "meter_dp", "test_dp", "air_pressure":
		fits = []unit.Dimension{unit.Pressure}
	case "air_temp", "meter_temp":
		fits = []unit.Dimension{unit.Temperature}
	case "air_rh":
		fits = []unit.Dimension{unit.Ratio}
	default:
		fits = append([]unit.Dimension{unit.Ratio}, fits...)
	}
	for _, d := range fits {
		if s.Unit == "" {
			return d.SI(), d, nil
		}
		if u, ok := d.Lookup(s.Unit); ok {
			return u, d, nil
		}
	}
	return unit.Unit{}, unit.Dimension{}, fmt.Errorf("unit %q of sensor %q does not fit its role %s: mend it on the sensor page", s.Unit, s.Channel, s.Role)
}

// A LeakTyped is one leakage point as it was typed.
type LeakTyped struct{ At, TestPressure, Flow, UFlow, Meter string }

// AddLeakage adds a leakage point.
func (a *App) AddLeakage(ctx context.Context, ref SittingRef, f LeakTyped) error {
	t := newTypist(a.now())
	l := job.LeakPoint{
		At:           t.instant(f.At),
		TestPressure: t.quantity("test_pressure", f.TestPressure, unit.Pressure, `write the pressure drop that was held, like "28 inH2O"`),
		Flow:         t.quantity("flow", f.Flow, unit.VolumeFlow, `write the flow at the room's air, like "1.2 cfm"; "0 cfm" when there was none`),
		UFlow:        t.quantity("u_flow", f.UFlow, unit.VolumeFlow, ""),
		Meter:        strings.TrimSpace(f.Meter),
	}
	if l.TestPressure < 0 || t.problems["test_pressure"] == "" && l.TestPressure == 0 {
		t.wrong("test_pressure", `write the pressure drop without its sign, like "28 inH2O"`)
	}
	if l.Flow < 0 {
		t.wrong("flow", "a leakage is not below zero: check the zero of the meter")
	}
	if l.UFlow < 0 {
		t.wrong("u_flow", `write how sure the flow is, above zero, like "0.1 cfm"`)
	}
	if err := t.err(); err != nil {
		return err
	}
	return a.record(ctx, ref, "leakage recorded", "", func(_ job.Job, s *job.Sitting) error {
		s.Leakage = append(s.Leakage, l)
		return nil
	})
}

// A CheckTyped is a flow of the check plate as it was typed.
type CheckTyped struct{ At, EffectiveArea, Meter string }

// AddCheck adds a flow of the check plate.
func (a *App) AddCheck(ctx context.Context, ref SittingRef, f CheckTyped) error {
	t := newTypist(a.now())
	c := job.PlateCheck{
		At: t.instant(f.At), Meter: strings.TrimSpace(f.Meter),
		EffectiveArea: t.quantity("effective_area", f.EffectiveArea, unit.Area, `write the effective area that was read, like "598 mm²"`),
	}
	if t.problems["effective_area"] == "" && c.EffectiveArea <= 0 {
		t.wrong("effective_area", `write an area above zero, like "598 mm²"`)
	}
	if err := t.err(); err != nil {
		return err
	}
	return a.record(ctx, ref, "check plate flowed", "", func(_ job.Job, s *job.Sitting) error {
		s.Checks = append(s.Checks, c)
		return nil
	})
}

// record is an edit of a sitting that adds no trace.
func (a *App) record(ctx context.Context, ref SittingRef, what, why string, do func(j job.Job, s *job.Sitting) error) error {
	_, err := a.editSitting(ctx, sittingEdit{SittingRef: ref, what: what, why: why, do: func(j job.Job, s *job.Sitting, _ map[string]job.Trace) error {
		return do(j, s)
	}})
	return err
}

// Strike takes one record out of a step: it stays in the revision before. at counts from 0.
func (a *App) Strike(ctx context.Context, ref SittingRef, step string, at int, why string) error {
	if strings.TrimSpace(why) == "" {
		return FieldProblems{"why": "write why the record is taken out: the job's record keeps the reason"}.err()
	}
	return a.record(ctx, ref, "record "+strconv.Itoa(at+1)+" of "+step+" taken out", why, func(_ job.Job, s *job.Sitting) error {
		n := map[string]int{StepAir: len(s.Air), StepZero: len(s.Zero), StepLeakage: len(s.Leakage), StepCheck: len(s.Checks)}[step]
		switch {
		case at < 0 || at >= n:
			return fault.Errorf(fault.NotFound, "there is no record %d of %s", at+1, step)
		case step == StepAir && n == 1:
			return fault.Errorf(fault.Invalid, "this is the only air record, and no reading can be corrected without one: add the right one first")
		}
		switch step {
		case StepAir:
			s.Air = slices.Delete(s.Air, at, at+1)
		case StepZero:
			s.Zero = slices.Delete(s.Zero, at, at+1)
		case StepLeakage:
			s.Leakage = slices.Delete(s.Leakage, at, at+1)
		case StepCheck:
			s.Checks = slices.Delete(s.Checks, at, at+1)
		}
		return nil
	})
}

// SaveNote keeps the free words of a sitting; the reasons of skipped steps in its note stay.
func (a *App) SaveNote(ctx context.Context, ref SittingRef, by, note string) error {
	return a.record(ctx, ref, "note changed", "", func(_ job.Job, s *job.Sitting) error {
		skips, _ := readNote(s.Note)
		_, words := readNote(strings.ReplaceAll(note, "\r\n", "\n"))
		s.By, s.Note = strings.TrimSpace(by), writeNote(skips, words)
		return nil
	})
}
