package web_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// post sends a form as the page does.
func post(t testing.TB, h http.Handler, path string, values url.Values) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(values.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return ask(h, r)
}

func form(pairs ...string) url.Values {
	v := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

const walkS1 = "/jobs/six/sittings/s1/walk"

// What is wrong with a form is said at its field, and what was typed stands there again.
func TestNothingTypedIsLost(t *testing.T) {
	a := newApp(t, instant())
	h := newSite(t, a)
	importSix(t, a)
	w := post(t, h, "/jobs/six/sittings/new", form("pressure", "1013", "temp", "20 °C", "rh", "45 %", "by", `O'Neill & "son"`, "note", "wet day"))
	page := w.Body.String()
	if w.Code != http.StatusUnprocessableEntity {
		t.Errorf("status %d", w.Code)
	}
	for _, want := range []string{`value="1013"`, `has no unit`, `value="20 °C"`, `O&#39;Neill &amp; &#34;son&#34;`, "wet day", `aria-invalid="true"`} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	w = post(t, h, walkS1, form("do", "leakage", "test_pressure", "10 inH2O", "flow", "1 mm"))
	if page = w.Body.String(); w.Code != http.StatusUnprocessableEntity || !strings.Contains(page, `value="10 inH2O"`) || !strings.Contains(page, `id="leakage-flow-wrong"`) {
		t.Errorf("status %d, or the form is empty", w.Code)
	}
	if strings.Count(page, `class="wrong"`) != 1 {
		t.Errorf("%d fields are wrong", strings.Count(page, `class="wrong"`))
	}
}

// A form that was opened before somebody else saved is told so, and its values stand there again.
func TestWalkConflict(t *testing.T) {
	a := newApp(t, instant())
	h := newSite(t, a)
	importSix(t, a)
	tag := regexp.MustCompile(`name="tag" value="([0-9a-f]+)"`).FindStringSubmatch(get(t, h, walkS1).Body.String())[1]
	air := func(temp string) url.Values {
		return form("do", "air", "tag", tag, "pressure", "1013 hPa", "temp", temp, "rh", "45 %")
	}
	if w := post(t, h, walkS1, air("20 °C")); w.Code != http.StatusSeeOther || !strings.Contains(w.Header().Get("Location"), "did=air#step-air") {
		t.Fatalf("status %d to %s", w.Code, w.Header().Get("Location"))
	}
	w := post(t, h, walkS1, air("21.5 °C"))
	if w.Code != http.StatusConflict || !strings.Contains(w.Body.String(), `value="21.5 °C"`) || !strings.Contains(w.Body.String(), "changed in the meantime") {
		t.Errorf("status %d", w.Code)
	}
	for path, want := range map[string]int{"/jobs/six/sittings/none/walk": 404, "/jobs/none/sittings/s1/walk": 404, "/jobs/none/sittings/new": 404} {
		if w := get(t, h, path); w.Code != want {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
	if w := post(t, h, walkS1, form("do", "nonsense")); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a form that is not known: %d", w.Code)
	}
}

// A job is booked in: what is wrong is said at its field and nothing typed is lost; what is right opens the job.
func TestBookInForm(t *testing.T) {
	a := newApp(t, instant())
	h := newSite(t, a)
	importSix(t, a)
	v := form("title", "Cast four", "customer", "", "kind", "manifold", "openings", "1-4", "test_pressure", "28", "entry", "radiused", "bench_of", "six")
	w := post(t, h, "/book-in", v)
	page := w.Body.String()
	for _, want := range []string{`value="Cast four"`, `id="job-customer-wrong"`, "has no unit", `value="radiused" selected`, `value="six" selected`} {
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(page, want) {
			t.Errorf("status %d; the page does not say %q", w.Code, want)
		}
	}
	v.Set("customer", "A. Customer")
	v.Set("test_pressure", "28 inH2O")
	if w = post(t, h, "/book-in", v); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/jobs/cast-four?did=booked-in" {
		t.Fatalf("status %d to %s", w.Code, w.Header().Get("Location"))
	}
	if w := get(t, h, "/jobs/cast-four/sittings"); w.Code != http.StatusOK {
		t.Errorf("its sittings: %d", w.Code)
	}
}

// A sitting is begun and walked through in a real browser, at every size, light and dark.
func TestWalkInABrowser(t *testing.T) {
	b := newBrowser(t)
	a := newApp(t, instant())
	h := newSite(t, a)
	importSix(t, a)
	site := httptest.NewServer(h)
	defer site.Close()
	b.do(chromedp.EmulateViewport(820, 1180), chromedp.Navigate(site.URL+"/jobs/six/sittings"))
	b.do(chromedp.KeyEvent("s"))
	b.until(`location.pathname.endsWith("/sittings/new") && document.readyState === "complete"`)
	fill := func(values ...string) {
		for i := 0; i < len(values); i += 2 {
			b.do(chromedp.SetValue(chromedp.CSS("#"+values[i]), values[i+1]))
		}
	}
	press := func(form string) {
		eval[bool](b, `(() => { window.old = true; document.querySelector('`+form+`').closest("form").requestSubmit(); return true; })()`)
		b.until(`!window.old && document.readyState === "complete"`)
	}
	fill("air-pressure", "1013 hPa", "air-temp", "20 °C", "air-rh", "45 %", "air-by", "A. Porter", "air-id", "walked")
	press("#air-pressure")
	b.until(`location.pathname === "/jobs/six/sittings/walked/walk"`)
	if n := eval[int](b, `document.querySelectorAll(".walk-steps .done").length`); n != 1 {
		t.Errorf("%d steps are done", n)
	}
	if !eval[bool](b, `!!document.querySelector(".locked") && !document.querySelector("#reading-rig")`) {
		t.Error("readings do not wait for the steps before")
	}
	fill("zero-meter_dp", "1.2 Pa", "zero-test_dp", "0.4 Pa")
	press("#zero-meter_dp")
	fill("leakage-test_pressure", "28 inH2O", "leakage-flow", "1.2 cfm")
	press("#leakage-flow")
	eval[bool](b, `(document.querySelector("#step-check .reason:last-of-type").open = true)`)
	press("#skip-check--why")
	b.until(`document.querySelector("#step-check .wrong")?.innerText.includes("Write why")`)
	for _, line := range b.heard() {
		if !strings.Contains(line, "422") {
			t.Errorf("the console says %s", line)
		}
	}
	fill("skip-check--why", "the plate is away")
	press("#skip-check--why")
	b.until(`document.querySelector(".walk-steps .skipped")?.innerText.includes("Check plate")`)
	fill("reading-meter_dp", "1.9 kPa", "reading-test_pressure", "28 inH2O", "reading-u_by_eye", "0.5 %")
	press("#reading-rig")
	b.until(`document.querySelectorAll("#step-readings tbody tr").length === 1`)
	b.quiet()
	for _, theme := range []string{"light", "dark"} {
		full := themed(t, h, theme)
		for _, size := range sizes {
			b.do(chromedp.EmulateViewport(size.width, size.height))
			b.inspect(full+"/jobs/six/sittings/walked/walk", "walk-"+size.name+"-"+theme, http.StatusOK)
			b.inspect(full+walkS1, "walk-s1-"+size.name+"-"+theme, http.StatusOK)
			b.inspect(full+"/book-in", "book-in-"+size.name+"-"+theme, http.StatusOK)
			b.inspect(full+"/jobs/six/sittings/new", "sitting-new-"+size.name+"-"+theme, http.StatusOK)
		}
	}
}
