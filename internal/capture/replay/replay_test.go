package replay_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"runnel/internal/capture"
	"runnel/internal/capture/capturetest"
	"runnel/internal/capture/replay"
	"runnel/job"
)

const trace = "# invented\ntime_s,meter_dp_kpa,test_dp_inh2o\n"

func groupOf(t *testing.T, options string, text string) capture.Group {
	t.Helper()
	name := filepath.Join(t.TempDir(), "trace.csv")
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	sensor := func(channel, unit, field string) string {
		return fmt.Sprintf("[[sensors]]\nchannel = %q\nrole = %q\nunit = %q\nsource = 'replay:%s?%s%s'\n", channel, channel, unit, name, options, field)
	}
	b, err := job.LoadBench("b", []byte("id = \"b\"\n[[meters]]\nid = \"p\"\nkind = \"orifice_chamber\"\nbore = \"60 mm\"\n"+sensor("meter_dp", "Pa", "")+sensor("test_dp", "Pa", "#test_dp")))
	if err != nil {
		t.Fatal(err)
	}
	g, err := capture.Groups(b)
	if err != nil {
		t.Fatal(err)
	}
	return g[0]
}

func rows(n int) string {
	var b strings.Builder
	b.WriteString(trace)
	for i := range n {
		fmt.Fprintf(&b, "%g,%g,28\n", float64(i)*0.05, 1+0.001*float64(i))
	}
	return b.String()
}

func TestSource(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, options string
		ends          bool
	}{{"once", "speed=4", true}, {"loop", "speed=4&loop=yes", false}} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			capturetest.Run(t, func(t *testing.T) capturetest.Subject {
				t.Helper()
				clock := capture.NewClock(time.Now)
				src, err := replay.Open(groupOf(t, c.options, rows(40)), clock)
				if err != nil {
					t.Fatal(err)
				}
				return capturetest.Subject{Source: src, Clock: clock, Ends: c.ends, Samples: 30, Want: func(channel string, v float64) bool {
					if channel == "test_dp" {
						return math.Abs(v/6974.48908-1) < 1e-6 // 28 inH2O conventional, NIST SP 811
					}
					return v >= 1000 && v < 1040 // kPa in the trace, Pa in the sensor
				}}
			})
		})
	}
}

// A gap of the trace stays a gap, and an empty cell stays empty.
func TestGapsStay(t *testing.T) {
	t.Parallel()
	text := trace + "0,1,28\n0.1,,28\n0.2,1,28\n2.2,1,28\n2.3,1,28\n"
	src, err := replay.Open(groupOf(t, "speed=10", text), capture.NewClock(time.Now))
	if err != nil {
		t.Fatal(err)
	}
	var times []time.Duration
	var values []float64
	if err := src.Run(context.Background(), func(b capture.Batch) {
		times, values = append(times, b.Times...), append(values, b.Values[0]...)
	}); err != nil {
		t.Fatal(err)
	}
	if len(times) != 5 || !math.IsNaN(values[1]) {
		t.Fatalf("times %v, values %v", times, values)
	}
	if gap := times[3] - times[2]; gap != 200*time.Millisecond {
		t.Errorf("a gap of 2 s at ten times the speed lasts %v", gap)
	}
}

func TestOpenRefuses(t *testing.T) {
	for _, c := range []struct{ options, text, want string }{
		{"speed=0", rows(4), "speed=0"},
		{"loop=maybe", rows(4), "write one of no, yes"},
		{"speed=1", rows(1), "one sample"},
		{"speed=1", trace + "0,1,1\n0,1,1\n", "do not rise"},
		{"speed=1", "time_s,meter_dp_c,test_dp_pa\n0,1,1\n1,1,1\n", "no unit of pressure"},
		{"speed=1", "time_s,test_dp_pa\n0,1\n1,1\n", `no channel "meter_dp"`},
	} {
		if _, err := replay.Open(groupOf(t, c.options, c.text), capture.NewClock(time.Now)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %s", c.options, err, c.want)
		}
	}
}
