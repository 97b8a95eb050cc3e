package plot_test

import (
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"runnel/assess"
	"runnel/internal/plot"
	"runnel/job"
	"runnel/unit"
)

var update = flag.Bool("update", false, "write the golden files anew")

// The text of every kind of picture, so that a change of drawing is seen in review.
func TestFiguresGolden(t *testing.T) {
	for name, f := range figures() {
		path := filepath.Join("testdata", "golden", name+".svg")
		got := f.SVG()
		if *update {
			if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(string(want), got); diff != "" {
			t.Errorf("%s changed: run with -update when it was meant\n%s", name, diff)
		}
	}
}

// elements reads an SVG as XML and returns its elements; what is not well formed fails.
func elements(t *testing.T, svg string) []xml.StartElement {
	t.Helper()
	var out []xml.StartElement
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatalf("not well formed: %v\n%s", err, svg)
		}
		if e, ok := tok.(xml.StartElement); ok {
			out = append(out, e.Copy())
		}
	}
}

// Inside a page with the policy 'self' a picture may have no style, no script and nothing from outside, and it must say in
// words what it shows.
func TestSVGStandsInAStrictPage(t *testing.T) {
	colour := regexp.MustCompile(`^(none|var\(--[a-z0-9-]+,#[0-9a-f]{6}\))$`)
	for name, f := range figures() {
		all := elements(t, f.SVG())
		seen := map[string]int{}
		for _, e := range all {
			seen[e.Name.Local]++
			for _, a := range e.Attr {
				switch a.Name.Local {
				case "style", "href", "src", "onload":
					t.Errorf("%s: <%s> has attribute %s", name, e.Name.Local, a.Name.Local)
				case "fill", "stroke":
					if !colour.MatchString(a.Value) {
						t.Errorf("%s: colour %q has no custom property with fallback", name, a.Value)
					}
				}
			}
		}
		if seen["style"]+seen["script"]+seen["image"]+seen["use"] > 0 {
			t.Errorf("%s: %v", name, seen)
		}
		if seen["title"] == 0 || seen["desc"] != 1 || !strings.Contains(f.SVG(), `role="img"`) || !strings.Contains(f.SVG(), `aria-label="`+f.Title) {
			t.Errorf("%s says nothing to a screen reader: %v", name, seen)
		}
	}
}

// Every number of every mark lies on the sheet.
func TestMarksStayOnTheSheet(t *testing.T) {
	for name, f := range figures() {
		w, h := f.Size()
		c := &recorder{}
		f.Draw(c)
		if c.open != 0 || c.nested {
			t.Errorf("%s: groups do not close", name)
		}
		for _, p := range c.pts {
			if math.IsNaN(p.X) || math.IsNaN(p.Y) || p.X < -1 || p.Y < -1 || p.X > w+1 || p.Y > h+1 {
				t.Errorf("%s: a mark at %.1f, %.1f of %.0f × %.0f", name, p.X, p.Y, w, h)
				break
			}
		}
		if len(c.pts) < 4 {
			t.Errorf("%s: nothing is drawn", name)
		}
	}
}

// Two labels of one picture do not lie on one another.
func TestLabelsDoNotCollide(t *testing.T) {
	for name, f := range figures() {
		c := &recorder{}
		f.Draw(c)
		for i, a := range c.texts {
			for _, b := range c.texts[:i] {
				if a.X < b.X+b.W && b.X < a.X+a.W && a.Y < b.Y+b.H && b.Y < a.Y+a.H {
					t.Errorf("%s: %q lies on %q", name, a.s, b.s)
				}
			}
		}
	}
}

type textBox struct {
	plot.Box
	s string
}

// recorder is a canvas that remembers where it was drawn on.
type recorder struct {
	pts    []plot.Pt
	texts  []textBox
	open   int
	nested bool
}

func (r *recorder) Open(string) {
	r.open++
	r.nested = r.nested || r.open > 1
}
func (r *recorder) Close()                            { r.open-- }
func (r *recorder) Line(pts []plot.Pt, _ plot.Stroke) { r.pts = append(r.pts, pts...) }
func (r *recorder) Area(pts []plot.Pt, _ plot.Fill)   { r.pts = append(r.pts, pts...) }
func (r *recorder) Width(s string, f plot.Face) float64 {
	return 0.5 * f.Size * float64(len([]rune(s)))
}

func (r *recorder) Boxes(boxes []plot.Box, _ plot.Fill) {
	for _, b := range boxes {
		r.pts = append(r.pts, plot.Pt{X: b.X, Y: b.Y}, plot.Pt{X: b.X + b.W, Y: b.Y + b.H})
	}
}

func (r *recorder) Circle(at plot.Pt, radius float64, _ plot.Fill, _ plot.Stroke) {
	r.pts = append(r.pts, plot.Pt{X: at.X - radius, Y: at.Y - radius}, plot.Pt{X: at.X + radius, Y: at.Y + radius})
}

