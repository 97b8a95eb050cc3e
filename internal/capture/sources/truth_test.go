//go:build linux

package sources_test

import (
	"math"
	"path/filepath"
	"strconv"
	"sync"
	"testing"
	"time"

	"runnel/bench"
	"runnel/internal/capture"
	"runnel/internal/capture/capturetest"
	"runnel/internal/capture/rig"
	"runnel/internal/capture/sources"
	"runnel/job"
)

// Over each transport: a rig, its own bench card, a session, a trace, and the reading finds the true effective area within
// its own expanded uncertainty, leakage and zeros measured on the way as a person would.
func TestEveryPathFindsTheTruth(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some readings in real time")
	}
	t.Parallel()
	for _, c := range []struct {
		name string
		line func(t *testing.T) (rig.Output, func() rig.Sources)
	}{
		{"serial", func(t *testing.T) (rig.Output, func() rig.Sources) {
			t.Helper()
			port := filepath.Join(t.TempDir(), "port")
			return rig.NewPty(port), func() rig.Sources { return rig.SerialSources(port) }
		}},
		{"modbus", func(t *testing.T) (rig.Output, func() rig.Sources) {
			t.Helper()
			m := rig.NewModbus("127.0.0.1:0")
			return m, func() rig.Sources { return rig.ModbusSources(m.Place(), 20) }
		}},
		{"mqtt 5", mqttLine("5")},
		{"mqtt 3.1.1", mqttLine("3.1.1")},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			out, srcs := c.line(t)
			r, err := rig.New(rig.Options{Area: 850e-6, Seed: 12})
			if err != nil {
				t.Fatal(err)
			}
			server, err := rig.NewServer(r, out)
			if err != nil {
				t.Fatal(err)
			}
			var wg sync.WaitGroup
			wg.Go(func() {
				if err := server.Run(t.Context()); err != nil {
					t.Error(err)
				}
			})
			t.Cleanup(wg.Wait)
			findTruth(t, server, rig.Card(srcs()))
		})
	}
}

func mqttLine(version string) func(t *testing.T) (rig.Output, func() rig.Sources) {
	return func(t *testing.T) (rig.Output, func() rig.Sources) {
		t.Helper()
		place, _ := capturetest.Broker(t)
		return rig.NewMQTT(place, "bench/rig", false), func() rig.Sources { return rig.MQTTSources(place, "bench/rig", version) }
	}
}

// findTruth takes the leakage blanked, then a reading, and corrects it.
func findTruth(t *testing.T, server *rig.Server, text string) {
	t.Helper()
	card, err := job.LoadBench("rig.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	clock := capture.NewClock(time.Now)
	srcs, err := sources.Open(card, clock)
	if err != nil {
		t.Fatal(err)
	}
	session, err := capture.Start(t.Context(), capture.Config{Bench: card, Sources: srcs, Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = session.Stop() }()
	at := time.Date(2026, 3, 7, 9, 0, 0, 0, time.UTC)
	truth := server.Truth()
	sitting := job.Sitting{
		ID: "s", At: at,
		Air: []job.AirRecord{{At: at, Pressure: 99800, Temperature: 294.15, Humidity: 0.45}},
		Zero: []job.ZeroRecord{
			{At: at, Channel: "meter_dp", Value: strconv.FormatFloat(truth.MeterZero, 'f', 2, 64) + " Pa"},
			{At: at, Channel: "test_dp", Value: strconv.FormatFloat(truth.TestZero, 'f', 2, 64) + " Pa"},
		},
		Leakage: []job.LeakPoint{{At: at, TestPressure: truth.Pressure, Flow: truth.Leak}},
	}
	trace := take(t, session, 10*time.Second)
	if n := len(trace.Time); n < 150 || len(trace.Channels) != 5 {
		t.Fatalf("%d samples of %d channels", n, len(trace.Channels))
	}
	setup, err := bench.NewSetup(card)
	if err != nil {
		t.Fatal(err)
	}
	traces := map[string]job.Trace{"t.csv": trace}
	s, err := setup.Sitting(sitting, traces)
	if err != nil {
		t.Fatal(err)
	}
	rc := job.RigCard{ID: "rig", Meter: "plate-60", Direction: "in", TestPressure: truth.Pressure}
	got, err := s.Read(job.Reading{ID: "r", Rig: "rig", At: at.Add(time.Minute), Trace: "t.csv"}, rc, traces, bench.Reference{})
	if err != nil {
		t.Fatal(err)
	}
	off := got.EffectiveArea/truth.Area - 1
	t.Logf("read %.2f mm² ± %.2f (95 %%), true %.2f: off by %.2f %%", got.EffectiveArea*1e6, got.Expanded.U*1e6, truth.Area*1e6, 100*off)
	if math.Abs(got.EffectiveArea-truth.Area) > got.Expanded.U {
		t.Errorf("the truth lies outside the reading's interval")
	}
	if got.Expanded.U/got.EffectiveArea > 0.03 {
		t.Errorf("an uncertainty of %.1f %% proves nothing", 100*got.Expanded.U/got.EffectiveArea)
	}
}

// take waits until every channel speaks, then cuts a trace.
func take(t *testing.T, s *capture.Session, last time.Duration) job.Trace {
	t.Helper()
	for range 200 {
		all := true
		for _, c := range s.State().Channels {
			all = all && c.Samples > 5
		}
		if all {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	time.Sleep(time.Second)
	from := s.Now()
	time.Sleep(last)
	trace, err := s.Trace(from, s.Now())
	if err != nil {
		t.Fatal(err)
	}
	return trace
}
