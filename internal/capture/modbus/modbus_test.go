package modbus_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"runnel/internal/capture"
	"runnel/internal/capture/capturetest"
	"runnel/internal/capture/modbus"
	"runnel/internal/capture/rig"
	"runnel/job"
)

const head = "id = \"b\"\n[[meters]]\nid = \"p\"\nkind = \"orifice_chamber\"\nbore = \"60 mm\"\n"

// cardOf writes a card of sensors that read the given addresses, each a test pressure in Pa; channels are c0, c1 and so on.
func cardOf(addresses ...string) string {
	var b strings.Builder
	b.WriteString(head)
	for i, a := range addresses {
		fmt.Fprintf(&b, "[[sensors]]\nchannel = \"c%d\"\nrole = \"test_dp\"\nunit = \"Pa\"\nsource = '%s'\n", i, a)
	}
	return b.String()
}

func open(t *testing.T, card string, clock capture.Clock) (capture.Source, error) {
	t.Helper()
	b, err := job.LoadBench("bench.toml", []byte(card))
	if err != nil {
		t.Fatal(err)
	}
	g, err := capture.Groups(b)
	if err != nil || len(g) != 1 {
		t.Fatalf("%d groups, %v", len(g), err)
	}
	return modbus.Open(g[0], clock)
}

// python returns an interpreter that has pymodbus: Debian's own first.
func python(t *testing.T) string {
	t.Helper()
	for _, p := range []string{"/usr/bin/python3", "python3"} {
		if exec.CommandContext(t.Context(), p, "-c", "import pymodbus").Run() == nil {
			return p
		}
	}
	capturetest.Missing(t, "python3-pymodbus is not installed")
	return ""
}

// What the server of another make holds, by type, word order and kind of register: the numbers of testdata/server.py.
func known(place string) (addresses []string, want []float64) {
	for _, c := range []struct {
		options string
		want    float64
	}{
		{"reg=input:0&type=float32", 1234.5},
		{"reg=input:4&type=int16&scale=0.1&offset=2", -30.1},
		{"reg=input:5", 65000},
		{"reg=input:6&type=int32", -100000},
		{"reg=input:8&type=uint32", 4e9},
		{"reg=input:10&type=float64", 6974.48892},
		{"reg=input:14&type=int64", -5e9},
		{"reg=input:20&type=float32&order=low", 28.125},
		{"reg=input:24&type=float64&order=low", -0.001},
		{"reg=input:28&type=int32&order=low&unit=kPa", 77777e3},
		{"reg=input:300&type=float32", 99800},
		{"reg=holding:395&type=int16", -321},
	} {
		addresses, want = append(addresses, place+c.options), append(want, c.want)
	}
	return addresses, want
}

func right(want []float64) func(string, float64) bool {
	return func(channel string, v float64) bool {
		var i int
		if _, err := fmt.Sscanf(channel, "c%d", &i); err != nil {
			return false
		}
		return math.Abs(v-want[i]) <= 1e-9*math.Abs(want[i])
	}
}

func TestAgainstPymodbusTCP(t *testing.T) {
	t.Parallel()
	py, place := python(t), capturetest.FreePlace(t)
	host, number, _ := strings.Cut(place, ":")
	server := capturetest.Serve(t, capturetest.Listening(place), py, "testdata/server.py", "tcp", host, number)
	capturetest.Run(t, func(t *testing.T) capturetest.Subject {
		t.Helper()
		clock := capture.NewClock(time.Now)
		addresses, want := known("modbus+tcp://" + place + "/7?poll=40&")
		src, err := open(t, cardOf(addresses...), clock)
		if err != nil {
			t.Fatal(err)
		}
		return capturetest.Subject{Source: src, Clock: clock, Want: right(want), Unplug: server.Stop, Plug: server.Start}
	})
}

