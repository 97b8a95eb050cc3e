package job

import (
	"fmt"
	"time"

	"runnel/unit"
)

// A Calibration is known plates flowed on a bench, in a file of its own: what each is known to pass and what the bench read.
type Calibration struct {
	Title   string             `toml:"title"`
	At      time.Time          `toml:"at"`                           // day it was made
	Every   float64            `toml:"recalibrate_every" dim:"time"` // longest time to the next one [s]; 0: a year
	UCommon float64            `toml:"u_common" dim:"ratio"`         // standard uncertainty that all plates share, as of one certificate, relative [-]
	Points  []CalibrationPoint `toml:"points" need:"yes"`
	Checks  []CalibrationCheck `toml:"check"` // flows of the check plate since, in order of time
}

// A CalibrationPoint is one flow of a known plate.
type CalibrationPoint struct {
	Plate  string  `toml:"plate"`
	Known  float64 `toml:"known" need:"yes" dim:"flow"` // flow it is known to pass in the test [m³/s]
	Read   float64 `toml:"read" need:"yes" dim:"flow"`  // flow the bench read [m³/s]
	UKnown float64 `toml:"u_known" dim:"ratio"`         // standard uncertainty of Known, relative [-]; 0: not stated
	URead  float64 `toml:"u_read" dim:"ratio"`          // standard uncertainty of one reading, relative [-]; 0: not stated
}

// A CalibrationCheck is one flow of the check plate.
type CalibrationCheck struct {
	At   time.Time `toml:"at"`
	Flow float64   `toml:"flow" need:"yes" dim:"flow"` // as read [m³/s]
}

// ReadCalibration reads known plates flowed on a bench: TOML when the name ends in .toml, else CSV with the columns plate,
// known, read, u_known and u_read, the unit at the end of each but the first ("plate,known_cfm,read_cfm,u_known_percent").
// A row whose column kind says "check" is a flow of the check plate, with its day in the column at. name is used in messages.
// What is wrong is a Problems.
func ReadCalibration(name string, data []byte) (Calibration, error) {
	var out Calibration
	ps := readSmall(name, data, &out, calibrationColumns(), func(s *sheet, rows [][]sheetCell) { out.take(s, rows) }, out.check)
	return out, ps.sorted().err()
}

// File writes the calibration as a TOML file, which ReadCalibration reads as the same again.
func (c Calibration) File() ([]byte, error) { return encode(&c) }

func calibrationColumns() []sheetColumn {
	u := []unit.Dimension{unit.Ratio, unit.VolumeFlow}
	return []sheetColumn{
		textColumn("plate", false, "piece"),
		quantityColumn("known", flowDims(), false, "reference"),
		quantityColumn("read", flowDims(), true, "reading", "flow"),
		quantityColumn("u_known", u, false),
		quantityColumn("u_read", u, false),
		textColumn("kind", false),
		{key: "at", also: []string{"date"}, kind: sheetDate},
		{key: "note", kind: sheetPassed},
		{key: "repeat", kind: sheetPassed},
	}
}

func (c *Calibration) take(s *sheet, rows [][]sheetCell) {
	for _, r := range rows {
		switch r[5].text {
		case "check":
			c.Checks = append(c.Checks, CalibrationCheck{At: r[6].when, Flow: r[2].value})
			continue
		case "", "plate":
		default:
			s.fail(r[5].at, fmt.Sprintf("%q is no kind of row", clip(r[5].text)), `write "plate" or "check", or leave the cell empty`)
		}
		p := CalibrationPoint{Plate: r[0].text, Known: r[1].value, Read: r[2].value}
		if !r[1].given {
			s.fail(r[2].at, "the plate's known flow is missing", `write it in a column "known_cfm"`)
			continue
		}
		p.UKnown, p.URead = r[3].relative(p.Known), r[4].relative(p.Read)
		if found, write := p.wrong(); found != "" {
			s.fail(r[2].at, found, write)
		}
		c.Points = append(c.Points, p)
	}
}

// relative returns a standard uncertainty, written as a share or in the unit of the value, as a share of the value [-].
func (c sheetCell) relative(value float64) float64 {
	if c.given && c.dim != unit.Ratio.Name {
		return c.value / value
	}
	return c.value
}

// wrong says what cannot be of a point.
func (p CalibrationPoint) wrong() (found, write string) {
	switch {
	case !(p.Known > 0):
		return "the known flow of a plate is not above zero", "write the flow that the plate passes"
	case !(p.Read > 0):
		return "the flow read through a plate is not above zero", "write the flow that the bench read; check its zero"
	case p.UKnown < 0 || p.URead < 0:
		return "an uncertainty is negative", "write a standard uncertainty, above zero"
	case p.UKnown > 0.5 || p.URead > 0.5:
		return "an uncertainty is more than half of the flow", "write one standard uncertainty, such as 0.5 %"
	}
	return "", ""
}

func (c *Calibration) check(d *decoder) {
	for i, p := range c.Points {
		if found, write := p.wrong(); found != "" {
			d.failAt(fmt.Sprintf("points[%d]", i), found, write)
		}
	}
	for i, k := range c.Checks {
		if !(k.Flow > 0) {
			d.failAt(fmt.Sprintf("check[%d].flow", i), "the flow of the check plate is not above zero", "write the flow that the bench read")
		}
	}
	if c.UCommon < 0 || c.UCommon > 0.5 {
		d.failAt("u_common", "the uncertainty that all plates share is no share", `write a standard uncertainty, as "0.3 %"`)
	}
	if c.Every < 0 {
		d.failAt("recalibrate_every", "the time to the next calibration is negative", `write it like "365 d"`)
	}
}
