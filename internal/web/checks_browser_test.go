package web_test

import (
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"runnel/internal/app"
	"runnel/job"
)

const exampleBench = "../../examples/bench/"

// send chooses a file in the form of a page that works something out.
func (b *browser) send(file string) {
	b.t.Helper()
	abs, err := filepath.Abs(file)
	if err != nil {
		b.t.Fatal(err)
	}
	b.until(`document.readyState === "complete" && document.querySelector("[data-pick] input[type=file]")`)
	b.do(chromedp.SetUploadFiles(chromedp.CSS(`[data-pick] input[type=file]`), []string{abs}))
}

// A calibration comes in as a file, is worked out as the core works it out, kept, put on the shop's card after a look at what would
// change, and stands in the history; the card before comes back. Then every page of the checks, light and dark, at three sizes.
func TestChecksOfTheBenchInABrowser(t *testing.T) {
	t.Parallel()
	b := newBrowser(t)
	a := newApp(t, instant())
	importSix(t, a)
	card, err := os.ReadFile("testdata/six/bench.toml")
	if err != nil {
		t.Fatal(err)
	}
	if err := a.SaveShopText(t.Context(), app.ShopEdit{Why: "begun"}, string(card)); err != nil {
		t.Fatal(err)
	}
	site := httptest.NewServer(newSite(t, a))
	defer site.Close()
	b.do(chromedp.EmulateViewport(1280, 800), chromedp.Navigate(site.URL+"/bench/card"))
	b.until(`document.readyState === "complete" && document.querySelector('main a[href="/bench/checks"]')`)
	eval[bool](b, `(document.querySelector('main a[href="/bench/checks"]').click(), true)`)
	b.until(`document.readyState === "complete" && location.pathname === "/bench/checks" && document.querySelector("#kept")`)
	b.send(exampleBench + "plates.toml")
	b.until(`document.querySelector("[data-coefficient]")`)
	sameAsTheCore(t, b)
	eval[bool](b, `(document.querySelector('[value="keep"]').click(), true)`)
	b.until(`document.readyState === "complete" && document.querySelector(".note")?.textContent.includes("kept in the shop's folder")`)
	b.shot("checks-kept")
	eval[bool](b, `(document.querySelector('input[name="meter"]').click(), document.querySelector('form[method="get"] button').click(), true)`)
	b.until(`location.pathname.endsWith("/card") && document.querySelector(".comes")`)
	if got := eval[string](b, `[...document.querySelectorAll(".comes code")].map((x) => x.textContent).join("\n")`); !strings.Contains(got, "[[calibrations]]") || !strings.Contains(got, "calibration = ") {
		t.Errorf("the page says that this comes: %q", got)
	}
	if n := eval[int](b, `document.querySelectorAll(".goes").length`); n != 0 {
		t.Errorf("%d lines of the card go", n)
	}
	if s, err := a.ShopBench(t.Context()); err != nil || s.Text != string(card) {
		t.Errorf("the card was changed before anyone agreed: %v", err)
	}
	b.shot("checks-onto-card")
	b.fill("#put-why", "spring")
	eval[bool](b, `(document.querySelector('[value="put"]').click(), true)`)
	b.until(`document.querySelector(".note")?.textContent.includes("on the shop's bench card")`)
	s, err := a.ShopBench(t.Context())
	if err != nil || len(s.Card.Calibrations) != 1 || s.Card.Meters[0].Calibration != s.Card.Calibrations[0].ID || s.States[0].Why != "spring" {
		t.Errorf("the card is %+v, %v", s.Card, err)
	}
	b.do(chromedp.Navigate(site.URL + "/bench/checks"))
	b.until(`document.querySelector("#kept-list")?.innerText.includes("1 March 2026")`)
	if got := eval[string](b, `document.querySelector("#kept-list tbody").innerText`); !strings.Contains(got, "Bench 1 against five plates") || !strings.Contains(got, "used by") {
		t.Errorf("the history says %q", got)
	}
	b.quiet()
	b.shot("checks-history")
	for _, theme := range []string{"light", "dark"} {
		url := themed(t, newSite(t, a), theme)
		for _, size := range sizes {
			b.do(chromedp.EmulateViewport(size.width, size.height))
			at := "-" + size.name + "-" + theme
			for _, page := range []struct{ name, path, file, there string }{
				{"calibration", "/bench/checks", "plates.toml", "[data-curves]"},
				{"plate", "/bench/checks/plate", "", "[aria-labelledby]"},
				{"people", "/bench/checks/people", "study.csv", ".fig-pair"},
				{"shops", "/bench/checks/shops", "shops.csv", ".fig"},
			} {
				b.inspect(url+page.path, "checks-"+page.name+at, http.StatusOK)
				if page.file == "" {
					continue
				}
				b.send(exampleBench + page.file)
				b.until(`document.readyState === "complete" && document.querySelector(` + strconv.Quote(page.there) + `)`)
				if out := eval[string](b, overflowing); out != "" {
					t.Errorf("%s%s: %s", page.name, at, out)
				}
				b.quiet()
				b.shot("checks-" + page.name + "-answer" + at)
			}
		}
	}
	// A study is kept with a touch, and has a page that holds on a phone.
	b.do(chromedp.EmulateViewport(390, 844), chromedp.Navigate(site.URL+"/bench/checks/people"))
	b.send(exampleBench + "study.csv")
	b.until(`document.readyState === "complete" && document.querySelector('[value="keep"]')`)
	b.fill("#file-title", "Three people in autumn")
	eval[bool](b, `(document.querySelector('[value="keep"]').click(), true)`)
	b.until(`document.readyState === "complete" && location.pathname.endsWith("-three-people-in-autumn.toml") && document.querySelector(".note")?.textContent.includes("kept in the shop's folder")`)
	if out := eval[string](b, overflowing); out != "" {
		t.Errorf("a kept study: %s", out)
	}
	b.quiet()
	b.shot("checks-study-kept")
	// The card before comes back.
	b.do(chromedp.EmulateViewport(1280, 800), chromedp.Navigate(site.URL+"/bench/card"))
	b.until(`document.readyState === "complete" && document.querySelector('[value="back"]')`)
	b.shot("checks-bring-back")
	eval[bool](b, `(document.querySelector('[value="back"]').click(), true)`)
	b.until(`location.search === "?did=card"`)
	if s, err := a.ShopBench(t.Context()); err != nil || s.Text != string(card) || len(s.States) != 3 {
		t.Errorf("%d states, %v", len(s.States), err)
	}
	b.quiet()
}

