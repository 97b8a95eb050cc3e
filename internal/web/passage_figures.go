package web

import (
	"math"
	"net/url"
	"slices"

	"runnel/internal/app"
	"runnel/internal/plot"
	"runnel/passage"
	"runnel/tract"
	"runnel/unit"
)

// samples is the number of places a passage is drawn at.
const samples = 121

func along(p *passage.Passage) []float64 {
	out := make([]float64, samples)
	for i := range out {
		out[i] = p.Start() + p.Length()*float64(i)/(samples-1)
	}
	return out
}

func areaFigure(p *passagePage) plot.Figure {
	var all []plot.Profile
	add := func(s *app.PassageState, ink plot.Ink, dash bool) {
		pr := plot.Profile{Label: orID(s.Title, "now"), Ink: ink, Dash: dash, Position: along(s.Passage)}
		for _, at := range pr.Position {
			pr.Value = append(pr.Value, s.Passage.Place(at).Area)
		}
		all = append(all, pr)
	}
	if p.Before != nil {
		add(p.Before, plot.Before, true)
	}
	add(p.State, plot.After, false)
	f := plot.AreaAlong(all, p.U.sys)
	f.Title = "Area"
	return f
}

func speedFigure(p *passagePage, old *app.StateLedger) plot.Figure {
	var all []plot.Profile
	add := func(s *app.PassageState, l *app.StateLedger, ink plot.Ink, dash bool) {
		pr := plot.Profile{Label: orID(s.Title, "now"), Ink: ink, Dash: dash}
		for _, x := range l.Profile {
			pr.Position, pr.Value = append(pr.Position, x.At), append(pr.Value, x.Velocity)
		}
		all = append(all, pr)
	}
	if old != nil {
		add(p.Before, old, plot.Before, true)
	}
	add(p.State, p.Ledger, plot.After, false)
	f := plot.VelocityAlong(all, p.U.sys)
	f.Title = "Mean velocity at the test pressure"
	return f
}

// causes are the kinds of loss in the order they are stacked, and what they are called.
var causes = []struct{ kind, name string }{
	{"entry", "entry"},
	{"friction", "wall friction"},
	{"narrowing", "narrowing"},
	{"widening", "widening"},
	{"bend", "bends"},
	{"unexplained", "unexplained"},
	{"choking", "choking"},
	{"exit", "exit"},
}

// ledgerFigure stacks the losses along the passage by cause.
func ledgerFigure(l tract.Ledger, sys unit.System) plot.Figure {
	var at []float64
	for _, s := range l.Profile {
		at = append(at, s.At)
	}
	end := at[len(at)-1]
	exit := len(at)
	at = append(at, end, end+0.03*(end-at[0])) // the exit is a step at the end, drawn on a little so that it is seen
	losses := l.Losses
	if l.Unexplained.Kind != "" {
		losses = append(slices.Clip(losses), l.Unexplained)
	}
	var parts []plot.LedgerPart
	for _, c := range causes {
		part := plot.LedgerPart{Name: c.name, Loss: make([]float64, len(at))}
		most := 0.0
		for _, x := range losses {
			if x.Kind != c.kind {
				continue
			}
			for i, s := range at {
				part.Loss[i] += x.Drop * reached(x, s, i >= exit)
			}
			most += math.Abs(x.Drop)
		}
		if most > 0 {
			parts = append(parts, part)
		}
	}
	return plot.LedgerAlong(at, parts, sys)
}

// reached is the share of a loss that lies behind a place [-].
func reached(x tract.Loss, s float64, last bool) float64 {
	switch {
	case x.Kind == "exit" || x.Kind == "choking":
		if last {
			return 1
		}
		return 0
	case x.To > x.From:
		return min(max((s-x.From)/(x.To-x.From), 0), 1)
	case s >= x.From:
		return 1
	}
	return 0
}

// cutFigure draws what came off along the passage, and the wall left.
func cutFigure(d passage.Difference, least float64, sys unit.System) plot.Figure {
	length := sys.Length()
	small := unit.Style{Dimension: unit.Length, Unit: "mm", Decimals: 2}
	if sys == unit.US {
		small = unit.Style{Dimension: unit.Length, Unit: "in", Decimals: 3}
	}
	cut := plot.Line{Ink: plot.Accent, Label: "taken off", Note: "depth taken off all round"}
	wall := plot.Line{Ink: plot.After, Label: "wall left", Note: "wall left"}
	for _, c := range d.Places {
		x := length.Value(c.At)
		cut.X, cut.Y = append(cut.X, x), append(cut.Y, small.Value(c.Depth))
		if c.Wall > 0 {
			wall.X, wall.Y = append(wall.X, x), append(wall.Y, small.Value(c.Wall))
		}
	}
	f := plot.Figure{
		Title: "Taken off all round, and the wall that is left", X: plot.Axis{Label: "Along the centreline", Unit: length.Unit},
		Y: plot.Axis{Label: "Depth", Unit: small.Unit, Include: []float64{0}}, Height: 240, Layers: []plot.Layer{cut},
		Desc: sys.Text(app.DifferenceWords(d)),
	}
	if len(wall.X) > 1 {
		f.Layers = append(f.Layers, wall)
		if least > 0 {
			f.Layers = append(f.Layers, plot.Rule{Along: plot.AlongY, At: small.Value(least), Ink: plot.Loss, Dash: true, Label: "least wall"})
		}
	}
	return f
}

