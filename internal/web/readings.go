package web

import (
	"net/http"
	"slices"
	"strconv"
	"time"

	"runnel/assess"
	"runnel/internal/fault"
	"runnel/internal/plot"
	"runnel/job"
	"runnel/unit"
)

// A readingsPage lists every reading of a job; the filter on it works in the page and in the address.
type readingsPage struct {
	sheet
	Names    names
	All      int
	Readings []readingRow
	Filter   filter
	Choices  choices
}

// A filter is what the list is narrowed to; empty: everything.
type filter struct{ Piece, Round, Opening, Sitting, State string }

// choices are what a filter can be set to, as they come in the job.
type choices struct {
	Pieces, Rounds []choice
	Openings       []string
	Sittings       []string
}

type choice struct{ ID, Title string }

type readingRow struct {
	assess.Reading
	Half    float64 // half-width of the 95 % interval [m³/s]
	Marked  bool    // it carries warnings
	Opening string
	Setup   string
}

func (s *server) showReadings(w http.ResponseWriter, r *http.Request) {
	a, ok := s.assessed(w, r)
	if !ok {
		return
	}
	q := r.URL.Query()
	p := readingsPage{
		sheet: s.jobSheet(r, a.Job, "readings", "Readings"), Names: namesOf(a.Job), All: len(a.Assessment.Readings),
		Filter: filter{q.Get("piece"), q.Get("round"), q.Get("opening"), q.Get("sitting"), q.Get("state")},
	}
	p.Choices = choicesOf(a.Job, p.Names)
	for _, rd := range a.Assessment.Readings {
		if p.Filter.passes(rd) {
			p.Readings = append(p.Readings, rowOf(a.Job, p.Names, rd))
		}
	}
	s.render(w, r, http.StatusOK, "readings.html", p)
}

func (f filter) passes(r assess.Reading) bool {
	switch f.State {
	case "usable":
		if !r.Usable {
			return false
		}
	case "refused":
		if r.Usable {
			return false
		}
	case "marked":
		if len(r.Warnings) == 0 {
			return false
		}
	}
	return (f.Sitting == "" || f.Sitting == r.Sitting) && (f.Piece == "" || f.Piece == r.Piece) && (f.Round == "" || f.Round == r.Round) && (f.Opening == "" || f.Opening == r.Opening)
}

// On reports whether anything is filtered out.
func (f filter) On() bool { return f != filter{} }

func choicesOf(j job.Job, n names) choices {
	var c choices
	for _, p := range j.Pieces {
		c.Pieces = append(c.Pieces, choice{p.ID, n.Piece(p.ID)})
		for _, o := range p.Openings {
			if !slices.Contains(c.Openings, o) {
				c.Openings = append(c.Openings, o)
			}
		}
	}
	for _, s := range j.Sittings {
		c.Sittings = append(c.Sittings, s.ID)
	}
	for _, r := range j.Rounds {
		title := n.Round(r.ID)
		if len(j.Pieces) > 1 {
			title = n.Piece(r.Piece) + ": " + title
		}
		c.Rounds = append(c.Rounds, choice{r.ID, title})
	}
	return c
}

func rowOf(j job.Job, n names, r assess.Reading) readingRow {
	return readingRow{
		Reading: r, Half: r.Flow * r.UExpandedRel, Marked: len(r.Warnings) > 0,
		Opening: opening(kindOf(j, r.Piece), r.Opening), Setup: setup(n, n.rig[r.Rig]),
	}
}

func kindOf(j job.Job, piece string) string {
	for _, p := range j.Pieces {
		if p.ID == piece {
			return p.Kind
		}
	}
	return ""
}

// A readingPage is one reading: what was under test, what came out, where it came from and how sure it is.
type readingPage struct {
	sheet
	Names      names
	R          readingRow
	Rig        job.RigCard
	Meter      job.Meter
	At         time.Time
	By         string
	Reference  assess.Reference
	Traces     [][]picture // each channel: the whole of it, and the steady part close up
	Samples    int
	Typed      *job.Reading // typed by hand instead of a trace
	BudgetFig  picture
	Prev, Next string // the readings before and after in the list
	Place      string // "4 of 72"
}

