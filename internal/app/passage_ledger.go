package app

import (
	"strings"

	"runnel/gas"
	"runnel/internal/fault"
	"runnel/passage"
	"runnel/tract"
	"runnel/unit"
)

// A LedgerCase is what a ledger is drawn up for.
type LedgerCase struct {
	Passage   *passage.Passage
	Air       gas.MoistAir
	Drop      float64 // test pressure [Pa]
	Entry     tract.Entry
	Surface   string  // "cast", "worked" or "smooth"; empty: cast
	Reading   float64 // effective area that was measured [m²]; 0: none
	UReading  float64 // its standard uncertainty, relative [-]
	LeastWall float64 // thinnest wall allowed [m]
}

// A LedgerAnswer is where the pressure is lost along a passage and what is left to gain.
type LedgerAnswer struct {
	Area        float64           `json:"effective_area_m2"` // predicted [m²]
	U           float64           `json:"u_rel"`             // its standard uncertainty, relative [-]
	Mass        float64           `json:"mass_flow_kg_s"`    // the table is drawn up at [kg/s]
	Drop        float64           `json:"dp_pa"`             // test pressure [Pa]
	Losses      []LossAnswer      `json:"losses"`
	Unexplained *LossAnswer       `json:"unexplained,omitempty"`
	Reading     float64           `json:"reading_effective_area_m2,omitempty"` // [m²]
	Closure     float64           `json:"closure,omitempty"`                   // measured over predicted [-]
	UClosure    float64           `json:"u_closure_rel,omitempty"`             // its standard uncertainty, relative [-]
	Profile     []StateAnswer     `json:"profile"`
	Sensitivity []SensitiveAnswer `json:"sensitivity"`
	Headroom    HeadroomAnswer    `json:"headroom"`
	Warnings    []string          `json:"warnings"`
	Ledger      tract.Ledger      `json:"-"`
	Passage     *passage.Passage  `json:"-"`
	Case        tract.Case        `json:"-"`
	Rooms       []tract.Room      `json:"-"`
}

// A LossAnswer is one line of the ledger.
type LossAnswer struct {
	Name    string  `json:"name"`
	Kind    string  `json:"kind"`
	From    float64 `json:"from_m"`     // [m]
	To      float64 `json:"to_m"`       // [m]
	K       float64 `json:"k"`          // [-]
	Lo      float64 `json:"k_lo"`       // lowest of the published methods [-]
	Hi      float64 `json:"k_hi"`       // highest [-]
	Section float64 `json:"section_m2"` // section K is stated on [m²]
	Drop    float64 `json:"dp_pa"`      // total pressure lost [Pa]
	Share   float64 `json:"share"`      // of the test pressure [-]
	Source  string  `json:"source"`
}

// A StateAnswer is the flow at one place.
type StateAnswer struct {
	At       float64 `json:"s_m"`          // [m]
	Area     float64 `json:"area_m2"`      // [m²]
	Total    float64 `json:"total_pa"`     // [Pa]
	Static   float64 `json:"static_pa"`    // [Pa]
	Velocity float64 `json:"velocity_m_s"` // [m/s]
	Mach     float64 `json:"mach"`         // [-]
}

// A SensitiveAnswer is what opening one section does.
type SensitiveAnswer struct {
	Station int     `json:"station"`
	At      float64 `json:"s_m"`              // [m]
	Gain    float64 `json:"gain_per_percent"` // flow gained for one per cent more area there [%]
}

// A HeadroomAnswer is how far from the ceiling the passage is; gains are relative.
type HeadroomAnswer struct {
	Now       float64      `json:"effective_area_m2"` // [m²]
	Entry     float64      `json:"best_entry_gain"`   // [-]
	Wall      float64      `json:"smooth_wall_gain"`  // [-]
	Both      float64      `json:"both_gain"`         // best entry and smooth wall on the same sections, if what is unexplained stays [-]
	Found     float64      `json:"unexplained_gain"`  // if what is unexplained alone were found and mended [-]; 0 without a reading
	Ceiling   float64      `json:"ceiling_gain"`      // up to the physical ceiling: best entry, smooth wall, nothing unexplained [-]
	Lossless  float64      `json:"lossless_gain"`     // nothing but the exit head lost, nothing unexplained [-]
	Opened    float64      `json:"opened_gain"`       // and every section opened to the least wall [-]; 0 without wall data
	WallKnown bool         `json:"wall_measured"`
	Rooms     []RoomAnswer `json:"rooms"`
	Advice    []string     `json:"advice"`
}

// A RoomAnswer is what the wall allows at one station.
type RoomAnswer struct {
	At   float64 `json:"s_m"`     // [m]
	Wall float64 `json:"wall_m"`  // measured [m]; 0 not measured
	Cut  float64 `json:"cut_m"`   // depth that may come off all round [m]
	Area float64 `json:"area_m2"` // section after that [m²]
	Gain float64 `json:"gain"`    // of flow, opened here alone [-]
}

