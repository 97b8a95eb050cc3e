package web_test

import (
	"context"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"runnel/assess"
	"runnel/internal/app"
	"runnel/job"
)

// pulled computes the test job's engine in truth, at three speeds; the readings stay made up. Before and after the
// work are the same engine.
func pulled() app.Compute {
	c := instant()
	c.Solve = func(ctx context.Context, j job.Job, _ func(string, int, int)) (assess.Assessment, error) {
		a := madeUp(j)
		t, err := assess.TieCard(*j.Engine)
		if err != nil {
			return a, err
		}
		points, err := t.Pull(ctx, []float64{50, 75, 100}, 0, nil)
		if err != nil {
			return a, err
		}
		a.Pull = madeUpPull()
		a.Pull.Before, a.Pull.After, a.Pull.Change = points, points, nil
		a.Pull.Dyno = &assess.DynoFit{
			Misfit: 1.1, Note: "Fitted to two points of a run.", Points: []assess.DynoCompare{{Speed: 3000, Torque: 250, Before: 260, After: 252}},
			Unknowns: []assess.DynoUnknown{{Name: "friction, factor", Prior: 1, PriorU: 0.1, Value: 1.12, U: 0.06}}, Warnings: []string{"made up"},
		}
		return a, nil
	}
	return c
}

const answered = `document.querySelector(".try-say")?.dataset.stage === `

// The page of changes in a real browser: a slider answers coarsely, then refined, then with its band; the old curve stays; a reset
// takes it back; typing and keys do what dragging does; nonsense is refused in words; the waves move.
func TestTryChanges(t *testing.T) {
	b := newBrowser(t)
	a := newApp(t, pulled())
	importSix(t, a)
	site := httptest.NewServer(newSite(t, a))
	defer site.Close()
	b.do(chromedp.EmulateViewport(1280, 800))
	b.inspect(site.URL+"/jobs/six/engine", "engine-with-run-wide-light", 200)
	b.do(chromedp.Navigate(site.URL + "/jobs/six/engine/try"))
	b.until(`document.querySelectorAll("[data-slide]:not([hidden])").length === 9 && !document.querySelector(".asking")`)
	if text := eval[string](b, `document.querySelector(".knob.missing").innerText`); !strings.Contains(text, "throttle_bore") {
		t.Errorf("an engine without a throttle bore says %q", text)
	}
	// Two presses of a key on the slider of the runners' length, five millimetres each.
	b.do(chromedp.Focus(`[data-knob] input[aria-label="Runner length"]`), chromedp.KeyEvent("\u0303"), chromedp.KeyEvent("\u0303"))
	if v := eval[string](b, `document.getElementById("k-runner.length").value`); v != "340.0" {
		t.Errorf("after two presses the runner is %q mm long", v)
	}
	for _, stage := range []string{"coarse", "refined", "banded"} {
		b.until(`["` + stage + `", "banded"].includes(document.querySelector(".try-say").dataset.stage) && document.querySelector(".try-say").innerText.includes("rpm")`)
	}
	b.patient(answered + `"banded"`)
	for _, want := range []string{
		`!!document.querySelector("#s-change")`, `document.querySelector("#try-show svg").outerHTML.includes("as it is")`,
		`document.querySelector("#try-show svg").outerHTML.includes("changed")`, `document.querySelector("#try-rest").innerText.includes("type approval")`,
		`location.search.includes("runner.length=340.0")`,
	} {
		if !eval[bool](b, want) {
			t.Errorf("not so: %s", want)
		}
	}
	b.shot("try-answer-wide-light")
	b.do(chromedp.Click(`[data-knob] [data-back]:not([hidden])`))
	b.until(`document.getElementById("k-runner.length").value === "330.0" && document.querySelector(".try-say").innerText.includes("as it is") === false && document.querySelector(".try-say h2").innerText.includes("The engine after")`)
	if !eval[bool](b, `document.activeElement.matches("[data-slide]")`) {
		t.Error("after a reset the focus is nowhere")
	}
	// Typed, far out of reach.
	put(b, "k-compression", "99")
	b.until(`document.querySelector(".try-trouble")?.innerText.includes("out of reach")`)
	for _, line := range b.heard() {
		if !strings.Contains(line, "422") { // the browser itself logs the status of a refused question
			t.Errorf("the console says %s", line)
		}
	}
	put(b, "k-compression", "11.5")
	b.until(`document.querySelector("#try-rest").innerText.includes("Detonation")`)
	b.patient(answered + `"banded"`)
	b.do(chromedp.Click(`[data-cycle-form] button`))
	b.patient(`document.querySelectorAll("[data-player] svg rect").length > 10`)
	was := eval[string](b, `document.querySelector("[data-say]").textContent`)
	b.do(chromedp.Click(`[data-play]`))
	b.until(`document.querySelector("[data-say]").textContent !== ` + quoted(was))
	b.do(chromedp.Click(`[data-play]`))
	if !eval[bool](b, `document.querySelector("[data-play]").getAttribute("aria-pressed") === "false"`) {
		t.Error("a second press does not pause")
	}
	b.shot("try-waves-wide-light")
	b.quiet()
	tablet(b, site.URL)
}

