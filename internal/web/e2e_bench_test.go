//go:build linux

package web_test

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"github.com/chromedp/chromedp"

	"runnel/assess"
	"runnel/internal/app"
	"runnel/internal/capture/capturetest"
	"runnel/internal/capture/rig"
	"runnel/job"
	"runnel/unit"
)

// A transport is a way from a rig to Runnel.
type transport struct {
	name  string
	out   rig.Output
	about func() rig.Sources
}

func transports(t *testing.T) []transport {
	t.Helper()
	port := filepath.Join(t.TempDir(), "port")
	m := rig.NewModbus(capturetest.FreePlace(t))
	place, _ := capturetest.Broker(t)
	return []transport{
		{"serial", rig.NewPty(port), func() rig.Sources { return rig.SerialSources(port) }},
		{"modbus", m, func() rig.Sources { return rig.ModbusSources(m.Place(), 20) }},
		{"mqtt", rig.NewMQTT(place, "bench/rig", false), func() rig.Sources { return rig.MQTTSources(place, "bench/rig", "5") }},
	}
}

// rigJob is a job whose bench is a rig, with the round "received" flowed on it before.
const rigJob = `format = "runnel-job/1"
id = "rig-job"
title = "Six runners on a simulated bench"
invented = true

[customer]
name = "Test customer (invented)"

[[pieces]]
id = "manifold"
kind = "manifold"
title = "Intake"
openings = ["1", "2", "3", "4", "5", "6"]

[[rounds]]
id = "received"
piece = "manifold"
title = "As received"

[[rounds]]
id = "finished"
piece = "manifold"
title = "Finished"

[[rigs]]
id = "bare"
piece = "manifold"
meter = "plate-60"
test_pressure = "28 inH2O"
blanked = "all other runners"
`

// trueArea is what a runner passes in each round [m²]: finishing gives every runner 4 %.
func trueArea(round, opening string) float64 {
	n, err := strconv.Atoi(opening)
	if err != nil {
		panic(err)
	}
	area := 880e-6 + 6e-6*float64(n)
	if round == "finished" {
		area *= 1.04
	}
	return area
}

// A rigBench is a rig that runs beside the test, and the same rig as it was when the round before was flowed.
type rigBench struct {
	t      *testing.T
	server *rig.Server
}

const rigSeed = 11

func newRigBench(t *testing.T, out rig.Output) *rigBench {
	t.Helper()
	return newRigBenchOf(t, out, rig.Options{Seed: rigSeed})
}

func newRigBenchOf(t *testing.T, out rig.Output, o rig.Options) *rigBench {
	t.Helper()
	r, err := rig.New(o)
	if err != nil {
		t.Fatal(err)
	}
	s, err := rig.NewServer(r, out)
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	wg.Go(func() {
		if err := s.Run(t.Context()); err != nil {
			t.Error(err)
		}
	})
	t.Cleanup(wg.Wait)
	return &rigBench{t, s}
}

func (r *rigBench) do(lines ...string) {
	r.t.Helper()
	for _, line := range lines {
		if _, err := r.server.Do(line); err != nil {
			r.t.Fatalf("%s: %v", line, err)
		}
	}
}

func (r *rigBench) mount(area float64) {
	r.t.Helper()
	r.do("piece " + strconv.FormatFloat(area*1e6, 'f', 3, 64) + " mm2")
}

