package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"runnel/internal/app"
	"runnel/internal/fault"
)

// A calibrationPage is one kept calibration.
type calibrationPage struct {
	checksSheet
	Kept app.KeptCalibration
	View *calibrationView // nil: it cannot be read
	Shop app.ShopBench
	Path string // of this page
}

func (s *server) showCalibration(w http.ResponseWriter, r *http.Request) {
	k, err := s.app.Calibration(r.Context(), r.PathValue("name"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	path := calibrationPath(k.Name)
	p := calibrationPage{checksSheet: s.checksSheet(r, "calibration", path, orID(k.Tried.Facts.Title, k.Name), form{}), Kept: k, Path: path}
	if k.Problem == "" {
		p.View = calibrationViewOf(p.U, k.Tried)
	}
	if p.Shop, err = s.app.ShopBench(r.Context()); err != nil {
		p.Error = "The shop's bench card has to be mended first: look at the page of the shop's bench."
	}
	s.render(w, r, http.StatusOK, "checks_calibration.html", p)
}

// ItsFile is the file of the calibration, without its text where it cannot be read.
func (p calibrationPage) ItsFile() keptFile {
	f := keptFile{Drawer: app.Calibrations, Command: "calibrate", Name: p.Kept.Name, Address: p.Path}
	if p.View != nil {
		f.Text = p.View.Text
	}
	return f
}

// An ontoCardPage shows what putting a calibration on the shop's card would change, and asks.
type ontoCardPage struct {
	checksSheet
	Change app.CardChange
	Meter  string // as it was chosen; empty: none yet
	Path   string // of the calibration
}

func (s *server) showOntoCard(w http.ResponseWriter, r *http.Request) {
	s.ontoCard(w, r, r.URL.Query().Get("meter"), form{}, nil)
}

func (s *server) ontoCard(w http.ResponseWriter, r *http.Request, meter string, f form, wrong error) {
	name := r.PathValue("name")
	c, err := s.app.CardWith(r.Context(), name, meter)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	path := calibrationPath(name)
	p := ontoCardPage{checksSheet: s.checksSheet(r, "calibration", path+"/card?meter="+url.QueryEscape(meter), "Onto the shop's card", f), Change: c, Meter: meter, Path: path}
	status, ok := p.refused(s, wrong)
	if !ok {
		s.fail(w, r, wrong)
		return
	}
	s.render(w, r, status, "checks_card.html", p)
}

func (s *server) putOnCard(w http.ResponseWriter, r *http.Request) {
	f, ok := s.readForm(w, r)
	if !ok {
		return
	}
	f.Do = "put"
	name, meter := r.PathValue("name"), f.Typed.Get("meter")
	err := s.app.PutOnCard(r.Context(), app.ShopEdit{Tag: f.Typed.Get("tag"), Why: f.Typed.Get("why")}, name, meter)
	switch {
	case err == nil:
		http.Redirect(w, r, calibrationPath(name)+"?did=calibration-card", http.StatusSeeOther)
	case fault.KindOf(err) == fault.Internal || fault.KindOf(err) == fault.NotFound:
		s.fail(w, r, err)
	default:
		s.ontoCard(w, r, meter, f, err)
	}
}

// Chosen is why the model was chosen, in words.
func (v calibrationView) Chosen() string {
	var least, chosen app.CalibrationModel
	found := false
	for _, c := range v.Answer.Candidates {
		if c.Chosen {
			chosen = c
		}
		if v.Weighed(c) && (!found || c.AICc < least.AICc) {
			least, found = c, true
		}
	}
	const what = "AICc weighs how well a curve fits against how many terms it needs; less is better. "
	switch {
	case !found:
		return "There are too few plates to weigh one curve against another, so the shortest is taken: " + chosen.Model + "."
	case chosen.Model == least.Model:
		return what + "Of all curves within 2 of the least this is the shortest: " + chosen.Model + ", which also has the least."
	}
	return what + fmt.Sprintf("The least has the %s, but the %s comes within 2 of it (%s more) with fewer terms, so it is taken.",
		plainModel(least.Model), plainModel(chosen.Model), number(chosen.AICc-least.AICc, 2))
}

// plainModel is a model in the middle of a sentence.
func plainModel(model string) string {
	if model == "known = c1·read" {
		return "plain factor (known = c1·read)"
	}
	return model
}

// Weighed reports whether there are plates enough for a criterion of a curve.
func (v calibrationView) Weighed(c app.CalibrationModel) bool {
	return len(v.Answer.Points) > c.Terms+2
}

// A coefficient is one of a curve as it is written, with its unit.
type coefficient struct{ Name, Value, U, Unit string }

// Coefficients are those of the curve.
func (v calibrationView) Coefficients() []coefficient {
	units := [...]string{"m³/s", "", "s/m³", "s²/m⁶"}
	var out []coefficient
	for i, b := range v.Answer.Coefficients {
		c := coefficient{Name: "c" + strconv.Itoa(i), Value: strconv.FormatFloat(b, 'g', 7, 64), U: strconv.FormatFloat(v.Answer.U[i], 'g', 2, 64)}
		if i < len(units) {
			c.Unit = units[i]
		}
		out = append(out, c)
	}
	return out
}

// Covariance is the covariance of the coefficients as it is written.
func (v calibrationView) Covariance() [][]string {
	var out [][]string
	for _, row := range v.Answer.Covariance {
		var cells []string
		for _, x := range row {
			cells = append(cells, strconv.FormatFloat(x, 'g', 4, 64))
		}
		out = append(out, cells)
	}
	return out
}

// Off reports whether a plate lies further from the curve than two standard uncertainties of its own.
func (calibrationView) Off(p app.CalibratedPoint) bool {
	return p.Residual > 2*p.UPoint || p.Residual < -2*p.UPoint
}
