package web_test

import (
	"fmt"
	"net/http"
	"testing"

	"github.com/chromedp/chromedp"
)

// small lists what is meant to be touched and is lower than 44 px, the least that a finger in a glove finds: WCAG 2.2, 2.5.5 (Target Size,
// Enhanced).
const small = `(() => {
  const out = new Set();
  for (const el of document.querySelectorAll("button, a.button, label.button, select, summary, .tabs a, .to-bench, input:not([type=hidden], [type=file], [type=range], [tabindex='-1'])")) {
    const box = /checkbox|radio/.test(el.type) ? el.closest("label") ?? el : el;
    const r = box.getBoundingClientRect();
    if (el.closest(".hide, dialog:not([open])") || el.matches(".hide") || r.width === 0) continue;
    if (r.height < 43.5) out.add(el.tagName + " '" + el.textContent.trim().slice(0, 20) + "' " + r.height.toFixed(1));
  }
  return [...out].join("; ");
})()`

// broken lists the words that go on in the next line.
const broken = `(() => {
  const out = [], range = document.createRange(), walk = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
  for (let n; (n = walk.nextNode());) {
    if (n.parentElement.closest("script, style, svg, code, option, textarea, .hide, .path-of")) continue;
    for (const word of n.data.matchAll(/[A-Za-z]{2,}/g)) {
      range.setStart(n, word.index);
      range.setEnd(n, word.index + word[0].length);
      const r = [...range.getClientRects()].filter((x) => x.width > 0);
      if (r.length > 1 && Math.abs(r[0].top - r[r.length - 1].top) > 3) out.push(word[0]);
    }
  }
  return out.join("; ");
})()`

// On a tablet and on phones of every width what is touched is large enough, no word is broken, and nothing sticks out.
func TestPagesAreForDirtyHands(t *testing.T) {
	b := newBrowser(t)
	a := newApp(t, instant())
	importSix(t, a)
	site := themed(t, newSite(t, a), "light")
	for _, width := range []int64{390, 430, 500, 820} {
		b.do(chromedp.EmulateViewport(width, 1000))
		for _, path := range []string{
			"/", "/book-in", "/bench", "/bench/card", "/bench/checks", "/bench/checks/plate",
			"/jobs/six", "/jobs/six/readings", "/jobs/six/readings/r01", "/jobs/six/sittings", "/jobs/six/sittings/new", "/jobs/six/sittings/s1/walk",
			"/jobs/six/passages", "/jobs/six/passages/manifold/1", "/jobs/six/engine", "/jobs/six/record", "/jobs/six/card",
		} {
			b.inspect(site+path, fmt.Sprint(path, " at ", width), http.StatusOK)
			for what, js := range map[string]string{"is too small to touch": small, "is broken": broken, "sticks out": overflowing} {
				if got := eval[string](b, js); got != "" {
					t.Errorf("%s at %d px %s: %s", path, width, what, got)
				}
			}
		}
	}
	// The times of a sitting stand without its day, so that its tables fit.
	b.do(chromedp.Navigate(site + "/jobs/six/sittings"))
	if got, want := eval[string](b, `document.querySelector(".side tbody th").textContent`), "09:05"; got != want {
		t.Errorf("air was written down at %q, want %q", got, want)
	}
	b.do(chromedp.EmulateViewport(390, 844))
	if got := eval[string](b, fmt.Sprintf(`[...document.querySelectorAll(%q)].filter((x) => x.scrollWidth > x.clientWidth).map((x) => x.getAttribute("aria-label")).join()`, ".side .scroll")); got != "" {
		t.Errorf("tables of the sitting run off a phone: %s", got)
	}
}
