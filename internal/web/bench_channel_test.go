package web_test

import (
	"testing"

	"github.com/chromedp/chromedp"
)

// The scale of the channel is written whole: a flow of three figures or one below nothing was cut off at the right.
func TestScaleOfTheChannelIsWhole(t *testing.T) {
	b := newBrowser(t)
	b.do(chromedp.EmulateViewport(820, 1180), chromedp.Navigate(benchSite(t, openDemoBench(t)).URL+"/bench"))
	b.until(`document.querySelector('script[src*="/bench.js"]')`)
	eval[bool](b, `(() => {
  import(document.querySelector('script[src*="/bench.js"]').src.replace("bench.js", "bench_channel.js")).then(({ Channel }) => {
    const box = document.body.appendChild(document.createElement("div"));
    box.style.cssText = "width: 700px; height: 200px";
    const canvas = box.appendChild(document.createElement("canvas"));
    const c = canvas.getContext("2d");
    const cut = [];
    c.fillText = (text, x, y, room = Infinity) => {
      const wide = c.measureText(text).width;
      if (wide > room || x + wide > 700) cut.push(text + " ends at " + Math.round(x + wide));
    };
    const channel = new Channel(canvas, { big: { kind: "flow" }, bigNumber: () => "−1234.5" });
    channel.points = [{ t: 0, q: 1 }, { t: 1, q: 2 }];
    channel.draw();
    window.cut = cut;
  });
  return true;
})()`)
	b.until(`window.cut`)
	if got := eval[[]string](b, `window.cut`); len(got) > 0 {
		t.Errorf("cut off in 700 px: %v", got)
	}
}
