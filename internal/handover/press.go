package handover

import (
	"fmt"
	"io"
	"strings"

	"codeberg.org/go-fonts/dejavu/dejavusanscondensed"
	"codeberg.org/go-fonts/dejavu/dejavusanscondensedbold"
	"codeberg.org/go-pdf/fpdf"

	"runnel/internal/plot"
)

// Measures of a page [pt].
const (
	marginSide   = 54.0
	marginTop    = 64.0
	marginBottom = 58.0
	bannerHeight = 20.0
	measure      = 440.0 // longest line of running text
)

const family = "body"

// A press sets a document on pages of paper.
type press struct {
	pdf       *fpdf.Fpdf
	d         Document
	w, h      float64 // page [pt]
	y         float64 // where the next block begins [pt]
	bold      bool
	size      float64 // of the letters [pt]
	see       float64 // how opaque the next mark is [-]
	fontUnset bool
	waiting   []Picture // for the top of the next page
}

// PDF writes the document as a PDF. The same document gives the same bytes.
func (d Document) PDF(w io.Writer) error {
	p := &press{d: d, see: 1, fontUnset: true}
	p.open()
	p.newPage()
	p.titleBlock()
	for _, s := range d.Sections {
		p.section(s)
	}
	for len(p.waiting) > 0 {
		p.newPage()
	}
	p.furnish()
	if err := p.pdf.Output(w); err != nil {
		return fmt.Errorf("writing the handover as PDF: %w", err)
	}
	return nil
}

func (p *press) open() {
	paper := "A4"
	if p.d.Paper == Letter {
		paper = "Letter"
	}
	pdf := fpdf.New("P", "pt", paper, "")
	pdf.SetMargins(marginSide, marginTop, marginSide)
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetCellMargin(0)
	pdf.SetCatalogSort(true)
	date := p.d.Date
	if date.IsZero() {
		date = undated // a zero date would mean the clock's
	}
	pdf.SetCreationDate(date)
	pdf.SetModificationDate(date)
	pdf.SetProducer("Runnel", true)
	pdf.SetTitle(p.d.Title, true)
	pdf.SetAuthor(p.d.Shop, true)
	pdf.SetSubject("Handover, facts "+p.d.Hash, true)
	pdf.SetLang(p.d.Language)
	pdf.AddUTF8FontFromBytes(family, "", dejavusanscondensed.TTF)
	pdf.AddUTF8FontFromBytes(family, "B", dejavusanscondensedbold.TTF)
	p.pdf = pdf
	p.w, p.h = pdf.GetPageSize()
}

func (p *press) font(bold bool, size float64) {
	if !p.fontUnset && p.bold == bold && p.size == size {
		return
	}
	style := ""
	if bold {
		style = "B"
	}
	p.pdf.SetFont(family, style, size)
	p.bold, p.size, p.fontUnset = bold, size, false
}

func (p *press) colour(c plot.RGB) { p.pdf.SetTextColor(int(c.R), int(c.G), int(c.B)) }

func (p *press) alpha(a float64) {
	if a != p.see {
		p.pdf.SetAlpha(a, "Normal")
		p.see = a
	}
}

func (p *press) width() float64 { return p.w - 2*marginSide }

// bottom is where the text of a page ends [pt].
func (p *press) bottom() float64 { return p.h - marginBottom }

func (p *press) newPage() {
	p.pdf.AddPage()
	p.fontUnset = true
	p.y = marginTop
	if p.d.Invented {
		p.y += bannerHeight - 8
	}
	p.placeWaiting()
}

// placeWaiting sets the pictures that found no room before, as many as this page holds.
func (p *press) placeWaiting() {
	for first := true; len(p.waiting) > 0; first = false {
		b := p.waiting[0]
		if !first && p.y+p.pictureHeight(b) > p.bottom() {
			return
		}
		p.waiting = p.waiting[1:]
		p.setPicture(b)
		p.y += gapBlock + 3
	}
}

// room starts a new page when less than height is left on this one, and says whether it did.
func (p *press) room(height float64) bool {
	if p.y+height <= p.bottom() {
		return false
	}
	p.newPage()
	for p.y+height > p.bottom() && len(p.waiting) > 0 {
		p.newPage()
	}
	return true
}

// write sets one line with its baseline at y.
func (p *press) write(x, y float64, s string, bold bool, size float64, ink plot.RGB) {
	p.font(bold, size)
	p.colour(ink)
	p.pdf.Text(x, y, s)
}

