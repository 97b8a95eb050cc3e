package tract

import (
	"fmt"
	"math"

	"runnel/passage"
)

// A Headroom is how far a passage's flow is from the physical ceiling for its sections and length.
type Headroom struct {
	Now       float64 // effective area: the reading where there is one, else predicted [m²]
	Entry     float64 // gain with the best entry, relative [-]
	Wall      float64 // gain with a smooth wall, relative [-]
	Both      float64 // gain with both on the same sections, if what is unexplained stays, relative [-]
	Lossless  float64 // gain if nothing but the exit head were lost and what is unexplained stays, relative [-]
	Found     float64 // gain if what is unexplained alone were found and mended, relative [-]; below zero where the reading is better than predicted, 0 without one
	Ceiling   float64 // gain up to what is predicted with both: the physical ceiling on the same sections, relative [-]
	Physical  float64 // gain up to the exit section, with nothing but its head lost, relative [-]
	Opened    float64 // gain with both and every section opened to the least wall, relative [-]; 0 without wall data
	Sections  []Room  // what the wall allows, one for each station
	Advice    []string
	Predicted Ledger // of the passage as it is
}

// A Room is what the wall allows at one station.
type Room struct {
	Station int
	At      float64 // distance along the centreline [m]
	Wall    float64 // wall measured [m]; 0: not measured
	Cut     float64 // depth that may be taken off all round [m]
	Area    float64 // section after that [m²]
	Gain    float64 // gain of flow if this section alone is opened so far, relative, from its sensitivity [-]
}

// Headroom returns the ceiling of a case: with the best entry and a smooth wall on the same sections, and with each section opened
// until the least wall [m] is left. Gains are ratios of predicted effective areas, applied to the reading where there is one, so that
// what the ledger leaves unexplained stays in; but Found, Ceiling and Physical, which are predicted areas over the reading: what is
// unexplained is a possible gain of its own, and the ceiling of the sections does not fall with it. A section opened by a depth t all round gains P·t + π·t² of area and 2π·t of perimeter. Nothing is
// ever opened where the wall was not measured, or beyond the least wall. It returns ErrLedger, wrapped.
// Source: Steiner's formula for convex outlines.
func (c Case) Headroom(leastWall float64) (Headroom, error) {
	if !(leastWall >= 0) || math.IsInf(leastWall, 1) {
		return Headroom{}, fmt.Errorf("%w: least wall is %g m", ErrLedger, leastWall)
	}
	now, err := c.Draw()
	if err != nil {
		return Headroom{}, err
	}
	out := Headroom{Now: now.Area, Predicted: now}
	if c.Reading > 0 {
		out.Now = c.Reading
	}
	best := c
	best.Reading = 0
	gain := func(k Case) (float64, error) {
		l, err := k.Draw()
		return l.Area/now.Area - 1, err
	}
	edge := bestEdge * c.Passage.Place(c.Passage.Start()).EquivalentDiameter()
	entry := Entry{Radius: max(edge, c.Entry.Radius)}
	if c.Entry.Projecting {
		entry.Radius = edge
	}
	best.Entry = entry
	if out.Entry, err = gain(best); err != nil {
		return Headroom{}, err
	}
	best.Entry, best.Roughness = c.Entry, Smooth()
	if out.Wall, err = gain(best); err != nil {
		return Headroom{}, err
	}
	best.Entry = entry
	if out.Both, err = gain(best); err != nil {
		return Headroom{}, err
	}
	out.Lossless = c.Passage.Place(c.Passage.End()).Area/now.Area - 1
	out.Found = now.Area/out.Now - 1
	out.Ceiling = (1+out.Both)*(1+out.Found) - 1
	out.Physical = (1+out.Lossless)*(1+out.Found) - 1
	if err := out.open(c, best, leastWall); err != nil {
		return Headroom{}, err
	}
	return out, nil
}

// open fills what the wall allows.
func (h *Headroom) open(c, best Case, leastWall float64) error {
	st := c.Passage.Stations()
	measured, cut := 0, false
	for i := range st {
		s := &st[i]
		r := Room{Station: i, At: s.At, Wall: s.Wall, Area: s.Area}
		if s.Wall > 0 {
			measured++
			r.Cut = max(0, s.Wall-leastWall)
		}
		if r.Cut > 0 && leastWall > 0 {
			cut = true
			r.Area = s.Area + s.Perimeter*r.Cut + math.Pi*r.Cut*r.Cut
			s.Perimeter += 2 * math.Pi * r.Cut
			s.Wall -= r.Cut
			grow(&s.Section, r.Cut)
			r.Gain = h.Predicted.Sensitivity[i].Gain * (r.Area/s.Area - 1)
			s.Area = r.Area
		} else {
			r.Cut = 0
		}
		h.Sections = append(h.Sections, r)
	}
	if thin, at := thinnest(c.Passage.Stations()); thin < leastWall {
		h.Advice = append(h.Advice, fmt.Sprintf("at %.0f mm the wall is %.2f mm, already below the least wall of %.2f mm: cut nothing there", 1e3*at, 1e3*thin, 1e3*leastWall))
	}
	switch {
	case leastWall == 0:
		h.Advice = append(h.Advice, "no least wall is set: set one before any section is opened")
	case measured == 0:
		h.Advice = append(h.Advice, "no wall was measured: measure before cutting")
	case measured < len(st):
		h.Advice = append(h.Advice, fmt.Sprintf("the wall was measured at %d of %d stations: the rest is left as it is; measure before cutting there", measured, len(st)))
	}
	if !cut {
		return nil
	}
	opened, err := passage.New(st)
	if err != nil {
		return fmt.Errorf("%w: opened to the least wall: %w", ErrLedger, err)
	}
	best.Passage = opened
	l, err := best.Draw()
	if err != nil {
		return err
	}
	h.Opened = l.Area/h.Predicted.Area - 1
	return nil
}

// thinnest returns the least wall that was measured and where [m]; +Inf without any.
func thinnest(st []passage.Station) (wall, at float64) {
	wall = math.Inf(1)
	for _, s := range st {
		if s.Wall > 0 && s.Wall < wall {
			wall, at = s.Wall, s.At
		}
	}
	return wall, at
}

// grow widens the stated width and height of a section by a cut all round.
func grow(s *passage.Section, cut float64) {
	if s.Width > 0 {
		s.Width += 2 * cut
	}
	if s.Height > 0 {
		s.Height += 2 * cut
	}
	s.Outline = nil
}
