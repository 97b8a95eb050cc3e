package capture_test

import (
	"maps"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"runnel/internal/capture"
	"runnel/internal/capture/sources"
	"runnel/internal/fault"
	"runnel/job"
)

func TestParseAddress(t *testing.T) {
	for _, c := range []struct {
		text string
		want capture.Address
	}{
		{"serial:/dev/ttyUSB0?baud=115200#meter_dp", capture.Address{Kind: "serial", Place: "/dev/ttyUSB0", Options: map[string]string{"baud": "115200"}, Field: "meter_dp"}},
		{"serial:COM3", capture.Address{Kind: "serial", Place: "COM3", Options: map[string]string{}}},
		{"Modbus+TCP://10.0.0.2:502/1?reg=input:0&type=float32", capture.Address{Kind: "modbus+tcp", Place: "10.0.0.2:502", Path: "1", Options: map[string]string{"reg": "input:0", "type": "float32"}}},
		{"mqtt://localhost:1883/bench/air#a.b.0", capture.Address{Kind: "mqtt", Place: "localhost:1883", Path: "bench/air", Options: map[string]string{}, Field: "a.b.0"}},
		{"replay:a%20b%3F.csv?speed=2", capture.Address{Kind: "replay", Place: "a b?.csv", Options: map[string]string{"speed": "2"}}},
		{" hand: ", capture.Address{Kind: "hand", Options: map[string]string{}}},
		{"serial:/dev/x?line=%23{a}+{b}%26#a", capture.Address{Kind: "serial", Place: "/dev/x", Options: map[string]string{"line": "#{a}+{b}&"}, Field: "a"}},
		{"serial:/dev/x?line=v=#{a}#a", capture.Address{Kind: "serial", Place: "/dev/x", Options: map[string]string{"line": "v=#{a}"}, Field: "a"}},
	} {
		got, err := capture.ParseAddress(c.text)
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		if d := cmp.Diff(c.want, got); d != "" {
			t.Errorf("%s: %s", c.text, d)
		}
	}
	for text, want := range map[string]string{
		"": "begins with no kind", "/dev/ttyUSB0": "begins with no kind", ":x": "begins with no kind", "a b:c": "begins with no kind",
		"serial:/dev/x?": "not NAME=VALUE", "serial:/dev/x?baud": "not NAME=VALUE", "serial:/dev/x?=1": "not NAME=VALUE", "serial:/dev/x?baud=": "not NAME=VALUE",
		"serial:/dev/x?a=1&a=2": "option a twice", "serial:/dev/x#": "nothing after #", "mqtt:///t": "no host", "serial:/dev/x?a=%zz": "cannot be read",
		"serial:%zz": "cannot be read", "serial:x#%zz": "cannot be read",
	} {
		if _, err := capture.ParseAddress(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: got %v, want %s", text, err, want)
		}
	}
}

// Whatever is typed is read or refused, and what is read keeps its parts: no option or field comes out of nothing.
func FuzzParseAddress(f *testing.F) {
	for _, s := range []string{"serial:/dev/ttyUSB0?baud=115200#a", "mqtt://h:1/t/u?x=%20#y", "hand:", "a://", "a:?b=c&d=e#f"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		a, err := capture.ParseAddress(s)
		if err != nil {
			return
		}
		if a.Kind == "" || strings.ContainsAny(a.Kind, ":/?#") {
			t.Errorf("%q: kind %q", s, a.Kind)
		}
		if len(a.Options) > strings.Count(s, "=") || (a.Field != "" && !strings.Contains(s, "#")) {
			t.Errorf("%q: %+v", s, a)
		}
		again, err := capture.ParseAddress(s)
		if err != nil || !maps.Equal(a.Options, again.Options) {
			t.Errorf("%q reads differently the second time: %v", s, err)
		}
	})
}

func sensors(unit string, addresses ...string) job.Bench {
	b := job.Bench{ID: "b"}
	for i, a := range addresses {
		b.Sensors = append(b.Sensors, job.Sensor{Channel: "c" + string(rune('0'+i)), Role: "test_dp", Unit: unit, Source: a})
	}
	return b
}

// Sensors on one line share it, and may not contradict each other.
func TestOpenTogether(t *testing.T) {
	clock := capture.NewClock(time.Now)
	got, err := sources.Open(sensors("Pa", "serial:/dev/a?baud=9600#1", "", "serial:/dev/b#1", "serial:/dev/a#2", "hand:"), clock)
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 3 || cmp.Diff(got[0].Describe().Channels, []string{"c0", "c3"}) != "" || !got[2].Describe().AtRest {
		t.Errorf("%d sources, the first of %v", len(got), got[0].Describe())
	}
	for _, c := range []struct {
		bench job.Bench
		want  string
	}{
		{sensors("Pa", "serial:/dev/a?baud=9600#1", "serial:/dev/a?baud=19200#2"), `contradicts baud=9600 of sensor "c0"`},
		{sensors("Pa", "serial:/dev/a#1", "serial:/dev/a#1"), `sensor "c0" reads the same`},
		{sensors("Pa", "mqtt://h:1/t", "mqtt://h:1/t"), `sensor "c0" reads the same`},
		{sensors("Pa", "radio:x"), "is not known: use one of hand, modbus+rtu"},
		{sensors("Pa", ""), "none of its sensors has a source"},
		{sensors("Pa", "x"), "begins with no kind"},
		{sensors("Pa", "rig:?piece=12"), "has no unit"},
		{sensors("Pa", "rig:#lift"), `no channel "lift"`},
		{sensors("Pa", "hand:?baud=1"), `option "baud" is not known`},
	} {
		_, err := sources.Open(c.bench, clock)
		if err == nil || !strings.Contains(err.Error(), c.want) || fault.KindOf(err) != fault.Invalid {
			t.Errorf("got %v, want %s", err, c.want)
		}
	}
}

// Scales turn units and numbers of a device into the unit of the sensor. 1 inH2O = 249.08891 Pa, NIST SP 811.
func TestScale(t *testing.T) {
	for _, c := range []struct {
		unit, options string
		raw, want     float64
	}{
		{"Pa", "", 12.5, 12.5},
		{"inH2O", "?unit=Pa", 249.08891, 1},
		{"Pa", "?unit=kPa&scale=0.1&offset=-1", 30, 2000},
		{"Pa", "?scale=2500&offset=-1250", 0.5, 0},
	} {
		b := sensors(c.unit, "x:y"+c.options)
		g, err := capture.Groups(b)
		if err != nil {
			t.Fatal(err)
		}
		_, taps, err := g[0].Options(nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		s, err := g[0].Taps[0].Scale(taps[0], "")
		if err != nil || math.Abs(s.Of(c.raw)-c.want) > 1e-9*(1+math.Abs(c.want)) {
			t.Errorf("%s %s: %v → %v, %v, want %v", c.unit, c.options, c.raw, s.Of(c.raw), err, c.want)
		}
	}
	b := job.Bench{Sensors: []job.Sensor{{Channel: "t", Role: "air_temp", Unit: "°C", Source: "x:y?unit=F"}}}
	g, err := capture.Groups(b)
	if err != nil {
		t.Fatal(err)
	}
	_, taps, _ := g[0].Options(nil, nil)
	s, err := g[0].Taps[0].Scale(taps[0], "")
	if err != nil || math.Abs(s.Of(212)-100) > 1e-9 || math.Abs(s.Of(32)) > 1e-9 { // boiling and freezing of water on both scales, by their definition
		t.Errorf("212 °F is %v °C, 32 °F is %v °C, %v", s.Of(212), s.Of(32), err)
	}
}
