package mqtt_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"runnel/internal/capture"
	"runnel/internal/capture/capturetest"
	"runnel/internal/capture/mqtt"
	"runnel/internal/capture/rig"
	"runnel/job"
)

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
	return mqtt.Open(g[0], clock)
}

// broker runs Debian's broker on a free place, with a user when secret is not empty.
func broker(t *testing.T, secret string) (place string, s *capturetest.Service) {
	t.Helper()
	program := capturetest.Program(t, "mosquitto", "/usr/sbin/mosquitto") //nolint:misspell // the name of the program
	place = capturetest.FreePlace(t)
	_, number, _ := strings.Cut(place, ":")
	conf := "listener " + number + " 127.0.0.1\npersistence false\n"
	dir := t.TempDir()
	if os.Geteuid() == 0 {
		conf += "user root\n" // it would give up its rights, and with them those to the folder of the test
	}
	if secret == "" {
		conf += "allow_anonymous true\n"
	} else {
		conf += "allow_anonymous false\npassword_file " + secret + "\n"
	}
	name := filepath.Join(dir, "mosquitto.conf")
	if err := os.WriteFile(name, []byte(conf), 0o600); err != nil {
		t.Fatal(err)
	}
	return place, capturetest.Serve(t, capturetest.Listening(place), program, "-c", name)
}

// publish runs a rig that publishes to a broker until the test ends.
func publish(t *testing.T, place string) {
	t.Helper()
	r, err := rig.New(rig.Options{Seed: 8, Rate: 50})
	if err != nil {
		t.Fatal(err)
	}
	s, err := rig.NewServer(r, rig.NewMQTT(place, "bench/rig", true))
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	wg.Go(func() {
		if err := s.Run(t.Context()); err != nil {
			t.Error(err)
		}
	})
	t.Cleanup(wg.Wait)
}

func TestAgainstBroker(t *testing.T) {
	t.Parallel()
	for _, version := range []string{"5", "3.1.1"} {
		t.Run(version, func(t *testing.T) {
			t.Parallel()
			place, service := broker(t, "")
			publish(t, place)
			capturetest.Run(t, func(t *testing.T) capturetest.Subject {
				t.Helper()
				clock := capture.NewClock(time.Now)
				src, err := open(t, rig.Card(rig.MQTTSources(place, "bench/rig", version)), clock)
				if err != nil {
					t.Fatal(err)
				}
				return capturetest.Subject{
					Source: src, Clock: clock, Unplug: service.Stop, Plug: service.Start,
					Want: func(channel string, v float64) bool { return channel != "test_dp" || math.Abs(v-28) < 4 },
				}
			})
		})
	}
}

// Plain payloads, each on a topic of its own.
func TestPlainPayloads(t *testing.T) {
	t.Parallel()
	place, _ := broker(t, "")
	publish(t, place)
	card := "id = \"b\"\n[[meters]]\nid = \"p\"\nkind = \"orifice_chamber\"\nbore = \"60 mm\"\n" +
		"[[sensors]]\nchannel = \"test_dp\"\nrole = \"test_dp\"\nunit = \"Pa\"\nsource = \"mqtt://" + place + "/bench/rig/test_dp?unit=inH2O&version=3.1.1\"\n" +
		"[[sensors]]\nchannel = \"air_temp\"\nrole = \"air_temp\"\nunit = \"K\"\nsource = \"mqtt://" + place + "/bench/rig/air_temp?unit=C\"\n"
	capturetest.Run(t, func(t *testing.T) capturetest.Subject {
		t.Helper()
		clock := capture.NewClock(time.Now)
		src, err := open(t, card, clock)
		if err != nil {
			t.Fatal(err)
		}
		return capturetest.Subject{Source: src, Clock: clock, Want: func(channel string, v float64) bool {
			if channel == "air_temp" {
				return math.Abs(v-294.15) < 1
			}
			return math.Abs(v/6974.48908-1) < 0.15 // 28 inH2O conventional, NIST SP 811
		}}
	})
}