func (p *press) rule(x0, x1, y, width float64, ink plot.Ink) {
	c := ink.Light()
	p.pdf.SetDrawColor(int(c.R), int(c.G), int(c.B))
	p.pdf.SetLineWidth(width)
	p.pdf.Line(x0, y, x1, y)
}

// lines breaks a text into lines of the given width; a word that is too long for a line is broken.
func (p *press) lines(s string, bold bool, size, width float64) []string {
	p.font(bold, size)
	var out []string
	line := ""
	for word := range strings.SplitSeq(strings.TrimSpace(s), " ") {
		try := word
		if line != "" {
			try = line + " " + word
		}
		if p.pdf.GetStringWidth(try) <= width {
			line = try
			continue
		}
		if line != "" {
			out = append(out, line)
		}
		for p.pdf.GetStringWidth(word) > width {
			head := p.head(word, width)
			out = append(out, head)
			word = word[len(head):]
		}
		line = word
	}
	return append(out, line)
}

// first keeps the first most lines; what is left out is told by "…".
func first(lines []string, most int) []string {
	if len(lines) <= most {
		return lines
	}
	kept := append([]string(nil), lines[:most]...)
	last := []rune(kept[most-1])
	kept[most-1] = strings.TrimRight(string(last[:max(0, len(last)-2)]), " ,.") + "…"
	return kept
}

// head is the longest beginning of a word that fits, one letter at least.
func (p *press) head(word string, width float64) string {
	end := 0
	for i, r := range word {
		next := i + len(string(r))
		if end > 0 && p.pdf.GetStringWidth(word[:next]) > width {
			break
		}
		end = next
	}
	return word[:end]
}

// furnish writes head and foot of every page, now that their number is known.
func (p *press) furnish() {
	n := p.pdf.PageCount()
	muted := plot.Muted.Light()
	for i := 1; i <= n; i++ {
		p.pdf.SetPage(i)
		p.fontUnset = true
		p.pdf.SetFont(family, "", 1) // so that the page's own stream names its font again
		p.pdf.SetFont(family, "B", 1)
		y := p.h - 30
		p.rule(marginSide, p.w-marginSide, y-14, 0.5, plot.Grid)
		p.write(marginSide, y, "Facts "+short(p.d.Hash)+" · "+day(p.d.Date)+" · made with Runnel", false, 7.5, muted)
		p.right(p.w-marginSide, y, fmt.Sprintf("Page %d of %d", i, n), 7.5, muted)
		if i > 1 {
			p.runningHead()
		}
		if p.d.Invented {
			p.banner()
		}
	}
}

func (p *press) runningHead() {
	muted := plot.Muted.Light()
	y := 36.0
	if p.d.Invented {
		y += bannerHeight - 8
	}
	half := p.width()/2 - 10
	p.write(marginSide, y, p.clip(p.d.Title, false, 8, half), false, 8, muted)
	p.right(p.w-marginSide, y, p.clip(p.d.Customer, false, 8, half), 8, muted)
	p.rule(marginSide, p.w-marginSide, y+7, 0.5, plot.Grid)
}

// clip shortens a text to a width.
func (p *press) clip(s string, bold bool, size, width float64) string {
	p.font(bold, size)
	if p.pdf.GetStringWidth(s) <= width {
		return s
	}
	return strings.TrimRight(p.head(s, width-p.pdf.GetStringWidth("…")), " ,.") + "…"
}

func (p *press) right(x, y float64, s string, size float64, ink plot.RGB) {
	p.font(false, size)
	p.write(x-p.pdf.GetStringWidth(s), y, s, false, size, ink)
}

// banner marks a page of an invented job.
func (p *press) banner() {
	c := plot.Accent.LightWord()
	p.alpha(1)
	p.pdf.SetFillColor(int(c.R), int(c.G), int(c.B))
	p.pdf.Rect(0, 0, p.w, bannerHeight, "F")
	p.font(true, 8)
	x := (p.w - p.pdf.GetStringWidth(inventedWords)) / 2
	p.write(x, bannerHeight-7, inventedWords, true, 8, plot.RGB{R: 255, G: 255, B: 255})
}

const inventedWords = "Invented example: the shop, the customer, the engine and the measurements are not real"

// short is the beginning of a hash.
func short(hash string) string {
	if len(hash) > 12 {
		return hash[:12]
	}
	return hash
}
