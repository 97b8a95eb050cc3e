package cli

import (
	"bytes"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"runnel/internal/capture"
	"runnel/job"
	"runnel/unit"
)

func pascal(t *testing.T) unit.Unit {
	t.Helper()
	u, ok := unit.Pressure.Lookup("Pa")
	if !ok {
		t.Fatal("no Pa")
	}
	return u
}

// On a terminal of any width every sensor has one line that does not wrap: the picture is drawn anew over as many lines as were written.
func TestWatchFitsTheTerminal(t *testing.T) {
	lo, hi := 0.0, 5000.0
	sensor := shown{card: job.Sensor{Channel: "meter_dp", Low: &lo, High: &hi}, unit: pascal(t)}
	value, text := 1807.5, strings.Repeat("unplugged ", 20)
	escape := regexp.MustCompile(`\x1b\[[0-9]*[AJH]`)
	for _, c := range []struct {
		columns       int
		needle, trail bool
	}{{200, true, true}, {100, true, true}, {80, true, true}, {64, true, true}, {46, true, false}, {30, false, false}} {
		var out bytes.Buffer
		w := &watcher{sh: &shell{env: Env{Stdout: &out}}, screen: true, columns: func() int { return c.columns }}
		w.begin([]shown{sensor, sensor})
		n := capture.Needle{Channel: "meter_dp", Value: &value}
		for i := range 240 { // a minute, drawn anew 60 times
			w.frame(capture.Frame{At: time.Unix(0, 0), Time: 0.25 * float64(i), Needles: []capture.Needle{n, n}, Faults: []capture.Fault{{Text: text}}})
		}
		if w.err != nil {
			t.Fatal(w.err)
		}
		for line := range strings.Lines(escape.ReplaceAllString(out.String(), "")) {
			line = strings.TrimSuffix(line, "\n")
			if n := utf8.RuneCountInString(line); n >= c.columns {
				t.Fatalf("%d columns: a line of %d: %q", c.columns, n, line)
			}
			if strings.HasPrefix(line, "meter_dp") && (strings.Contains(line, "┤") != c.needle || strings.ContainsAny(line, "▁▂▃▄▅▆▇█") != c.trail || !strings.Contains(line, "1807.5 Pa")) {
				t.Fatalf("%d columns: %q", c.columns, line)
			}
		}
		if got := strings.Count(out.String(), "\x1b[3A"); got != 59 {
			t.Errorf("%d columns: drawn over the last picture %d times, want 59", c.columns, got)
		}
	}
}

// A terminal that is all but shut is drawn on all the same.
func TestWatchOnOneColumn(t *testing.T) {
	var out bytes.Buffer
	w := &watcher{sh: &shell{env: Env{Stdout: &out}}, screen: true, columns: func() int { return 1 }}
	w.begin([]shown{{unit: pascal(t)}})
	for range 4 {
		w.frame(capture.Frame{Needles: []capture.Needle{{Channel: "test_dp"}}, Faults: []capture.Fault{{Text: "unplugged"}}})
	}
	if got := out.String(); w.err != nil || got != "…\n…\n" {
		t.Errorf("%q, %v", got, w.err)
	}
}

// A terminal whose width changes is wiped, as the lines of the last picture may have wrapped.
func TestWatchIsWipedWhenTheWidthChanges(t *testing.T) {
	var out bytes.Buffer
	columns, value := 100, 1.0
	w := &watcher{sh: &shell{env: Env{Stdout: &out}}, screen: true, columns: func() int { return columns }}
	w.begin([]shown{{unit: pascal(t)}})
	for range 2 {
		for range 4 {
			w.frame(capture.Frame{Needles: []capture.Needle{{Channel: "test_dp", Value: &value}}})
		}
		columns = 50
	}
	if w.err != nil || strings.Count(out.String(), "\x1b[2J") != 1 {
		t.Errorf("%q, %v", out.String(), w.err)
	}
}
