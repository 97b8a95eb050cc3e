package web_test

import (
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"runnel/demo"
	"runnel/internal/app"
)

// openDemoBench opens the live bench on a new sitting of the demo job, with its simulated rig.
func openDemoBench(t *testing.T) *app.App {
	t.Helper()
	a := newApp(t, app.Compute{})
	if _, err := a.ImportFolder(t.Context(), demo.FS); err != nil {
		t.Fatal(err)
	}
	if _, err := a.BeginSitting(t.Context(), "hill-climb-six", app.NewSitting{ID: "live", Air: app.AirTyped{Pressure: "99800 Pa", Temperature: "21 °C", Humidity: "45 %"}}); err != nil {
		t.Fatal(err)
	}
	if err := a.OpenBench(t.Context(), "hill-climb-six", "live"); err != nil {
		t.Fatal(err)
	}
	return a
}

// benchSite serves pages that hold a stream open.
func benchSite(t *testing.T, a *app.App) *httptest.Server {
	t.Helper()
	site := httptest.NewServer(newSite(t, a))
	t.Cleanup(func() {
		site.CloseClientConnections() // a stream ends only with its page
		site.Close()
	})
	return site
}

// tooSmall lists what is too small to be touched with dirty hands.
const tooSmall = `[...document.querySelectorAll(".bench button")].filter((b) => b.offsetParent && (b.offsetHeight < 64 || b.offsetWidth < 44)).map((b) => (b.textContent || b.ariaLabel) + " " + b.offsetWidth + "×" + b.offsetHeight).join("; ")`

// scheme lets the browser ask for light or dark pages.
func (b *browser) scheme(name string) {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: name}},
	})
	if err != nil {
		b.t.Fatal(err)
	}
}

// shotView saves a picture of what is on the screen when RUNNEL_SHOTS names a directory.
func (b *browser) shotView(name string) {
	b.t.Helper()
	dir := os.Getenv("RUNNEL_SHOTS")
	if dir == "" {
		return
	}
	time.Sleep(300 * time.Millisecond) // the needle is drawn anew
	png, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644); err != nil {
		b.t.Fatal(err)
	}
}

// waitFor waits longer than until does: a needle takes its time.
func (b *browser) waitFor(js string) {
	b.t.Helper()
	for range 400 {
		if eval[bool](b, "(() => { try { return !!("+js+"); } catch { return false; } })()") {
			return
		}
		time.Sleep(75 * time.Millisecond)
	}
	b.t.Fatalf("never true: %s; the page says %q", js, eval[string](b, `document.querySelector("main").innerText`))
}

// The page that opens the bench: a simulated rig is one touch away in an invented job.
func TestOpeningTheBench(t *testing.T) {
	b := newBrowser(t)
	a := newApp(t, app.Compute{})
	site := benchSite(t, a)
	b.inspect(site.URL+"/bench", "bench-choice-empty", http.StatusOK)
	if _, err := a.ImportFolder(t.Context(), demo.FS); err != nil {
		t.Fatal(err)
	}
	for _, size := range sizes {
		b.do(chromedp.EmulateViewport(size.width, size.height))
		b.inspect(site.URL+"/bench", "bench-choice-"+size.name, http.StatusOK)
	}
	eval[bool](b, `(document.querySelector('[name="then"]').form.requestSubmit(), true)`)
	b.waitFor(`location.pathname === "/bench" && window.runnelBench?.needle?.flow_m3_s > 0`)
	eval[bool](b, `(document.querySelector(".bench-menu").open = true)`)
	b.shotView("bench-menu-phone")
	if out := eval[string](b, overflowing); out != "" {
		t.Error(out)
	}
	b.do(chromedp.Navigate(site.URL + "/jobs/hill-climb-six/bench"))
	b.waitFor(`window.runnelBench?.view`)
	eval[bool](b, `(document.querySelector('form[action="/bench/close"]').requestSubmit(), true)`)
	b.waitFor(`location.pathname.endsWith("/walk")`)
	if a.Bench().Open {
		t.Error("the bench is still open")
	}
	b.quiet()
}

