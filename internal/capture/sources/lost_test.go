//go:build linux

package sources_test

import (
	"slices"
	"sync"
	"testing"
	"time"

	"runnel/internal/capture"
	"runnel/internal/capture/capturetest"
	"runnel/internal/capture/rig"
	"runnel/internal/capture/sources"
	"runnel/job"
)

// A lossCase is a line with a way to lose it and to get it back.
type lossCase struct {
	name       string
	want       capture.Kind
	out        rig.Output
	card       func() rig.Sources
	lose, mend func(*rig.Server)
}

func lossCases(t *testing.T) []lossCase {
	t.Helper()
	unplug := func(s *rig.Server) { _, _ = s.Do("fault unplug") }
	plug := func(s *rig.Server) { _, _ = s.Do("well") }
	port := t.TempDir() + "/port"
	m := rig.NewModbus("127.0.0.1:0")
	cases := []lossCase{
		{"serial", capture.Unplugged, rig.NewPty(port), func() rig.Sources { return rig.SerialSources(port) }, unplug, plug},
		{"modbus", capture.Unplugged, m, func() rig.Sources { return rig.ModbusSources(m.Place(), 20) }, unplug, plug},
	}
	for _, version := range []string{"5", "3.1.1"} {
		place, broker := capturetest.Broker(t)
		cases = append(cases, lossCase{
			"mqtt " + version, capture.BrokerGone, rig.NewMQTT(place, "bench/rig", false),
			func() rig.Sources { return rig.MQTTSources(place, "bench/rig", version) },
			func(*rig.Server) { broker.Stop() }, func(*rig.Server) { broker.Start() },
		})
	}
	return cases
}

// Whatever the line, its loss is named within two seconds, samples come again by themselves when it is back, the fault is
// over then, and the trace has a gap where there was one.
func TestLossIsNamedAndMended(t *testing.T) {
	if testing.Short() {
		t.Skip("loses lines in real time")
	}
	t.Parallel()
	for _, c := range lossCases(t) {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r, err := rig.New(rig.Options{Seed: 4})
			if err != nil {
				t.Fatal(err)
			}
			server, err := rig.NewServer(r, c.out)
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
			loseAndMend(t, c, server)
		})
	}
}

func loseAndMend(t *testing.T, c lossCase, server *rig.Server) {
	t.Helper()
	card, err := job.LoadBench("rig.toml", []byte(rig.Card(c.card())))
	if err != nil {
		t.Fatal(err)
	}
	clock := capture.NewClock(time.Now)
	srcs, err := sources.Open(card, clock)
	if err != nil {
		t.Fatal(err)
	}
	s, err := capture.Start(t.Context(), capture.Config{Bench: card, Sources: srcs, Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Stop() }()
	flows := func() bool { return len(s.State().Faults) == 0 && s.State().Channels[0].Samples > 20 }
	until(t, "samples", 15*time.Second, flows)
	from := s.Now()
	time.Sleep(500 * time.Millisecond)
	c.lose(server)
	lost := s.Now()
	has := func() bool {
		return slices.ContainsFunc(s.State().Faults, func(f capture.Fault) bool { return f.Kind == c.want })
	}
	until(t, "the fault "+string(c.want), 5*time.Second, has)
	named := s.Now() - lost
	if named > 2*time.Second {
		t.Errorf("%s was named after %v", c.want, named)
	}
	time.Sleep(time.Second)
	before := s.State().Channels[0].Samples
	c.mend(server)
	mended := s.Now()
	until(t, "samples again", 15*time.Second, func() bool { return flows() && s.State().Channels[0].Samples > before+20 })
	t.Logf("%s named after %.2f s, over and well again %.2f s after it was mended", c.want, named.Seconds(), (s.Now() - mended).Seconds())
	trace, err := s.Trace(from, s.Now())
	if err != nil {
		t.Fatal(err)
	}
	longest := 0.0
	for i := 1; i < len(trace.Time); i++ {
		longest = max(longest, trace.Time[i]-trace.Time[i-1])
	}
	if longest < 1 {
		t.Errorf("the longest gap in the trace is %.2f s: the loss was filled in", longest)
	}
}

// until waits for something to hold.
func until(t *testing.T, what string, limit time.Duration, ok func() bool) {
	t.Helper()
	end := time.After(limit)
	for !ok() {
		select {
		case <-end:
			t.Fatalf("waited %v for %s", limit, what)
		case <-time.After(10 * time.Millisecond):
		}
	}
}
