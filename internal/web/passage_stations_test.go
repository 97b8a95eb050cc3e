package web_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"runnel/demo"
)

// cellScript finds a cell of the table of stations by row and name, and writes or presses there.
const cellScript = `
const cell = (row, name) => document.querySelectorAll("[data-stations-table] tbody tr")[row].querySelector('[data-name="' + name + '"]');
const put = (row, name, value) => { const c = cell(row, name); c.focus(); c.value = value; c.dispatchEvent(new Event(c.matches("select") ? "change" : "input", { bubbles: true })); };
const press = (row, name, key, ctrl) => cell(row, name).dispatchEvent(new KeyboardEvent("keydown", { key, ctrlKey: ctrl, bubbles: true, cancelable: true }));
const paste = (row, name, text) => { const d = new DataTransfer(); d.setData("text", text); cell(row, name).dispatchEvent(new ClipboardEvent("paste", { clipboardData: d, bubbles: true, cancelable: true })); };
`

// Stations are typed into a table: the area comes back while typing, what is wrong is said at its cell, keys move and add, cells of a
// spreadsheet and whole texts can be pasted, units turn, and what is kept is what was typed.
func TestStationsTable(t *testing.T) {
	b := newBrowser(t)
	a := newApp(t, instant())
	if _, err := a.ImportFolder(t.Context(), demo.FS); err != nil {
		t.Fatal(err)
	}
	site := themed(t, newSite(t, a), "light")
	const page = "/jobs/hill-climb-six/passages/manifold/2"
	b.do(chromedp.EmulateViewport(1280, 800))
	b.inspect(site+page, "stations-empty", http.StatusOK)
	b.until(`document.querySelector("[data-stations]").dataset.ready && !document.querySelector("[data-stations-table]").hidden`)

	// A circle of 40 mm: π/4·40² = 1256.6 mm².
	b.act(cellScript + `put(0, "s", "0"); put(0, "diameter", "40"); press(0, "diameter", "Enter", false)`)
	b.until(`document.querySelectorAll("[data-stations-table] tbody tr").length === 2 && document.activeElement.dataset.name === "diameter"`)
	b.until(`document.querySelector("[data-stations-table] output").textContent === "1256.6 mm²"`)
	// A rectangle of 30 mm by 20 mm with corners of 5 mm: 600 − (4 − π)·25 = 578.5 mm². Before the entry it is refused at its cell.
	b.act(cellScript + `put(1, "shape", "rectangle"); put(1, "width", "30"); put(1, "height", "20"); put(1, "corner", "5"); put(1, "s", "-10")`)
	b.until(`document.querySelectorAll("[data-stations-table] tbody tr")[1].querySelector("[data-name=s]").getAttribute("aria-invalid") === "true"`)
	b.until(`document.querySelectorAll(".wrong:not([hidden])")[0].textContent.includes("not beyond the station before")`)
	b.shot("stations-wrong")
	b.act(cellScript + `put(1, "s", "90")`)
	b.until(`document.querySelectorAll("[data-stations-table] output")[1].textContent === "578.5 mm²" && !document.querySelector("[aria-invalid]")`)
	b.until(`document.querySelectorAll("[data-stations-table] path")[1].getAttribute("d").length > 200`)
	b.until(`document.querySelector("[data-note]").textContent.startsWith("90.0 mm long")`)

	// Text that is no table puts the table away and says why; no length of what stood there before is left beside it.
	b.act(`const t = document.querySelector("#c-text"); t.dataset.had = t.value; t.value = "s,shape,diameter"; t.dispatchEvent(new Event("input", { bubbles: true }))`)
	b.until(`document.querySelector("[data-stations-table]").hidden && [...document.querySelectorAll("[data-stations] [role=status]")].some((e) => e.checkVisibility() && e.textContent.startsWith("This is no table of stations yet"))`)
	b.act(`const t = document.querySelector("#c-text"); t.value = t.dataset.had; t.dispatchEvent(new Event("input", { bubbles: true }))`)
	b.until(`!document.querySelector("[data-stations-table]").hidden && document.querySelectorAll("[data-stations-table] output")[1].textContent === "578.5 mm²" && ![...document.querySelectorAll("[data-stations] [role=status]")].some((e) => e.checkVisibility() && e.textContent.startsWith("This is no table"))`)

	// What is no number is told at its cell, and keeping it loses nothing.
	b.act(cellScript + `put(1, "wall", "thick")`)
	b.until(`document.querySelectorAll("[data-stations-table] tbody tr")[1].querySelector("[data-name=wall]").getAttribute("aria-invalid") === "true"`)
	b.act(`document.querySelector("[data-stations]").requestSubmit()`)
	b.until(`document.querySelector("[data-stations] .refusal") && document.querySelector("[data-stations]").dataset.ready`)
	_ = b.heard() // the browser says itself that the answer was a refusal
	b.until(`document.querySelectorAll("[data-stations-table] tbody tr")[1].querySelector("[data-name=wall]").value === "thick"`)
	b.act(cellScript + `put(1, "wall", "3.5")`)

	// A station below, taken out again by keys, and put back.
	b.act(cellScript + `press(0, "s", "Enter", true)`)
	b.until(`document.querySelectorAll("[data-stations-table] tbody tr").length === 3`)
	b.act(cellScript + `press(1, "s", "Delete", true)`)
	b.until(`document.querySelectorAll("[data-stations-table] tbody tr").length === 2 && !document.querySelector("[data-back]").hidden`)
	b.act(`document.querySelector("[data-back]").click()`)
	b.until(`document.querySelectorAll("[data-stations-table] tbody tr").length === 3`)
	b.act(cellScript + `press(1, "s", "Delete", true)`)

	// Inches: 90 mm are 3.543307 in, the circle is 1.947799 in².
	b.act(`(() => { const u = document.querySelector("[data-unit]"); u.value = "in"; u.dispatchEvent(new Event("change")); })()`)
	b.until(`document.querySelectorAll("[data-stations-table] tbody tr")[1].querySelector("[data-name=s]").value === "3.543307"`)
	b.until(`document.querySelector("[data-stations-table] output").textContent === "1.948 in²"`)
	if text := eval[string](b, `document.querySelector("#c-text").value`); !strings.Contains(text, "s_in,shape,diameter_in,width_in,height_in,corner_in,wall_in,bend_deg\n") {
		t.Errorf("the text is %q", text)
	}

	// A whole text, then a column and two rows of a spreadsheet.
	b.act(cellScript + `paste(0, "s", "s_mm,shape,diameter_mm,wall_mm\n0,round,40,4\n60,round,38,4\n120,round,36,4\n")`)
	b.until(`document.querySelectorAll("[data-stations-table] tbody tr").length === 3 && document.querySelector("[data-unit]").value === "mm"`)
	b.act(cellScript + `paste(1, "wall", "3.9\n3.8\n"); paste(2, "s", "120\tround\t36.5\n150\tellipse\t38\t34\n")`)
	b.until(`document.querySelector("#c-text").value.includes("60,round,38,,,3.9") && document.querySelector("#c-text").value.includes("150,ellipse,,38,34,")`)
	b.until(`document.querySelector("[data-note]").textContent.startsWith("150.0 mm long")`)
	for _, size := range []struct {
		w, h int64
		name string
	}{{1280, 800, "desk"}, {820, 1180, "tablet"}, {390, 844, "phone"}} {
		b.do(chromedp.EmulateViewport(size.w, size.h))
		b.shot("stations-" + size.name)
		if small := eval[string](b, `[...document.querySelectorAll("[data-stations-table] :is(input, select, button)")].filter((e) => e.offsetParent && (e.offsetHeight < 44 || e.offsetWidth < 40)).map((e) => e.outerHTML).join(" ")`); small != "" {
			t.Errorf("%s: too small for a finger: %s", size.name, small)
		}
		if wide := eval[int](b, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); wide > 0 {
			t.Errorf("%s: the page is %d px too wide", size.name, wide)
		}
	}
	b.act(`document.querySelector("[data-stations]").requestSubmit()`)
	b.until(`document.querySelector("#answer")?.textContent.includes("150.0 mm long")`)
	for _, line := range b.heard() {
		t.Errorf("the console says %s", line)
	}
}