func (s *server) showReading(w http.ResponseWriter, r *http.Request) {
	a, ok := s.assessed(w, r)
	if !ok {
		return
	}
	all, id := a.Assessment.Readings, r.PathValue("reading")
	i := slices.IndexFunc(all, func(x assess.Reading) bool { return x.ID == id })
	if i < 0 {
		s.fail(w, r, fault.Errorf(fault.NotFound, "job %q has no reading %q", a.Job.ID, id))
		return
	}
	n := namesOf(a.Job)
	p := readingPage{
		sheet: s.jobSheet(r, a.Job, "readings", "Reading "+id), Names: n, R: rowOf(a.Job, n, all[i]), Rig: n.rig[all[i].Rig],
		Reference: a.Assessment.Reference, Place: strconv.Itoa(i+1) + " of " + strconv.Itoa(len(all)),
	}
	if i > 0 {
		p.Prev = all[i-1].ID
	}
	if i+1 < len(all) {
		p.Next = all[i+1].ID
	}
	p.facts(a.Job)
	p.figures(a.Job)
	s.render(w, r, http.StatusOK, "reading.html", p)
}

func (p *readingPage) facts(j job.Job) {
	for _, m := range j.Bench.Meters {
		if m.ID == p.Rig.Meter {
			p.Meter = m
		}
	}
	for _, st := range j.Sittings {
		if st.ID != p.R.Sitting {
			continue
		}
		p.By = st.By
		for i, rd := range st.Readings {
			if rd.ID != p.R.ID {
				continue
			}
			if p.At = rd.At; p.At.IsZero() {
				p.At = st.At
			}
			if rd.Trace == "" {
				p.Typed = &st.Readings[i]
			}
		}
	}
}

func (p *readingPage) figures(j job.Job) {
	tr, ok := j.Traces[p.R.Trace]
	if ok {
		p.Samples = len(tr.Time)
		for _, c := range tr.Channels {
			p.Traces = append(p.Traces, p.trace(tr, c.Name, channelTitle(j, c.Name)))
		}
	}
	if len(p.R.Budget) > 0 {
		p.BudgetFig = drawn(plot.Budget(p.R.Budget))
	}
}

// trace draws a channel: the whole of it, and the steady part close up.
func (p *readingPage) trace(tr job.Trace, channel, title string) []picture {
	whole := plot.Trace(tr, channel, p.R.Reading)
	whole.Title, whole.Y.Label, whole.Height = title, "", 230
	out := []picture{drawnFor(whole, pairFigure)}
	if p.R.SteadyTo > p.R.SteadyFrom {
		near := plot.Trace(between(tr, p.R.SteadyFrom, p.R.SteadyTo), channel, p.R.Reading)
		near.Title, near.Y.Label, near.Height = "The steady part, close up", "", 230
		near.Layers = slices.DeleteFunc(near.Layers, func(l plot.Layer) bool { _, shade := l.(plot.Shade); return shade })
		out = append(out, drawnFor(near, pairFigure))
	}
	return out
}

// between is the part of a trace from one time to another [s].
func between(tr job.Trace, from, to float64) job.Trace {
	var out job.Trace
	for _, c := range tr.Channels {
		out.Channels = append(out.Channels, job.Channel{Name: c.Name, Unit: c.Unit})
	}
	for i, t := range tr.Time {
		if t < from || t > to {
			continue
		}
		out.Time = append(out.Time, t)
		for k, c := range tr.Channels {
			out.Channels[k].Values = append(out.Channels[k].Values, c.Values[i])
		}
	}
	return out
}

var roleTitles = map[string]string{
	"meter_dp": "Pressure difference of the meter", "test_dp": "Test pressure", "air_pressure": "Air pressure",
	"air_temp": "Air temperature", "air_rh": "Relative humidity", "meter_temp": "Temperature at the meter", "meter_reading": "Meter as read",
}

func channelTitle(j job.Job, channel string) string {
	for _, s := range j.Bench.Sensors {
		if s.Channel == channel {
			return roleTitles[s.Role]
		}
	}
	return channel
}

// CFM are the two flows of a reading in the unit the trade writes, at the same reference.
func (p readingPage) CFM() (exact, sqrtRule string) {
	return number(p.R.FlowCFM, 1), number(p.R.FlowSqrtRule, 1)
}

// SqrtFlow is the flow by the square-root rule [m³/s].
func (p readingPage) SqrtFlow() float64 { return unit.VolumeFlow.Of(p.R.FlowSqrtRule, "cfm") }

// PeakFlow is the peak of the needle [m³/s].
func (p readingPage) PeakFlow() float64 { return unit.VolumeFlow.Of(p.R.Peak, "cfm") }
