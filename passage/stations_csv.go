package passage

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"runnel/unit"
)

func stationFields() []field {
	return []field{
		{"s", &unit.Length, true},
		{"shape", nil, true},
		{"diameter", &unit.Length, false},
		{"width", &unit.Length, false},
		{"height", &unit.Length, false},
		{"corner", &unit.Length, false},
		{"area", &unit.Area, false},
		{"perimeter", &unit.Length, false},
		{"wall", &unit.Length, false},
		{"bend", &unit.Angle, false},
		{"bend_radius", &unit.Length, false},
		{"u_area", &unit.Ratio, false},
		{"x", &unit.Length, false},
		{"y", &unit.Length, false},
		{"z", &unit.Length, false},
	}
}

// ReadStations reads the stations of a passage from comma-separated text, one a line, in order along the centreline. The unit stands
// at the end of every column name: s_mm, shape, diameter_mm, width_mm, height_mm, corner_mm, area_mm2, perimeter_mm, wall_mm,
// bend_deg, bend_radius_mm, u_area_percent, x_mm, y_mm, z_mm. Only s and shape are always needed; a shape is one of round (diameter),
// rectangle (width, height, corner), ellipse (width, height), d (width, height, corner) and area (area, perimeter). The bend is the
// angle the centreline turns since the station before. An empty cell means not measured. Lines that begin with # are skipped. file is
// the name used in errors.
//
// All problems found are joined in the error, each a *CellError.
func ReadStations(r io.Reader, file string) ([]Station, error) {
	out, _, err := TryStations(r, file)
	if err != nil {
		return nil, err
	}
	return out, nil
}

// TryStations reads as ReadStations does, for text that is still being typed: beside all problems it returns the stations that can be read
// already, with the line each stands on.
func TryStations(r io.Reader, file string) (out []Station, lines []int, err error) {
	s := &sheet{file: file, fields: stationFields()}
	for _, row := range s.read(r) {
		st, ok := s.station(row)
		if !ok {
			continue
		}
		if n := len(out); n > 0 && st.At <= out[n-1].At {
			s.cell(row.line, "s", fmt.Sprintf("%.6g mm is not beyond the station before, at %.6g mm", 1e3*st.At, 1e3*out[n-1].At), "sort the stations from the entry on, each once", ErrOrder)
		}
		out, lines = append(out, st), append(lines, row.line)
	}
	if len(s.problems) == 0 && len(out) < 2 {
		s.add(&CellError{Line: 1, Found: map[int]string{0: "no station", 1: "one station only"}[len(out)], Write: "write at least the entry and the exit", Reason: ErrTooFew})
	}
	direct(out)
	return out, lines, s.err()
}

// largest is the width beyond which a typed section is taken for a slip of the unit [m].
const largest = 1.0

// article is a word with "a" or "an" before it.
func article(word string) string {
	if word != "" && strings.ContainsRune("aeiou", rune(word[0])) {
		return "an " + word
	}
	return "a " + word
}

