package job

import "time"

// A LeakageTest is the leakage of a bench at several test pressures, in a file of its own: everything blanked, the flow that
// is left.
type LeakageTest struct {
	Title  string             `toml:"title"`
	At     time.Time          `toml:"at"`
	Points []LeakageTestPoint `toml:"points" need:"yes"`
}

// A LeakageTestPoint is the leakage at one test pressure.
type LeakageTestPoint struct {
	TestPressure float64 `toml:"test_pressure" need:"yes" dim:"pressure"` // pressure drop held [Pa]
	Flow         float64 `toml:"flow" need:"yes" dim:"flow"`              // volume flow at the room's air [m³/s]
}

// ReadLeakageTest reads a leakage test: TOML when the name ends in .toml, else CSV with the columns test_pressure and flow,
// the unit at the end of each ("test_pressure_inh2o,flow_cfm"). name is used in messages. What is wrong with it is a Problems.
func ReadLeakageTest(name string, data []byte) (LeakageTest, error) {
	var out LeakageTest
	ps := readSmall(name, data, &out, leakageColumns(), func(_ *sheet, rows [][]sheetCell) {
		for _, r := range rows {
			out.Points = append(out.Points, LeakageTestPoint{TestPressure: r[0].value, Flow: r[1].value})
		}
	}, nil)
	return out, ps.sorted().err()
}

func leakageColumns() []sheetColumn {
	return []sheetColumn{
		quantityColumn("test_pressure", pressureDims(), true, "dp", "pressure", "depression"),
		quantityColumn("flow", flowDims(), true, "leakage"),
		{key: "note", kind: sheetPassed},
		{key: "at", also: []string{"date"}, kind: sheetPassed},
	}
}
