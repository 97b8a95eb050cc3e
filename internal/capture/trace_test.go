package capture_test

import (
	"bytes"
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"runnel/internal/capture"
	"runnel/internal/fault"
	"runnel/job"
)

func ms(xs ...int) []time.Duration {
	out := make([]time.Duration, len(xs))
	for i, x := range xs {
		out[i] = time.Duration(x) * time.Millisecond
	}
	return out
}

var twoSensors = job.Bench{ID: "b", Sensors: []job.Sensor{
	{Channel: "test_dp", Role: "test_dp", Unit: "kPa"}, {Channel: "meter_dp", Role: "meter_dp", Unit: "Pa"}, {Channel: "air_temp", Role: "air_temp", Unit: "°C", Source: "hand:"},
}}

// The meter gives the times. A gap of another channel leaves its cells empty, a gap of the meter leaves no rows, and nothing
// is drawn across either.
func TestGapsAreGaps(t *testing.T) {
	nan := math.NaN()
	chunks := []capture.Chunk{
		{Channels: []string{"meter_dp"}, Times: ms(0, 100, 200, 300), Values: [][]float64{{1, 2, 3, 4}}},
		{Channels: []string{"test_dp"}, Times: ms(-50, 50, 150), Values: [][]float64{{7, 8, 9}}},
		{Channels: []string{"meter_dp"}, Times: ms(2000, 2100, 2200), Values: [][]float64{{5, nan, 6}}},
		{Channels: []string{"test_dp"}, Times: ms(2050, 2150), Values: [][]float64{{10, 11}}},
		{Channels: []string{"air_temp"}, Times: ms(150), Values: [][]float64{{20}}},
	}
	got, err := capture.Assemble(twoSensors, chunks, 0, 3*time.Second)
	if err != nil {
		t.Fatal(err)
	}
	want := job.Trace{
		Time: []float64{0, 0.1, 0.2, 0.3, 2, 2.1, 2.2},
		Channels: []job.Channel{
			{Name: "test_dp", Unit: "kPa", Values: []float64{7500, 8500, nan, nan, nan, 10500, 11000}},
			{Name: "meter_dp", Unit: "Pa", Values: []float64{1, 2, 3, 4, 5, nan, 6}},
			{Name: "air_temp", Unit: "°C", Values: []float64{nan, nan, 293.15, 293.15, 293.15, 293.15, 293.15}},
		},
	}
	if d := cmp.Diff(want, got, cmpopts.EquateNaNs(), cmpopts.EquateApprox(0, 1e-9)); d != "" {
		t.Error(d)
	}
	part, err := capture.Assemble(twoSensors, chunks, 100*time.Millisecond, 200*time.Millisecond)
	if err != nil || cmp.Diff(part.Time, []float64{0, 0.1}) != "" {
		t.Errorf("a part has times %v, %v", part.Time, err)
	}
	if _, err := capture.Assemble(twoSensors, chunks, time.Second, 1500*time.Millisecond); fault.KindOf(err) != fault.NotFound {
		t.Errorf("a stretch without samples: %v", err)
	}
}

// Chunks that came in another order, and two samples in one instant, give times that rise.
func TestTimesRise(t *testing.T) {
	chunks := []capture.Chunk{
		{Channels: []string{"meter_dp"}, Times: ms(200, 300), Values: [][]float64{{3, 4}}},
		{Channels: []string{"meter_dp"}, Times: ms(0, 100, 100), Values: [][]float64{{1, 2, 2.5}}},
	}
	got, err := capture.Assemble(twoSensors, chunks, 0, time.Second)
	if err != nil {
		t.Fatal(err)
	}
	for i := 1; i < len(got.Time); i++ {
		if got.Time[i] <= got.Time[i-1] {
			t.Errorf("times %v", got.Time)
		}
	}
	if d := cmp.Diff(got.Channels[0].Values, []float64{1, 2, 2.5, 3, 4}); d != "" {
		t.Error(d)
	}
}

// A trace from a session can be written as a job keeps it, and read again as it was.
func TestTraceIsWritten(t *testing.T) {
	t.Parallel()
	b := start(t, nil)
	got, err := b.session.Trace(0, b.session.Now())
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Channels) != 5 || len(got.Time) < 20 {
		t.Fatalf("%d channels, %d samples", len(got.Channels), len(got.Time))
	}
	var out bytes.Buffer
	if err := job.WriteTrace(&out, got); err != nil {
		t.Fatal(err)
	}
	again, err := job.ReadTrace("t.csv", &out)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(got, again, cmpopts.EquateNaNs()); d != "" {
		t.Error(d)
	}
}

// A typed value is a sample of its channel, with its unit or in that of the sensor.
func TestTyped(t *testing.T) {
	t.Parallel()
	b := job.Bench{ID: "b", Sensors: []job.Sensor{{Channel: "meter_dp", Role: "meter_dp", Unit: "inH2O", Source: "hand:"}}}
	g, err := capture.Groups(b)
	if err != nil {
		t.Fatal(err)
	}
	clock := capture.NewClock(time.Now)
	h, err := capture.NewHand(g[0], clock)
	if err != nil {
		t.Fatal(err)
	}
	s, err := capture.Start(t.Context(), capture.Config{Bench: b, Sources: []capture.Source{h}, Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Stop() }()
	for _, text := range []string{"6", "6.5 inH2O", "1494.53346 Pa"} {
		if err := s.Type("meter_dp", text); err != nil {
			t.Errorf("%s: %v", text, err)
		}
	}
	for _, text := range []string{"", "six", "6 K", "6,5"} {
		if err := s.Type("meter_dp", text); fault.KindOf(err) != fault.Invalid {
			t.Errorf("%q: %v", text, err)
		}
	}
	if err := s.Type("lift", "6 mm"); fault.KindOf(err) != fault.NotFound {
		t.Errorf("a channel that is not typed: %v", err)
	}
	for range 100 {
		if st := s.State(); st.Channels[0].Samples == 3 {
			break
		}
		time.Sleep(10 * time.Millisecond)
	}
	st := s.State()
	if st.Channels[0].Samples != 3 || math.Abs(*st.Channels[0].Raw-6) > 1e-6 || len(st.Faults) > 0 { // 1494.53346 Pa are 6 inH2O
		t.Errorf("%+v", st.Channels[0])
	}
}
