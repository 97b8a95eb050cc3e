package bench_test

import (
	"strings"
	"testing"
	"time"

	"runnel/bench"
	"runnel/job"
)

// The room's air goes in proportion to time between records; a record an hour and a half away is stale, and both the value
// and the age show.
func TestAirInTime(t *testing.T) {
	s := sittingCard()
	rec := s.Air[0]
	rec.At, rec.Pressure, rec.Temperature = minutes(60), 99.2e3, 297.15
	s.Air = []job.AirRecord{rec, s.Air[0]} // out of order on purpose
	sit := sitting(t, benchCard(), s, nil)
	at := func(m float64) bench.Reading {
		r, err := sit.Read(job.Reading{ID: "r", At: minutes(m), MeterDP: 1500, TestPressure: 7e3, UByEye: 0.002}, rigCard(), nil, reference(t))
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	near(t, "pressure after a quarter of an hour", at(15).Room.Pressure, 99.05e3, 1e-12, 0)
	near(t, "temperature after a quarter of an hour", at(15).Room.Temperature, 295.65, 1e-12, 0)
	near(t, "before the first", at(-5).Room.Pressure, 99e3, 1e-12, 0)
	near(t, "after the last", at(100).Room.Pressure, 99.2e3, 1e-12, 0)
	for m, stale := range map[float64]bool{-70: true, -5: false, 30: false, 100: false, 121: true} {
		found := false
		for _, w := range at(m).Warnings {
			found = found || strings.HasPrefix(w.Limit, "air record at most 60 min")
		}
		if found != stale {
			t.Errorf("%v min: stale %v, want %v", m, found, stale)
		}
	}
	near(t, "room's own share of the way between", uOf(t, at(30), "air/temperature"), uOf(t, at(0), "air/temperature"), 3, 0)
}

// Sensors of the room in the trace speak before the typed record, and then its age does not matter.
func TestAirFromTheTrace(t *testing.T) {
	card := benchCard()
	card.Sensors = append(card.Sensors,
		job.Sensor{Channel: "room_p", Role: "air_pressure", Unit: "hPa", U: "0.5 hPa"},
		job.Sensor{Channel: "room_t", Role: "air_temp", Unit: "°C", U: "0.1 K"},
		job.Sensor{Channel: "room_h", Role: "air_rh", Unit: "%", U: "2 %"})
	tr := trace(seeded(47), "meter_dp", 1500, 7e3)
	for name, v := range map[string]float64{"room_p": 97e3, "room_t": 300, "room_h": 0.3} {
		c := job.Channel{Name: name, Values: make([]float64, len(tr.Time))}
		for i := range c.Values {
			c.Values[i] = v
		}
		tr.Channels = append(tr.Channels, c)
	}
	r, err := sitting(t, card, sittingCard(), nil).Read(job.Reading{ID: "r", At: minutes(300), Trace: "t"}, rigCard(), map[string]job.Trace{"t": tr}, reference(t))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pressure", r.Room.Pressure, 97e3, 1e-12, 0)
	near(t, "temperature", r.Room.Temperature, 300, 1e-12, 0)
	near(t, "humidity", r.Room.Humidity, 0.3, 1e-12, 0)
	for _, l := range r.Budget.Lines {
		if want, ok := map[string]float64{"air/pressure": 50, "air/temperature": 0.1, "air/humidity": 0.02}[l.Key]; ok && l.U != want {
			t.Errorf("%s: u %v, want %v of the sensor", l.Key, l.U, want)
		}
	}
	for _, w := range r.Warnings {
		if strings.HasPrefix(w.Limit, "air record") {
			t.Errorf("stale in spite of its own sensors: %v", w)
		}
	}
}

// A sensor of the room speaks for its own quantity alone: with a thermometer in the trace, pressure and humidity are still those of a record
// five hours old, and the reading says so.
func TestOneAirChannelDoesNotFreshenTheOthers(t *testing.T) {
	for _, channels := range []int{1, 2, 3} {
		card := benchCard()
		tr := trace(seeded(47), "meter_dp", 1500, 7e3)
		for i, x := range []job.Sensor{{Channel: "room_t", Role: "air_temp", Unit: "°C"}, {Channel: "room_p", Role: "air_pressure", Unit: "hPa"}, {Channel: "room_h", Role: "air_rh", Unit: "%"}}[:channels] {
			card.Sensors = append(card.Sensors, x)
			c := job.Channel{Name: x.Channel, Values: make([]float64, len(tr.Time))}
			for k := range c.Values {
				c.Values[k] = []float64{300, 97e3, 0.3}[i]
			}
			tr.Channels = append(tr.Channels, c)
		}
		r, err := sitting(t, card, sittingCard(), nil).Read(job.Reading{ID: "r", At: minutes(300), Trace: "t"}, rigCard(), map[string]job.Trace{"t": tr}, reference(t))
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, w := range r.Warnings {
			if strings.HasPrefix(w.Limit, "air record at most 60 min") {
				got = append(got, w.Limit)
			}
		}
		want := []string{"for pressure and humidity, which", "for humidity, which", ""}[channels-1]
		if want == "" && len(got) != 0 || want != "" && (len(got) != 1 || !strings.Contains(got[0], want)) {
			t.Errorf("%d channels of the room: warnings %q, want one %q", channels, got, want)
		}
	}
}

// The check plate and the leakage can be traces; a plate of the known area reads it, leakage taken off.
func TestSittingFromTraces(t *testing.T) {
	const drop = 7e3
	a, err := air().Properties()
	if err != nil {
		t.Fatal(err)
	}
	leak := func(dp float64) float64 { return a.Density * 8e-4 * dp / drop }
	s := sittingCard()
	traces := map[string]job.Trace{}
	s.Leakage = nil
	for i, dp := range []float64{3e3, 5e3, 7e3} {
		name := "leak" + string(rune('0'+i))
		w := truth{meter: plate(), air: air(), leak: leak(dp)}
		traces[name] = trace(seeded(uint64(50+i)), "meter_dp", w.reading(t, dp, 2e4), dp)
		s.Leakage = append(s.Leakage, job.LeakPoint{Trace: name, Meter: "plate", At: minutes(5)})
	}
	w := truth{meter: plate(), air: air(), area: 600e-6, leak: leak(drop)}
	traces["plate"] = trace(seeded(60), "meter_dp", w.reading(t, drop, 2e4), drop)
	s.Checks = []job.PlateCheck{{Trace: "plate", Meter: "plate", At: minutes(8)}}
	sit := sitting(t, benchCard(), s, traces)
	near(t, "exponent", sit.Leakage.N, 1, 0.01, 0)
	q, _, _ := sit.Leakage.At(drop)
	near(t, "leakage", q, 8e-4, 0.005, 0)
	near(t, "check plate", sit.Checks[0].EffectiveArea, 600e-6, 1e-3, 0)
	if sit.Checks[0].Outside || len(sit.Marks) != 0 {
		t.Errorf("marks %v", sit.Marks)
	}
}

func TestSittingRefuses(t *testing.T) {
	for want, spoil := range map[string]func(*job.Sitting){
		"no air record":                  func(s *job.Sitting) { s.Air = nil },
		"relative humidity 45":           func(s *job.Sitting) { s.Air[0].Humidity = 45 },
		`"no_such", which is no sensor`:  func(s *job.Sitting) { s.Zero[0].Channel = "no_such" },
		"zero 1 of channel":              func(s *job.Sitting) { s.Zero[0].Value = "1.2" },
		"leakage point 1":                func(s *job.Sitting) { s.Leakage[0].Flow = -1 },
		`trace "gone" is not in the job`: func(s *job.Sitting) { s.Leakage[0].Trace, s.Leakage[0].Meter = "gone", "plate" },
		"check-plate flow 1":             func(s *job.Sitting) { s.Checks[0].Trace = "gone" },
	} {
		s := sittingCard()
		spoil(&s)
		if _, err := setup(t, benchCard()).Sitting(s, nil); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("error %v, want %q", err, want)
		}
	}
	for want, spoil := range map[string]func(*job.Bench){
		`meter "plate": tappings "none"`:     func(b *job.Bench) { b.Meters[0].Taps = "none" },
		`meter "plate": kind "none"`:         func(b *job.Bench) { b.Meters[0].Kind = "none" },
		`sensor "meter_dp": unit "°C"`:       func(b *job.Bench) { b.Sensors[0].Unit = "°C" },
		`sensor "meter_dp": pressure "much"`: func(b *job.Bench) { b.Sensors[0].U = "much" },
		`meter "plate": a transfer curve`:    func(b *job.Bench) { b.Meters[0] = job.Meter{ID: "plate", Kind: "table"} },
	} {
		b := benchCard()
		spoil(&b)
		if _, err := bench.NewSetup(b); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("error %v, want %q", err, want)
		}
	}
}

// A reading without a time belongs to the beginning of its sitting.
func TestReadingWithoutTime(t *testing.T) {
	r, err := sitting(t, benchCard(), sittingCard(), nil).Read(job.Reading{ID: "r", MeterDP: 1500, TestPressure: 7e3}, rigCard(), nil, reference(t))
	if err != nil || !r.At.Equal(start()) || r.At.Location() != time.UTC {
		t.Errorf("time %v, %v", r.At, err)
	}
}
