package web_test

import (
	"html"
	"net/http"
	"strings"
	"testing"

	"runnel/internal/app"
)

// A shop that begins with nothing is led from page to page: book in, first sitting, one more round, engine card, without leaving the browser.
func TestNewShopIsLedOn(t *testing.T) {
	a := newApp(t, instant())
	h := newSite(t, a)
	for _, path := range []string{"/", "/bench"} {
		if body := get(t, h, path).Body.String(); !strings.Contains(body, `href="/book-in"`) {
			t.Errorf("%s of an empty shop does not lead to booking a job in", path)
		}
	}
	importSix(t, a)
	v := form("title", "Cast four", "customer", "A. Customer", "kind", "manifold", "openings", "1-4", "test_pressure", "28 inH2O", "entry", "bare", "bench_of", "six")
	if w := post(t, h, "/book-in", v); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d", w.Code)
	}
	story := get(t, h, "/jobs/cast-four?did=booked-in").Body.String()
	if !strings.Contains(story, `href="/jobs/cast-four/sittings/new"`) || !strings.Contains(story, `href="/jobs/cast-four/card"`) {
		t.Error("the story of a job just booked in leads neither to its first sitting nor to a round")
	}
	if strings.Contains(story, "no usable reading") {
		t.Error("a job just booked in warns of readings that cannot be there yet")
	}
	if body := get(t, h, "/jobs/cast-four/engine").Body.String(); !strings.Contains(body, `href="/jobs/cast-four/card?add=engine#whole"`) {
		t.Error("the engine page does not lead to the engine card")
	}
	if body := get(t, h, "/jobs/cast-four/card?add=engine").Body.String(); !strings.Contains(body, "[engine.inlet]") || !strings.Contains(body, "cylinders = 4") {
		t.Error("the card does not begin with the lines of an engine of four cylinders")
	}
	if body := get(t, h, "/jobs/six/sittings/s1/walk").Body.String(); !strings.Contains(body, `action="/bench/open"`) {
		t.Error("the live bench is more than one touch away from a sitting")
	}
}

func jobText(t *testing.T, a *app.App, id string) string {
	t.Helper()
	_, text, _, err := a.JobText(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// A round is added at the end of job.toml, where everything else stays as it was typed; what is wrong is said at its field.
func TestRoundIsAdded(t *testing.T) {
	a := newApp(t, instant())
	h := newSite(t, a)
	importSix(t, a)
	before := jobText(t, a, "six")
	w := post(t, h, "/jobs/six/card", form("do", "round", "piece", "manifold", "title", "", "did", `ran "by feel"`))
	if body := w.Body.String(); w.Code != http.StatusUnprocessableEntity || !strings.Contains(body, "Write what the round is called") || !strings.Contains(body, "by feel") {
		t.Errorf("status %d: nothing is said of the missing name, or what was typed is lost", w.Code)
	}
	for _, want := range []string{"ported-again", "ported-again-2"} {
		w = post(t, h, "/jobs/six/card", form("do", "round", "piece", "manifold", "title", "Ported again", "did", `ran "by feel"`))
		if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/jobs/six?did=round-added" {
			t.Fatalf("status %d to %s", w.Code, w.Header().Get("Location"))
		}
		j, err := a.Facts(t.Context(), "six")
		if err != nil {
			t.Fatal(err)
		}
		if r := j.Rounds[len(j.Rounds)-1]; r.ID != want || r.Piece != "manifold" || r.Did != `ran "by feel"` || r.Date.IsZero() {
			t.Errorf("the last round is %+v", r)
		}
	}
	if after := jobText(t, a, "six"); !strings.HasPrefix(after, strings.TrimRight(before, "\n")) {
		t.Error("what stood in job.toml was written anew")
	}
	if w = post(t, h, "/jobs/six/card", form("do", "round", "piece", "none", "title", "Ported")); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a round of a piece that is not there: status %d", w.Code)
	}
}

