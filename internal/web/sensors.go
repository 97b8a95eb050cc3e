package web

import (
	"encoding/json"
	"errors"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"runnel/internal/app"
	"runnel/internal/capture"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/unit"
)

// A sensorsPage sets up the sensors of a bench card, with what they show now: the shop's card, or that of a job.
type sensorsPage struct {
	sheet
	form
	JobID     string // empty: the shop's card
	Bench     job.Bench
	Shop      app.ShopBench
	UsedBy    string // title of the job the page was opened from, which uses the shop's card
	Sensors   []app.SensorTyped
	Roles     []role
	Probing   bool // the sensors are read as they were typed
	Reading   bool // the sensors are read
	Simulated bool
	Error     string
}

// Why is the reason as it was typed: it is not lost when the sensors are only read.
func (p sensorsPage) Why() string { return p.Typed.Get("why") }

// A role is what a sensor can be for.
type role struct{ ID, Title string }

func roles() []role {
	var out []role
	for _, r := range app.SensorRoles() {
		out = append(out, role{r, roleTitles[r]})
	}
	return out
}

// FieldOf is a field of the i-th sensor.
func (p sensorsPage) FieldOf(i int, name, label, hint, value string) field {
	n := name + "-" + strconv.Itoa(i)
	return field{ID: n, Name: n, Label: label, Hint: hint, Value: value, Wrong: p.Wrong[n], Kind: "text"}
}

// RoleTrouble is what is wrong with the role of the i-th sensor.
func (p sensorsPage) RoleTrouble(i int) string { return p.Wrong["role-"+strconv.Itoa(i)] }

// showSensors shows the sensors of the shop's bench card, or those of a job that has a card of its own.
func (s *server) showSensors(w http.ResponseWriter, r *http.Request) {
	s.sensors(w, r, http.StatusOK, r.URL.Query().Get("job"), nil, form{}, "")
}

// sensors draws the page of a job, an empty id means that of the shop; a nil list means the sensors as they are kept.
func (s *server) sensors(w http.ResponseWriter, r *http.Request, status int, id string, list []app.SensorTyped, f form, trouble string) {
	shop, shopErr := s.app.ShopBench(r.Context())
	if shopErr != nil && fault.KindOf(shopErr) == fault.Internal {
		s.fail(w, r, shopErr)
		return
	}
	p := sensorsPage{form: f, JobID: id, Shop: shop, Roles: roles(), Error: trouble}
	if id != "" {
		j, words, err := s.cardOfJob(r, id)
		switch {
		case err != nil:
			s.fail(w, r, err)
			return
		case words == app.ShopCard:
			p.JobID, p.UsedBy = "", j.Title
		default:
			p.sheet, p.Bench, p.Simulated = s.jobSheet(r, j, "sittings", "Sensors"), j.Bench, app.Simulated(j)
		}
	}
	p.Here = "/bench/sensors?job=" + url.QueryEscape(id)
	if p.JobID == "" {
		if !shop.There || shopErr != nil { // there is nothing to set up yet, or it has to be mended first
			http.Redirect(w, r, "/bench/card", http.StatusSeeOther)
			return
		}
		p.sheet, p.Bench, p.Simulated = s.sheet(r, "Sensors of the shop's bench"), shop.Card, s.opt.Demo
		p.Here = "/bench/sensors"
	}
	if p.Sensors = list; list == nil {
		p.Sensors = app.TypedSensors(p.Bench)
	}
	_, p.Probing, p.Reading = s.app.SensorSigns(p.JobID)
	if r.URL.Query().Get("did") == "sensors" {
		p.Note = "The sensors are written into the bench card of this job."
		if p.JobID == "" {
			p.Note = "The sensors are written into the shop's bench card."
		}
	}
	s.render(w, r, status, "sensors.html", p)
}

// cardOfJob is a job and whose bench card it is used with.
func (s *server) cardOfJob(r *http.Request, id string) (job.Job, string, error) {
	j, err := s.app.Facts(r.Context(), id)
	if err != nil {
		return job.Job{}, "", err
	}
	words, err := s.app.CardWords(r.Context(), id)
	return j, words, err
}

// changeSensors tries, saves, adds or removes sensors.
func (s *server) changeSensors(w http.ResponseWriter, r *http.Request) {
	f, ok := s.readForm(w, r)
	if !ok {
		return
	}
	id, list := f.Typed.Get("job"), sensorsTyped(f.Typed)
	saved, err := s.doSensors(r, id, f, &list)
	if err == nil && saved {
		s.app.StopProbe()
		to := "/bench/sensors?did=sensors"
		if id != "" {
			to += "&job=" + url.QueryEscape(id)
		}
		http.Redirect(w, r, to, http.StatusSeeOther)
		return
	}
	switch kind := fault.KindOf(err); {
	case err == nil:
		s.sensors(w, r, http.StatusOK, id, list, f, "")
	case s.wrongForm(&f, err):
		s.sensors(w, r, statusOf[kind], id, list, f, "")
	case kind == fault.Internal || kind == fault.NotFound:
		s.fail(w, r, err)
	default:
		s.sensors(w, r, statusOf[kind], id, list, f, sentence(err.Error()))
	}
}

