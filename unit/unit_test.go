package unit_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runnel/unit"
)

func ExampleDimension_Parse() {
	dp, err := unit.Pressure.Parse("28 inH2O")
	fmt.Printf("%.1f Pa, %v\n", dp, err)
	_, err = unit.Pressure.Parse("28")
	fmt.Println(err)
	// Output:
	// 6974.5 Pa, <nil>
	// pressure "28" has no unit: write it as "28 Pa"
}

// Factors: NIST SP 811 (2008), Appendix B.8; tolerance: double round-off.
func TestParse(t *testing.T) {
	for _, c := range []struct {
		dim  unit.Dimension
		text string
		want float64
	}{
		{unit.Length, "1 3/4 in", 0.04445},
		{unit.Length, "2.02in", 0.051308},
		{unit.Length, "3/8\"", 0.009525},
		{unit.Length, "-40 mm", -0.04},
		{unit.VolumeFlow, "315 cfm", 315 * 4.719474432e-4},
		{unit.Temperature, "20 C", 293.15},
		{unit.Temperature, "68 °F", 293.15},
		{unit.Temperature, "-40 F", 233.15},
		{unit.Ratio, "50%", 0.5},
		{unit.Ratio, "0.25", 0.25},
		{unit.Pressure, "29.92126 inHg", 29.92126 * 3386.389},
		{unit.Pressure, "1.2e3 Pa", 1200},
		{unit.Power, "1 hp", 745.6998715822702},
		{unit.Torque, "100 lb-ft", 135.58179483314004},
		{unit.Rotation, "6000 rpm", 100},
	} {
		got, err := c.dim.Parse(c.text)
		if err != nil || math.Abs(got-c.want) > 1e-12*math.Abs(c.want) {
			t.Errorf("%s: %v, %v; want %v", c.text, got, err, c.want)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct {
		dim    unit.Dimension
		text   string
		reason error
		advice string
	}{
		{unit.Pressure, "28", unit.ErrNoUnit, `write it as "28 Pa"`},
		{unit.Pressure, "28 mm", unit.ErrWrongUnit, "use one of Pa"},
		{unit.Length, "1,5 mm", unit.ErrNumber, `"1.5 mm"`},
		{unit.Length, "wide", unit.ErrNumber, `"1 m"`},
		{unit.Length, "1/0 in", unit.ErrNumber, "fraction"},
		{unit.Length, "", unit.ErrNumber, `"1 m"`},
		{unit.Length, "1e999 m", unit.ErrNumber, "number"},
		{unit.Length, "NaN m", unit.ErrNumber, `"1 m"`},
	} {
		_, err := c.dim.Parse(c.text)
		if !errors.Is(err, c.reason) || !strings.Contains(err.Error(), c.advice) {
			t.Errorf("%q: %v; want %v with %q", c.text, err, c.reason, c.advice)
		}
	}
}

func TestColumn(t *testing.T) {
	for name, want := range map[string]string{
		"meter_dp_pa": "meter_dp Pa", "test_dp_inh2o": "test_dp inH2O", "time_s": "time s", "air_temp_c": "air_temp °C",
		"air_rh_percent": "air_rh %", "flow_m3_s": "flow m³/s", "width_mm": "width mm", "flow_kg_s": "flow kg/s",
	} {
		stem, u, _, err := unit.Column(name)
		if err != nil || stem+" "+u.Name != want {
			t.Errorf("%s: %s %s, %v; want %s", name, stem, u.Name, err, want)
		}
	}
	if _, _, _, err := unit.Column("pressure"); err == nil {
		t.Error("a column without unit was taken")
	}
}

// Every unit written by Format is read back by Parse to the printed figure.
func TestFormatParseRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.SampledFrom(unit.All()).Draw(t, "dimension")
		u := rapid.SampledFrom(d.Units).Draw(t, "unit")
		v := rapid.Float64Range(-1e4, 1e4).Draw(t, "value")
		si := u.ToSI(v)
		got, err := d.Parse(d.Format(si, u.Name, 9))
		if err != nil || math.Abs(got-si) > 1e-9*u.Factor+1e-9*math.Abs(si) {
			t.Fatalf("%v %s: got %v, %v; want %v", v, u.Name, got, err, si)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"28 inH2O", "1 3/4 in", "", "-", "1/", "9e9e9", "1 \""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, d := range unit.All() {
			if v, err := d.Parse(s); err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
				t.Fatalf("%q gave %v", s, v)
			}
		}
	})
}