func (r *recorder) Text(at plot.Pt, s string, f plot.Face) {
	w := r.Width(s, f)
	x := at.X
	switch f.Anchor {
	case plot.Start:
	case plot.Middle:
		x -= w / 2
	case plot.End:
		x -= w
	}
	b := plot.Box{X: x, Y: at.Y - 0.7*f.Size, W: w, H: 0.7 * f.Size}
	r.texts = append(r.texts, textBox{b, s})
	r.pts = append(r.pts, plot.Pt{X: b.X, Y: b.Y}, plot.Pt{X: b.X + b.W, Y: b.Y + b.H})
}

// What is missing, not a number, or hostile text must not break a picture.
func TestOddInput(t *testing.T) {
	nan := math.NaN()
	long := strings.Repeat("a very long name & <b>markup</b> ", 12)
	odd := map[string]plot.Figure{
		"nothing":       {},
		"no layers":     {Title: "empty", X: plot.Axis{Label: "x"}, Y: plot.Axis{Label: "y"}},
		"not a number":  {Layers: []plot.Layer{plot.Line{X: []float64{1, nan, 3}, Y: []float64{nan, 2, math.Inf(1)}}}},
		"one value":     {Layers: []plot.Layer{plot.Line{X: []float64{5, 5}, Y: []float64{7, 7}, Label: "flat"}}},
		"zero":          {Layers: []plot.Layer{plot.Points{Dots: []plot.Dot{{X: 0, Y: 0}}}}},
		"huge":          {Layers: []plot.Layer{plot.Line{X: []float64{-1e300, 1e300}, Y: []float64{-1e-300, 1e-300}}}},
		"uneven":        {Layers: []plot.Layer{plot.Band{X: []float64{1, 2, 3}, Lo: []float64{1}, Hi: []float64{2, 3}, Label: "b"}}},
		"long names":    plot.Verdicts([]plot.VerdictRow{{Label: long, Verdict: assess.Verdict{Ratio: 1.01, Lo95: 1, Hi95: 1.02}}}, 0.005),
		"no verdicts":   plot.Verdicts(nil, 0),
		"no match":      plot.Match(nil, unit.US),
		"no pull":       plot.Torque(assess.Pull{}, unit.US),
		"no trace":      plot.Trace(job.Trace{}, "meter_dp", assess.Reading{}),
		"no budget":     plot.Budget(nil),
		"no tract":      plot.Restriction(nil, nil),
		"no check":      plot.ControlChart(nil, 0),
		"no map":        plot.Waves(plot.WaveMap{}, unit.Metric),
		"no ledger":     plot.LedgerAlong(nil, nil, unit.Metric),
		"short ledger":  plot.LedgerAlong([]float64{0, 1}, []plot.LedgerPart{{Name: "x", Loss: []float64{1}}}, unit.Metric),
		"control chars": {Title: "bell\a and \x00 null \xff", Desc: "\"quotes\" & 'more'"},
	}
	for name, f := range odd {
		svg := f.SVG()
		elements(t, svg)
		if strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") {
			t.Errorf("%s: a place that is no number:\n%s", name, svg)
		}
		if strings.Contains(svg, "<b>") {
			t.Errorf("%s: markup of a name got through", name)
		}
	}
}

// A reading that does not count has no mean to draw.
func TestRefusedTraceHasNoMean(t *testing.T) {
	tr, r := trace()
	if s := plot.Trace(tr, "meter_dp", r).SVG(); !strings.Contains(s, ">mean<") {
		t.Error("a good reading's trace has no mean")
	}
	r.Usable = false
	if s := plot.Trace(tr, "meter_dp", r).SVG(); strings.Contains(s, ">mean<") {
		t.Error("a refused reading's trace has a mean")
	}
}

// A long trace is thinned, but no spike is lost.
func TestTraceKeepsTheSpike(t *testing.T) {
	tr, r := trace()
	f := plot.Trace(tr, "meter_dp", r)
	line := f.Layers[1].(plot.Line)
	if len(line.X) > 1200 {
		t.Errorf("%d points are left", len(line.X))
	}
	top := 0.0
	for _, v := range line.Y {
		top = max(top, v)
	}
	want := tr.Channels[0].Values[1200] / 249.08891
	if math.Abs(top-want) > 1e-9 {
		t.Errorf("highest point %v, the spike is %v inH2O", top, want)
	}
}

// The label of the widest change stays inside the picture, wherever the axis happens to end.
func TestVerdictLabelsStayInside(t *testing.T) {
	for change := -0.2; change < 0.2; change += 0.0013 {
		f := plot.Verdicts([]plot.VerdictRow{
			{Label: "as received to welded, radiused entry", Verdict: assess.Verdict{Ratio: 1.004, Lo95: 1.002, Hi95: 1.006}},
			{Label: "as received to finished, radiused entry", Verdict: assess.Verdict{Ratio: 1 + change, Lo95: 1 + change - 0.004, Hi95: 1 + change + 0.004}},
		}, 0.005)
		w, _ := f.Size()
		c := &recorder{}
		f.Draw(c)
		for _, x := range c.texts {
			if strings.ContainsAny(x.s, "+−") && x.X+1.3*x.W > w { // some faces are wider than the canvas takes them to be
				t.Fatalf("%q of a change of %.2f %% ends at %.0f of %.0f", x.s, 100*change, x.X+x.W, w)
			}
		}
	}
}
