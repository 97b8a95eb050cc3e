package app_test

import (
	"errors"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"runnel/bench"
	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/unit"
)

// A calibration goes from known plates through the card that is written of it to the readings: the flow that a reading gives is the
// flow that the curve makes of what was read without it, and its uncertainty is that of the curve.
func TestCalibrationReachesTheReadings(t *testing.T) {
	data, err := os.ReadFile("../../examples/bench/plates.toml")
	if err != nil {
		t.Fatal(err)
	}
	c, err := job.ReadCalibration("plates.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	a, err := app.Calibrate(c, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	card, err := a.Card(c, "spring")
	if err != nil {
		t.Fatal(err)
	}
	const meter = `id = "bench"
meters = [{ id = "plate", kind = "orifice_chamber", bore = "50 mm"CAL }]
sensors = [{ channel = "test_dp", role = "test_dp", unit = "Pa", u = "10 Pa" }]
`
	take := func(text string) bench.Reading {
		t.Helper()
		b, err := job.LoadBench("bench.toml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		s, err := bench.NewSetup(b)
		if err != nil {
			t.Fatal(err)
		}
		at := time.Date(2026, 4, 1, 9, 0, 0, 0, time.UTC)
		sit, err := s.Sitting(job.Sitting{ID: "s", At: at, Air: []job.AirRecord{{At: at, Pressure: 101325, Temperature: 293.15}}, Leakage: []job.LeakPoint{{TestPressure: 7e3, UFlow: 1e-9}}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		ref, err := bench.ReferenceOf(job.Reference{})
		if err != nil {
			t.Fatal(err)
		}
		r, err := sit.Read(job.Reading{ID: "r", At: at, MeterDP: 2e3, TestPressure: 28 * unit.InH2O}, job.RigCard{}, nil, ref)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	plain := take(strings.Replace(meter, "CAL", "", 1))
	got := take(strings.Replace(meter, "CAL", `, calibration = "spring"`, 1) + string(card))
	read := plain.Mass / plain.Room.Density
	want, u := 0.0, 0.0
	power := func(n int) float64 { return math.Pow(read, float64(n)) }
	for i, b := range a.Coefficients {
		want += b * power(i)
		for j := range a.Coefficients {
			u += power(i) * a.Covariance[i][j] * power(j)
		}
	}
	if flow := got.Mass / got.Room.Density; math.Abs(flow-want) > 1e-12*want {
		t.Errorf("flow %v m³/s, and the curve makes %v of %v", flow, want, read)
	}
	sum := 0.0
	for _, l := range got.Budget.Lines {
		if strings.HasPrefix(l.Key, "calibration/spring/") {
			sum += l.Contribution() * l.Contribution()
		}
	}
	if rel := math.Sqrt(sum) / got.EffectiveArea; math.Abs(rel-math.Sqrt(u)/want) > 1e-6*rel {
		t.Errorf("relative uncertainty %v of the curve, want %v", rel, math.Sqrt(u)/want)
	}
	c.At = time.Time{}
	if _, err := a.Card(c, "spring"); fault.KindOf(err) != fault.Invalid || !strings.Contains(err.Error(), "at = 2026-05-02") {
		t.Errorf("a calibration without a day: %v", err)
	}
	c.At = time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	var ps job.Problems
	if _, err := a.Card(c, "my bench"); !errors.As(err, &ps) {
		t.Errorf("a name with a space: %v", err)
	}
}
