package web_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// A browser is a real one, without a window.
type browser struct {
	t   *testing.T
	ctx context.Context //nolint:containedctx // chromedp keeps the tab in its context

	mu   sync.Mutex
	said []string // what the console showed
}

// newBrowser starts the Debian chromium. Without one the test is skipped, unless RUNNEL_NEED_CHROMIUM says that it must
// be there.
func newBrowser(t *testing.T) *browser {
	t.Helper()
	if testing.Short() {
		t.Skip("a browser is not started in short tests")
	}
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("RUNNEL_NEED_CHROMIUM") == "1" {
			t.Fatal("chromium is missing, and RUNNEL_NEED_CHROMIUM is set")
		}
		t.Skip("chromium is missing: apt-get install chromium")
	}
	alloc, stop := chromedp.NewExecAllocator(t.Context(),
		chromedp.ExecPath(path), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.UserDataDir(t.TempDir()), chromedp.Flag("disable-quic", true), chromedp.Flag("disable-dev-shm-usage", true),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true), chromedp.Flag("hide-scrollbars", true), chromedp.Flag("force-color-profile", "srgb"))
	t.Cleanup(stop)
	ctx, cancel := chromedp.NewContext(alloc)
	t.Cleanup(cancel)
	ctx, cancel = context.WithTimeout(ctx, 4*time.Minute)
	t.Cleanup(cancel)
	b := &browser{t: t, ctx: ctx}
	if err := chromedp.Listen(ctx, b.listen); err != nil {
		t.Fatal(err)
	}
	return b
}

func (b *browser) listen(ev any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch ev := ev.(type) {
	case *runtime.EventConsoleAPICalled:
		for _, a := range ev.Args {
			b.said = append(b.said, string(ev.Type)+": "+string(a.Value)+a.Description)
		}
	case *runtime.EventExceptionThrown:
		b.said = append(b.said, "exception: "+ev.ExceptionDetails.Text)
	case *log.EventEntryAdded:
		if strings.Contains(ev.Entry.Text, "GPU stall due to ReadPixels") {
			return // a browser without a graphics card says so of every picture in space, at times only on the next page
		}
		b.said = append(b.said, "log: "+ev.Entry.Text+" "+ev.Entry.URL)
	}
}

// heard returns what the console showed since the last call.
func (b *browser) heard() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	said := b.said
	b.said = nil
	return said
}

func (b *browser) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.t.Fatal(err)
	}
}

func eval[T any](b *browser, js string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](js))
	if err != nil {
		b.t.Fatalf("%s: %v", js, err)
	}
	return v
}

// until waits for an expression to become true.
func (b *browser) until(js string) {
	b.t.Helper()
	for range 200 {
		if eval[bool](b, "(() => { try { return !!("+js+"); } catch { return false; } })()") { // the page may be half loaded
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	b.t.Fatalf("never true: %s", js)
}

// shot saves a picture of the whole page when RUNNEL_SHOTS names a directory.
func (b *browser) shot(name string) {
	b.t.Helper()
	dir := os.Getenv("RUNNEL_SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644); err != nil {
		b.t.Fatal(err)
	}
}

// themed serves h as a visitor sees it who chose a theme.
func themed(t *testing.T, h http.Handler, theme string) string {
	t.Helper()
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if _, err := r.Cookie("runnel_theme"); err != nil {
			r.AddCookie(&http.Cookie{Name: "runnel_theme", Value: theme})
		}
		h.ServeHTTP(w, r)
	}))
	t.Cleanup(s.Close)
	return s.URL
}

// overflowing lists what sticks out of the page at its sides.
const overflowing = `(() => {
  const w = document.documentElement.clientWidth, out = [];
  if (document.documentElement.scrollWidth <= w) return "";
  for (const el of document.querySelectorAll("body *")) {
    if (el.closest(".scroll, .tabs, .sprite, .hide, dialog:not([open])")) continue;
    const r = el.getBoundingClientRect();
    if (r.width > 0 && r.right > w + 1) out.push(el.tagName + "." + el.getAttribute("class") + " to " + Math.round(r.right));
  }
  return "page " + document.documentElement.scrollWidth + " wide in " + w + ": " + out.slice(0, 6).join("; ");
})()`

var sizes = []struct {
	name          string
	width, height int64
}{
	{"wide", 1280, 800},
	{"tablet", 820, 1180},
	{"phone", 390, 844},
}

// Every page in a real browser: no word on the console, nothing sticks out, light and dark, at three sizes.
func TestEveryPageInABrowser(t *testing.T) {
	b := newBrowser(t)
	a := newApp(t, instant())
	h := newSite(t, a)
	empty := newSite(t, newApp(t, instant()))
	importSix(t, a)
	pages := []struct{ name, path string }{
		{"jobs", "/"},
		{"story", "/jobs/six"},
		{"readings", "/jobs/six/readings"},
		{"reading", "/jobs/six/readings/r01"},
		{"reading-refused", "/jobs/six/readings/r08"},
		{"sittings", "/jobs/six/sittings"},
		{"engine", "/jobs/six/engine"},
		{"handover", "/jobs/six/handover"},
		{"record", "/jobs/six/record"},
		{"card", "/jobs/six/card"},
		{"checks", "/bench/checks"},
		{"checks-plate", "/bench/checks/plate"},
		{"checks-people", "/bench/checks/people"},
		{"checks-shops", "/bench/checks/shops"},
	}
	for _, theme := range []string{"light", "dark"} {
		full, bare := themed(t, h, theme), themed(t, empty, theme)
		for _, size := range sizes {
			b.do(chromedp.EmulateViewport(size.width, size.height))
			for _, p := range pages {
				b.inspect(full+p.path, strings.Join([]string{p.name, size.name, theme}, "-"), http.StatusOK)
			}
			b.inspect(bare+"/", "empty-"+size.name+"-"+theme, http.StatusOK)
			b.inspect(full+"/jobs/none", "notfound-"+size.name+"-"+theme, http.StatusNotFound)
		}
	}
}

func (b *browser) inspect(url, name string, status int64) {
	b.t.Helper()
	r, err := chromedp.Run(b.ctx, chromedp.NavigateResponse(url))
	if err != nil {
		b.t.Fatal(err)
	}
	if r.Status != status {
		b.t.Errorf("%s: status %d, want %d", name, r.Status, status)
	}
	for _, line := range b.heard() {
		if status == http.StatusNotFound && strings.Contains(line, "404") {
			continue // the browser says itself that the page is not there
		}
		b.t.Errorf("%s: the console says %s", name, line)
	}
	if out := eval[string](b, overflowing); out != "" {
		b.t.Errorf("%s: %s", name, out)
	}
	if n := eval[int](b, `document.querySelectorAll("h1").length`); n != 1 {
		b.t.Errorf("%s: %s headings of the first level, want one", name, strconv.Itoa(n))
	}
	b.shot(name)
}
