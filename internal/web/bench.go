package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"time"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/internal/live"
	"runnel/job"
	"runnel/unit"
)

// A benchPage is the live bench. What changes on it comes by server-sent events.
type benchPage struct {
	sheet
	View   app.BenchView
	Facts  job.Job
	Names  names
	Styles string // how quantities are written, as JSON
}

// A benchChoice is the page that opens the live bench on a sitting.
type benchChoice struct {
	sheet
	Jobs  []job.Job
	Shop  app.ShopBench
	Error string
}

// showBench shows the live bench where it is open, else where it can be opened.
func (s *server) showBench(w http.ResponseWriter, r *http.Request) {
	if err := s.app.ResumeBench(r.Context()); err != nil {
		s.chooseBench(w, r, "", sentence(err.Error()))
		return
	}
	v := s.app.Bench()
	if !v.Open {
		s.chooseBench(w, r, "", "")
		return
	}
	s.bench(w, r, v)
}

// showJobBench shows the live bench of a job.
func (s *server) showJobBench(w http.ResponseWriter, r *http.Request) {
	id, sitting := r.PathValue("id"), r.URL.Query().Get("sitting")
	if err := s.app.ResumeBench(r.Context()); err != nil {
		s.chooseBench(w, r, id, sentence(err.Error()))
		return
	}
	v := s.app.Bench()
	if !v.Open || v.Job != id || (sitting != "" && sitting != v.Sitting) {
		s.chooseBench(w, r, id, "")
		return
	}
	s.bench(w, r, v)
}

func (s *server) bench(w http.ResponseWriter, r *http.Request, v app.BenchView) {
	j, err := s.app.Facts(r.Context(), v.Job)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	p := benchPage{sheet: s.jobSheet(r, j, "sittings", "Live bench"), View: v, Facts: j, Names: namesOf(j)}
	p.Here = "/bench"
	b, err := json.Marshal(benchStyles(p.U.sys))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	p.Styles = string(b)
	s.render(w, r, http.StatusOK, "bench.html", p)
}

// chooseBench lists the sittings the bench can be opened on; an empty id means those of every job.
func (s *server) chooseBench(w http.ResponseWriter, r *http.Request, id, trouble string) {
	p := benchChoice{sheet: s.sheet(r, "Live bench"), Error: trouble}
	ids := []string{id}
	var err error
	if id == "" {
		ids = nil
		var cards []app.Card
		if cards, err = s.app.Jobs(r.Context()); err != nil {
			s.fail(w, r, err)
			return
		}
		for _, c := range cards {
			ids = append(ids, c.ID)
		}
	}
	for _, id := range ids {
		j, err := s.app.Facts(r.Context(), id)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		p.Jobs = append(p.Jobs, j)
	}
	if p.Shop, err = s.app.ShopBench(r.Context()); err != nil && trouble == "" {
		trouble = "The shop's bench card has to be mended: look at the page of the shop's bench."
		p.Error = trouble
	}
	if id != "" {
		p.sheet = s.jobSheet(r, p.Jobs[0], "sittings", "Live bench")
	}
	p.Here = r.URL.Path
	status := http.StatusOK
	if trouble != "" {
		status = http.StatusUnprocessableEntity
		p.Here = "/bench"
	}
	s.render(w, r, status, "bench_choice.html", p)
}

// Sourced reports whether the live bench can be opened on a job: its sensors say where they are read from, or it is
// invented and gets a simulated rig.
func (p benchChoice) Sourced(j job.Job) bool {
	for _, x := range j.Bench.Sensors {
		if x.Source != "" {
			return true
		}
	}
	return j.Invented
}

// A sittingChoice is a sitting that the live bench can be opened on.
type sittingChoice struct {
	job.Sitting
	Job  string
	Open bool // its bench can be read
}

// newestSittings is how many sittings of a job are shown at once: the bench is rarely opened on an older one.
const newestSittings = 3

// Newest are the last sittings of a job, the newest first.
func (p benchChoice) Newest(j job.Job) []sittingChoice {
	all := p.choices(j)
	return all[:min(len(all), newestSittings)]
}

// Older are the sittings before them, the newest first.
func (p benchChoice) Older(j job.Job) []sittingChoice {
	all := p.choices(j)
	return all[min(len(all), newestSittings):]
}

func (p benchChoice) choices(j job.Job) []sittingChoice {
	var out []sittingChoice
	for _, s := range j.Sittings {
		out = append(out, sittingChoice{s, j.ID, p.Sourced(j)})
	}
	slices.SortStableFunc(out, func(a, b sittingChoice) int { return b.At.Compare(a.At) })
	return out
}

// Simulated reports whether the bench of a job would be a simulated rig.
func (p benchChoice) Simulated(j job.Job) bool { return app.Simulated(j) }

func (s *server) openBench(w http.ResponseWriter, r *http.Request) {
	f, ok := s.readForm(w, r)
	if !ok {
		return
	}
	id := f.Typed.Get("job")
	if err := s.app.OpenBench(r.Context(), id, f.Typed.Get("sitting")); err != nil {
		if kind := fault.KindOf(err); kind == fault.Internal || kind == fault.NotFound {
			s.fail(w, r, err)
			return
		}
		s.chooseBench(w, r, id, sentence(err.Error()))
		return
	}
	http.Redirect(w, r, "/bench", http.StatusSeeOther)
}

