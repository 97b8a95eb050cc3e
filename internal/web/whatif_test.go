package web_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"strings"
	"testing"

	"runnel/assess"
	"runnel/job"
)

// The page of changes without a script: what the address asks is answered in the page; US fields are read as US; a link of the other
// units still means the same; nonsense is refused in words.
func TestTryPage(t *testing.T) {
	a := newApp(t, pulled())
	importSix(t, a)
	h := newSite(t, a)
	page := get(t, h, "/jobs/six/engine/try")
	if page.Code != http.StatusOK {
		t.Fatal(page.Code)
	}
	for _, want := range []string{"The engine after the work", `name="runner.length" value="330.0"`, `min="195.0" max="465.0" step="5"`, "names no throttle_bore", `href="/jobs/six/engine/try?state=before"`} {
		if !strings.Contains(page.Body.String(), want) {
			t.Errorf("the page does not say %s", want)
		}
	}
	headline := regexp.MustCompile(`(?s)<h2>(.*?)</h2>`)
	asked := func(query, cookie string) string {
		r := httptest.NewRequest(http.MethodGet, "/jobs/six/engine/try?ask=1&"+query, nil)
		if cookie != "" {
			r.AddCookie(&http.Cookie{Name: "runnel_units", Value: cookie})
		}
		w := ask(h, r)
		if w.Code != http.StatusOK {
			t.Fatalf("%s: %d %s", query, w.Code, w.Body.String())
		}
		m := headline.FindStringSubmatch(w.Body.String())
		if m == nil || !strings.Contains(w.Body.String(), "type approval") {
			t.Fatalf("%s is not answered", query)
		}
		return m[1]
	}
	metric := asked("in=metric&runner.length=406.4", "")
	if !strings.Contains(metric, "N·m") || !strings.Contains(metric, "rpm") {
		t.Errorf("the answer says %q", metric)
	}
	if same := asked("in=us&runner.length=16.000", ""); same != metric {
		t.Errorf("16 in says %q, 406.4 mm %q", same, metric)
	}
	if us := asked("in=metric&runner.length=406.4", "us"); !strings.Contains(us, "lbf·ft") {
		t.Errorf("in US units it says %q", us)
	}
	for query, says := range map[string]string{
		"runner.length=long": "is not a number: write it like 330.0",
		"runner.length=NaN":  "is not a number",
		"in=stone":           "write &#34;us&#34; or &#34;metric&#34;",
	} {
		if w := get(t, h, "/jobs/six/engine/try?"+query); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), says) {
			t.Errorf("%s: %d", query, w.Code)
		}
	}
	if w := get(t, h, "/jobs/none/engine/try"); w.Code != http.StatusNotFound {
		t.Errorf("no such job: %d", w.Code)
	}
	engine := get(t, h, "/jobs/six/engine").Body.String()
	for _, want := range []string{`href="/jobs/six/engine/try"`, "Fitted to two points of a run.", "Friction, factor", ">1.12<", "252.0"} {
		if !strings.Contains(engine, want) {
			t.Errorf("the engine page does not say %s", want)
		}
	}
}

// The fragments that a script asks for.
func TestTryFragments(t *testing.T) {
	a := newApp(t, pulled())
	importSix(t, a)
	h := newSite(t, a)
	const answer = "/jobs/six/engine/try/answer?in=metric&"
	for _, c := range []struct {
		path string
		code int
		says string
	}{
		{answer + "stage=coarse", 200, "Move a slider"},
		{answer + "stage=coarse&compression=11.5", 200, `data-next="refined"`},
		{answer + "stage=refined&compression=11.5&state=before", 200, `data-next="banded"`},
		{answer + "stage=banded&compression=11.5", 200, `data-next=""`},
		{answer + "stage=fast", 422, "coarse, refined or banded"},
		{answer + "stage=coarse&compression=99", 422, "out of reach"},
		{"/jobs/six/engine/try/cycle?speed=4500&cylinder=2", 200, `data-frames="{&#34;angle_deg&#34;:[-180,`},
		{"/jobs/six/engine/try/cycle?speed=x", 422, "write it in rpm"},
		{"/jobs/six/engine/try/cycle?speed=4500&cylinder=9", 422, "cylinders 1 to 6"},
		{"/jobs/six/engine/try/cycle?speed=10", 422, "cannot be run"},
		{"/jobs/none/engine/try/cycle?speed=4500", 404, ""},
	} {
		w := get(t, h, c.path)
		if w.Code != c.code || !strings.Contains(w.Body.String(), c.says) {
			t.Errorf("%s: %d %.300s", c.path, w.Code, w.Body.String())
		}
		if strings.Contains(w.Body.String(), "<html") || strings.Contains(w.Body.String(), " style=") {
			t.Errorf("%s: a fragment is no page and has no style of its own", c.path)
		}
	}
}

// Before the pull is there the page waits for it.
func TestTryPageWaits(t *testing.T) {
	c := instant()
	hold := make(chan struct{})
	whole := c.Solve
	c.Solve = func(ctx context.Context, j job.Job, tell func(string, int, int)) (assess.Assessment, error) {
		<-hold
		return whole(ctx, j, tell)
	}
	a := newApp(t, c)
	if _, err := a.ImportFolder(t.Context(), os.DirFS("testdata/six")); err != nil {
		t.Fatal(err)
	}
	h := newSite(t, a)
	if w := get(t, h, "/jobs/six/engine/try"); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "computed first") || !strings.Contains(w.Body.String(), `data-then="reload"`) {
		t.Errorf("while waiting: %d", w.Code)
	}
	if w := get(t, h, "/jobs/six/engine/try/answer?stage=coarse"); w.Code != http.StatusConflict {
		t.Errorf("an answer while waiting: %d", w.Code)
	}
	close(hold)
}
