//go:build linux

package web_test

import (
	"fmt"
	"net"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"runnel/internal/app"
	"runnel/internal/capture/capturetest"
	"runnel/internal/capture/rig"
)

// What goes wrong with the sensors is named on the screen within two seconds of its begin, and goes away when it is mended.
func TestFaultsOnTheScreen(t *testing.T) {
	if testing.Short() {
		t.Skip("faults take their time")
	}
	t.Parallel()
	b := newBrowser(t)
	port := filepath.Join(t.TempDir(), "port")
	r := newRigBench(t, rig.NewPty(port))
	a := newApp(t, app.Compute{})
	if _, err := a.ImportFolder(t.Context(), rigFolder(t, rig.Card(rig.SerialSources(port)), []string{"1"})); err != nil {
		t.Fatal(err)
	}
	for _, step := range []string{app.StepZero, app.StepLeakage, app.StepCheck} {
		_ = a.Skip(t.Context(), app.SittingRef{Job: "rig-job", Sitting: "before"}, step, "to see faults")
	}
	if err := a.OpenBench(t.Context(), "rig-job", "before"); err != nil {
		t.Fatal(err)
	}
	if _, err := a.DoBench(t.Context(), app.BenchDo{Do: "plan", Plan: app.PlanTyped{Rig: "bare", Round: "finished", Repeats: "3"}}); err != nil {
		t.Fatal(err)
	}
	b.do(chromedp.EmulateViewport(1280, 800), chromedp.Navigate(benchSite(t, a).URL+"/bench"))
	b.waitFor(`window.runnelBench?.needle?.flow_m3_s > 0`)
	time.Sleep(3 * time.Second) // the life signs learn how the channels behave
	b.do(chromedp.KeyEvent(" "))
	b.waitFor(`document.querySelector(".is-taking")`)
	for _, c := range []struct{ command, kind string }{
		{"fault freeze", "frozen"},
		{"fault clip", "out of range"},
		{"fault spike", "spikes"},
		{"fault rate", "wrong rate"},
		{"fault sag", "test pressure not held"},
		{"fault garble", "unreadable"},
		{"fault clock", "clock step"},
		{"fault silent", "unplugged"},
		{"fault unplug", "unplugged"},
	} {
		named := fmt.Sprintf(`document.querySelector('.bench-alerts [data-fault=%q]')`, c.kind)
		from := time.Now()
		r.do(c.command)
		b.waitFor(named)
		took := time.Since(from)
		t.Logf("%s: %q on the screen after %.2f s", c.command, c.kind, took.Seconds())
		if took > 2500*time.Millisecond { // two seconds, and up to a half for the browser to be asked
			t.Errorf("%s: %q came on the screen after %v", c.command, c.kind, took)
		}
		if c.kind == "unplugged" {
			b.shotView("bench-fault-" + strings.ReplaceAll(c.command, " ", "-"))
		}
		r.do("well")
		b.waitFor(`!` + named)
	}
	b.waitFor(`document.querySelector(".is-settled")`) // and the reading goes on by itself
}

// The server goes away and comes again: the page says so, and goes on by itself on the sitting where it was.
func TestBenchComesBack(t *testing.T) {
	if testing.Short() {
		t.Skip("a needle takes its time")
	}
	t.Parallel()
	b := newBrowser(t)
	a := openDemoBench(t)
	h := newSite(t, a)
	place := capturetest.FreePlace(t)
	first := serveAt(t, place, h)
	b.do(chromedp.EmulateViewport(1280, 800), chromedp.Navigate("http://"+place+"/bench"))
	b.waitFor(`window.runnelBench?.needle?.flow_m3_s > 0`)
	first()
	b.waitFor(`document.querySelector('.bench-alerts [data-fault="lost"]')`)
	b.do(chromedp.KeyEvent(" "))
	b.waitFor(`document.querySelector('.bench-alerts [data-fault="error"]')`) // a touch that did not arrive is said
	second := serveAt(t, place, h)
	defer second()
	b.waitFor(`!document.querySelector('.bench-alerts [data-fault="lost"]')`)
	if eval[bool](b, `document.querySelector('[data-act="main"]').disabled`) {
		t.Error("the bench is back and cannot be touched")
	}
}

// serveAt serves at a place until the answer is called.
func serveAt(t *testing.T, place string, h http.Handler) func() {
	t.Helper()
	var c net.ListenConfig
	ln, err := c.Listen(t.Context(), "tcp", place)
	if err != nil {
		t.Fatal(err)
	}
	s := &http.Server{Handler: h, ReadHeaderTimeout: 5 * time.Second}
	go func() { _ = s.Serve(ln) }()
	return func() { _ = s.Close() }
}