// station turns a line into a station.
func (s *sheet) station(row sheetRow) (Station, bool) {
	v := row.number
	st := Station{At: v["s"], Wall: v["wall"], Turn: v["bend"], Radius: v["bend_radius"], Centre: Vec{v["x"], v["y"], v["z"]}}
	if _, ok := v["s"]; !ok {
		s.cell(row.line, "s", "the distance is empty", "write how far along the centreline the section is", nil)
		return st, false
	}
	shape := strings.ToLower(row.text["shape"])
	need, ok := map[string][]string{
		"round": {"diameter"}, "rectangle": {"width", "height"}, "ellipse": {"width", "height"}, "d": {"width", "height"}, "area": {"area", "perimeter"},
	}[shape]
	if !ok {
		s.cell(row.line, "shape", fmt.Sprintf("%q is no shape", clip([]byte(shape))), "write round, rectangle, ellipse, d or area", ErrShape)
		return st, false
	}
	for _, stem := range need {
		if _, ok := v[stem]; !ok {
			s.cell(row.line, stem, article(shape)+" section has no "+stem, "write its "+strings.Join(need, " and "), ErrShape)
			return st, false
		}
	}
	if st.Wall < 0 {
		s.cell(row.line, "wall", fmt.Sprintf("a wall of %.6g mm", 1e3*st.Wall), "leave it empty where it was not measured", ErrWall)
		return st, false
	}
	for _, stem := range append(slices.Clone(need), "corner") {
		if x, ok := v[stem]; ok && (x < 0 || x == 0 && stem != "corner") {
			reason := ErrShape
			if stem == "area" {
				reason = ErrZeroArea
			}
			s.cell(row.line, stem, "it is "+row.typed[stem]+", and nothing flows through that", "measure the section again", reason)
			return st, false
		}
	}
	for _, stem := range need {
		most := largest
		switch stem {
		case "area":
			most = largest * largest
		case "perimeter":
			most = 4 * largest
		}
		if v[stem] > most {
			s.cell(row.line, stem, row.typed[stem]+" is larger than any runner", "check the unit at the end of the column's name", ErrShape)
			return st, false
		}
	}
	var err error
	switch shape {
	case "round":
		st.Section, err = Round(v["diameter"])
	case "rectangle":
		st.Section, err = Rectangle(v["width"], v["height"], v["corner"])
	case "ellipse":
		st.Section, err = Ellipse(v["width"], v["height"])
	case "d":
		st.Section, err = DShape(v["width"], v["height"], v["corner"])
	case "area":
		st.Section, err = AreaPerimeter(v["area"], v["perimeter"])
		st.Width, st.Height = v["width"], v["height"]
	}
	if err != nil {
		stem, write := need[len(need)-1], "measure the section again"
		if v["corner"] > 0 {
			stem, write = "corner", "write a smaller radius, or measure the section again"
		}
		s.cell(row.line, stem, err.Error(), write, err)
		return st, false
	}
	st.U = v["u_area"]
	if err := st.check(0, nil); err != nil {
		s.cell(row.line, "s", err.Error(), "correct the line", err)
		return st, false
	}
	for _, stem := range []string{"x", "y", "z"} {
		if _, ok := v[stem]; !ok {
			st.Centre = Vec{math.NaN(), 0, 0} // marked: the path in space is not known
		}
	}
	return st, true
}

// direct gives each station the direction of the centreline where all points of it are known, and otherwise clears the points.
func direct(st []Station) {
	if len(st) < 2 {
		return
	}
	for _, s := range st {
		if math.IsNaN(s.Centre[0]) {
			for i := range st {
				st[i].Centre = Vec{}
			}
			return
		}
	}
	c := make([]Vec, len(st))
	for i := range st {
		c[i] = st[i].Centre
	}
	for i, t := range tangents(c) {
		st[i].Normal = t
	}
}

// tangents returns the directions of a curve through points, each that of the parabola through a point and its neighbours.
func tangents(c []Vec) []Vec {
	n := len(c)
	out := make([]Vec, n)
	if n == 2 {
		out[0] = c[1].Minus(c[0]).Unit()
		out[1] = out[0]
		return out
	}
	slope := func(i int, at int) Vec { // of the parabola through i−1, i, i+1 at its first, middle or last point
		a, b := c[i].Minus(c[i-1]), c[i+1].Minus(c[i])
		h, k := a.Norm(), b.Norm()
		if h == 0 || k == 0 {
			return a.Plus(b)
		}
		a, b = a.Times(1/h), b.Times(1/k)
		second := b.Minus(a).Times(1 / (h + k))
		switch at {
		case 0:
			return a.Minus(second.Times(h))
		case 1:
			return a.Plus(second.Times(h))
		}
		return b.Plus(second.Times(k))
	}
	out[0] = slope(1, 0).Unit()
	for i := 1; i < n-1; i++ {
		out[i] = slope(i, 1).Unit()
	}
	out[n-1] = slope(n-2, 2).Unit()
	return out
}
