package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"time"

	"runnel/assess"
	"runnel/internal/app"
	"runnel/internal/plot"
	"runnel/job"
	"runnel/unit"
)

// An enginePage is the engine and its pull before and after.
type enginePage struct {
	sheet
	Engine   *job.Engine
	Names    names
	Progress app.Progress
	Pull     *assess.Pull
	Warnings []string // of the pull, but for what the page says in its first lines
	Figures  []picture
	Rows     []pullRow
	Best     *assess.Change // largest change of torque
	Peak     peaks
	Filling  *filling // nil: one cylinder
	Demand   *assess.Demand
	Ducts    []picture
	Cycle    assess.Ducts // the first of the pictures' cycles
	DynoBand string

	FillingBefore *filling // before the work; nil: one cylinder
}

// peaks are the highest points of the curves.
type peaks struct{ Before, After assess.Point }

// A pullRow is one speed of the table.
type pullRow struct {
	Speed         float64 // [rev/min]
	Before, After assess.Point
	HasBefore     bool
	HasAfter      bool
	Change        assess.Change
	HasChange     bool
}

// Word says whether the band on the difference leaves zero out, and on which side; empty when it does not.
func (r pullRow) Word() string {
	switch {
	case !r.HasChange:
	case r.Change.TorqueLo > 0:
		return "proven gain"
	case r.Change.TorqueHi < 0:
		return "proven loss"
	}
	return ""
}

// BenchWords says what carried the readings of the pull to one bench; empty where nothing had to.
func (p enginePage) BenchWords() string { return assess.BenchWords(p.Pull.Bench, p.Pull.Bridged) }

// A guideFigure is the figure of a closed-form guide as it is shown.
type guideFigure struct{ Value, Unit string }

// Guide writes the figure of a guide; of those with a unit that the reader may choose there is only the air.
func (s show) Guide(g assess.Guide) guideFigure {
	if g.Unit == unit.MassFlow.SI().Name {
		return guideFigure{s.MassFlow(g.Value), s.MassFlowUnit()}
	}
	return guideFigure{significant(g.Value), g.Unit}
}

// WorstClosure is the ratio of the twin that is furthest from its corrected reading [-].
func (p enginePage) WorstClosure() float64 {
	worst := 1.0
	for _, c := range p.Pull.Closures {
		if abs(c.Ratio-1) > abs(worst-1) {
			worst = c.Ratio
		}
	}
	return worst
}

func (s *server) enginePage(w http.ResponseWriter, r *http.Request) (enginePage, bool) {
	a, ok := s.assessed(w, r)
	if !ok {
		return enginePage{}, false
	}
	return newEngine(s.jobSheet(r, a.Job, "engine", "Engine"), a), true
}

func newEngine(sh sheet, a app.Assessed) enginePage {
	p := enginePage{sheet: sh, Engine: a.Job.Engine, Names: namesOf(a.Job), Progress: a.Progress, Pull: a.Assessment.Pull}
	if p.Pull == nil {
		return p
	}
	p.Figures = []picture{
		drawn(plot.Torque(*p.Pull, p.U.sys)), drawn(plot.Power(*p.Pull, p.U.sys)), drawn(plot.TorqueChange(*p.Pull, p.U.sys)),
	}
	for _, w := range p.Pull.Warnings {
		if w != assess.NoPromise {
			p.Warnings = append(p.Warnings, w)
		}
	}
	p.Rows = pullRows(*p.Pull)
	p.Filling, p.FillingBefore, p.Demand = fillingOf(p.Pull.After, "after"), fillingOf(p.Pull.Before, "before"), p.Pull.Demand
	if ds := p.Pull.Ducts; len(ds) > 0 {
		p.Cycle, p.Ducts = ds[0], []picture{drawn(plot.IntakePressure(ds, p.U.sys))}
		if len(ds[0].Exhaust) > 0 {
			p.Ducts = append(p.Ducts, drawn(plot.ExhaustPressure(ds, p.U.sys)))
		}
	}
	if d := p.Pull.Dyno; d != nil {
		p.DynoBand = d.BandWords(func(nm float64) string { return p.U.Torque(nm) + " " + p.U.TorqueUnit() })
	}
	for i := range p.Pull.Change {
		if c := &p.Pull.Change[i]; p.Best == nil || c.Torque > p.Best.Torque {
			p.Best = c
		}
	}
	p.Peak = peaks{highest(p.Pull.Before), highest(p.Pull.After)}
	return p
}

func highest(points []assess.Point) assess.Point {
	var best assess.Point
	for _, p := range points {
		if p.Power > best.Power {
			best = p
		}
	}
	return best
}

func pullRows(p assess.Pull) []pullRow {
	var rows []pullRow
	at := map[float64]int{}
	row := func(speed float64) *pullRow {
		i, ok := at[speed]
		if !ok {
			i = len(rows)
			at[speed] = i
			rows = append(rows, pullRow{Speed: speed})
		}
		return &rows[i]
	}
	for _, b := range p.Before {
		r := row(b.Speed)
		r.Before, r.HasBefore = b, true
	}
	for _, a := range p.After {
		r := row(a.Speed)
		r.After, r.HasAfter = a, true
	}
	for _, c := range p.Change {
		r := row(c.Speed)
		r.Change, r.HasChange = c, true
	}
	return rows
}

func (s *server) showEngine(w http.ResponseWriter, r *http.Request) {
	if p, ok := s.enginePage(w, r); ok {
		s.render(w, r, http.StatusOK, "engine.html", p)
	}
}

// showPull is the part of the engine page that fills in when the pull is there.
func (s *server) showPull(w http.ResponseWriter, r *http.Request) {
	if p, ok := s.enginePage(w, r); ok {
		s.render(w, r, http.StatusOK, "pull", p)
	}
}

// streamProgress tells how far the pull is, as server-sent events, until it is over.
func (s *server) streamProgress(w http.ResponseWriter, r *http.Request) {
	ctx, id := r.Context(), r.PathValue("id")
	p, changed, err := s.app.Watch(ctx, id)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(http.StatusOK)
	send := http.NewResponseController(w)
	alive := time.NewTicker(15 * time.Second)
	defer alive.Stop()
	for {
		if err := event(w, "progress", p); err != nil || send.Flush() != nil {
			return
		}
		if p.Over() || changed == nil {
			return
		}
		select {
		case <-changed:
			if p, changed, err = s.app.Watch(ctx, id); err != nil {
				return
			}
		case <-alive.C:
		case <-ctx.Done():
			return
		}
	}
}

func event(w http.ResponseWriter, name string, data any) error {
	b, err := json.Marshal(data)
	if err != nil {
		return errors.New("web: this event cannot be written")
	}
	_, err = fmt.Fprintf(w, "event: %s\ndata: %s\n\n", name, b)
	return err
}

func (s *server) retryPull(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	if err := s.app.Retry(r.Context(), id); err != nil {
		s.fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/jobs/"+url.PathEscape(id)+"/engine", http.StatusSeeOther)
}
