package job

import (
	"fmt"

	"runnel/unit"
)

// A SeriesFile is measured pieces in the order the air meets them, in a file of its own.
type SeriesFile struct {
	Title        string        `toml:"title"`
	TestPressure float64       `toml:"test_pressure" dim:"pressure"` // pressure drop of the readings and of the whole [Pa], default 28 inH2O
	Pressure     float64       `toml:"pressure" dim:"pressure"`      // absolute air pressure [Pa], default 101 325
	Temperature  float64       `toml:"temp" dim:"temperature"`       // air temperature [K], default 20 °C
	SmallDrop    bool          `toml:"small_drop"`                   // use the form for a small drop whatever the test pressure
	UCommon      float64       `toml:"u_common" dim:"ratio"`         // standard uncertainty all readings share, as of one bench, relative [-]
	Pieces       []SeriesPiece `toml:"pieces" need:"yes"`            // in the order the air meets them
	Assembled    SeriesWhole   `toml:"assembled"`                    // a reading of all of them together, when there is one
}

// A SeriesPiece is one piece as it was flowed alone; either Area or Flow is given.
type SeriesPiece struct {
	Name      string  `toml:"name" need:"yes"`
	Area      float64 `toml:"effective_area" dim:"area"` // of one opening [m²]
	Flow      float64 `toml:"flow" dim:"flow"`           // of one opening at the test pressure [m³/s]
	U         float64 `toml:"u" dim:"ratio"`             // standard uncertainty of its own, relative [-]
	Feeds     float64 `toml:"feeds"`                     // openings it feeds at the same time [-], default 1
	EntryArea float64 `toml:"entry_area" dim:"area"`     // section where the air enters [m²]; 0 not known
	ExitArea  float64 `toml:"exit_area" dim:"area"`      // section where it leaves [m²]; 0 not known
	UExit     float64 `toml:"u_exit" dim:"ratio"`        // standard uncertainty of ExitArea, relative [-]
	CarriedOn float64 `toml:"carried_on" dim:"ratio"`    // share of the exit head carried into the next piece [-]
	UCarried  float64 `toml:"u_carried_on" dim:"ratio"`  // its standard uncertainty [-]
}

// A SeriesWhole is a reading of the assembly; the zero value means that there is none.
type SeriesWhole struct {
	Area float64 `toml:"effective_area" dim:"area"` // [m²]
	Flow float64 `toml:"flow" dim:"flow"`           // at the test pressure [m³/s]
	U    float64 `toml:"u" dim:"ratio"`             // standard uncertainty of its own, relative [-]
}

// ReadSeries reads measured pieces in series from TOML. name is used in messages. What is wrong is a Problems.
func ReadSeries(name string, data []byte) (SeriesFile, error) {
	var out SeriesFile
	src, ps := tomlSource(name, data)
	if len(ps) > 0 {
		return out, ps.err()
	}
	d := decode(src, &out)
	if len(d.problems) == 0 {
		out.check(d)
	}
	if err := d.problems.sorted().err(); err != nil {
		return out, err
	}
	out.fill()
	return out, nil
}

func (s *SeriesFile) check(d *decoder) {
	if len(s.Pieces) == 0 {
		d.failAt("pieces", "no pieces", "write one [[pieces]] table for each, in the order the air meets them")
	}
	seen := map[string]bool{}
	for i, p := range s.Pieces {
		at := fmt.Sprintf("pieces[%d]", i)
		if seen[p.Name] {
			d.failAt(at+".name", fmt.Sprintf("piece %q stands twice", clip(p.Name)), "give every piece a name of its own")
		}
		seen[p.Name] = true
		switch {
		case (p.Area != 0) == (p.Flow != 0):
			d.failAt(at, fmt.Sprintf("piece %q must have an effective area or a flow, one of them", clip(p.Name)), `write effective_area = "610 mm²" or flow = "142 cfm"`)
		case p.Area < 0 || p.Flow < 0:
			d.failAt(at, fmt.Sprintf("the flow of piece %q is below zero", clip(p.Name)), "write what was measured")
		}
		if p.CarriedOn < 0 || p.CarriedOn > 1 {
			d.failAt(at+".carried_on", fmt.Sprintf("%.4g is no share", p.CarriedOn), `write from "0 %" into a plenum to "100 %" in a matched joint`)
		}
		if p.Feeds < 0 || p.Feeds == 0 && d.given(at+".feeds") {
			d.failAt(at+".feeds", fmt.Sprintf("piece %q feeds %.4g openings", clip(p.Name), p.Feeds), "write how many openings it feeds at the same time, such as 6, or leave the key out for one")
		}
	}
	for key, x := range map[string]float64{"test_pressure": s.TestPressure, "pressure": s.Pressure, "temp": s.Temperature} {
		if x == 0 && d.given(key) {
			d.failAt(key, key+" of 0 would count as not given", "write what it was, or leave the key out: a usual value is then taken")
		}
	}
	if d.given("assembled") && s.Assembled.Area == 0 && s.Assembled.Flow == 0 {
		d.failAt("assembled", "the assembled reading has neither a flow nor an effective area", `write flow = "262 cfm", or leave the table out`)
	}
	if s.Assembled.Area != 0 && s.Assembled.Flow != 0 {
		d.failAt("assembled", "both an effective area and a flow", "write one of them")
	}
}

// fill puts the defaults where nothing was written.
func (s *SeriesFile) fill() {
	for _, f := range []struct {
		at  *float64
		def float64
	}{{&s.TestPressure, unit.Pressure.Of(28, "inH2O")}, {&s.Pressure, 101325}, {&s.Temperature, unit.Temperature.Of(20, "°C")}} {
		if *f.at == 0 {
			*f.at = f.def
		}
	}
}