// tablet does with a finger what the mouse and the keys did: the slider follows it, the curves stay in sight, the picture of the cycle
// writes the reader's units where its lines are.
func tablet(b *browser, site string) {
	b.t.Helper()
	b.do(chromedp.EmulateViewport(820, 1180))
	b.inspect(site+"/jobs/six/engine", "engine-with-run-tablet-light", 200)
	b.do(chromedp.Navigate(site + "/jobs/six/engine/try"))
	b.until(`document.querySelectorAll("[data-slide]:not([hidden])").length === 9 && !document.querySelector(".asking")`)
	// The sliders stand below the curves, which are as high as they are: the finger goes where the slider is.
	const at = `(() => { const el = document.querySelector('input[aria-label="Runner length"]'); el.scrollIntoView({ block: "center" }); const r = el.getBoundingClientRect(); return `
	x, y := eval[float64](b, at+"r.left + 0.75 * r.width; })()"), eval[float64](b, at+"r.top + r.height / 2; })()")
	for _, step := range []input.DispatchTouchEventParams{
		{Type: input.DispatchTouchEventTypeTouchStart, TouchPoints: []*input.TouchPoint{{X: x, Y: y}}},
		{Type: input.DispatchTouchEventTypeTouchMove, TouchPoints: []*input.TouchPoint{{X: x + 20, Y: y}}},
		{Type: input.DispatchTouchEventTypeTouchEnd, TouchPoints: []*input.TouchPoint{}},
	} {
		if _, err := chromedp.Call(b.ctx, input.DispatchTouchEvent, step); err != nil {
			b.t.Fatal(err)
		}
	}
	b.until(`+document.getElementById("k-runner.length").value > 330`)
	b.patient(answered + `"banded" && document.querySelector(".try-say").innerText.includes("→")`)
	if !eval[bool](b, `(() => { const r = document.querySelector("#try-show svg").getBoundingClientRect(); return r.bottom > 0 && r.top < innerHeight; })()`) {
		b.t.Error("the curves are out of sight where the finger is")
	}
	b.shot("try-answer-tablet-light")
	b.do(chromedp.Click(`[data-cycle-form] button`))
	b.patient(`document.querySelectorAll("[data-player] svg rect").length > 10`)
	// Each line of the pressure's picture has its number at its own height.
	if off := eval[float64](b, `(() => { const svg = document.querySelector("[data-player] svg"); const lines = [...svg.querySelectorAll(".zero")].map((l) => +l.getAttribute("y1")); const texts = [...svg.querySelectorAll("text")].filter((t) => /^[+−]?[0-9.]+$/.test(t.textContent)).map((t) => +t.getAttribute("y") - 4); return lines.length === 3 && texts.length === 3 ? Math.max(...lines.map((y, i) => Math.abs(y - texts[i]))) : 1e9; })()`); off > 0.1 {
		b.t.Errorf("a number stands %g off its line", off)
	}
	b.shot("try-waves-tablet-light")
	b.quiet()
}

// patient waits longer than until does, for what a busy machine computes.
func (b *browser) patient(js string) {
	b.t.Helper()
	for range 600 {
		if eval[bool](b, "(() => { try { return !!("+js+"); } catch { return false; } })()") {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	b.t.Fatalf("never true: %s", js)
}

func put(b *browser, id, text string) {
	eval[bool](b, `(() => { const el = document.getElementById("`+id+`"); el.value = "`+text+`"; el.dispatchEvent(new Event("input", { bubbles: true })); return true; })()`)
}

func quoted(s string) string { return `"` + strings.ReplaceAll(s, `"`, `\"`) + `"` }

// The page at three sizes, light and dark: nothing sticks out, fields have names, fingers find their marks.
func TestTryChangesSizes(t *testing.T) {
	b := newBrowser(t)
	a := newApp(t, pulled())
	importSix(t, a)
	h := newSite(t, a)
	for _, theme := range []string{"light", "dark"} {
		site := themed(t, h, theme)
		for _, size := range sizes {
			name := "try-" + size.name + "-" + theme
			b.do(chromedp.EmulateViewport(size.width, size.height))
			b.inspect(site+"/jobs/six/engine/try?in=metric&cam.duration=220", name+"-first", 200)
			b.patient(answered + `"banded"`)
			b.do(chromedp.Click(`[data-cycle-form] button`))
			b.patient(`!!document.querySelector("[data-player] svg")`)
			if out := eval[string](b, overflowing); out != "" {
				t.Errorf("%s: %s", name, out)
			}
			if out := eval[string](b, unnamed); out != "" {
				t.Errorf("%s: %s", name, out)
			}
			b.shot(name)
			b.quiet()
		}
	}
}

// unnamed lists fields without a name, pictures without a text, and marks too small for a finger.
const unnamed = `(() => {
	const bad = [], name = (el) => el.getAttribute("aria-label") || el.title || el.innerText?.trim() || [...(el.labels ?? [])].map((l) => l.innerText || l.textContent).join("");
	for (const el of document.querySelectorAll("main a, main button, main input:not([type=hidden]), main select, main summary")) {
		if (!name(el)) bad.push("no name: " + el.outerHTML.slice(0, 90));
	}
	for (const el of document.querySelectorAll("main svg:not([aria-hidden=true])")) if (el.getAttribute("role") !== "img" || !el.getAttribute("aria-label")) bad.push("no text: svg");
	for (const el of document.querySelectorAll(".knob input, .knob-back:not([hidden]), .player button, .player input")) {
		const r = el.getBoundingClientRect();
		if (r.height > 0 && r.height < 34) bad.push(Math.round(r.height) + " px high: " + el.outerHTML.slice(0, 70));
	}
	const ids = [...document.querySelectorAll("[id]")].map((el) => el.id);
	for (const id of ids) if (ids.indexOf(id) !== ids.lastIndexOf(id)) bad.push("id twice: " + id);
	return bad.join("; ");
})()`
