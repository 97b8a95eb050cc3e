package web_test

import (
	"context"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"runnel/assess"
	"runnel/job"
)

// quiet fails when the console has said something.
func (b *browser) quiet() {
	b.t.Helper()
	for _, line := range b.heard() {
		b.t.Errorf("the console says %s", line)
	}
}

// The engine page fills in when the pull is there, without being loaded again.
func TestTheEnginePageFillsIn(t *testing.T) {
	b := newBrowser(t)
	c := instant()
	whole, steps := c.Solve, make(chan int)
	c.Solve = func(ctx context.Context, j job.Job, tell func(string, int, int)) (assess.Assessment, error) {
		for n := range steps {
			tell("speeds before", n, 4)
		}
		return whole(ctx, j, tell)
	}
	a := newApp(t, c)
	if _, err := a.ImportFolder(t.Context(), os.DirFS("testdata/six")); err != nil {
		t.Fatal(err)
	}
	site := httptest.NewServer(newSite(t, a))
	defer site.Close()
	b.do(chromedp.EmulateViewport(1280, 800), chromedp.Navigate(site.URL+"/jobs/six/engine"))
	eval[bool](b, `(window.stayed = true)`)
	for _, n := range []int{1, 3} {
		steps <- n
		b.until(`document.querySelector("progress")?.value === ` + map[int]string{1: "25", 3: "75"}[n])
	}
	b.until(`document.querySelector("[data-stage]").textContent === "Speeds before."`)
	b.shot("engine-waiting-wide-light")
	close(steps)
	b.until(`!!document.querySelector("#s-curves")`)
	if !eval[bool](b, `window.stayed === true && !document.querySelector("progress")`) {
		t.Error("the page was loaded again, or still shows progress")
	}
	b.quiet()
}

// A card whose traces are still being read fills in by itself.
func TestACardFillsIn(t *testing.T) {
	b := newBrowser(t)
	c, let := instant(), make(chan bool)
	c.Readings = func(j job.Job) (assess.Assessment, error) {
		<-let
		return madeUp(j), nil
	}
	a := newApp(t, c)
	if _, err := a.ImportFolder(t.Context(), os.DirFS("testdata/six")); err != nil {
		t.Fatal(err)
	}
	site := httptest.NewServer(newSite(t, a))
	defer site.Close()
	b.do(chromedp.Navigate(site.URL + "/"))
	if !eval[bool](b, `!!document.querySelector("[data-pending]")`) {
		t.Error("the card does not say that it is not ready")
	}
	close(let)
	b.until(`document.querySelector(".card-verdict").innerText.includes("+7.6 %")`)
	b.quiet()
}

