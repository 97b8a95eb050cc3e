package passage_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runnel/internal/tabletest"
	"runnel/passage"
)

func round(t testing.TB, at, d float64) passage.Station {
	t.Helper()
	s, err := passage.Round(d)
	if err != nil {
		t.Fatal(err)
	}
	return passage.Station{Section: s, At: at}
}

// A frustum of radii 24 and 17 mm over 110 mm: volume π·h/3·(R² + R·r + r²), the file's exact value. A cone must
// come out as a cone, to round-off; the taper is 2·atan(7/110) everywhere.
func TestPassageFrustum(t *testing.T) {
	var st []passage.Station
	for i := range 12 {
		u := float64(i) / 11
		st = append(st, round(t, 0.110*u, 2*(0.024-0.007*u)))
	}
	p, err := passage.New(st)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range tabletest.Read(t, "testdata/geometry.csv", 1) {
		if r["name"] == "frustum" {
			near(t, "volume", p.Volume()/r.Num(t, "volume_mm3")*1e9, 1, 1e-12)
			near(t, "length", p.Length(), r.Num(t, "centreline_length_mm")*mm, 1e-12)
		}
	}
	for _, r := range tabletest.Read(t, "testdata/geometry_sections.csv", 1) {
		if r["name"] == "frustum" {
			got := p.Place(r.Num(t, "s_mm") * mm)
			near(t, "area", got.Area/r.Num(t, "area_mm2")*1e6, 1, 1e-12)
			near(t, "hydraulic diameter", got.HydraulicDiameter()/r.Num(t, "hydraulic_diameter_mm")*1e3, 1, 1e-12)
		}
	}
	near(t, "taper", p.Place(0.055).Taper(), -2*math.Atan(7.0/110), 1e-12)
	near(t, "narrowest", p.Narrowest().At, 0.110, 1e-12)
}

// Whatever the stations, nothing between two of them is above or below both, the derivative is the derivative, and the volume lies
// between those of the lower and the upper step shape.
func TestPassageNoOvershoot(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		var st []passage.Station
		at := 0.0
		for range rapid.IntRange(2, 12).Draw(r, "n") {
			s, err := passage.Round(rapid.Float64Range(0.02, 0.08).Draw(r, "d"))
			if err != nil {
				r.Fatal(err)
			}
			st = append(st, passage.Station{Section: s, At: at, Wall: rapid.Float64Range(0.001, 0.01).Draw(r, "wall")})
			at += rapid.Float64Range(0.001, 0.1).Draw(r, "step")
		}
		p, err := passage.New(st)
		if err != nil {
			r.Fatal(err)
		}
		lower, upper := 0.0, 0.0
		for i := 1; i < len(st); i++ {
			a, b := st[i-1], st[i]
			lo, hi := min(a.Area, b.Area), max(a.Area, b.Area)
			lower += lo * (b.At - a.At)
			upper += hi * (b.At - a.At)
			for k := range 21 {
				x := a.At + (b.At-a.At)*float64(k)/20
				got := p.Place(x)
				if got.Area < lo*(1-1e-12) || got.Area > hi*(1+1e-12) {
					r.Fatalf("area %g between %g and %g", got.Area, lo, hi)
				}
				if w := got.Wall; w < min(a.Wall, b.Wall)*(1-1e-12) || w > max(a.Wall, b.Wall)*(1+1e-12) {
					r.Fatalf("wall %g between %g and %g", w, a.Wall, b.Wall)
				}
				if k > 0 && k < 20 {
					h := 1e-6 * (b.At - a.At)
					d := (p.Place(x+h).Area - p.Place(x-h).Area) / (2 * h)
					if math.Abs(d-got.AreaRate) > 1e-5*(hi/(b.At-a.At)) {
						r.Fatalf("rate %g, difference %g", got.AreaRate, d)
					}
				}
			}
		}
		if v := p.Volume(); v < lower*(1-1e-12) || v > upper*(1+1e-12) {
			r.Errorf("volume %g is not between %g and %g", v, lower, upper)
		}
	})
}