// Payloads that cannot be read are counted, and the ones around them go through.
func TestPayloads(t *testing.T) {
	t.Parallel()
	place, _ := broker(t, "")
	card := "id = \"b\"\n[[meters]]\nid = \"p\"\nkind = \"orifice_chamber\"\nbore = \"60 mm\"\n" +
		"[[sensors]]\nchannel = \"a\"\nrole = \"test_dp\"\nunit = \"Pa\"\nsource = \"mqtt://" + place + "/t?version=3.1.1&clock=ms:ms#x.0\"\n" +
		"[[sensors]]\nchannel = \"b\"\nrole = \"test_dp\"\nunit = \"Pa\"\nsource = \"mqtt://" + place + "/t#y.z\"\n"
	clock := capture.NewClock(time.Now)
	src, err := open(t, card, clock)
	if err != nil {
		t.Fatal(err)
	}
	got := make(chan capture.Batch, 20)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- src.Run(ctx, func(b capture.Batch) { got <- b }) }()
	c, err := mqtt.Dial(t.Context(), place, mqtt.Login{Client: "test"})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = c.Close() }()
	send := func(s string) capture.Batch {
		for range 50 {
			if err := c.Publish("t", []byte(s)); err != nil {
				t.Fatal(err)
			}
			select {
			case b := <-got:
				return b
			case <-time.After(200 * time.Millisecond): // it has not subscribed yet
			}
		}
		t.Fatalf("nothing came for %s", s)
		return capture.Batch{}
	}
	for _, c := range []struct {
		payload string
		a, b    float64
		samples int
		lost    int
		steps   bool
	}{
		{`{"ms":1000,"x":[1,2],"y":{"z":"3.5"}}`, 1, 3.5, 1, 0, false},
		{`{"ms":1050,"x":[1e3]}`, 1000, math.NaN(), 1, 1, false},
		{`{"ms":1100,"x":`, 0, 0, 0, 1, false},
		{`hello`, 0, 0, 0, 1, false},
		{`{"x":["NaN"],"y":{"z":1e999}}`, 0, 0, 0, 1, false},
		{`{"ms":9999999,"x":[5],"y":{"z":6}}`, 5, 6, 1, 0, true},
	} {
		b := send(c.payload)
		if len(b.Times) != c.samples || b.Lost != c.lost || (b.Step != 0) != c.steps {
			t.Errorf("%s: %+v", c.payload, b)
			continue
		}
		if c.samples == 1 && (!same(b.Values[0][0], c.a) || !same(b.Values[1][0], c.b)) {
			t.Errorf("%s: %v", c.payload, b.Values)
		}
	}
	cancel()
	if err := <-done; !errors.Is(err, context.Canceled) {
		t.Errorf("Run ended with %v", err)
	}
}

func same(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }

// A broker that wants a user: with the password from its file, and the refusal named without it.
func TestPassword(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	users, secret := filepath.Join(dir, "users"), filepath.Join(dir, "secret")
	// The broker's own tool makes the file: the format is the broker's.
	program := capturetest.Program(t, "mosquitto_passwd") //nolint:misspell // the name of the program
	if err := os.WriteFile(users, []byte("rig:open sesame\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	capturetest.Once(t, program, "-U", users)
	if err := os.WriteFile(secret, []byte("open sesame\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	place, _ := broker(t, users)
	for _, version := range []string{"5", "3.1.1"} {
		address := func(more string) string {
			return "id = \"b\"\n[[meters]]\nid = \"p\"\nkind = \"orifice_chamber\"\nbore = \"60 mm\"\n" +
				fmt.Sprintf("[[sensors]]\nchannel = \"a\"\nrole = \"test_dp\"\nunit = \"Pa\"\nsource = \"mqtt://%s/t?version=%s%s\"\n", place, version, more)
		}
		src, err := open(t, address(""), capture.NewClock(time.Now))
		if err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithTimeout(t.Context(), 5*time.Second)
		err = src.Run(ctx, func(capture.Batch) {})
		if ctx.Err() != nil || err == nil || !strings.Contains(strings.ToLower(err.Error()), "not authori") {
			t.Errorf("%s without a password: %v", version, err)
		}
		cancel()
		if src, err = open(t, address("&user=rig&password-file="+secret), capture.NewClock(time.Now)); err != nil {
			t.Fatal(err)
		}
		ctx, cancel = context.WithTimeout(t.Context(), time.Second)
		if err := src.Run(ctx, func(capture.Batch) {}); ctx.Err() == nil {
			t.Errorf("%s with the password: %v", version, err)
		}
		cancel()
	}
}

func TestOpenRefuses(t *testing.T) {
	for _, c := range []struct{ source, want string }{
		{"mqtt://localhost/t", "has no number"},
		{"mqtt://h:1883", "there is no topic"},
		{"mqtt://h:1883/a/+", "wildcard"},
		{"mqtt://h:1883/t?version=4", "write one of 5, 3.1.1"},
		{"mqtt://h:1883/t?clock=ms", "write the path to the time"},
		{"mqtt://h:1883/t?clock=t:Pa", "write the path to the time"},
		{"mqtt://h:1883/t?qos=2", `option "qos" is not known`},
	} {
		card := "id = \"b\"\n[[meters]]\nid = \"p\"\nkind = \"orifice_chamber\"\nbore = \"60 mm\"\n[[sensors]]\nchannel = \"a\"\nrole = \"test_dp\"\nunit = \"Pa\"\nsource = '" + c.source + "'\n"
		_, err := open(t, card, capture.NewClock(time.Now))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %s", c.source, err, c.want)
		}
	}
}