func (s *server) closeBench(w http.ResponseWriter, r *http.Request) {
	v := s.app.Bench()
	if err := s.app.CloseBench(r.Context()); err != nil {
		s.fail(w, r, err)
		return
	}
	to := "/bench"
	if v.Open {
		to = walkPath(v.Job, v.Sitting)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

// An answer is what the page gets for a touch.
type answer struct {
	View  app.BenchView     `json:"view"`
	Error string            `json:"error,omitempty"`
	Wrong app.FieldProblems `json:"wrong,omitempty"` // by field of the plan
}

// doBench carries out one touch.
func (s *server) doBench(w http.ResponseWriter, r *http.Request) {
	var do app.BenchDo
	in := json.NewDecoder(http.MaxBytesReader(w, r.Body, 64<<10))
	in.DisallowUnknownFields()
	if err := in.Decode(&do); err != nil {
		s.answer(w, http.StatusUnprocessableEntity, answer{View: s.app.Bench(), Error: "this touch cannot be read: load the page again"})
		return
	}
	v, err := s.app.DoBench(r.Context(), do)
	if err == nil {
		s.answer(w, http.StatusOK, answer{View: v})
		return
	}
	kind := fault.KindOf(err)
	a := answer{View: v, Error: sentence(err.Error())}
	if wrong, ok := errors.AsType[app.FieldProblems](err); ok {
		a.Wrong = wrong
	}
	if kind == fault.Internal {
		s.log.Error("live bench", "do", do.Do, "error", err)
		a.Error = "This did not work, and it is our fault. Nothing was kept; the details are in the log."
	}
	s.answer(w, statusOf[kind], a)
}

func (s *server) answer(w http.ResponseWriter, status int, v any) {
	b, err := json.Marshal(v)
	if err != nil {
		s.log.Error("live bench", "error", err)
		http.Error(w, "our fault", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	if _, err := w.Write(b); err != nil {
		s.log.Debug("answer cut short", "error", err)
	}
}

// streamBench tells the page what changes on the bench, as server-sent events, until it is closed.
func (s *server) streamBench(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	watch, err := s.app.WatchBench(ctx)
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	send := http.NewResponseController(w)
	if err != nil { // a page that was left open: it asks again until the bench is open
		_, _ = w.Write([]byte("retry: 3000\nevent: closed\ndata: {}\n\n"))
		_ = send.Flush()
		return
	}
	defer watch.Close()
	if _, err := w.Write([]byte("retry: 700\n\n")); err != nil {
		return
	}
	for {
		news, err := watch.Next(ctx)
		if errors.Is(err, live.ErrClosed) {
			_, _ = w.Write([]byte("event: closed\ndata: {}\n\n"))
			_ = send.Flush()
			return
		}
		if err != nil {
			return
		}
		_ = send.SetWriteDeadline(time.Now().Add(20 * time.Second)) //nolint:forbidigo // a page that no longer reads is let go
		if _, err := w.Write(eventsOf(news)); err != nil || send.Flush() != nil {
			return
		}
	}
}

// eventsOf writes events; needles that follow each other go as one list.
func eventsOf(news []app.BenchEvent) []byte {
	var b []byte
	for i := 0; i < len(news); {
		if news[i].Name != "needle" {
			b = append(append(append(b, "event: "+news[i].Name+"\ndata: "...), news[i].Data...), "\n\n"...)
			i++
			continue
		}
		b = append(b, "event: needles\ndata: ["...)
		for first := true; i < len(news) && news[i].Name == "needle"; i++ {
			if !first {
				b = append(b, ',')
			}
			b, first = append(b, news[i].Data...), false
		}
		b = append(b, "]\n\n"...)
	}
	return b
}

// A benchStyle is how a quantity is written: si = value·factor + offset.
type benchStyle struct {
	Kind     string  `json:"kind,omitempty"` // "flow" or "area", for the big number
	Name     string  `json:"name"`
	Factor   float64 `json:"factor"`
	Offset   float64 `json:"offset"`
	Decimals int     `json:"decimals"`
}

func benchStyles(sys unit.System) map[string]any {
	style := func(kind string, d unit.Dimension, name string, decimals int) benchStyle {
		u, ok := d.Lookup(name)
		if !ok {
			panic("web: " + d.Name + " has no unit " + name)
		}
		return benchStyle{kind, u.Name, u.Factor, u.Offset, decimals}
	}
	of := func(st unit.Style) benchStyle { return style("", st.Dimension, st.Unit, st.Decimals) }
	big := []benchStyle{
		style("flow", unit.VolumeFlow, "L/s", 2), style("flow", unit.VolumeFlow, "cfm", 1), style("flow", unit.VolumeFlow, "m³/h", 1),
		style("area", unit.Area, "mm²", 1), style("area", unit.Area, "in²", 4),
	}
	if sys == unit.US {
		big[0], big[1] = big[1], big[0]
	}
	return map[string]any{
		"big": big, "pressure": of(sys.TestPressure()), "barometer": of(sys.Barometer()), "temperature": of(sys.Temperature()),
		"length": of(sys.Length()), "flow": of(sys.Flow()), "area": of(sys.Area()),
	}
}

// WalkURL is the page of the sitting that is taken.
func (p benchPage) WalkURL() string {
	return "/jobs/" + url.PathEscape(p.View.Job) + "/sittings/" + url.PathEscape(p.View.Sitting) + "/walk"
}