// job.toml is written on the page: what cannot be is refused line by line and stays in the field, and nobody writes over another's change.
func TestJobTextIsWritten(t *testing.T) {
	a := newApp(t, instant())
	h := newSite(t, a)
	importSix(t, a)
	_, text, tag, err := a.JobText(t.Context(), "six")
	if err != nil {
		t.Fatal(err)
	}
	w := post(t, h, "/jobs/six/card", form("do", "write", "tag", tag, "text", text+"\n[engin]\n", "why", "an engine"))
	if body := w.Body.String(); w.Code != http.StatusUnprocessableEntity || !strings.Contains(body, "job.toml:") || !strings.Contains(body, "[engin]") || !strings.Contains(body, `value="an engine"`) {
		t.Errorf("status %d: the slip has no place, or what was typed is lost", w.Code)
	}
	mended := strings.ReplaceAll(text, "Six", "Straight six")
	if mended == text {
		t.Fatal("the fixture has nothing to change")
	}
	if w = post(t, h, "/jobs/six/card", form("do", "write", "tag", tag, "text", strings.ReplaceAll(mended, "\n", "\r\n"), "why", "its name")); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	if got := jobText(t, a, "six"); got != mended {
		t.Errorf("job.toml is not what was written:\n%s", got)
	}
	if body := get(t, h, "/jobs/six/record").Body.String(); !strings.Contains(body, "its name") {
		t.Error("the record does not say why")
	}
	if w = post(t, h, "/jobs/six/card", form("do", "write", "tag", tag, "text", text)); w.Code != http.StatusConflict {
		t.Errorf("an older state was written over a newer one: status %d", w.Code)
	}
}

// A shop types its name once: it heads every handover, and the next job has it already.
func TestShopTypesItsNameOnce(t *testing.T) {
	a := newApp(t, instant())
	h := newSite(t, a)
	importSix(t, a)
	v := form("title", "Cast four", "customer", "A. Customer", "kind", "manifold", "openings", "1-4", "test_pressure", "28 inH2O", "entry", "bare", "bench_of", "six",
		"shop", "Bourne Porting", "place", "Upper Mill")
	if w := post(t, h, "/book-in", v); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d", w.Code)
	}
	if j, err := a.Facts(t.Context(), "cast-four"); err != nil || j.Shop.Name != "Bourne Porting" || j.Shop.Place != "Upper Mill" {
		t.Errorf("the work is that of %+v, %v", j.Shop, err)
	}
	if body := get(t, h, "/book-in").Body.String(); !strings.Contains(body, `value="Bourne Porting"`) || !strings.Contains(body, `value="Upper Mill"`) {
		t.Error("the next job asks for the shop's name again")
	}
}

// A shop without a bench card need not type its lines off a grey example: they are put into the field, and what is left open is refused by line.
func TestBenchCardBeginsWithItsLines(t *testing.T) {
	h := newSite(t, newApp(t, instant()))
	if body := get(t, h, "/bench/card").Body.String(); !strings.Contains(body, `href="/bench/card?begin=lines#whole"`) {
		t.Error("an empty card does not offer its lines")
	}
	_, rest, _ := strings.Cut(get(t, h, "/bench/card?begin=lines").Body.String(), "<textarea")
	_, rest, _ = strings.Cut(rest, ">")
	text, _, _ := strings.Cut(rest, "</textarea>")
	text = html.UnescapeString(text)
	w := post(t, h, "/bench/card", form("do", "write", "text", text))
	if body := w.Body.String(); w.Code != http.StatusUnprocessableEntity || strings.Count(body, `class="where"`) != strings.Count(text, "…") {
		t.Errorf("status %d: not every open place is named", w.Code)
	}
	for _, value := range []string{"100 mm", "60 mm", "0.2 %", "0.2 %", "600 mm²", "0.3 %"} {
		text = strings.Replace(text, "…", value, 1)
	}
	if w = post(t, h, "/bench/card", form("do", "write", "text", text)); w.Code != http.StatusSeeOther {
		t.Errorf("the filled card is refused: status %d", w.Code)
	}
}
