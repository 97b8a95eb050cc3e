package web_test

import (
	"strings"
	"testing"

	cdp "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"runnel/internal/app"
)

// ears stand in for what a browser without a loudspeaker and a screen does: every call is written down.
const ears = `
window.heard = { said: [], tones: [], locks: 0, released: 0 };
localStorage.setItem("runnel-bench-unit", "L/s");
Object.defineProperty(window, "speechSynthesis", { value: { cancel() {}, speak(u) { heard.said.push(u.text); } } });
window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
window.AudioContext = class {
  currentTime = 0; destination = {};
  createOscillator() { const o = { frequency: { value: 0 }, connect: (x) => x, start() { heard.tones.push(o.frequency.value); }, stop() {} }; return o; }
  createGain() { return { gain: { setValueAtTime() {}, exponentialRampToValueAtTime() {} }, connect: (x) => x }; }
};
Object.defineProperty(navigator, "wakeLock", { value: { request: async (kind) => { if (kind !== "screen") throw new Error(kind); heard.locks++; return { release: async () => { heard.released++; } }; } } });
`

// onDemoBench is the bench page on the simulated rig, its steps skipped, with a plan whose needle has to be steady for two seconds.
func onDemoBench(t *testing.T, before string) (*browser, *app.App) {
	t.Helper()
	b := newBrowser(t)
	a := openDemoBench(t)
	for _, do := range []app.BenchDo{
		{Do: "skip", Step: app.StepZero, Why: "to try"},
		{Do: "skip", Step: app.StepLeakage, Why: "to try"},
		{Do: "skip", Step: app.StepCheck, Why: "to try"},
		{Do: "plan", Plan: app.PlanTyped{Rig: "runner-bare", Round: "received", Repeats: "1", Settle: "2 s"}},
	} {
		if _, err := a.DoBench(t.Context(), do); err != nil {
			t.Fatal(err)
		}
	}
	if before != "" {
		if _, err := chromedp.Call(b.ctx, cdp.AddScriptToEvaluateOnNewDocument, cdp.AddScriptToEvaluateOnNewDocumentParams{Source: before}); err != nil {
			t.Fatal(err)
		}
	}
	b.do(chromedp.EmulateViewport(1280, 800), chromedp.Navigate(benchSite(t, a).URL+"/bench"))
	b.waitFor(`window.runnelBench?.needle?.flow_m3_s > 0 && document.querySelector('[data-act="main"]').textContent === "Runner 1 is open"`)
	return b, a
}

// "Settled" is spoken with its number and beeped once each time, and the screen is kept awake, only when asked for; all three are
// remembered.
func TestSettledByEar(t *testing.T) {
	t.Parallel()
	b, _ := onDemoBench(t, ears)
	settle := func() {
		t.Helper()
		b.do(chromedp.KeyEvent(" "))
		b.waitFor(`document.querySelector(".is-settled")`)
	}
	settle()
	if n := eval[int](b, `heard.said.length + heard.tones.length + heard.locks`); n != 0 {
		t.Errorf("%d calls of voice, beep or wake lock without being asked for", n)
	}
	for _, name := range []string{"beep", "speak", "awake"} {
		eval[bool](b, `(document.querySelector('[data-toggle="`+name+`"]').click(), true)`)
	}
	b.waitFor(`heard.locks === 1 && heard.tones.length === 2 && heard.said.length === 1`) // how it will be, at once
	eval[bool](b, `(heard.said = [], heard.tones = [], true)`)
	b.do(chromedp.KeyEvent("r"))
	b.waitFor(`!document.querySelector(".is-settled")`)
	b.waitFor(`document.querySelector(".is-settled") && heard.said.length > 0`)
	said, tones := eval[string](b, `heard.said.join("|")`), eval[string](b, `heard.tones.join("|")`)
	if !strings.HasPrefix(said, "Settled. ") || !strings.HasSuffix(said, " L/s") || strings.Count(said, "Settled") != 1 {
		t.Errorf("it says %q", said)
	}
	if tones != "660|880" {
		t.Errorf("it beeps %q", tones)
	}
	b.do(chromedp.Reload())
	b.waitFor(`window.runnelBench?.view && heard.locks === 1`) // the page is new, and the screen stays awake
	eval[bool](b, `(document.querySelector('[data-toggle="awake"]').click(), true)`)
	b.waitFor(`heard.released === 1`)
	b.quiet()
}

