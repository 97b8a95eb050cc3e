package unit_test

import (
	"testing"

	"runnel/unit"
)

// The factors are those of NIST SP 811 (2008), B.8, worked by hand: 1 in = 25.4 mm, 1 in² = 645.16 mm²,
// 1 inH2O = 249.0889 Pa, 1 inHg = 3386.389 Pa, 1 ft³/min = 0.4719474 L/s, 1 lb/min = 7.559873 g/s, 1 lb = 453.59237 g, 1 in³ = 16.387064 cm³, 1 ft/s = 0.3048 m/s.
func TestTextTurnsQuantities(t *testing.T) {
	for _, c := range []struct{ metric, us string }{
		{"At 254 mm the wall is 2.54 mm, already below the least wall of 3.00 mm.", "At 10.00 in the wall is 0.100 in, already below the least wall of 0.118 in."},
		{"wall friction, 0–254 mm", "wall friction, 0.00–10.00 in"},
		{"expansion, 645 to 1290 mm² over 25 mm", "expansion, 1.000 to 2.000 in² over 0.98 in"},
		{"in: x -25.4, y 0.0, z 50.8 mm", "in: x -1.000, y 0.000, z 2.000 in"},
		{"the surface scatters by 0.03 mm", "the surface scatters by 0.0012 in"},
		{"7.000 kPa carried over to 2491 Pa", "28.10 inH2O carried over to 10.00 inH2O"},
		{"air of 1013.2 hPa, 20.0 °C", "air of 29.92 inHg, 68.0 °F"},
		{"air at 101 kPa", "air at 29.8 inHg"},
		{"47.19 L/s at 30 m/s", "100.0 cfm at 98 ft/s"},
		{"75.6 g/s", "10.00 lb/min"},
		{"17.9 cm³ off, 48 g", "1.1 in³ off, 0.106 lb"},
		{"−25.4 mm", "−1.000 in"},
	} {
		if got := unit.US.Text(c.metric); got != c.us {
			t.Errorf("%q\n got %q\nwant %q", c.metric, got, c.us)
		}
		if got := unit.Metric.Text(c.metric); got != c.metric {
			t.Errorf("metric text %q became %q", c.metric, got)
		}
	}
}

func TestTextLeavesOthersWordsAlone(t *testing.T) {
	for _, text := range []string{
		`No least wall is set for this piece: write least_wall = "3 mm" in its card.`,
		"runner.length=+20mm",
		"limit not met: ISO 5167-2:2003 5.3.1: bore d at least 12.5 mm (got 11)",
		"ran at 5 mm/s on the M8-12 mm bolt",
		"valve 12 to 34 per cent, 3 runners",
	} {
		if got := unit.US.Text(text); got != text {
			t.Errorf("%q became %q", text, got)
		}
	}
}

// A limit of our own names the unit of the value got, and then both are turned.
func TestTextTurnsLimitWithItsUnit(t *testing.T) {
	got := unit.US.Text("rig card r1: test pressure within 5 % of 6974 Pa [Pa] (got 6227)")
	if want := "rig card r1: test pressure within 5 % of 28.00 inH2O (got 25.00 inH2O)"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