func TestAgainstPymodbusRTU(t *testing.T) {
	t.Parallel()
	py, socat := python(t), capturetest.Program(t, "socat")
	if exec.CommandContext(t.Context(), py, "-c", "import serial_asyncio").Run() != nil {
		capturetest.Missing(t, "python3-serial-asyncio is not installed, which pymodbus needs for a serial line")
	}
	dir := t.TempDir()
	near, far := filepath.Join(dir, "near"), filepath.Join(dir, "far")
	capturetest.Serve(t, func(context.Context) error {
		if _, err := os.Stat(near); err != nil {
			return err
		}
		_, err := os.Stat(far)
		return err
	}, socat, "pty,raw,echo=0,link="+near, "pty,raw,echo=0,link="+far)
	answers := func(ctx context.Context) error {
		clock := capture.NewClock(time.Now)
		src, err := open(t, cardOf("modbus+rtu:"+near+"?reg=input:5"), clock)
		if err != nil {
			return err
		}
		ctx, cancel := context.WithCancel(ctx)
		defer cancel()
		came := false
		err = src.Run(ctx, func(b capture.Batch) { came = came || len(b.Times) > 0; cancel() })
		if came {
			return nil
		}
		return err
	}
	server := capturetest.Serve(t, answers, py, "testdata/server.py", "rtu", far)
	capturetest.Run(t, func(t *testing.T) capturetest.Subject {
		t.Helper()
		clock := capture.NewClock(time.Now)
		addresses, want := known("modbus+rtu:" + near + "?server=7&poll=10&")
		src, err := open(t, cardOf(addresses...), clock)
		if err != nil {
			t.Fatal(err)
		}
		return capturetest.Subject{Source: src, Clock: clock, Want: right(want), Unplug: server.Stop, Plug: server.Start}
	})
}

func TestAgainstRig(t *testing.T) {
	t.Parallel()
	capturetest.Run(t, func(t *testing.T) capturetest.Subject {
		t.Helper()
		place := capturetest.FreePlace(t)
		r, err := rig.New(rig.Options{Seed: 6, Rate: 50})
		if err != nil {
			t.Fatal(err)
		}
		out := rig.NewModbus(place)
		s, err := rig.NewServer(r, out)
		if err != nil {
			t.Fatal(err)
		}
		done := make(chan error, 1)
		go func() { done <- s.Run(t.Context()) }()
		t.Cleanup(func() {
			if err := <-done; err != nil {
				t.Error(err)
			}
		})
		clock := capture.NewClock(time.Now)
		src, err := open(t, rig.Card(rig.ModbusSources(place, 50)), clock)
		if err != nil {
			t.Fatal(err)
		}
		do := func(line string) {
			if _, err := s.Do(line); err != nil {
				t.Error(err)
			}
		}
		return capturetest.Subject{
			Source: src, Clock: clock, Unplug: func() { do("fault unplug") },
			Plug: func() {
				do("well")
				for range 200 {
					if capturetest.Listening(place)(t.Context()) == nil {
						return
					}
					time.Sleep(10 * time.Millisecond)
				}
			},
			Want: func(channel string, v float64) bool { return channel != "test_dp" || v == 0 || math.Abs(v-28) < 4 },
		}
	})
}

// A register that the server does not have is named as such, not as a device that is gone.
func TestWrongRegister(t *testing.T) {
	t.Parallel()
	place := capturetest.FreePlace(t)
	out := rig.NewModbus(place)
	if err := out.Plug(); err != nil {
		t.Fatal(err)
	}
	defer out.Unplug()
	src, err := open(t, cardOf("modbus+tcp://"+place+"/1?reg=input:900"), capture.NewClock(time.Now))
	if err != nil {
		t.Fatal(err)
	}
	err = src.Run(t.Context(), func(capture.Batch) { t.Error("a sample out of nowhere") })
	if err == nil || !strings.Contains(err.Error(), capture.ErrNotAnswered.Error()) || !strings.Contains(err.Error(), "check the kind and the address") {
		t.Errorf("got %v", err)
	}
}

func TestOpenRefuses(t *testing.T) {
	for _, c := range []struct{ source, want string }{
		{"modbus+tcp://localhost/1?reg=input:0", "the host has no number"},
		{"modbus+tcp://h:1/x?reg=input:0", `server "x"`},
		{"modbus+tcp://h:1/1", "write the kind and the address from zero"},
		{"modbus+tcp://h:1/1?reg=coil:0", "of kind input or holding"},
		{"modbus+tcp://h:1/1?reg=input:70000", "0 to 65535"},
		{"modbus+tcp://h:1/1?reg=input:65535&type=float32", "past the last register"},
		{"modbus+tcp://h:1/1?reg=input:0&type=float", "write one of uint16"},
		{"modbus+tcp://h:1/1?reg=input:0&order=big", "write one of high, low"},
		{"modbus+tcp://h:1/1?reg=input:0&baud=9600", `option "baud" is not known`},
		{"modbus+tcp://h:1/1?reg=input:0#x", "a register has no field"},
		{"modbus+tcp://h:1/1?reg=input:0&unit=K", "no unit of pressure"},
		{"modbus+tcp://h:1/1?reg=input:0&poll=0", "poll=0"},
		{"modbus+rtu:?reg=input:0", "the line is not named"},
		{"modbus+rtu:/dev/x?reg=input:0&server=300", "server=300"},
	} {
		_, err := open(t, cardOf(c.source), capture.NewClock(time.Now))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %s", c.source, err, c.want)
		}
	}
}
