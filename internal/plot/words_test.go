package plot_test

import (
	"math"
	"strings"
	"testing"

	"runnel/assess"
	"runnel/internal/plot"
	"runnel/job"
)

// narrow is about as wide as a figure on a phone [px].
const narrow = 350

func written(f plot.Figure) *recorder {
	c := &recorder{}
	f.Draw(c)
	return c
}

// A title that is wider than the figure goes on in a second line, and the plot makes room for it.
func TestALongTitleIsNotCut(t *testing.T) {
	f := plot.Verdicts(verdictRows(), 0.005)
	f.Title, f.Width = "Total pressure lost along the passage, by cause", 240
	c := written(f)
	if got := c.texts[0].s + " " + c.texts[1].s; got != f.Title {
		t.Errorf("the title reads %q", got)
	}
	for _, b := range c.texts[2:] {
		if b.Y < c.texts[1].Y+c.texts[1].H {
			t.Errorf("%q stands in the title", b.s)
		}
	}
}

// Names of rows that take two lines on a phone keep apart from the rows beside them.
func TestNamesInTwoLinesKeepApart(t *testing.T) {
	rows := verdictRows()[:4]
	for i := range rows {
		rows[i].Label = "Welded and blended, radiused " + string(rune('1'+i))
	}
	f := plot.Verdicts(rows, 0.005)
	f.Width = narrow
	var last textBox
	for _, b := range written(f).texts {
		if b.X != 0 || strings.Contains(f.Title, b.s) {
			continue
		}
		if strings.HasPrefix(b.s, "Welded") && last.s != "" && b.Y < last.Y+last.H+8 { // as far as two lines of one name are
			t.Errorf("%q begins %.1f px below %q", b.s, b.Y-last.Y-last.H, last.s)
		}
		last = b
	}
	if last.s == "" {
		t.Error("no name is written")
	}
}

// The words on the steady part of a trace do not lie on the trace, which runs along the top.
func TestSteadyPartIsNotStruckThrough(t *testing.T) {
	ch := job.Channel{Name: "meter_dp", Unit: "Pa"}
	var tr job.Trace
	for i := range 400 { // spins up, then wavers by one per cent
		at := 0.05 * float64(i)
		tr.Time = append(tr.Time, at)
		ch.Values = append(ch.Values, 1700*(1-math.Exp(-2*at))*(1+0.01*math.Sin(9*at)))
	}
	tr.Channels = []job.Channel{ch}
	f := plot.Trace(tr, "meter_dp", assess.Reading{SteadyFrom: 5, SteadyTo: 19.9, Usable: true})
	f.Height = 220
	c := written(f)
	for _, b := range c.texts {
		if b.s != "steady part" {
			continue
		}
		for _, p := range c.pts {
			if p.X > b.X && p.X < b.X+b.W && p.Y > b.Y && p.Y < b.Y+b.H {
				t.Fatalf("the trace runs through %q at %.0f, %.0f", b.s, p.X, p.Y)
			}
		}
		return
	}
	t.Error("the steady part is not named")
}