// sameAsTheCore compares the numbers of the page with those that the core gives for the same file.
func sameAsTheCore(t *testing.T, b *browser) {
	t.Helper()
	data, err := os.ReadFile(exampleBench + "plates.toml")
	if err != nil {
		t.Fatal(err)
	}
	c, err := job.ReadCalibration("plates.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	want, err := app.Calibrate(c, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	coefs := eval[[]string](b, `[...document.querySelectorAll("[data-coefficient]")].map((x) => x.textContent)`)
	for i, k := range want.Coefficients {
		if text := strconv.FormatFloat(k, 'g', 7, 64); i >= len(coefs) || coefs[i] != text {
			t.Errorf("coefficients %v, the core has %v", coefs, want.Coefficients)
		}
	}
	plain := func(css string) [][]string {
		return eval[[][]string](b, `[...document.querySelectorAll("`+css+` tbody tr")].map((r) => [...r.cells].map((c) => c.innerText.replaceAll("−", "-").replaceAll("+", "").replace(" %", "").trim()))`)
	}
	rows := plain("[data-plates]")
	if len(rows) != len(want.Points) {
		t.Fatalf("%d plates, want %d", len(rows), len(want.Points))
	}
	for i, p := range want.Points {
		for k, v := range []float64{1e3 * p.Known, 1e3 * p.Read, 1e3 * p.Fitted, 100 * p.Residual, 100 * p.UPoint, 100 * p.UCurve} {
			if got, err := strconv.ParseFloat(rows[i][k+1], 64); err != nil || got-v > 0.0051 || v-got > 0.0051 { // half of the last figure shown
				t.Errorf("plate %s: %v, want %v at %d", p.Plate, rows[i], v, k+1)
			}
		}
	}
	curves := plain("[data-curves]")
	for i, k := range want.Candidates {
		if i >= len(curves) || curves[i][0] != k.Model || (curves[i][5] == "chosen") != k.Chosen || (curves[i][2] != "too few plates" && curves[i][2] != strconv.FormatFloat(k.AICc, 'f', 2, 64)) {
			t.Errorf("curve %d of %v, want %+v", i, curves, k)
		}
	}
}
