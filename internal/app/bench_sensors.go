package app

import (
	"context"
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"runnel/internal/capture"
	"runnel/internal/fault"
	"runnel/internal/store"
	"runnel/job"
)

// A SensorTyped is a sensor of a bench card as it was typed.
type SensorTyped struct {
	Channel, Role, Unit, Low, High, Calibration, U, Source string
}

// SensorRoles lists what a sensor can be for.
func SensorRoles() []string {
	return []string{"meter_dp", "test_dp", "air_pressure", "air_temp", "air_rh", "meter_temp", "meter_reading"}
}

// TypedSensors writes the sensors of a bench card as they would be typed.
func TypedSensors(b job.Bench) []SensorTyped {
	out := make([]SensorTyped, len(b.Sensors))
	end := func(v *float64) string {
		if v == nil {
			return ""
		}
		return strconv.FormatFloat(*v, 'g', -1, 64)
	}
	for i, s := range b.Sensors {
		out[i] = SensorTyped{
			Channel: s.Channel, Role: s.Role, Unit: s.Unit, Low: end(s.Low), High: end(s.High), U: s.U, Source: s.Source,
			Calibration: writeNumbers(s.Calibration),
		}
	}
	return out
}

func writeNumbers(xs []float64) string {
	words := make([]string, len(xs))
	for i, x := range xs {
		words[i] = strconv.FormatFloat(x, 'g', -1, 64)
	}
	return strings.Join(words, ", ")
}

// field is the name of a field of the i-th sensor in a form.
func sensorField(name string, i int) string { return name + "-" + strconv.Itoa(i) }

// readSensors reads a list of sensors. What is wrong comes back by field, "unit-1" for the unit of the second.
func readSensors(t *typist, list []SensorTyped) []job.Sensor {
	var out []job.Sensor
	for i, f := range list {
		number := func(field, typed string) *float64 {
			typed = strings.TrimSpace(typed)
			if typed == "" {
				return nil
			}
			v, err := strconv.ParseFloat(typed, 64)
			if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
				t.wrong(sensorField(field, i), "write a number in the unit of the sensor, without the unit")
				return nil
			}
			return &v
		}
		s := job.Sensor{
			Channel: strings.TrimSpace(f.Channel), Unit: strings.TrimSpace(f.Unit), U: strings.TrimSpace(f.U), Source: strings.TrimSpace(f.Source),
			Role: t.oneOf(sensorField("role", i), f.Role, SensorRoles(), "what it measures"), Low: number("low", f.Low), High: number("high", f.High),
		}
		if _, _, err := unitOfSensor(s); err != nil && slices.Contains(SensorRoles(), s.Role) {
			t.wrong(sensorField("unit", i), fmt.Sprintf("unit %q does not fit what the sensor measures: write one like %q", s.Unit, likeUnit(s.Role)))
		}
		if s.Channel == "" {
			t.wrong(sensorField("channel", i), `write a short name, like "meter_dp"`)
		}
		for word := range strings.FieldsSeq(strings.ReplaceAll(f.Calibration, ",", " ")) {
			v, err := strconv.ParseFloat(word, 64)
			if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
				t.wrong(sensorField("calibration", i), `write the coefficients from the constant up, like "0, 1.0018"`)
				break
			}
			s.Calibration = append(s.Calibration, v)
		}
		out = append(out, s)
	}
	return out
}

func likeUnit(role string) string {
	switch role {
	case "air_temp", "meter_temp":
		return "°C"
	case "air_rh", "meter_reading":
		return "%"
	}
	return "Pa"
}

// SaveSensors writes the sensors into the bench card of a job, as a new revision. A job that used the shop's card has one of its own
// from then on. What is wrong comes back as FieldProblems.
func (a *App) SaveSensors(ctx context.Context, id string, list []SensorTyped, why string) error {
	_, err := a.edit(ctx, edit{job: id, what: "sensors of the bench changed", why: why, do: func(j job.Job, files store.Files) (store.Files, error) {
		card, err := a.withSensors(j.Bench, files[benchFile], list)
		if err != nil {
			return nil, err
		}
		return store.Files{benchFile: card}, nil
	}})
	return sensorProblems(err)
}

