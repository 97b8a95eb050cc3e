package app

import (
	"bytes"
	"errors"
	"path"
	"strings"

	"runnel/internal/fault"
	"runnel/passage"
	"runnel/unit"
)

// A MeshReading is how a mesh is to be read.
type MeshReading struct {
	Unit      string  // unit of the file: "mm", "cm", "in" or "m"; empty: it is asked for unless it is certain
	Sure      bool    // the unit is right although the size is unusual
	Stations  int     // sections wanted [-]; 0: 40
	Along     string  // "auto", "x", "y" or "z"; empty: auto
	HoleLimit float64 // width up to which holes are closed [m]; 0: 15 mm
	Reverse   bool    // count from the other end
}

// A UnitQuestionError asks for the unit of a mesh before it is taken.
type UnitQuestionError struct {
	Likely string // the likeliest unit
	Ask    string // the question
}

func (q *UnitQuestionError) Error() string {
	return q.Ask + ` Write --unit ` + q.Likely + `, or the unit it is in; --sure with it when the unit is right although the size is unusual`
}

// A ReadPassage is a passage with where it came from.
type ReadPassage struct {
	Passage *passage.Passage
	Mesh    *passage.Mesh    // mended; nil for typed stations
	Unit    string           // unit of the mesh
	Mending *passage.Mending // nil for typed stations
}

// meshUnits are the units a mesh may be in, and their size [m].
var meshUnits = [...]struct {
	name string
	size float64
}{{"mm", 1e-3}, {"cm", 1e-2}, {"in", unit.Inch}, {"m", 1}}

func unitSize(name string) (float64, bool) {
	for _, u := range meshUnits {
		if u.name == name {
			return u.size, true
		}
	}
	return 0, false
}

// PassageOf makes a passage of a file: a mesh when its name ends in .stl, else typed stations. Errors are of kind Invalid and may
// carry a *UnitQuestionError or one or more *passage.CellError.
func PassageOf(name string, data []byte, m MeshReading) (ReadPassage, error) {
	if strings.EqualFold(path.Ext(name), ".stl") {
		return fromMesh(name, data, m)
	}
	stations, err := passage.ReadStations(bytes.NewReader(data), name)
	if err != nil {
		return ReadPassage{}, invalid(err)
	}
	p, err := passage.New(stations)
	if err != nil {
		return ReadPassage{}, fault.Errorf(fault.Invalid, "%s: %w", name, err)
	}
	return ReadPassage{Passage: p}, nil
}

var ways = map[string]passage.Way{"": passage.Auto, "auto": passage.Auto, "x": passage.AlongX, "y": passage.AlongY, "z": passage.AlongZ}

func fromMesh(name string, data []byte, o MeshReading) (ReadPassage, error) {
	way, ok := ways[o.Along]
	if !ok {
		return ReadPassage{}, fault.Errorf(fault.Invalid, "%q is no way along a mesh: write x, y, z or auto", o.Along)
	}
	mesh, used, err := readMesh(name, data, o)
	if err != nil {
		return ReadPassage{}, err
	}
	p, mend, err := passage.FromMesh(mesh, passage.MeshOptions{Stations: o.Stations, Along: way, HoleLimit: o.HoleLimit, Reverse: o.Reverse})
	if err != nil {
		return ReadPassage{}, fault.Errorf(fault.Invalid, "%s: %w", name, err)
	}
	return ReadPassage{Passage: p, Mesh: mesh, Unit: used, Mending: &mend}, nil
}

// readMesh reads a mesh in metres, asking for its unit where that is not certain.
func readMesh(name string, data []byte, o MeshReading) (*passage.Mesh, string, error) {
	if _, ok := unitSize(o.Unit); !ok && o.Unit != "" {
		return nil, "", fault.Errorf(fault.Invalid, "%q is no unit of a mesh: write mm, cm, in or m", o.Unit)
	}
	mesh, err := passage.ReadSTL(bytes.NewReader(data), 1)
	if err != nil {
		return nil, "", fault.Errorf(fault.Invalid, "%s: %w", name, err)
	}
	lo, hi := mesh.Box()
	likely, certain, ask := passage.SuspectUnit(hi.Minus(lo).Norm(), o.Unit)
	if !certain && (!o.Sure || o.Unit == "") {
		return nil, "", fault.Errorf(fault.Invalid, "%s: %w", name, &UnitQuestionError{Likely: likely, Ask: ask})
	}
	used := o.Unit
	if used == "" {
		used = likely
	}
	size, _ := unitSize(used)
	for i := range mesh.Points {
		mesh.Points[i] = mesh.Points[i].Times(size)
	}
	return mesh, used, nil
}