// surfaceOf returns the wall of a passage by the word it is chosen with.
func surfaceOf(word string) (tract.Roughness, error) {
	switch word {
	case "", "cast":
		return tract.Cast(), nil
	case "worked":
		return tract.Worked(), nil
	case "smooth":
		return tract.Smooth(), nil
	}
	return tract.Roughness{}, fault.Errorf(fault.Invalid, "%q is no surface: write cast, worked or smooth", word)
}

// tractAir turns the room's air into that of package tract.
func tractAir(m gas.MoistAir) (tract.Air, []string, error) {
	a, err := m.Properties()
	if err != nil {
		return tract.Air{}, nil, err
	}
	return tract.Air{Pressure: a.Pressure, Temperature: a.Temperature, GasConstant: a.GasConstant, Gamma: a.Kappa, Viscosity: a.Viscosity}, gasWords(a.Warnings), nil
}

// Ledger draws up the ledger of a passage and its headroom.
func Ledger(c LedgerCase) (LedgerAnswer, error) {
	rough, err := surfaceOf(c.Surface)
	if err != nil {
		return LedgerAnswer{}, err
	}
	air, words, err := tractAir(c.Air)
	if err != nil {
		return LedgerAnswer{}, err
	}
	k := tract.Case{Passage: c.Passage, Air: air, Drop: c.Drop, Entry: c.Entry, Roughness: rough, Reading: c.Reading, UReading: c.UReading}
	l, err := k.Draw()
	if err != nil {
		return LedgerAnswer{}, invalid(err)
	}
	h, err := k.Headroom(c.LeastWall)
	if err != nil {
		return LedgerAnswer{}, invalid(err)
	}
	a := LedgerAnswer{
		Area: l.Area, U: l.U, Mass: l.Mass, Drop: c.Drop, Losses: []LossAnswer{}, Reading: c.Reading, Closure: l.Closure, UClosure: l.UClosure,
		Profile: []StateAnswer{}, Sensitivity: []SensitiveAnswer{}, Headroom: headroomAnswer(h, c.Passage.HasWall()),
		Warnings: orEmpty(append(words, l.Warnings...)), Ledger: l, Passage: c.Passage, Case: k, Rooms: h.Sections,
	}
	for _, x := range l.Losses {
		a.Losses = append(a.Losses, LossAnswer(x))
	}
	if c.Reading > 0 {
		u := LossAnswer(l.Unexplained)
		a.Unexplained = &u
	}
	for _, s := range l.Profile {
		a.Profile = append(a.Profile, StateAnswer(s))
	}
	for _, s := range l.Sensitivity {
		a.Sensitivity = append(a.Sensitivity, SensitiveAnswer(s))
	}
	return a, nil
}

func headroomAnswer(h tract.Headroom, wall bool) HeadroomAnswer {
	out := HeadroomAnswer{
		Now: h.Now, Entry: h.Entry, Wall: h.Wall, Both: h.Both, Found: h.Found, Ceiling: h.Ceiling, Lossless: h.Physical, Opened: h.Opened, WallKnown: wall, Rooms: []RoomAnswer{}, Advice: orEmpty(h.Advice),
	}
	for _, r := range h.Sections {
		out.Rooms = append(out.Rooms, RoomAnswer{r.At, r.Wall, r.Cut, r.Area, r.Gain})
	}
	return out
}

// ReadingArea reads a measured effective area, or a flow at the test pressure drop [Pa] in air m that is turned into one [m²]: a volume
// flow counts at the density of m.
func ReadingArea(typed string, m gas.MoistAir, drop float64) (float64, error) {
	typed = strings.TrimSpace(typed)
	if v, err := unit.Area.Parse(typed); err == nil {
		return v, nil
	}
	a, err := m.Properties()
	if err != nil {
		return 0, err
	}
	mass, err := unit.MassFlow.Parse(typed)
	if err != nil {
		flow, err := unit.VolumeFlow.Parse(typed)
		if err != nil {
			return 0, fault.Errorf(fault.Invalid, `%q is no reading: write an effective area like "610 mm²" or a flow like "142 cfm" or "300 kg/h"`, typed)
		}
		mass = flow * a.Density
	}
	n := gas.Nozzle{Pressure: a.Pressure, Temperature: a.Temperature, Downstream: a.Pressure - drop, GasConstant: a.GasConstant, Gamma: a.Kappa}
	area, err := n.EffectiveArea(mass)
	if err != nil {
		return 0, fault.Errorf(fault.Invalid, "reading %s: %w", typed, err)
	}
	if !(area > 0) {
		return 0, fault.Errorf(fault.Invalid, "reading %s: it must be above zero", typed)
	}
	return area, nil
}
