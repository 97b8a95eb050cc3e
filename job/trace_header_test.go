package job

import (
	"strings"
	"testing"
)

// The first line of a trace as loggers and spreadsheets write it, and what is said of it.
func TestHeaderOfATrace(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"numbers", "0.0,2310\n0.1,2312\n", `t.csv:1:1: the first line holds numbers, not the names of the columns: write a header above it like time_s,meter_dp_pa`},
		{"comma at the end", "time_s,meter_dp_pa,\n0,1,\n", `t.csv:1:20: column 3 has no name: name it, its unit at the end, or take its comma away from every line`},
		{"capitals", "Time_S,meter_dp_pa\n0,1\n", `t.csv:1:1: column "Time_S" has no unit at its end: write it in small letters, "time_s"`},
		{"brackets", "time (s),meter_dp_pa\n0,1\n", `t.csv:1:1: column "time (s)" has no unit at its end: write a name in small letters and its unit, like "time_s" or "meter_dp_pa"`},
	} {
		_, err := ReadTrace("t.csv", strings.NewReader(c.text))
		if err == nil || err.Error() != c.want {
			t.Errorf("%s: %v, want %s", c.name, err, c.want)
		}
	}
	tr, err := ReadTrace("t.csv", strings.NewReader("time_s,meter_dp_pa\r0,1\r0.1,2\r"))
	if err != nil || len(tr.Time) != 2 {
		t.Errorf("lines that end in a carriage return: %d samples, %v", len(tr.Time), err)
	}
}
