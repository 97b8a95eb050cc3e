package job

import (
	"fmt"
	"time"

	"runnel/unit"
)

// A LeakageTest is the leakage of a bench at several test pressures, in a file of its own: everything blanked, the flow that
// is left.
type LeakageTest struct {
	Title  string             `toml:"title"`
	At     time.Time          `toml:"at"`
	UMeter float64            `toml:"u_meter" dim:"ratio"` // standard uncertainty that all points share, as of the meter, relative [-]
	Points []LeakageTestPoint `toml:"points" need:"yes"`
}

// A LeakageTestPoint is the leakage at one test pressure.
type LeakageTestPoint struct {
	TestPressure float64 `toml:"test_pressure" need:"yes" dim:"pressure"` // pressure drop held [Pa]
	Flow         float64 `toml:"flow" need:"yes" dim:"flow"`              // volume flow at the room's air [m³/s]
	UFlow        float64 `toml:"u_flow" dim:"flow"`                       // standard uncertainty of Flow for itself, as of its resolution [m³/s]; less than twice it counts as not seen; 0: not stated
}

// ReadLeakageTest reads a leakage test: TOML when the name ends in .toml, else CSV with the columns test_pressure, flow and u_flow,
// the unit at the end of each ("test_pressure_inh2o,flow_cfm,u_flow_cfm"). name is used in messages. What is wrong with it is a
// Problems.
func ReadLeakageTest(name string, data []byte) (LeakageTest, error) {
	var out LeakageTest
	ps := readSmall(name, data, &out, leakageColumns(), out.take, out.check)
	return out, ps.sorted().err()
}

func (t *LeakageTest) take(s *sheet, rows [][]sheetCell) {
	for _, r := range rows {
		p := LeakageTestPoint{TestPressure: r[0].value, Flow: r[1].value, UFlow: r[2].relative(1)}
		if r[2].given && r[2].dim == unit.Ratio.Name {
			p.UFlow *= p.Flow
		}
		if found, write := p.wrong(); found != "" {
			s.fail(r[1].at, found, write)
		}
		t.Points = append(t.Points, p)
	}
}

// wrong says what cannot be of a point.
func (p LeakageTestPoint) wrong() (found, write string) {
	switch {
	case !(p.TestPressure > 0):
		return "the test pressure of a leakage is not above zero", "write the pressure drop held, without its sign"
	case p.Flow < 0:
		return "a leakage is below zero", "take off the zero of the meter; write 0 for a flow that cannot be seen, and in u_flow how sure that is"
	case p.UFlow < 0:
		return "an uncertainty is negative", "write a standard uncertainty, above zero"
	}
	return "", ""
}

func (t *LeakageTest) check(d *decoder) {
	for i, p := range t.Points {
		if found, write := p.wrong(); found != "" {
			d.failAt(fmt.Sprintf("points[%d]", i), found, write)
		}
	}
	if t.UMeter < 0 || t.UMeter > 0.5 {
		d.failAt("u_meter", "the uncertainty that all points share is no share", `write a standard uncertainty, as "1 %"`)
	}
}

func leakageColumns() []sheetColumn {
	return []sheetColumn{
		quantityColumn("test_pressure", pressureDims(), true, "dp", "pressure", "depression"),
		quantityColumn("flow", flowDims(), true, "leakage"),
		quantityColumn("u_flow", []unit.Dimension{unit.Ratio, unit.VolumeFlow}, false, "u_leakage"),
		{key: "note", kind: sheetPassed},
		{key: "at", also: []string{"date"}, kind: sheetPassed},
	}
}