// rigFolder is the folder of the job. The round "received" was flowed on the same rig, as fast as it can be computed.
func rigFolder(t *testing.T, card string, openings []string) fstest.MapFS {
	t.Helper()
	r, err := rig.New(rig.Options{Seed: rigSeed})
	if err != nil {
		t.Fatal(err)
	}
	at := time.Now().UTC().Add(-24 * time.Hour).Truncate(time.Second)
	s := job.Sitting{
		ID: "before", At: at, By: "test (invented)", File: "sittings/before.toml",
		Air: []job.AirRecord{{At: at, Pressure: 99800, Temperature: 294.15, Humidity: 0.45}},
		Zero: []job.ZeroRecord{
			{At: at, Channel: "meter_dp", Value: fmt.Sprintf("%.2f Pa", r.Truth().MeterZero)},
			{At: at, Channel: "test_dp", Value: fmt.Sprintf("%.2f Pa", r.Truth().TestZero)},
		},
	}
	for _, inches := range []float64{10, 20, 28} {
		dp := unit.Pressure.Of(inches, "inH2O")
		s.Leakage = append(s.Leakage, job.LeakPoint{At: at, TestPressure: dp, Flow: r.Truth().Leak * math.Pow(dp/r.Truth().Pressure, 0.58)})
	}
	s.Checks = []job.PlateCheck{{At: at, EffectiveArea: 600e-6}}
	traces := map[string]job.Trace{}
	for n := range 3 * len(openings) {
		opening := openings[n%len(openings)]
		r.Mount(trueArea("received", opening))
		name := fmt.Sprintf("traces/b%02d.csv", n)
		traces[name] = stepped(t, r, 300)
		s.Readings = append(s.Readings, job.Reading{ID: fmt.Sprintf("b%02d", n), Rig: "bare", Round: "received", Opening: opening, At: at.Add(time.Minute * time.Duration(n+1)), Trace: name})
	}
	out := fstest.MapFS{"job.toml": {Data: []byte(rigJob)}, "bench.toml": {Data: []byte(card)}}
	err = job.Write(job.Job{Sittings: []job.Sitting{s}, Traces: traces}, func(name string, data []byte) error {
		if strings.Contains(name, "/") {
			out[name] = &fstest.MapFile{Data: data}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// stepped takes n samples of a rig.
func stepped(t *testing.T, r *rig.Rig, n int) job.Trace {
	t.Helper()
	out := job.Trace{Channels: []job.Channel{{Name: "meter_dp", Unit: "Pa"}, {Name: "test_dp", Unit: "inH2O"}}}
	for i := range n + 60 {
		s, ok, err := r.Step(0.05)
		if err != nil || !ok {
			t.Fatal(ok, err)
		}
		if i < 60 { // the valve is turned first
			continue
		}
		out.Time = append(out.Time, float64(i-60)*0.05)
		out.Channels[0].Values = append(out.Channels[0].Values, s.Values[0])
		out.Channels[1].Values = append(out.Channels[1].Values, unit.Pressure.Of(s.Values[1], "inH2O"))
	}
	return out
}

// A page is the bench page as somebody stands before it.
type page struct {
	*browser
	rig *rigBench
	app *app.App
	url string
}

// touch presses space: it begins, or keeps.
func (p *page) touch() { p.do(chromedp.KeyEvent(" ")) }

// take begins, waits until it settles, and keeps. It returns what stood on the screen when space was pressed.
func (p *page) take() app.Estimate {
	p.t.Helper()
	p.touch()
	p.waitFor(`document.querySelector(".is-taking")`)
	p.waitFor(`document.querySelector(".is-settled") && document.querySelector('[data-act="main"]').textContent === "Keep"`)
	// The needle goes on; what is kept is what the answer says was kept. A touch while it twitches does nothing, as it should.
	for range 4 {
		p.touch()
		kept := false
		for try := 0; try < 50 && !kept; try++ {
			time.Sleep(50 * time.Millisecond)
			kept = eval[bool](p.browser, `!document.querySelector(".is-taking")`)
		}
		if kept {
			break
		}
		p.waitFor(`document.querySelector(".is-settled") && document.querySelector('[data-act="main"]').textContent === "Keep"`)
	}
	p.waitFor(`!document.querySelector(".is-taking")`)
	var k app.BenchKept
	if err := json.Unmarshal([]byte(eval[string](p.browser, `JSON.stringify(window.runnelBench.view.kept)`)), &k); err != nil {
		p.t.Fatal(err)
	}
	seen := eval[string](p.browser, `JSON.stringify(window.runnelBench.shown[`+strconv.FormatUint(k.Seq, 10)+`] ?? {})`)
	var e app.Estimate
	if err := json.Unmarshal([]byte(seen), &e); err != nil || e.Seq != k.Seq {
		p.t.Fatalf("number %d was kept and never stood on the screen: %v", k.Seq, err)
	}
	return e
}

// steps goes through zero, leakage and the check plate.
func (p *page) steps() {
	p.t.Helper()
	p.waitFor(`document.querySelector('[data-act="main"]').textContent === "Blower is off"`)
	p.rig.do("blower off")
	time.Sleep(600 * time.Millisecond) // the hoses empty
	e := p.take()
	truth := p.rig.server.Truth()
	// Noise of 1.1 and 2 Pa over three seconds at 20 Hz leaves 0.14 and 0.26 Pa; steps of the sensors 0.15 and 0.4 Pa.
	for channel, want := range map[string]float64{"meter_dp": truth.MeterZero, "test_dp": truth.TestZero} {
		if math.Abs(e.Zeros[channel]-want) > 1.2 {
			p.t.Errorf("zero of %s on the screen %.2f Pa, of the rig %.2f Pa", channel, e.Zeros[channel], want)
		}
	}
	p.leakage()
	p.waitFor(`document.querySelector('[data-act="main"]').textContent === "Plate is on"`)
	p.rig.do("pressure 28 inH2O", "piece 600 mm2")
	if e := p.take(); math.Abs(e.Deviation) > 0.01 {
		p.t.Errorf("the check plate reads %+.2f %%", 100*e.Deviation)
	}
}

// leakage is tried on the plate, which cannot see it, and then written down from a small meter that stands beside.
func (p *page) leakage() {
	p.t.Helper()
	p.waitFor(`document.querySelector('[data-act="main"]').textContent === "All blanked"`)
	p.rig.do("blower on", "blank")
	p.touch()
	// 1.2 cfm make 0.06 Pa at the plate of 60 mm, in 1.1 Pa of noise.
	p.waitFor(`document.querySelector(".big-state").textContent.includes("Too little for plate-60 to see")`)
	if eval[bool](p.browser, `!document.querySelector('[data-act="main"]').disabled`) {
		p.t.Error("a leakage that is not seen can be kept")
	}
	p.do(chromedp.EmulateViewport(820, 1180))
	if got := eval[string](p.browser, `(e => e.scrollHeight > e.clientHeight + 2 ? e.textContent : "")(document.querySelector(".big-state"))`); got != "" {
		p.t.Errorf("on a tablet what to do instead is cut off: %s", got)
	}
	p.do(chromedp.EmulateViewport(1280, 800))
	p.do(chromedp.Navigate(p.url + "/jobs/rig-job/sittings/after/walk#step-leakage"))
	truth := p.rig.server.Truth()
	for i, inches := range []float64{10, 20, 28} {
		dp := unit.Pressure.Of(inches, "inH2O")
		flow := truth.Leak * math.Pow(dp/truth.Pressure, 0.58)
		p.do(chromedp.SetValue(chromedp.CSS("#leakage-test_pressure"), fmt.Sprintf("%g inH2O", inches)),
			chromedp.SetValue(chromedp.CSS("#leakage-flow"), fmt.Sprintf("%.4f L/s", 1e3*flow)))
		eval[bool](p.browser, `(document.querySelector("#leakage-flow").form.requestSubmit(), true)`)
		p.waitFor(`document.readyState === "complete" && document.querySelectorAll("#step-leakage tbody tr").length === ` + strconv.Itoa(i+1))
	}
	p.do(chromedp.Navigate(p.url + "/bench"))
	p.waitFor(`window.runnelBench?.view`)
	if got := eval[float64](p.browser, `window.runnelBench.view.leakage_m3_s`); math.Abs(got/truth.Leak-1) > 0.01 {
		p.t.Errorf("leakage on the screen %.3g m³/s, of the rig %.3g m³/s", got, truth.Leak)
	}
	p.do(chromedp.Click(chromedp.CSS(`.bench-step[data-step="check"]`)))
}

// plan fills the plan in: openings, repeats, the order drawn anew.
func (p *page) plan(openings []string, repeats int) {
	p.t.Helper()
	p.do(chromedp.KeyEvent("p"))
	p.waitFor(`document.querySelector("dialog.plan").open`)
	want, err := json.Marshal(openings)
	if err != nil {
		p.t.Fatal(err)
	}
	eval[bool](p.browser, `(() => {
		const f = document.querySelector("dialog.plan form"), want = `+string(want)+`;
		f.elements.round.value = "finished";
		for (const i of f.querySelectorAll('[name="opening"]')) i.checked = want.includes(i.value);
		f.elements.repeats.value = "`+strconv.Itoa(repeats)+`";
		f.elements.settle.value = "2 s";
		f.elements.random.checked = true;
		f.requestSubmit();
		return true;
	})()`)
	p.waitFor(`document.querySelectorAll(".bench-queue li").length === ` + strconv.Itoa(repeats*len(openings)))
}

// readings takes everything that is planned, in the order the page wants it.
func (p *page) readings(n int) map[string]app.Estimate {
	p.t.Helper()
	out := map[string]app.Estimate{}
	outside := 0
	for i := range n {
		p.waitFor(`document.querySelector('[data-act="main"]').textContent.endsWith(" is open")`)
		opening := eval[string](p.browser, `window.runnelBench.view.queue[window.runnelBench.view.chosen].opening`)
		if lit := eval[string](p.browser, `document.querySelector(".pic-open .pic-name").textContent`); lit != opening {
			p.t.Errorf("runner %s is to be opened and the picture shows %s", opening, lit)
		}
		p.rig.mount(trueArea("finished", opening))
		e := p.take()
		truth := p.rig.server.Truth()
		if off := math.Abs(e.Area-truth.Area) / e.AreaExpanded; off > 1 {
			outside++
			p.t.Logf("reading %d of runner %s: %.2f ± %.2f mm² on the screen, %.2f mm² on the rig", i+1, opening, e.Area*1e6, e.AreaExpanded*1e6, truth.Area*1e6)
			if off > 1.5 {
				p.t.Errorf("reading %d of runner %s is off by %.2f of its uncertainty", i+1, opening, off)
			}
		}
		out[eval[string](p.browser, `window.runnelBench.view.kept.id`)] = e
	}
	if outside > max(1, n/10) { // the interval is one of 95 %: one in twenty may lie outside
		p.t.Errorf("%d of %d readings lie outside their uncertainty", outside, n)
	}
	return out
}

// The whole way in a real browser, over each transport: rig, sitting steps, readings, verdict. One transport takes six
// runners three times, the others two runners twice; RUNNEL_FULL=1 takes all of them in full.
func TestBenchEndToEnd(t *testing.T) {
	if testing.Short() {
		t.Skip("a needle takes its time")
	}
	t.Parallel()
	for i, way := range transports(t) {
		t.Run(way.name, func(t *testing.T) {
			t.Parallel()
			openings, repeats := []string{"2", "5"}, 2
			if i == 0 || os.Getenv("RUNNEL_FULL") == "1" {
				openings, repeats = []string{"1", "2", "3", "4", "5", "6"}, 3
			}
			endToEnd(t, way, openings, repeats)
		})
	}
}

func endToEnd(t *testing.T, way transport, openings []string, repeats int) {
	t.Helper()
	b := newBrowser(t)
	r := newRigBench(t, way.out)
	a := newApp(t, app.Compute{})
	if _, err := a.ImportFolder(t.Context(), rigFolder(t, rig.Card(way.about()), openings)); err != nil {
		t.Fatal(err)
	}
	site := benchSite(t, a)
	p := &page{b, r, a, site.URL}
	begun := time.Now()
	b.do(chromedp.EmulateViewport(1280, 800), chromedp.Navigate(site.URL+"/jobs/rig-job/sittings/new"))
	for field, value := range map[string]string{"pressure": "99800 Pa", "temp": "21 °C", "rh": "45 %", "id": "after", "by": "A. Porter (invented)"} {
		b.do(chromedp.SetValue(chromedp.CSS("#air-"+field), value))
	}
	eval[bool](b, `(document.querySelector("#air-pressure").form.requestSubmit(), true)`)
	b.until(`location.pathname.endsWith("/walk") && document.readyState === "complete"`)
	b.do(chromedp.Click(chromedp.CSS(`.walk-deeds [action="/bench/open"] button`)))
	b.until(`document.querySelector(".bench") && window.runnelBench?.view`)
	p.plan(openings, repeats)
	p.steps()
	taken := p.readings(len(openings) * repeats)
	p.waitFor(`document.querySelector('[data-act="main"]').textContent === "Done: plan more"`)
	b.quiet()
	t.Logf("%d readings and the steps of the sitting took %.0f s; %s", len(taken), time.Since(begun).Seconds(), eval[string](b, latency))
	p.compare(taken)
	p.verdict(site)
}

// latency is how long the numbers took from the frame to the page.
const latency = `(() => { const l = window.runnelBench.late.toSorted((a, b) => a - b); return "from frame to page, median " + l[Math.floor(l.length / 2)] + " ms, 95 % within " + l[Math.floor(l.length * 0.95)] + " ms of " + l.length; })()`

// compare holds what stood on the screen against what the job says: the same number to the last bit.
func (p *page) compare(taken map[string]app.Estimate) {
	p.t.Helper()
	as, err := p.app.Assessment(p.t.Context(), "rig-job")
	if err != nil {
		p.t.Fatal(err)
	}
	for id, e := range taken {
		i := slices.IndexFunc(as.Assessment.Readings, func(r assess.Reading) bool { return r.ID == id })
		if i < 0 {
			p.t.Errorf("the job has no reading %s", id)
			continue
		}
		if r := as.Assessment.Readings[i]; !r.Usable || r.EffectiveArea != e.Area || r.Flow != e.Flow {
			p.t.Errorf("reading %s: %v m² in the job, %v m² on the screen (%s)", id, r.EffectiveArea, e.Area, r.Refused)
		}
	}
}

// verdict looks at the answer: finishing gave 4 %, and the interval holds it.
func (p *page) verdict(site *httptest.Server) {
	p.t.Helper()
	as, err := p.app.Assessment(p.t.Context(), "rig-job")
	if err != nil {
		p.t.Fatal(err)
	}
	v := app.Headline(as.Job, as.Assessment)
	if v == nil || v.Refused != "" || v.Word != "proven gain" || v.Lo95 > 1.04 || v.Hi95 < 1.04 {
		p.t.Fatalf("the verdict is %+v", v)
	}
	p.do(chromedp.Navigate(site.URL + "/jobs/rig-job"))
	p.until(`document.querySelector(".answer")?.innerText.includes("roven gain") || document.body.innerText.includes("proven gain")`)
}