// doSensors does what the form of the sensors asks for.
func (s *server) doSensors(r *http.Request, id string, f form, list *[]app.SensorTyped) (saved bool, err error) {
	ctx, why, shop := r.Context(), f.Typed.Get("why"), app.ShopEdit{Tag: f.Typed.Get("tag"), Why: f.Typed.Get("why")}
	if gone := f.Typed.Get("remove"); gone != "" {
		if i, convErr := strconv.Atoi(gone); convErr == nil && i >= 0 && i < len(*list) {
			*list = append((*list)[:i:i], (*list)[i+1:]...)
		}
		return false, nil
	}
	switch f.Do {
	case "add":
		*list = append(*list, app.SensorTyped{Role: "test_dp", Unit: "Pa"})
		return false, nil
	case "try":
		return false, s.app.ProbeSensors(ctx, id, *list)
	case "stop":
		s.app.StopProbe()
		return false, nil
	case "take":
		return true, s.app.TakeShopBench(ctx, id, why)
	}
	if id == "" {
		return true, s.app.SaveShopSensors(ctx, shop, *list)
	}
	if err := s.app.SaveSensors(ctx, id, *list, why); err != nil || f.Do != "both" {
		return true, err
	}
	shop.Tag = ""
	return true, s.app.SaveShopSensors(ctx, shop, *list)
}

// sensorsTyped reads the list of sensors out of a form.
func sensorsTyped(v url.Values) []app.SensorTyped {
	list := []app.SensorTyped{}
	for i := range 64 {
		at := "-" + strconv.Itoa(i)
		if !v.Has("channel" + at) {
			break
		}
		list = append(list, app.SensorTyped{
			Channel: v.Get("channel" + at), Role: v.Get("role" + at), Unit: v.Get("unit" + at), Low: v.Get("low" + at), High: v.Get("high" + at),
			Calibration: v.Get("calibration" + at), U: v.Get("u" + at), Source: v.Get("source" + at),
		})
	}
	return list
}

// A sensorSign is what a sensor shows now, as the page writes it.
type sensorSign struct {
	Channel string   `json:"channel"`
	Raw     *float64 `json:"raw"`     // mean of the last second, else the last sample [unit of the sensor]
	SD      float64  `json:"sd"`      // standard deviation of the last second; 0: not known [unit of the sensor]
	Rate    float64  `json:"rate_hz"` // [Hz]
	RawText string   `json:"raw_text"`
	Value   string   `json:"value_text"`
	Life    string   `json:"life"`
	Faults  []string `json:"faults"`
}

// streamSensors tells what the sensors show, four times a second.
func (s *server) streamSensors(w http.ResponseWriter, r *http.Request) {
	id := r.URL.Query().Get("job")
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("Cache-Control", "no-store")
	send := http.NewResponseController(w)
	tick := time.NewTicker(250 * time.Millisecond)
	defer tick.Stop()
	for {
		st, _, ok := s.app.SensorSigns(id)
		if !ok {
			_ = event(w, "ended", struct{}{})
			_ = send.Flush()
			return
		}
		if err := event(w, "signs", signsOf(st, systemOf(r))); err != nil || send.Flush() != nil {
			return
		}
		select {
		case <-tick.C:
		case <-r.Context().Done():
			return
		}
	}
}

func signsOf(st capture.State, sys unit.System) map[string]any {
	out := []sensorSign{}
	for _, c := range st.Channels {
		x := sensorSign{Channel: c.Channel, Raw: c.Raw, Rate: c.Rate, Faults: []string{}, RawText: missing, Value: missing}
		if c.Raw != nil {
			x.RawText = figures(*c.Raw, 5) + " " + c.Unit
			x.Value = valueText(c, sys)
		}
		switch {
		case c.Age < 0:
			x.Life = "nothing yet"
		default:
			x.Life = number(c.Rate, 1) + " a second"
			if c.SD != nil {
				x.Raw, x.SD = c.Mean, *c.SD
				x.Life += ", wavers by " + figures(*c.SD, 2) + " " + c.Unit
			}
		}
		for _, f := range st.Faults {
			if f.Channel == c.Channel || (f.Channel == "" && f.Source != "" && f.Source == c.Source) {
				x.Faults = append(x.Faults, sentence(string(f.Kind)+": "+f.Text))
			}
		}
		out = append(out, x)
	}
	return map[string]any{"sensors": out}
}

// valueText writes the corrected value in the reader's units.
func valueText(c capture.ChannelSign, sys unit.System) string {
	switch c.Role {
	case "meter_dp", "test_dp":
		return sys.TestPressure().Show(*c.Value)
	case "air_pressure":
		return sys.Barometer().Show(*c.Value)
	case "air_temp", "meter_temp":
		return sys.Temperature().Show(*c.Value)
	case "air_rh":
		return number(100**c.Value, 1) + " %"
	}
	return figures(*c.Value, 5)
}

// figures writes a number to n figures, with all of its decimals, so that it does not jump to and fro, and never as a power of ten.
func figures(x float64, n int) string {
	whole := 1
	if x != 0 {
		whole = wholeDigits(x)
	}
	return strconv.FormatFloat(x, 'f', min(max(0, n-whole), 6), 64)
}

// wholeDigits is how many digits a finite number other than 0 has before its point; less than 1 where zeros follow the point.
func wholeDigits(x float64) int { return int(math.Floor(math.Log10(math.Abs(x)))) + 1 }

// twoPoint works a calibration out of two known values.
func (s *server) twoPoint(w http.ResponseWriter, r *http.Request) {
	var f app.TwoPointTyped
	if err := json.NewDecoder(http.MaxBytesReader(w, r.Body, 16<<10)).Decode(&f); err != nil {
		s.answer(w, http.StatusUnprocessableEntity, map[string]string{"error": "Take both points first."})
		return
	}
	c, err := app.TwoPoint(f)
	if err != nil {
		text := sentence(err.Error())
		if wrong, ok := errors.AsType[app.FieldProblems](err); ok {
			text = sentence(wrong.Error())
		}
		s.answer(w, http.StatusUnprocessableEntity, map[string]string{"error": text})
		return
	}
	s.answer(w, http.StatusOK, map[string]string{"calibration": c})
}