// viewData is what the script of the page draws from. Lengths are in millimetres, areas in mm².
type viewData struct {
	View     string        `json:"view"` // address of the surface
	Length   float64       `json:"length_mm"`
	Start    float64       `json:"start_mm"`
	Units    viewUnits     `json:"units"`
	Stations []viewStation `json:"stations"`
	Profile  viewProfile   `json:"profile"`
	Least    float64       `json:"least_wall_mm"`
}

type viewUnits struct {
	Length, Area, Speed string
	LengthPer           float64 `json:"length_per_mm"` // in the reader's unit
	AreaPer             float64 `json:"area_per_mm2"`
	SpeedPer            float64 `json:"speed_per_m_s"`
}

type viewStation struct {
	At      float64       `json:"s_mm"`
	Area    float64       `json:"area_mm2"`
	Perim   float64       `json:"perimeter_mm"`
	Hydr    float64       `json:"hydraulic_mm"`
	Wall    float64       `json:"wall_mm"`
	Outline [][2]float64  `json:"outline_mm"`
	Known   bool          `json:"outline_known"`
	Before  [][2]float64  `json:"before_mm,omitempty"`
	Ring    [3][3]float64 `json:"ring_m"` // place and two directions across it, as the surface lies
}

type viewProfile struct {
	At    []float64 `json:"s_mm"`
	Area  []float64 `json:"area_mm2"`
	Speed []float64 `json:"velocity_m_s"`
	Wall  []float64 `json:"wall_mm"`
}

func (p *passagePage) viewData() viewData {
	pass := p.State.Passage
	v := viewData{View: p.Base + "/view.bin?round=" + url.QueryEscape(p.State.Round), Length: 1e3 * pass.Length(), Start: 1e3 * pass.Start(), Least: 1e3 * p.Piece.LeastWall}
	l, a := p.U.sys.Length(), p.U.sys.Area()
	v.Units = viewUnits{Length: l.Unit, Area: a.Unit, Speed: "m/s", LengthPer: l.Value(1e-3), AreaPer: a.Value(1e-6), SpeedPer: 1}
	if p.U.IsUS() {
		v.Units.Speed, v.Units.SpeedPer = "ft/s", unit.Velocity.In(1, "ft/s")
	}
	shift := 0.0
	if p.Removed != nil {
		shift = p.Removed.Shift
	}
	for _, s := range pass.Stations() {
		one := viewStation{At: 1e3 * s.At, Area: 1e6 * s.Area, Perim: 1e3 * s.Perimeter, Hydr: 1e3 * s.HydraulicDiameter(), Wall: 1e3 * s.Wall, Known: len(s.Outline) > 0}
		one.Outline = inMM(app.OutlineAt(pass, s.At))
		if p.Before != nil {
			if at := s.At - shift; at >= p.Before.Passage.Start()-1e-3 && at <= p.Before.Passage.End()+1e-3 {
				one.Before = inMM(app.OutlineAt(p.Before.Passage, at))
			}
		}
		one.Ring = app.RingAt(pass, s.At)
		v.Stations = append(v.Stations, one)
	}
	for _, at := range along(pass) {
		pl := pass.Place(at)
		v.Profile.At, v.Profile.Area = append(v.Profile.At, 1e3*at), append(v.Profile.Area, 1e6*pl.Area)
		if pass.HasWall() {
			v.Profile.Wall = append(v.Profile.Wall, 1e3*pl.Wall)
		}
		if p.Ledger != nil {
			v.Profile.Speed = append(v.Profile.Speed, speedAt(p.Ledger.Profile, at))
		}
	}
	return v
}

func speedAt(ps []app.StateAnswer, at float64) float64 {
	for i := 1; i < len(ps); i++ {
		if at <= ps[i].At {
			a, b := ps[i-1], ps[i]
			if b.At == a.At {
				return b.Velocity
			}
			w := (at - a.At) / (b.At - a.At)
			return a.Velocity*(1-w) + b.Velocity*w
		}
	}
	return ps[len(ps)-1].Velocity
}

// inMM thins an outline for the page.
func inMM(p []passage.Point) [][2]float64 {
	step := max(1, len(p)/160)
	out := [][2]float64{}
	for i := 0; i < len(p); i += step {
		out = append(out, [2]float64{math.Round(1e5*p[i][0]) / 100, math.Round(1e5*p[i][1]) / 100})
	}
	return out
}
