package rig

import (
	"fmt"
	"testing"
	"time"

	"runnel/bench"
	"runnel/job"
	"runnel/unit"
)

// taken is a reading as the test compares it.
type taken struct{ Area, U float64 } // [m²], expanded

// readRig takes the zeros, the leakage and one reading of 20 s, and corrects it by package bench.
func readRig(t *testing.T, r *Rig, setup *bench.Setup) taken {
	t.Helper()
	at := time.Date(2026, 3, 7, 9, 0, 0, 0, time.UTC)
	truth := r.Truth()
	sitting := job.Sitting{
		ID: "s", At: at,
		Air: []job.AirRecord{{At: at, Pressure: r.opt.Air.Pressure, Temperature: r.opt.Air.Temperature, Humidity: r.opt.Air.Humidity, UPressure: 20, UTemp: 0.1, UHumidity: 0.01}},
		Zero: []job.ZeroRecord{
			{At: at, Channel: "meter_dp", Value: fmt.Sprintf("%.2f Pa", truth.MeterZero)},
			{At: at, Channel: "test_dp", Value: fmt.Sprintf("%.2f Pa", truth.TestZero)},
		},
	}
	for _, inches := range []float64{10, 20, 28} {
		dp := unit.Pressure.Of(inches, "inH2O")
		sitting.Leakage = append(sitting.Leakage, job.LeakPoint{At: at, TestPressure: dp, Flow: r.flow(0, dp) / truth.Density})
	}
	traces := map[string]job.Trace{"t.csv": traceOf(t, r, 400)}
	s, err := setup.Sitting(sitting, traces)
	if err != nil {
		t.Fatal(err)
	}
	card := job.RigCard{ID: "rig", Meter: "plate-60", Direction: "in", TestPressure: truth.Pressure}
	reading, err := s.Read(job.Reading{ID: "r", Rig: "rig", At: at.Add(time.Minute), Trace: "t.csv"}, card, traces, bench.Reference{})
	if err != nil {
		t.Fatal(err)
	}
	return taken{reading.EffectiveArea, reading.Expanded.U}
}

// traceOf takes n samples as a trace in SI.
func traceOf(t *testing.T, r *Rig, n int) job.Trace {
	t.Helper()
	var out job.Trace
	for i, c := range channels {
		out.Channels = append(out.Channels, job.Channel{Name: c, Unit: units[i]})
	}
	dims := []unit.Dimension{unit.Pressure, unit.Pressure, unit.Pressure, unit.Temperature, unit.Ratio}
	for range n {
		s, ok, err := r.Step(1 / r.opt.Rate)
		if err != nil || !ok {
			t.Fatal(ok, err)
		}
		out.Time = append(out.Time, s.Time)
		for i, v := range s.Values {
			out.Channels[i].Values = append(out.Channels[i].Values, dims[i].Of(v, units[i]))
		}
	}
	return out
}
