package web

import (
	"encoding/json"
	"html/template"
	"math"
	"net/http"
	"strconv"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/internal/plot"
	"runnel/unit"
)

func svg(f plot.Figure) template.HTML {
	return template.HTML(f.SVG()) //nolint:gosec // package plot escapes every text it is given
}

// cycleView is the wave picture of one cycle.
type cycleView struct {
	Speed    float64 // [rev/min]
	Cylinder int
	Settled  bool
	Map      picture
	Frames   string // for the moving picture, as JSON
	Took     int64  // [ms]
	Length   string
}

// cycleFrames is what the moving picture is drawn from. Pressures are over the room's, in tens of pascals, to be short.
type cycleFrames struct {
	Angle    []int     `json:"angle_deg"`        // crank angle [°]
	Place    []float64 `json:"place"`            // edges of the cells over the length of the passage [-]
	Bore     []float64 `json:"bore"`             // diameter of the cells over the largest [-]
	Pressure [][]int   `json:"pressure_10pa"`    // by angle and cell [10 Pa]
	LiftIn   []float64 `json:"lift_in"`          // over the larger peak [-]
	LiftOut  []float64 `json:"lift_out"`         // over the larger peak [-]
	Rise     []float64 `json:"piston"`           // travel from top centre over stroke [-]
	Cylinder []int     `json:"cylinder_kpa"`     // absolute [kPa]
	Flow     []float64 `json:"intake_flow_g_s"`  // into the cylinder [g/s]
	Swing    int       `json:"swing_10pa"`       // largest pressure over or under the room's [10 Pa]
	LiftUnit float64   `json:"lift_unit_m"`      // the larger peak lift [m]
	Length   float64   `json:"passage_length_m"` // mouth to valve [m]
	Reader   reader    `json:"reader"`
}

// A reader is how the moving picture writes what it shows, in the reader's units.
type reader struct {
	Pressure    string  `json:"pressure_unit"`
	PerPascal   float64 `json:"pressure_per_pa"` // [Pressure/Pa]
	PressureDec int     `json:"pressure_decimals"`
	Length      string  `json:"length_unit"`
	PerMetre    float64 `json:"length_per_m"` // [Length/m]
	LengthDec   int     `json:"length_decimals"`
}

func readerOf(sys unit.System) reader {
	p, l := unit.Style{Dimension: unit.Pressure, Unit: "kPa", Decimals: 1}, sys.Length()
	if sys == unit.US {
		p.Unit = "psi"
	}
	return reader{
		Pressure: p.Unit, PerPascal: p.Value(1), PressureDec: p.Decimals,
		Length: l.Unit, PerMetre: l.Value(1), LengthDec: l.Decimals,
	}
}

// firstAngle is where the pictures of a cycle begin [°]: half a revolution before gas-exchange top centre, so that all of the gas
// exchange lies in the middle.
const firstAngle = -180

func (s *server) showCycle(w http.ResponseWriter, r *http.Request) {
	q, err := s.question(r)
	if err != nil {
		s.failTry(w, r, err)
		return
	}
	rpm, err := strconv.ParseFloat(r.URL.Query().Get("speed"), 64)
	if err != nil || !(rpm > 0) || math.IsInf(rpm, 0) {
		s.failTry(w, r, fault.Errorf(fault.Invalid, "speed %q: write it in rpm, like 4500", r.URL.Query().Get("speed")))
		return
	}
	cylinder, err := strconv.Atoi(r.URL.Query().Get("cylinder"))
	if err != nil {
		cylinder = 1
	}
	c, err := s.app.TryCycle(r.Context(), r.PathValue("id"), q, rpm/60, cylinder)
	if err != nil {
		s.failTry(w, r, err)
		return
	}
	v, err := cycleOf(c, systemOf(r))
	if err != nil {
		s.failTry(w, r, err)
		return
	}
	s.render(w, r, http.StatusOK, "cycle", v)
}

