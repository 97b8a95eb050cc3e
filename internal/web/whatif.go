package web

import (
	"errors"
	"math"
	"net/http"
	"net/url"
	"strconv"

	"runnel/assess"
	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/internal/plot"
	"runnel/job"
	"runnel/unit"
)

// A tryPage is the engine with sliders for what may be changed on it.
type tryPage struct {
	sheet
	Engine   *job.Engine
	State    string
	Progress app.Progress
	Ready    bool // the pull is there
	Knobs    []knob
	Answer   tried
	Speeds   []float64 // [rev/min]
	At       float64   // speed that the wave picture begins with [rev/min]

	Cylinders []int
	System    string
}

// A knob is one slider, in the reader's units.
type knob struct {
	app.Knob
	Unit          string
	Value         string // asked for
	Present       string // as it is
	Lo, Hi, Step  string
	NowText       string
	Changed       bool
	InputDecimals int
}

// tried is the part of the page that answers.
type tried struct {
	U       show
	State   string
	Stage   app.Stage
	Changed bool
	Best    *assess.Change // largest gain of torque
	Worst   *assess.Change // largest loss
	Band    bool           // the changes have their bands
	Old     assess.Point   // highest power
	New     assess.Point
	Torque  picture
	Power   picture
	Change  picture
	Caution []string
	Loose   []float64
	Took    int64 // [ms]
	Next    app.Stage
}

func (s *server) showTry(w http.ResponseWriter, r *http.Request) {
	a, ok := s.assessed(w, r)
	if !ok {
		return
	}
	p := tryPage{
		sheet: s.jobSheet(r, a.Job, "engine", "Try changes"), Engine: a.Job.Engine, State: stateOf(r), Progress: a.Progress,
		Ready: a.Assessment.Pull != nil, System: systemOf(r).String(),
	}
	if p.Engine == nil {
		s.render(w, r, http.StatusOK, "whatif.html", p)
		return
	}
	knobs, err := app.Knobs(a.Job)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	q, err := questionOf(r, knobs)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	for i := range p.Engine.Cylinders {
		p.Cylinders = append(p.Cylinders, i+1)
	}
	for _, k := range knobs {
		p.Knobs = append(p.Knobs, knobOf(k, q, p.U.sys))
	}
	if p.Ready {
		if err := s.fillTry(r, &p, a.Assessment.Pull, q); err != nil {
			s.fail(w, r, err)
			return
		}
	}
	s.render(w, r, http.StatusOK, "whatif.html", p)
}

// fillTry puts the first answer into the page: the engine as it is, or what was asked for when there is no script to ask.
func (s *server) fillTry(r *http.Request, p *tryPage, pull *assess.Pull, q app.Question) error {
	old := pull.After
	if p.State == "before" {
		old = pull.Before
	}
	most := highest(old)
	for _, o := range old {
		p.Speeds = append(p.Speeds, o.Speed)
		if o.Torque > most.Torque {
			most = o
		}
	}
	p.At = most.Speed
	t := app.Tried{Stage: app.Refined, Old: old}
	if r.URL.Query().Get("ask") != "" {
		var err error
		if t, err = s.app.Try(r.Context(), r.PathValue("id"), q, app.Refined); err != nil {
			return err
		}
	}
	p.Answer = triedOf(t, p.State, p.U)
	return nil
}

func stateOf(r *http.Request) string {
	if r.URL.Query().Get("state") == "before" {
		return "before"
	}
	return "after"
}

// questionOf reads the wanted values from the address. They are in the units that "in" names, those of the page that made it. A
// value that shows as the present one is no change.
func questionOf(r *http.Request, knobs []app.Knob) (app.Question, error) {
	in := r.URL.Query()
	q := app.Question{State: stateOf(r), To: map[string]float64{}}
	sys := systemOf(r)
	if text := in.Get("in"); text != "" {
		var err error
		if sys, err = unit.ParseSystem(text); err != nil {
			return q, fault.As(fault.Invalid, err)
		}
	}
	for _, k := range knobs {
		text := in.Get(k.Name)
		if text == "" || k.Missing != "" {
			continue
		}
		v, err := strconv.ParseFloat(text, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return q, fault.Errorf(fault.Invalid, "%s: %q is not a number: write it like %s", k.Title, text, plainNumber(k.Style(sys), k.Now))
		}
		st := k.Style(sys)
		if math.Abs(v-st.Value(k.Now)) <= 0.5001*math.Pow(10, -float64(st.Decimals)) {
			continue
		}
		q.To[k.Name] = st.Dimension.Of(v, st.Unit)
	}
	return q, nil
}

// plainNumber writes a value as a field holds it.
func plainNumber(st unit.Style, si float64) string {
	return strconv.FormatFloat(st.Value(si), 'f', st.Decimals, 64)
}

