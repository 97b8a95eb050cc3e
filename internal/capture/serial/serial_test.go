//go:build linux

package serial_test

import (
	"math"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"runnel/internal/capture"
	"runnel/internal/capture/capturetest"
	"runnel/internal/capture/rig"
	"runnel/internal/capture/serial"
	"runnel/job"
)

// groupOf makes the group of the sensors of a card, which all hang on one line.
func groupOf(t *testing.T, card string) capture.Group {
	t.Helper()
	b, err := job.LoadBench("bench.toml", []byte(card))
	if err != nil {
		t.Fatal(err)
	}
	g, err := capture.Groups(b)
	if err != nil || len(g) != 1 {
		t.Fatalf("%d groups, %v", len(g), err)
	}
	return g[0]
}

// wire runs a rig that speaks over a pair of pseudo ports.
func wire(t *testing.T, o rig.Options) (*rig.Server, string) {
	t.Helper()
	port := filepath.Join(t.TempDir(), "port")
	r, err := rig.New(o)
	if err != nil {
		t.Fatal(err)
	}
	s, err := rig.NewServer(r, rig.NewPty(port))
	if err != nil {
		t.Skipf("no pseudo serial port here: %v", err)
	}
	var wg sync.WaitGroup
	wg.Go(func() {
		if err := s.Run(t.Context()); err != nil {
			t.Error(err)
		}
	})
	t.Cleanup(wg.Wait)
	return s, port
}

func do(t *testing.T, s *rig.Server, line string) func() {
	return func() {
		t.Helper()
		if _, err := s.Do(line); err != nil {
			t.Error(err)
		}
	}
}

func TestSource(t *testing.T) {
	t.Parallel()
	capturetest.Run(t, func(t *testing.T) capturetest.Subject {
		t.Helper()
		s, port := wire(t, rig.Options{Seed: 2, Rate: 50})
		clock := capture.NewClock(time.Now)
		src, err := serial.Open(groupOf(t, rig.Card(rig.SerialSources(port))), clock)
		if err != nil {
			t.Fatal(err)
		}
		return capturetest.Subject{
			Source: src, Clock: clock,
			Unplug: func() { do(t, s, "fault unplug")(); gone(t, port, true) },
			Plug:   func() { do(t, s, "well")(); gone(t, port, false) },
			Want: func(channel string, v float64) bool {
				return channel != "test_dp" || math.Abs(v-28) < 4
			},
		}
	})
}

// gone waits until the port is gone, or back.
func gone(t *testing.T, port string, want bool) {
	t.Helper()
	for range 200 {
		found, _ := filepath.Glob(port)
		if (len(found) == 0) == want {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Errorf("port gone: wanted %v", want)
}

// Every address that cannot be is refused with words that say why.
func TestOpenRefuses(t *testing.T) {
	for _, c := range []struct{ source, want string }{
		{"serial:", "no port is named"},
		{"serial:/dev/x?baud=fast", "baud=fast: write a whole number"},
		{"serial:/dev/x?parity=mark", "write one of none, odd, even"},
		{"serial:/dev/x?speed=9600", `option "speed" is not known`},
		{"serial:/dev/x?line={a}{b}#a", "two fields touch"},
		{"serial:/dev/x?line={a#a", "is not closed"},
		{"serial:/dev/x?line=abc#a", "there is no field"},
		{"serial:/dev/x?line={a}#b", `field "b" is not in the pattern`},
		{"serial:/dev/x?line={a:stone}#a", "is no unit of pressure"},
		{"serial:/dev/x?line={a:Pa}&unit=kPa#a", "contradicts the pattern"},
		{"serial:/dev/x?scale=0#a", "every sample the same"},
		{"serial:/dev/x?unit=K#a", "is no unit of pressure"},
		{"serial:/dev/x?line={time:Pa}%20{a}#a", "the time is in"},
	} {
		card := "id = \"b\"\n[[meters]]\nid = \"p\"\nkind = \"orifice_chamber\"\nbore = \"60 mm\"\n[[sensors]]\nchannel = \"meter_dp\"\nrole = \"meter_dp\"\nunit = \"Pa\"\nsource = '" + c.source + "'\n"
		_, err := serial.Open(groupOf(t, card), capture.NewClock(time.Now))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %s", c.source, err, c.want)
		}
	}
}
