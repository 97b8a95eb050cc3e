//go:build linux

package web_test

import (
	"database/sql"
	"fmt"
	"net"
	"net/http"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"runnel/demo"
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
	for _, kind := range []string{"frozen", "out of range", "spikes", "wrong rate", "test pressure not held", "unreadable", "clock step", "unplugged"} {
		recorded(t, b, a, "before", kind)
	}
}

// recorded holds that a fault was written down with its begin and its end, and that the page of the sitting tells it.
func recorded(t *testing.T, b *browser, a *app.App, sitting, kind string) {
	t.Helper()
	for range 100 {
		all, err := a.BenchFaults(t.Context(), "rig-job", sitting)
		if err != nil {
			t.Fatal(err)
		}
		if slices.ContainsFunc(all, func(f app.BenchFault) bool {
			return f.Kind == kind && f.Text != "" && f.Lasted() > 0 && f.Lasted() < 600
		}) {
			b.waitFor(`fetch("/jobs/rig-job/sittings/` + sitting + `/walk").then((a) => a.text()).then((text) => { window.walkText = text; }), window.walkText?.toLowerCase().includes(` + strconv.Quote(kind) + `)`)
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	t.Errorf("%q was not recorded with its begin and end", kind)
}

// onRig opens the bench page of a rig job whose steps are skipped, and waits for the needle.
func onRig(t *testing.T, out rig.Output, o rig.Options, card string, c app.Config) (*browser, *app.App) {
	t.Helper()
	b := newBrowser(t)
	newRigBenchOf(t, out, o)
	c.Now, c.Who = time.Now, "tester"
	a, err := app.Open(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = a.Close() })
	if _, err := a.ImportFolder(t.Context(), rigFolder(t, card, []string{"1"})); err != nil {
		t.Fatal(err)
	}
	if err := a.OpenBench(t.Context(), "rig-job", "before"); err != nil {
		t.Fatal(err)
	}
	b.do(chromedp.EmulateViewport(1280, 800), chromedp.Navigate(benchSite(t, a).URL+"/bench"))
	b.waitFor(`window.runnelBench?.needle?.flow_m3_s > 0`)
	return b, a
}

// named holds that a fault comes on the screen in time, is gone when it is mended, and was recorded.
func named(t *testing.T, b *browser, a *app.App, kind string, spoil, mend func()) {
	t.Helper()
	css := fmt.Sprintf(`document.querySelector('.bench-alerts [data-fault=%q]')`, kind)
	spoil() // it may take a while to come about, and counts from then
	from := time.Now()
	b.waitFor(css)
	took := time.Since(from)
	t.Logf("%q on the screen after %.2f s", kind, took.Seconds())
	if took > 2500*time.Millisecond { // two seconds, and up to a half for the browser to be asked
		t.Errorf("%q came on the screen after %v", kind, took)
	}
	mend()
	b.waitFor(`!` + css)
	recorded(t, b, a, "before", kind)
}

// The broker goes away and comes again.
func TestBrokerGoneOnTheScreen(t *testing.T) {
	if testing.Short() {
		t.Skip("faults take their time")
	}
	t.Parallel()
	place, broker := capturetest.Broker(t)
	b, a := onRig(t, rig.NewMQTT(place, "bench/rig", false), rig.Options{Seed: rigSeed}, rig.Card(rig.MQTTSources(place, "bench/rig", "5")), app.Config{Path: filepath.Join(t.TempDir(), "runnel.db")})
	named(t, b, a, "broker gone", broker.Stop, broker.Start)
}

// A second device sends on the same topics: a broker does not tell who sends, so that it shows as a wrong rate, in words that say so.
func TestSecondDeviceOnTheScreen(t *testing.T) {
	if testing.Short() {
		t.Skip("faults take their time")
	}
	t.Parallel()
	place, _ := capturetest.Broker(t)
	b, a := onRig(t, rig.NewMQTT(place, "bench/rig", false), rig.Options{Seed: rigSeed}, rig.Card(rig.MQTTSources(place, "bench/rig", "5")), app.Config{Path: filepath.Join(t.TempDir(), "runnel.db")})
	second := newRigBench(t, rig.NewMQTT(place, "bench/rig", false))
	second.do("fault unplug")
	time.Sleep(4 * time.Second) // the life signs learn the rate
	named(t, b, a, "wrong rate", func() { second.do("well") }, func() {
		if text := eval[string](b, `document.querySelector('.bench-alerts [data-fault="wrong rate"]').textContent`); !strings.Contains(text, "second device") {
			t.Errorf("it says %q", text)
		}
		second.do("fault unplug")
	})
}

// The disk is full: it is named, nothing is said to be kept, what came waits, and the fault is recorded once there is room.
func TestDiskFullOnTheScreen(t *testing.T) {
	if testing.Short() {
		t.Skip("faults take their time")
	}
	t.Parallel()
	port, path := filepath.Join(t.TempDir(), "port"), filepath.Join(t.TempDir(), "runnel.db")
	// The disk is full for Runnel when a write asks for room and finds none. At 20 Hz half a second of samples takes 500 bytes, and
	// up to eight of them go into the page of 4 KiB that is there already: they are kept, and nothing is to be named. At 200 Hz
	// each asks for a page.
	b, a := onRig(t, rig.NewPty(port), rig.Options{Seed: rigSeed, Rate: 200}, rig.Card(rig.SerialSources(port)), app.Config{Path: path, Bound: 1500})
	db, err := sql.Open("sqlite", "file:"+path+"?_pragma=busy_timeout(10000)")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = db.Close() }()
	run := func(query string) {
		t.Helper()
		if _, err := db.ExecContext(t.Context(), query); err != nil {
			t.Fatal(err)
		}
	}
	named(t, b, a, "disk full", func() { // something else takes the room
		run(`CREATE TABLE ballast (b BLOB)`)
		run(`INSERT INTO ballast VALUES (zeroblob(8000000))`)
	}, func() {
		if _, err := a.ImportFolder(t.Context(), demo.FS); err == nil {
			t.Error("a folder was said to be kept on a full disk")
		}
		run(`DROP TABLE ballast`)
	})
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