var sensorKey = regexp.MustCompile(`^sensors\[(\d+)\]\.?(\w*)`)

// sensorProblems turns the problems of a bench card into problems of the form's fields.
func sensorProblems(err error) error {
	ps, ok := errors.AsType[job.Problems](err)
	if !ok {
		return err
	}
	wrong := FieldProblems{}
	for _, p := range ps {
		m := sensorKey.FindStringSubmatch(p.Key)
		if m == nil {
			return err
		}
		i, convErr := strconv.Atoi(m[1])
		if convErr != nil {
			return err
		}
		wrong[sensorField(orWord(m[2], "channel"), i)] = p.Found + ": " + p.Write
	}
	return wrong.err()
}

// checkSources looks at the addresses of a bench card without touching a device.
func checkSources(card job.Bench) error {
	_, err := openAll(card, capture.NewClock(time.Now)) //nolint:forbidigo // samples are timed by the machine itself
	if err == nil {
		return nil
	}
	wrong := FieldProblems{}
	for i, s := range card.Sensors {
		for line := range strings.Lines(err.Error()) {
			if rest, ok := strings.CutPrefix(line, fmt.Sprintf("sensor %q", s.Channel)); ok {
				wrong[sensorField("source", i)] = strings.TrimSpace(strings.TrimLeft(rest, ",: "))
			}
		}
	}
	if len(wrong) == 0 {
		return err
	}
	return wrong.err()
}

// A TwoPointTyped is what a sensor showed at two known values.
type TwoPointTyped struct {
	Unit         string  `json:"unit"` // of the sensor
	Role         string  `json:"role"`
	RawA         float64 `json:"raw_a"` // as read [unit of the sensor]
	RawB         float64 `json:"raw_b"` // as read [unit of the sensor]
	TrueA, TrueB string  // the known values, with their units
}

// leastApart is how far two points must be apart, over the larger of them [-].
const leastApart = 0.05

// TwoPoint returns the calibration that takes what the sensor showed at two known values to these values.
//
//	c1 = (b − a)/(raw_b − raw_a),  c0 = a − c1·raw_a
//
// Definition.
func TwoPoint(f TwoPointTyped) (string, error) {
	u, d, err := unitOfSensor(job.Sensor{Channel: "sensor", Role: f.Role, Unit: f.Unit})
	if err != nil {
		return "", fault.As(fault.Invalid, err)
	}
	t := newTypist(time.Time{})
	a := u.FromSI(t.quantity("true_a", f.TrueA, d, "write the known value of the first point, with its unit"))
	b := u.FromSI(t.quantity("true_b", f.TrueB, d, "write the known value of the second point, with its unit"))
	if err := t.err(); err != nil {
		return "", err
	}
	if far := max(math.Abs(f.RawA), math.Abs(f.RawB)); !(math.Abs(f.RawB-f.RawA) >= leastApart*far) || far == 0 {
		return "", FieldProblems{"true_b": "the sensor showed nearly the same at both points: choose points further apart"}.err()
	}
	if a == b {
		return "", FieldProblems{"true_b": "both points have the same known value"}.err()
	}
	c1 := (b - a) / (f.RawB - f.RawA)
	c0 := a - c1*f.RawA
	if math.Abs(c0) < 1e-9*max(math.Abs(a), math.Abs(b)) {
		c0 = 0 // rounding of the mean
	}
	return writeNumbers([]float64{round(c0, 7), round(c1, 7)}), nil
}

// round keeps some figures.
func round(x float64, figures int) float64 {
	v, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', figures, 64), 64)
	if err != nil {
		return x
	}
	return v
}
