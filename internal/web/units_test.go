package web_test

import (
	"context"
	"html"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"runnel/assess"
	"runnel/internal/app"
	"runnel/job"
)

// inMetric fills every sentence that the engineering writes with a quantity, as it does: in metric units.
func inMetric(a *assess.Assessment) {
	const say = "made up: 25.4 mm, 6451.6 mm² and 7.0 kPa"
	for i := range a.Readings {
		a.Readings[i].Warnings = []string{say}
	}
	a.Readings[len(a.Readings)-1].Usable, a.Readings[len(a.Readings)-1].Refused = false, say
	for i := range a.Sittings {
		a.Sittings[i].Marks = []string{say}
	}
	for i := range a.Verdicts {
		v := &a.Verdicts[i]
		v.Marks, v.Bridged, v.Cancelled, v.Warnings = []string{say}, []string{say}, []string{say}, []string{say}
		if v.Refused != "" {
			v.Refused = say
		}
	}
	for i := range a.Match {
		a.Match[i].Note = say
	}
	for i := range a.Restriction {
		a.Restriction[i].Note = say
	}
	a.Warnings = []string{say}
	if p := a.Pull; p != nil {
		p.Warnings, p.Assumed, p.Guides[0].Note, p.Demand.Throttle.Note = []string{say}, []string{say}, say, say
		p.Closures[0].Opening = "intake at 25.4 mm"
		p.Guides = append(p.Guides, assess.Guide{Name: "air", Value: 0.2, Unit: "kg/s", Note: say})
		p.Bridged = []string{say}
	}
}

var (
	tags         = regexp.MustCompile(`(?s)<(script|style)\b.*?</(script|style)>|<[^>]*>`)
	metricFigure = regexp.MustCompile(`\d[ \x{a0}](mm|mm²|cm²|cm³|kPa|Pa|hPa|°C|L/s|kg/s|g/s|kg/h|m/s|N·m|kW|L|g|kg|kg/m³)(?:\s|[.,;:)]|$)`)
)

// A reader of US units is shown no metric figure, but for the words of the job's own facts.
func TestEveryTextFollowsTheUnits(t *testing.T) {
	a := newApp(t, app.Compute{
		Readings: func(j job.Job) (assess.Assessment, error) { x := madeUp(j); inMetric(&x); return x, nil },
		Solve: func(_ context.Context, j job.Job, _ func(string, int, int)) (assess.Assessment, error) {
			x := madeUp(j)
			x.Pull = madeUpPull()
			inMetric(&x)
			return x, nil
		},
	})
	importSix(t, a)
	h := newSite(t, a)
	facts := regexp.MustCompile(`60 mm plate in the 100 mm pipe|Mean of the steady part [\d.]+ Pa|meter_dp\s+[\d.]+ Pa`) // as the shop and its sensors wrote them
	for path, inches := range map[string]bool{
		"/jobs/six": true, "/jobs/six/readings": true, "/jobs/six/readings/r01": true, "/jobs/six/sittings": true, "/jobs/six/engine": true,
		"/jobs/six/engine/try": false, "/jobs/six/passages": false, "/jobs/six/passages/manifold/1": false, "/jobs/six/handover": false, "/": false,
	} {
		r := request(http.MethodGet, path, nil)
		r.AddCookie(&http.Cookie{Name: "runnel_units", Value: "us"})
		w := ask(h, r)
		if w.Code != http.StatusOK {
			t.Errorf("%s answers %d", path, w.Code)
			continue
		}
		text := facts.ReplaceAllString(html.UnescapeString(tags.ReplaceAllString(w.Body.String(), "\n")), "")
		for _, at := range metricFigure.FindAllStringIndex(text, -1) {
			t.Errorf("%s shows a metric figure: …%s", path, text[max(0, at[0]-60):at[1]])
		}
		if strings.Contains(path, "/manifold/") && !strings.Contains(text, "s_in,shape,diameter_in,wall_in,bend_deg\n") {
			t.Errorf("%s wants stations typed in something else than inches", path)
		}
		// 25.4 mm is an inch, 6451.6 mm² are ten square inches.
		if inches && path != "/jobs/six/readings" && !strings.Contains(strings.ToLower(text), "made up: 1.000 in, 10.000 in² and 28") {
			t.Errorf("%s does not tell the sentence in inches", path)
		}
	}
}