// Everything by keys: begin, repeat, keep, undo, and through the plan; the record says who did what when and why.
func TestBenchByKeys(t *testing.T) {
	t.Parallel()
	b, a := onDemoBench(t, "")
	press := func(key, then string) {
		t.Helper()
		b.waitFor(`!window.runnelBench.busy`)
		b.do(chromedp.KeyEvent(key))
		b.waitFor(then)
	}
	const arrowRight, arrowLeft = kb.ArrowRight, kb.ArrowLeft
	press(arrowRight, `window.runnelBench.view.chosen === 1`)
	press(arrowRight, `window.runnelBench.view.chosen === 2`)
	press(arrowLeft, `window.runnelBench.view.chosen === 1`)
	press(" ", `document.querySelector(".is-taking")`)
	since := eval[string](b, `String(window.runnelBench.view.since_s)`)
	press("r", `window.runnelBench.view.taking && String(window.runnelBench.view.since_s) !== "`+since+`"`)
	b.waitFor(`document.querySelector(".is-settled")`)
	for range 5 { // the needle may twitch just as the key is pressed
		b.do(chromedp.KeyEvent(" "))
		b.waitFor(`!window.runnelBench.busy`)
		if eval[bool](b, `!document.querySelector(".is-taking")`) {
			break
		}
		b.waitFor(`document.querySelector(".is-settled")`)
	}
	b.waitFor(`window.runnelBench.view.queue[1].reading`)
	id := eval[string](b, `window.runnelBench.view.queue[1].reading`)
	press("u", `!window.runnelBench.view.queue[1].reading && window.runnelBench.view.kept.undone`)
	press("v", `document.querySelector(".big-unit").textContent !== "L/s"`)
	press("p", `document.querySelector("dialog.plan").open`)
	_, log, err := a.History(t.Context(), "hill-climb-six")
	if err != nil {
		t.Fatal(err)
	}
	if l := log[0]; !strings.Contains(l.What, id) || l.Why != "undone at the bench" || l.Who != "tester" || l.At.IsZero() {
		t.Errorf("the undo is recorded as %+v", l)
	}
	if l := log[1]; !strings.Contains(l.What, "reading of opening 2 taken at the bench") || l.Who != "tester" {
		t.Errorf("the reading is recorded as %+v", l)
	}
	// Nothing is overwritten: the reading is there, does not count, and can be brought back; voiding it anew needs a reason.
	ref := app.SittingRef{Job: "hill-climb-six", Sitting: "live"}
	w, err := a.Walk(t.Context(), ref.Job, ref.Sitting)
	if err != nil || len(w.Readings) != 1 || w.Readings[0].Void != "undone at the bench" || w.Readings[0].Trace == "" {
		t.Fatalf("%+v, %v", w.Readings, err)
	}
	if err := a.Unvoid(t.Context(), ref, id); err != nil {
		t.Fatal(err)
	}
	b.waitFor(`window.runnelBench.view.queue[1].reading === "` + id + `"`)
	if err := a.Void(t.Context(), ref, id, ""); err == nil {
		t.Error("a reading was taken out without a reason")
	}
	if err := a.Void(t.Context(), ref, id, "the clay had come loose"); err != nil {
		t.Fatal(err)
	}
	if _, log, err = a.History(t.Context(), "hill-climb-six"); err != nil || log[0].Why != "the clay had come loose" {
		t.Errorf("%+v, %v", log[0], err)
	}
	b.quiet()
}
