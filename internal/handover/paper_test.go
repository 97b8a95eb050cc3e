package handover_test

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"runnel/internal/handover"
)

// paperText reads the text of a PDF with pdftotext of poppler.
func paperText(t *testing.T, doc []byte, args ...string) string {
	t.Helper()
	tool, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Skip("pdftotext of poppler-utils is not installed")
	}
	path := filepath.Join(t.TempDir(), "h.pdf")
	if err := os.WriteFile(path, doc, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.CommandContext(t.Context(), tool, append(args, path, "-")...).Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// Every page says that the job is invented, and carries its number and the name of the facts.
func TestEveryPageIsMarked(t *testing.T) {
	d := build(t, fixtureJob(), fixture(), handover.Options{})
	pages := strings.Split(strings.TrimSuffix(paperText(t, pdf(t, d)), "\f"), "\f")
	if len(pages) < 3 {
		t.Fatalf("%d pages", len(pages))
	}
	for i, p := range pages {
		for _, want := range []string{"Invented example", fmt.Sprintf("Page %d of %d", i+1, len(pages)), "Facts " + fixtureHash[:12]} {
			if !strings.Contains(p, want) {
				t.Errorf("page %d does not say %q", i+1, want)
			}
		}
	}
	if !strings.Contains(page(t, d), `class="invented"`) {
		t.Error("the HTML page carries no mark")
	}
	j, a := fixtureJob(), fixture()
	j.Invented, a.Invented = false, false
	if honest := build(t, j, a, handover.Options{}); strings.Contains(page(t, honest), `class="invented"`) || strings.Contains(paperText(t, pdf(t, honest)), "Invented example") {
		t.Error("a real job is marked as invented")
	}
}

// Rows have no more cells than columns, and a table that runs over pages repeats its head.
func TestTablesRepeatTheirHead(t *testing.T) {
	j, a := fixtureJob(), fixture()
	cases()["many readings"](&j, &a)
	d := build(t, j, a, handover.Options{})
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			if table, ok := b.(handover.Table); ok {
				for _, r := range table.Rows {
					if len(r.Cells) > len(table.Columns) {
						t.Errorf("%s: %q has more cells than columns", s.Title, r.Cells)
					}
				}
			}
		}
	}
	with := 0
	pages := strings.Split(paperText(t, pdf(t, d), "-layout"), "\f")
	for _, p := range pages {
		if strings.Contains(p, "m1-3") && strings.Contains(p, "m2-3") {
			with++
			if !strings.Contains(p, "Eff. area") {
				t.Errorf("a page of readings has no head:\n%s", p)
			}
		}
	}
	if strings.Count(strings.Join(pages, ""), "(continued)") == 0 {
		t.Error("no group was carried on over a page: the case is too small")
	}
}

// The paper is the one asked for. Sizes: ISO 216 A4, 210 mm × 297 mm; ANSI/ASME Y14.1 A, 8.5 in × 11 in.
func TestPaperSize(t *testing.T) {
	for paper, want := range map[handover.Paper][2]float64{handover.A4: {210 / 25.4 * 72, 297 / 25.4 * 72}, handover.Letter: {8.5 * 72, 11 * 72}} {
		d := build(t, fixtureJob(), fixture(), handover.Options{Paper: paper})
		boxes := regexp.MustCompile(`/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]`).FindAllSubmatch(pdf(t, d), -1)
		if len(boxes) == 0 {
			t.Fatalf("%v: no page has a size", paper)
		}
		for _, b := range boxes {
			var w, h float64
			if _, err := fmt.Sscan(string(b[1])+" "+string(b[2]), &w, &h); err != nil {
				t.Fatal(err)
			}
			if math.Abs(w-want[0]) > 0.02 || math.Abs(h-want[1]) > 0.02 { // two decimals are written
				t.Errorf("%v: a page of %v × %v pt, wanted %v", paper, w, h, want)
			}
		}
	}
}