// A folder is opened through the page: a bad one says what to mend and where, a good one opens the job.
func TestOpeningAFolderInThePage(t *testing.T) {
	b := newBrowser(t)
	site := httptest.NewServer(newSite(t, newApp(t, instant())))
	defer site.Close()
	dir := t.TempDir()
	bad := six(t)
	bad["six/job.toml"] = []byte(strings.Replace(string(bad["six/job.toml"]), `bore = "86 mm"`, `bore = "86 kPa"`, 1))
	for name, files := range map[string]map[string][]byte{"bad.zip": bad, "good.zip": six(t)} {
		if err := os.WriteFile(filepath.Join(dir, name), zipped(t, files), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	zipInput := chromedp.CSS(`input[accept*="zip"]`)
	b.do(chromedp.EmulateViewport(390, 844), chromedp.Navigate(site.URL+"/"),
		chromedp.SetUploadFiles(zipInput, []string{filepath.Join(dir, "bad.zip")}))
	b.until(`!!document.querySelector(".refusal table")`)
	if text := eval[string](b, `document.querySelector(".refusal").innerText`); !strings.Contains(text, "job.toml:") || !strings.Contains(text, "kPa") {
		t.Errorf("the refusal says %q", text)
	}
	if out := eval[string](b, overflowing); out != "" {
		t.Error(out)
	}
	b.shot("refused-phone-light")
	for _, line := range b.heard() {
		if !strings.Contains(line, "422") { // the browser itself logs the status of a refused import
			t.Errorf("the console says %s", line)
		}
	}
	b.do(chromedp.SetUploadFiles(zipInput, []string{filepath.Join(dir, "good.zip")}))
	b.until(`location.pathname === "/jobs/six" && !!document.querySelector(".note")`)
	b.do(chromedp.Navigate(site.URL + "/"))
	dropped := `(() => {
		const data = new DataTransfer();
		data.items.add(new File(["nothing"], "readme.txt"));
		document.querySelector("[data-drop]").dispatchEvent(new DragEvent("drop", { dataTransfer: data, bubbles: true, cancelable: true }));
		return true;
	})()`
	eval[bool](b, dropped)
	b.until(`document.querySelector(".refusal")?.innerText.includes("no job.toml")`)
}

// Keys, units, light and the filter.
func TestKeysAndSwitches(t *testing.T) {
	b := newBrowser(t)
	a := newApp(t, instant())
	importSix(t, a)
	site := httptest.NewServer(newSite(t, a))
	defer site.Close()
	b.do(chromedp.EmulateViewport(1280, 800), chromedp.Navigate(site.URL+"/jobs/six/readings/r01"))
	b.do(chromedp.KeyEvent("?"))
	b.until(`document.querySelector("#keys").open`)
	if text := eval[string](b, `document.querySelector("#keys").innerText`); !strings.Contains(text, "Next reading") || !strings.Contains(text, "Change units") {
		t.Errorf("the list of keys says %q", text)
	}
	b.shot("keys-wide-light")
	b.do(chromedp.KeyEvent("\u001b"))
	b.until(`!document.querySelector("#keys").open`)
	b.do(chromedp.KeyEvent("n"))
	b.until(`location.pathname.endsWith("/r02") && document.readyState === "complete"`)
	b.do(chromedp.KeyEvent("u"))
	b.until(`document.readyState === "complete" && document.body.innerText.includes("cfm")`)
	b.do(chromedp.KeyEvent("l"))
	b.until(`document.documentElement.dataset.theme === "light" && document.readyState === "complete"`)
	b.do(chromedp.KeyEvent("l"))
	b.until(`document.documentElement.dataset.theme === "dark" && document.readyState === "complete"`)
	if bg := eval[string](b, `getComputedStyle(document.body).backgroundColor`); bg != "rgb(18, 25, 27)" {
		t.Errorf("in the dark the paper is %s", bg)
	}
	b.do(chromedp.KeyEvent("2"))
	b.until(`location.pathname.endsWith("/readings") && document.readyState === "complete"`)
	b.do(chromedp.KeyEvent("/"))
	b.until(`document.activeElement.matches("[data-find]")`)
	eval[string](b, `(document.activeElement.value = "")`) // the protocol sends the character apart from its key
	b.do(chromedp.KeyEvent("finished radiused"))
	b.until(`document.querySelector("[data-count]").textContent === "6 of 48"`)
	if n := eval[int](b, `[...document.querySelectorAll("[data-rows] tbody tr")].filter((r) => r.offsetHeight > 0).length`); n != 6 {
		t.Errorf("%d rows are shown", n)
	}
	b.quiet()
}

// What someone who cannot see the page depends on: each field has a name, each picture a text, each table its headings.
func TestNamesForEveryField(t *testing.T) {
	b := newBrowser(t)
	a := newApp(t, instant())
	importSix(t, a)
	site := httptest.NewServer(newSite(t, a))
	defer site.Close()
	for _, path := range []string{"/", "/jobs/six", "/jobs/six/readings", "/jobs/six/readings/r01", "/jobs/six/sittings", "/jobs/six/sittings/new", "/jobs/six/sittings/s1/walk", "/bench", "/bench/sensors?job=six", "/book-in", "/jobs/six/engine", "/jobs/six/handover", "/jobs/six/record", "/bench/checks", "/bench/checks/plate", "/bench/checks/people", "/bench/checks/shops"} {
		b.do(chromedp.Navigate(site.URL + path))
		out := eval[string](b, `(() => {
			for (const d of document.querySelectorAll("details")) d.open = true;
			const bad = [], name = (el) => el.getAttribute("aria-label") || el.title || el.innerText?.trim() || [...(el.labels ?? [])].map((l) => l.innerText).join("");
			for (const el of document.querySelectorAll("a, button, input:not([type=hidden]), select, iframe")) if (!name(el)) bad.push("no name: " + el.outerHTML.slice(0, 80));
			for (const el of document.querySelectorAll("svg:not([aria-hidden=true])")) if (el.getAttribute("role") !== "img" || !el.getAttribute("aria-label")) bad.push("no text: svg");
			for (const el of document.querySelectorAll("table")) if (!el.querySelector("thead th[scope=col]")) bad.push("no headings: table");
			for (const el of document.querySelectorAll("section")) if (!document.getElementById(el.getAttribute("aria-labelledby")) && !el.closest(".failure")) bad.push("section without heading");
			const ids = [...document.querySelectorAll("[id]")].map((el) => el.id);
			for (const id of ids) if (ids.indexOf(id) !== ids.lastIndexOf(id)) bad.push("id twice: " + id);
			let level = 1;
			for (const h of document.querySelectorAll("main h1, main h2, main h3")) { const n = +h.tagName[1]; if (n > level + 1) bad.push("heading skips a level: " + h.innerText); level = n; }
			return bad.join("; ");
		})()`)
		if out != "" {
			t.Errorf("%s: %s", path, out)
		}
	}
}