func knobOf(k app.Knob, q app.Question, sys unit.System) knob {
	st := k.Style(sys)
	out := knob{Knob: k, Unit: st.Unit, NowText: k.Show(sys, k.Now), InputDecimals: st.Decimals, Present: plainNumber(st, k.Now)}
	out.Value = out.Present
	if to, ok := q.To[k.Name]; ok {
		out.Value, out.Changed = plainNumber(st, to), true
	}
	lo, hi := k.Range(k.Now)
	step := nice(st.Value(k.Step) - st.Value(0))
	now := st.Value(k.Now)
	fixed := func(v float64) string { return strconv.FormatFloat(v, 'f', st.Decimals, 64) }
	base, _ := strconv.ParseFloat(out.Present, 64)
	out.Step = strconv.FormatFloat(step, 'g', 6, 64)
	out.Lo = fixed(base - step*math.Round((now-st.Value(lo))/step))
	out.Hi = fixed(base + step*math.Round((st.Value(hi)-now)/step))
	return out
}

// nice returns the number of 1, 2 or 5 times a power of ten nearest to v.
func nice(v float64) float64 {
	mag := math.Pow(10, math.Floor(math.Log10(v)))
	best := mag
	for _, f := range []float64{2, 5, 10} {
		if math.Abs(math.Log(v/(f*mag))) < math.Abs(math.Log(v/best)) {
			best = f * mag
		}
	}
	return best
}

// Heights of the curves [px]: the narrow one stays in sight above the sliders of a phone.
const (
	tryHeight       = 292.0
	tryNarrowHeight = 236.0
)

func triedPicture(f plot.Figure) picture {
	wide, narrow := f, f
	wide.Width, wide.Height = wideFigure*0.9, tryHeight
	narrow.Width, narrow.Height = narrowFigure, tryNarrowHeight
	return picture{svg(wide), svg(narrow)}
}

func triedOf(t app.Tried, state string, u show) tried {
	out := tried{
		U: u, State: state, Stage: t.Stage, Changed: len(t.Sets) > 0, Caution: t.Cautions, Loose: t.Loose, Took: t.Took.Milliseconds(),
		Old: highest(t.Old), New: highest(t.New), Band: len(t.Change) > 0,
		Torque: triedPicture(plot.TriedTorque(t.Old, t.New, u.sys)), Power: triedPicture(plot.TriedPower(t.Old, t.New, u.sys)),
	}
	if !out.Changed {
		return out
	}
	change := t.Change
	if out.Band {
		out.Change = drawn(plot.TriedChange(change, u.sys))
	} else {
		for i, n := range t.New {
			d := n.Torque - t.Old[i].Torque
			change = append(change, assess.Change{Speed: n.Speed, Torque: d, TorqueLo: d, TorqueHi: d})
		}
	}
	for i := range change {
		c := &change[i]
		if c.Torque > 0 && (out.Best == nil || c.Torque > out.Best.Torque) {
			out.Best = c
		}
		if c.Torque < 0 && (out.Worst == nil || c.Torque < out.Worst.Torque) {
			out.Worst = c
		}
	}
	switch t.Stage {
	case app.Coarse:
		out.Next = app.Refined
	case app.Refined:
		out.Next = app.Banded
	case app.Banded:
	}
	return out
}

// question reads the job, the state and the change a fragment is asked for.
func (s *server) question(r *http.Request) (app.Question, error) {
	a, err := s.app.Assessment(r.Context(), r.PathValue("id"))
	if err != nil {
		return app.Question{}, err
	}
	knobs, err := app.Knobs(a.Job)
	if err != nil {
		return app.Question{}, err
	}
	return questionOf(r, knobs)
}

// showTried is the answer to the sliders, as part of the page.
func (s *server) showTried(w http.ResponseWriter, r *http.Request) {
	q, err := s.question(r)
	if err != nil {
		s.failTry(w, r, err)
		return
	}
	stage := app.Stage(r.URL.Query().Get("stage"))
	switch stage {
	case app.Coarse, app.Refined, app.Banded:
	default:
		s.failTry(w, r, fault.Errorf(fault.Invalid, "stage %q: write coarse, refined or banded", stage))
		return
	}
	t, err := s.app.Try(r.Context(), r.PathValue("id"), q, stage)
	if err != nil {
		s.failTry(w, r, err)
		return
	}
	s.render(w, r, http.StatusOK, "tried", triedOf(t, q.State, show{systemOf(r)}))
}

// failTry answers a fragment with a sentence.
func (s *server) failTry(w http.ResponseWriter, r *http.Request, err error) {
	if r.Context().Err() != nil {
		return // whoever asked is gone
	}
	if errors.Is(err, app.ErrSuperseded) {
		w.WriteHeader(http.StatusNoContent) // nothing is wrong: a newer question is being answered
		return
	}
	kind := fault.KindOf(err)
	text := sentence(systemOf(r).Text(err.Error()))
	if kind == fault.Internal {
		s.log.Error("try", "path", r.URL.Path, "error", err)
		text = "This is our fault, not yours; the details are in the log."
	}
	s.render(w, r, statusOf[kind], "trouble", text)
}

// tryAddress is the page with a state, the changes kept.
func (p tryPage) tryAddress(state string) string {
	v := url.Values{"state": {state}}
	return "/jobs/" + url.PathEscape(p.Job.ID) + "/engine/try?" + v.Encode()
}

// BeforeAddress and AfterAddress lead to the engine before and after the work.
func (p tryPage) BeforeAddress() string { return p.tryAddress("before") }

// AfterAddress leads to the engine after the work.
func (p tryPage) AfterAddress() string { return p.tryAddress("after") }