// UnitAsked returns the question an error carries, nil when it carries none.
func UnitAsked(err error) *UnitQuestionError {
	q, ok := errors.AsType[*UnitQuestionError](err)
	if !ok {
		return nil
	}
	return q
}

// A SectionsAnswer is a passage as the command sections tells it.
type SectionsAnswer struct {
	Source        string           `json:"source"` // "mesh" or "stations"
	Unit          string           `json:"mesh_unit,omitempty"`
	Length        float64          `json:"length_m"`                 // [m]
	Volume        float64          `json:"volume_m3"`                // [m³]
	MeshVolume    float64          `json:"mesh_volume_m3,omitempty"` // volume the mended mesh encloses [m³]
	WettedSurface float64          `json:"wetted_surface_m2"`        // [m²]
	NarrowestAt   float64          `json:"narrowest_s_m"`            // [m]
	NarrowestArea float64          `json:"narrowest_area_m2"`        // [m²]
	Sections      []SectionAnswer  `json:"sections"`
	Bends         []BendAnswer     `json:"bends"`
	Mended        *MendedAnswer    `json:"mended,omitempty"`
	Warnings      []string         `json:"warnings"`
	Passage       *passage.Passage `json:"-"`
}

// A SectionAnswer is one station.
type SectionAnswer struct {
	At        float64     `json:"s_m"` // [m]
	Shape     string      `json:"shape"`
	Area      float64     `json:"area_m2"`              // [m²]
	Perimeter float64     `json:"perimeter_m"`          // [m]
	Hydraulic float64     `json:"hydraulic_diameter_m"` // [m]
	Width     float64     `json:"width_m"`              // [m]; 0 not known
	Height    float64     `json:"height_m"`             // [m]; 0 not known
	Wall      float64     `json:"wall_m"`               // [m]; 0 not measured
	AreaRate  float64     `json:"area_rate_m"`          // dA/ds [m]
	Taper     float64     `json:"taper_rad"`            // [rad]
	Centre    passage.Vec `json:"centre_m"`
	Normal    passage.Vec `json:"normal_m"`
}

// A BendAnswer is one bend.
type BendAnswer struct {
	From   float64 `json:"from_m"`    // [m]
	To     float64 `json:"to_m"`      // [m]
	Angle  float64 `json:"angle_rad"` // [rad]
	Radius float64 `json:"radius_m"`  // [m]
}

// A MendedAnswer is what was done to a mesh.
type MendedAnswer struct {
	Triangles   int      `json:"triangles"`
	Flipped     int      `json:"flipped"`
	Doubled     int      `json:"doubled"`
	Tangled     int      `json:"tangled"`
	HolesClosed int      `json:"holes_closed"`
	WidestHole  float64  `json:"widest_hole_m"` // [m]
	HoleArea    float64  `json:"hole_area_m2"`  // [m²]
	OpenEnds    int      `json:"open_ends"`
	Noise       float64  `json:"noise_m"` // scatter of the surface [m]
	Smoothed    bool     `json:"smoothed"`
	Strays      []string `json:"strays"`
}

// Sections tells a passage.
func Sections(r ReadPassage) SectionsAnswer {
	p := r.Passage
	narrow := p.Narrowest()
	a := SectionsAnswer{
		Source: "stations", Unit: r.Unit, Length: p.Length(), Volume: p.Volume(), WettedSurface: p.Surface(),
		NarrowestAt: narrow.At, NarrowestArea: narrow.Area, Sections: []SectionAnswer{}, Bends: []BendAnswer{}, Warnings: []string{}, Passage: p,
	}
	for _, s := range p.Stations() {
		pl := p.Place(s.At)
		a.Sections = append(a.Sections, SectionAnswer{
			At: s.At, Shape: s.Shape, Area: s.Area, Perimeter: s.Perimeter, Hydraulic: s.HydraulicDiameter(), Width: s.Width, Height: s.Height, Wall: s.Wall,
			AreaRate: pl.AreaRate, Taper: pl.Taper(), Centre: s.Centre, Normal: s.Normal,
		})
	}
	for _, b := range p.Bends() {
		a.Bends = append(a.Bends, BendAnswer(b))
	}
	if m := r.Mending; m != nil {
		a.Source, a.MeshVolume, a.Warnings = "mesh", r.Mesh.Volume(), orEmpty(m.Warnings)
		a.Mended = &MendedAnswer{
			Triangles: m.Triangles, Flipped: m.Flipped, Doubled: m.Doubled, Tangled: m.Tangled, HolesClosed: m.HolesClosed, WidestHole: m.WidestHole,
			HoleArea: m.HoleArea, OpenEnds: len(m.OpenEnds), Noise: m.Noise, Smoothed: m.Smoothed, Strays: orEmpty(m.Strays),
		}
	}
	return a
}

// orEmpty makes a list that is written as [] when it holds nothing.
func orEmpty(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}