// The bench in each of its states, at three sizes, light and dark.
func TestBenchInABrowser(t *testing.T) {
	b := newBrowser(t)
	a := openDemoBench(t)
	site := benchSite(t, a)
	look := func(name string) {
		t.Helper()
		for _, size := range sizes {
			for _, scheme := range []string{"light", "dark"} {
				b.do(chromedp.EmulateViewport(size.width, size.height))
				b.scheme(scheme)
				if out := eval[string](b, overflowing); out != "" {
					t.Errorf("%s, %s: %s", name, size.name, out)
				}
				if out := eval[string](b, tooSmall); out != "" {
					t.Errorf("%s, %s, too small to touch: %s", name, size.name, out)
				}
				b.shotView("bench-" + name + "-" + size.name + "-" + scheme)
			}
		}
	}
	b.do(chromedp.EmulateViewport(1280, 800), chromedp.Navigate(site.URL+"/bench"))
	b.until(`document.querySelector('[data-act="main"]').textContent === "Blower is off"`)
	look("zero")
	for _, step := range []string{"zero", "leakage", "check"} {
		if _, err := a.DoBench(t.Context(), app.BenchDo{Do: "skip", Step: step, Why: "to see the bench"}); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := a.DoBench(t.Context(), app.BenchDo{Do: "step", Step: app.StepReadings}); err != nil {
		t.Fatal(err)
	}
	b.until(`document.querySelector('[data-act="main"]').textContent === "Make a plan"`)
	b.do(chromedp.KeyEvent(" "))
	b.until(`document.querySelector("dialog.plan").open`)
	look("plan")
	b.do(chromedp.EmulateViewport(1280, 800), chromedp.Click(chromedp.CSS(`dialog.plan button[type="submit"]`)))
	b.until(`document.querySelectorAll(".bench-queue li").length === 18 && !document.querySelector("dialog.plan").open`)
	b.do(chromedp.KeyEvent(" "))
	b.waitFor(`document.querySelector(".is-taking .big-state").textContent.includes("Settling")`)
	look("settling")
	b.waitFor(`document.querySelector(".is-settled")`)
	look("settled")
	b.quiet()
}

// Sensors are set up in the page: read as typed, calibrated at two points, saved.
func TestSensorsInABrowser(t *testing.T) {
	b := newBrowser(t)
	a := openDemoBench(t)
	h := newSite(t, a)
	site := benchSite(t, a)
	b.do(chromedp.EmulateViewport(1280, 800), chromedp.Navigate(site.URL+"/bench/sensors?job=hill-climb-six"))
	b.until(`document.querySelector("[data-raw]").textContent.endsWith(" Pa")`) // what the live bench reads
	eval[bool](b, `(document.querySelector('[name="channel-1"]').value = "", document.querySelector('[name="do"][value="try"]').click(), true)`)
	b.until(`document.querySelector("#channel-1-wrong")`)
	eval[bool](b, `(document.querySelector('[name="channel-1"]').value = "test_dp", document.querySelector('[name="do"][value="try"]').click(), true)`)
	b.until(`document.querySelector('[name="do"][value="stop"]') && document.querySelectorAll("[data-raw]")[1].textContent.endsWith(" inH2O")`)
	if text := eval[string](b, `document.querySelectorAll("[data-value]")[1].textContent`); !strings.HasSuffix(text, " kPa") {
		t.Errorf("corrected it is %q", text)
	}
	// The same value at both points makes no line; the page says so.
	eval[bool](b, `(() => {
		const card = document.querySelectorAll(".sensor")[1];
		card.querySelector("details").open = true;
		card.querySelector('[data-true="a"]').value = "0 Pa";
		card.querySelector('[data-true="b"]').value = "28 inH2O";
		return true;
	})()`)
	b.until(`!document.querySelectorAll(".sensor")[1].querySelector("[data-take]").disabled`)
	time.Sleep(4 * time.Second) // a point is the mean of three seconds
	eval[bool](b, `([...document.querySelectorAll(".sensor")[1].querySelectorAll("[data-take]")].forEach((x) => x.click()), true)`)
	b.until(`document.querySelectorAll("[data-two-wrong]")[1].textContent.includes("further apart")`)
	for _, line := range b.heard() {
		if !strings.Contains(line, "422") {
			t.Errorf("the console says %s", line)
		}
	}
	for _, theme := range []string{"light", "dark"} {
		page := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			r.AddCookie(&http.Cookie{Name: "runnel_theme", Value: theme})
			h.ServeHTTP(w, r)
		}))
		for _, size := range sizes {
			b.do(chromedp.EmulateViewport(size.width, size.height))
			b.inspect(page.URL+"/bench/sensors?job=hill-climb-six", "sensors-"+size.name+"-"+theme, http.StatusOK)
			b.do(chromedp.Navigate("about:blank"))
		}
		page.CloseClientConnections()
		page.Close()
	}
	b.do(chromedp.EmulateViewport(1280, 800), chromedp.Navigate(site.URL+"/bench/sensors?job=hill-climb-six"))
	eval[bool](b, `(document.querySelector('[name="u-0"]').value = "0.3 %", document.querySelector('[name="do"][value="save"].tall').click(), true)`)
	b.until(`document.querySelector(".note")?.textContent.includes("written into the bench card")`)
	j, err := a.Facts(t.Context(), "hill-climb-six")
	if err != nil || j.Bench.Sensors[0].U != "0.3 %" {
		t.Errorf("%v, %v", j.Bench.Sensors[0].U, err)
	}
}