func cycleOf(c *app.Cycle, sys unit.System) (cycleView, error) {
	n := len(c.Angle)
	from := turned(c)
	wm := plot.WaveMap{Position: edgesOf(c.X), Ambient: c.Ambient}
	step := 720 / float64(n)
	for k := range n + 1 {
		wm.Angle = append(wm.Angle, firstAngle+float64(k)*step-step/2)
	}
	for k := range n {
		wm.Pressure = append(wm.Pressure, c.Map[(from+k)%n])
	}
	for _, e := range []struct {
		name string
		at   float64
	}{{"intake opens", c.Opens[0]}, {"intake closes", c.Closes[0]}, {"exhaust opens", c.Opens[1]}, {"exhaust closes", c.Closes[1]}} {
		wm.Events = append(wm.Events, plot.WaveEvent{Name: e.name, Angle: wrapped(e.at * 180 / math.Pi)})
	}
	moving := framesOf(c, from)
	moving.Reader = readerOf(sys)
	frames, err := json.Marshal(moving)
	if err != nil {
		return cycleView{}, err
	}
	f := plot.Waves(wm, sys)
	f.Title = "Pressure on the way to valve " + strconv.Itoa(c.Cylinder)
	f.X.Label = "From the mouth"
	f.Y.Label = "Crank"
	return cycleView{
		Speed: c.Point.Speed * 60, Cylinder: c.Cylinder, Settled: c.Point.Settled, Map: drawn(f), Frames: string(frames), Took: c.Took.Milliseconds(),
		Length: sys.Length().Show(wm.Position[len(wm.Position)-1]),
	}, nil
}

// turned returns the index of the sample that the pictures begin with.
func turned(c *app.Cycle) int {
	n := len(c.Angle)
	return ((firstAngle+720)*n/720 + n) % n
}

// wrapped brings an angle [°] into the cycle that the pictures show.
func wrapped(a float64) float64 {
	return a - 720*math.Floor((a-firstAngle)/720)
}

// edgesOf returns the edges of cells with the given centres [m], from the mouth on.
func edgesOf(x []float64) []float64 {
	out := []float64{0}
	for i := 1; i < len(x); i++ {
		out = append(out, (x[i-1]+x[i])/2)
	}
	last := x[len(x)-1]
	return append(out, last+(last-out[len(out)-1]))
}

func framesOf(c *app.Cycle, from int) cycleFrames {
	n := len(c.Angle)
	edges := edgesOf(c.X)
	length := edges[len(edges)-1]
	f := cycleFrames{Length: length}
	largest := 0.0
	for _, b := range c.Bore {
		largest = max(largest, b)
	}
	for _, e := range edges {
		f.Place = append(f.Place, thousandth(e/length))
	}
	for _, b := range c.Bore {
		f.Bore = append(f.Bore, thousandth(b/largest))
	}
	for k := range n {
		f.LiftUnit = max(f.LiftUnit, c.LiftIn[k], c.LiftOut[k])
	}
	for j := range n {
		k := (from + j) % n
		f.Angle = append(f.Angle, firstAngle+j*720/n)
		row := make([]int, len(c.Map[k]))
		for i, p := range c.Map[k] {
			row[i] = int(math.Round((p - c.Ambient) / 10))
			f.Swing = max(f.Swing, row[i], -row[i])
		}
		f.Pressure = append(f.Pressure, row)
		f.LiftIn = append(f.LiftIn, thousandth(c.LiftIn[k]/f.LiftUnit))
		f.LiftOut = append(f.LiftOut, thousandth(c.LiftOut[k]/f.LiftUnit))
		f.Rise = append(f.Rise, thousandth(c.Rise[k]))
		f.Cylinder = append(f.Cylinder, int(math.Round(c.Pressure[k]/1e3)))
		f.Flow = append(f.Flow, math.Round(c.FlowIn[k]*1e4)/10)
	}
	return f
}

func thousandth(v float64) float64 { return math.Round(v*1e3) / 1e3 }