func TestPassageRefuses(t *testing.T) {
	a, b := round(t, 0, 0.04), round(t, 0.1, 0.04)
	zero := b
	zero.Area = 0
	thin := b
	thin.Perimeter = 0.1
	wall := b
	wall.Wall = -1
	nan := b
	nan.At = math.NaN()
	bent := b
	bent.Turn = -1
	for name, tt := range map[string]struct {
		st   []passage.Station
		want error
		says string
	}{
		"one station":  {[]passage.Station{a}, passage.ErrTooFew, "entry and its exit"},
		"out of order": {[]passage.Station{b, a}, passage.ErrOrder, "must lie beyond station 1 at 100.00 mm"},
		"twice":        {[]passage.Station{a, a}, passage.ErrOrder, "station 2"},
		"zero area":    {[]passage.Station{a, zero}, passage.ErrZeroArea, "measure the section again"},
		"perimeter":    {[]passage.Station{a, thin}, passage.ErrShape, "circle"},
		"wall":         {[]passage.Station{a, wall}, passage.ErrWall, "leave it out"},
		"nan":          {[]passage.Station{a, nan}, passage.ErrOrder, "NaN"},
		"turn":         {[]passage.Station{a, bent}, passage.ErrShape, "angle"},
	} {
		_, err := passage.New(tt.st)
		if !errors.Is(err, tt.want) || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A quarter circle of radius 55 mm sampled at stations is one bend of 90° and that radius; an S is two bends.
func TestPassageBends(t *testing.T) {
	arc := func(sign float64, from passage.Vec, at0 float64, n int) []passage.Station {
		var out []passage.Station
		for i := range n {
			a := math.Pi / 2 * float64(i) / float64(n-1)
			s := round(t, at0+0.055*a, 0.038)
			sin, cos := math.Sincos(a)
			s.Centre = from.Plus(passage.Vec{0.055 * sin, sign * 0.055 * (1 - cos), 0})
			s.Normal = passage.Vec{cos, sign * sin, 0}
			out = append(out, s)
		}
		return out
	}
	p, err := passage.New(arc(1, passage.Vec{}, 0, 10))
	if err != nil {
		t.Fatal(err)
	}
	b := p.Bends()
	if len(b) != 1 {
		t.Fatalf("%d bends: %+v", len(b), b)
	}
	near(t, "angle", b[0].Angle, math.Pi/2, 1e-9)
	near(t, "radius", b[0].Radius, 0.055, 1e-9)
	// An S: left through 90°, then back.
	st := arc(1, passage.Vec{}, 0, 10)
	for i := 1; i < 10; i++ {
		a := math.Pi / 2 * float64(i) / 9
		sin, cos := math.Sincos(a)
		s := round(t, 0.055*(math.Pi/2+a), 0.038)
		s.Centre = passage.Vec{0.055 + 0.055*(1-cos), 0.055 + 0.055*sin, 0}
		s.Normal = passage.Vec{sin, cos, 0}
		st = append(st, s)
	}
	p, err = passage.New(st)
	if err != nil {
		t.Fatal(err)
	}
	if b := p.Bends(); len(b) != 2 {
		t.Errorf("an S has %d bends: %+v", len(b), b)
	}
}

// A typed bend shorter than the way between its stations sits in the middle of it.
func TestPassageTypedBend(t *testing.T) {
	a, b := round(t, 0, 0.04), round(t, 0.2, 0.04)
	b.Turn, b.Radius = math.Pi/2, 0.06
	p, err := passage.New([]passage.Station{a, b})
	if err != nil {
		t.Fatal(err)
	}
	got := p.Bends()
	if len(got) != 1 {
		t.Fatalf("%+v", got)
	}
	near(t, "radius", got[0].Radius, 0.06, 1e-12)
	near(t, "middle", (got[0].From+got[0].To)/2, 0.1, 1e-12)
}

const runnerCSV = `# invented example
s_mm,shape,diameter_mm,width_mm,height_mm,corner_mm,area_mm2,perimeter_mm,wall_mm,bend_deg
0,round,52,,,,,,4.5,
80,ellipse,,50,44,,,,4,20
160,rectangle,,48,40,10,,,3.5,25
220,d,,46,40,4,,,3,
260,area,,,,,1550,142,2.8,15
`

func TestReadStations(t *testing.T) {
	st, err := passage.ReadStations(strings.NewReader(runnerCSV), "sections/r1.csv")
	if err != nil {
		t.Fatal(err)
	}
	if len(st) != 5 || st[4].At != 0.26 || st[1].Shape != "ellipse" {
		t.Fatalf("%+v", st)
	}
	near(t, "wall", st[2].Wall, 0.0035, 1e-15)
	near(t, "turn", st[2].Turn, 25*math.Pi/180, 1e-15)
	near(t, "area", st[2].Area, 48e-3*40e-3-(4-math.Pi)*1e-4, 1e-15)
	p, err := passage.New(st)
	if err != nil {
		t.Fatal(err)
	}
	if !p.HasWall() || len(p.Bends()) != 2 {
		t.Errorf("walls %v, bends %+v", p.HasWall(), p.Bends())
	}
}

// Points in space give the directions of the centreline: on a circle of 11 points they are right to 1e-3 at the ends.
func TestReadStationsInSpace(t *testing.T) {
	var b strings.Builder
	b.WriteString("s_mm,shape,diameter_mm,x_mm,y_mm,z_mm\n")
	for i := range 11 {
		a := math.Pi / 2 * float64(i) / 10
		b.WriteString(strings.Join([]string{num2(55 * a), "round", "38", num2(55 * math.Sin(a)), num2(55 - 55*math.Cos(a)), "0"}, ",") + "\n")
	}
	st, err := passage.ReadStations(strings.NewReader(b.String()), "arc.csv")
	if err != nil {
		t.Fatal(err)
	}
	p, err := passage.New(st)
	if err != nil {
		t.Fatal(err)
	}
	bends := p.Bends()
	if len(bends) != 1 {
		t.Fatalf("%+v", bends)
	}
	near(t, "angle", bends[0].Angle, math.Pi/2, 0.02)
}

// Every problem is told with line, column, what was found and what to write, and all of them at once.
func TestReadStationsProblems(t *testing.T) {
	for name, tt := range map[string]struct {
		csv  string
		says []string
	}{
		"empty":           {"", []string{"x.csv:1", "no line of column names"}},
		"no unit":         {"s,shape\n", []string{`column "s"`, `"s_mm"`}},
		"wrong dimension": {"s_kpa,shape\n", []string{"unit of pressure", `"s_mm"`}},
		"unknown column":  {"s_mm,shape,colour_mm\n", []string{`column "colour_mm"`, "diameter_mm"}},
		"twice":           {"s_mm,shape,s_in\n", []string{"twice"}},
		"no s":            {"shape,diameter_mm\n", []string{`add "s_mm"`}},
		"no shape":        {"s_mm,diameter_mm\n", []string{`add "shape"`}},
		"several": {"s_mm,shape,diameter_mm\n0,round,x\n5,square,3\n4,round,0\n3,round\n", []string{
			`x.csv:2:3: column "diameter_mm": "x" is not a number`, `x.csv:3:2: column "shape": "square" is no shape`, "x.csv:4:3", "x.csv:5", "2 cells below 3",
		}},
		"order":     {"s_mm,shape,diameter_mm\n0,round,40\n50,round,40\n20,round,40\n", []string{`x.csv:4:1: column "s_mm"`, "sort the stations"}},
		"comma":     {"s_mm,shape,diameter_mm\n0,round,\"40,5\"\n", []string{"after a point"}},
		"missing":   {"s_mm,shape,diameter_mm\n0,ellipse,40\n", []string{"has no width"}},
		"too few":   {"s_mm,shape,diameter_mm\n0,round,40\n", []string{"one station only"}},
		"bad quote": {"s_mm,shape,diameter_mm\n0,\"round,40\n", []string{"x.csv:2", "quote"}},
		"perimeter": {"s_mm,shape,area_mm2,perimeter_mm\n0,area,1000,50\n1,area,1000,120\n", []string{`column "perimeter_mm"`, "even a circle has 112.1 mm"}},
		"corner":    {"s_mm,shape,width_mm,height_mm,corner_mm\n0,rectangle,40,30,16\n1,rectangle,40,30,1\n", []string{`column "corner_mm"`, "16 mm do not fit on a side of 30 mm"}},
		"not twice": {"s_mm,shape,diameter_mm\n0,round,40\n10,round,inf\n", []string{"not a number"}},
	} {
		_, err := passage.ReadStations(strings.NewReader(tt.csv), "x.csv")
		if err == nil {
			t.Errorf("%s is not refused", name)
			continue
		}
		for _, s := range tt.says {
			if !strings.Contains(err.Error(), s) {
				t.Errorf("%s: %q is missing from\n%v", name, s, err)
			}
		}
		if _, ok := errors.AsType[*passage.CellError](err); !ok {
			t.Errorf("%s: no CellError in %v", name, err)
		}
	}
}

// Whatever bytes come, either stations that make a passage or an error come out.
func FuzzReadStations(f *testing.F) {
	f.Add(runnerCSV)
	f.Add("s_mm,shape,diameter_mm\n0,round,40\n10,round,40\n")
	f.Add("s_mm,shape,x_mm,y_mm,z_mm,diameter_in\n0,round,1,2,3,1\n10,round,4,5,6,1\n")
	f.Fuzz(func(t *testing.T, s string) {
		st, err := passage.ReadStations(strings.NewReader(s), "f")
		if err != nil {
			return
		}
		p, err := passage.New(st)
		if err != nil {
			t.Fatalf("stations were read but make no passage: %v", err)
		}
		if v := p.Volume(); !(v > 0) {
			t.Errorf("volume %g", v)
		}
	})
}
