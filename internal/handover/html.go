package handover

import (
	"fmt"
	"html"
	"io"
	"strconv"
	"strings"

	"runnel/internal/plot"
)

// A page sets a document as HTML.
type page struct{ b strings.Builder }

// HTML writes the document as one file that refers to nothing outside itself. The same document gives the same bytes.
func (d Document) HTML(w io.Writer) error {
	p := &page{}
	p.b.WriteString("<!doctype html>\n")
	p.put(`<html lang="%s"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1">`, d.Language)
	p.put("\n<title>%s · %s</title>\n", d.Title, d.Customer)
	p.put(`<meta name="author" content="%s"><meta name="description" content="Handover, facts %s">`, d.Shop, d.Hash)
	p.b.WriteString("\n<style>\n" + plot.CSS() + styleSheet(d) + "</style></head>\n<body>\n")
	if d.Invented {
		p.put(`<p class="invented" role="note">%s</p>`+"\n", inventedWords)
	}
	p.b.WriteString("<main>\n")
	p.header(d)
	for _, s := range d.Sections {
		p.put(`<section id="%s" aria-labelledby="%s-title">`+"\n", s.ID, s.ID)
		p.put(`<h2 id="%s-title">%s</h2>`+"\n", s.ID, s.Title)
		for _, b := range s.Blocks {
			p.block(b)
		}
		p.b.WriteString("</section>\n")
	}
	p.put("<footer>Facts %s · %s · made with Runnel</footer>\n", d.Hash, day(d.Date))
	p.b.WriteString("</main>\n</body></html>\n")
	if _, err := io.WriteString(w, p.b.String()); err != nil {
		return fmt.Errorf("writing the handover as HTML: %w", err)
	}
	return nil
}

// put writes a format whose arguments are text and are made safe for HTML.
func (p *page) put(format string, args ...string) {
	safe := make([]any, len(args))
	for i, a := range args {
		safe[i] = html.EscapeString(a)
	}
	fmt.Fprintf(&p.b, format, safe...)
}

func (p *page) header(d Document) {
	shop := d.Shop
	if d.Place != "" {
		shop += ", " + d.Place
	}
	p.put(`<header><p class="shop"><strong>%s</strong><span>Handover</span></p>`+"\n<h1>%s</h1>\n", shop, d.Title)
	p.factList(d.Head, "head")
	p.b.WriteString("</header>\n")
}

func (p *page) factList(facts []Fact, class string) {
	p.put(`<dl class="%s">`+"\n", class)
	for _, f := range facts {
		p.put("<div><dt>%s</dt><dd>%s</dd></div>\n", f.Name, f.Value)
	}
	p.b.WriteString("</dl>\n")
}

func (p *page) block(b Block) {
	switch b := b.(type) {
	case Paragraph:
		p.paragraph(b)
	case Outcome:
		p.b.WriteString(`<p class="outcome">`)
		p.mark(b.Mark)
		p.put("<span>%s</span></p>\n", b.Text)
	case List:
		p.list(b)
	case Facts:
		p.factList(b.Rows, "facts")
	case Table:
		p.table(b)
	case Picture:
		p.b.WriteString("<figure>\n" + b.Figure.SVG())
		p.put("<figcaption>%s</figcaption></figure>\n", b.Caption)
	case Sign:
		p.b.WriteString(`<div class="sign">`)
		for _, who := range b.Lines {
			p.put(`<div><p>%s</p><p class="line">Name</p><p class="line">Date and signature</p></div>`, who)
		}
		p.b.WriteString("</div>\n")
	}
}

func (p *page) paragraph(b Paragraph) {
	switch b.Style {
	case Plain:
		p.put("<p>%s</p>\n", b.Text)
	case Small:
		p.put(`<p class="small">%s</p>`+"\n", b.Text)
	case Quote:
		p.put("<blockquote><p>“%s”</p></blockquote>\n", b.Text)
	case Head:
		p.put("<h3>%s</h3>\n", b.Text)
	}
}

func (p *page) mark(m Mark) {
	if m == NoMark {
		p.b.WriteString(`<i class="mark" aria-hidden="true">–</i>`)
		return
	}
	p.put(`<i class="mark %s" aria-hidden="true">%s</i>`, m.Ink().Name(), m.Sign())
}

func (p *page) list(b List) {
	tag := "ul"
	if b.Numbered {
		tag = "ol"
	}
	p.b.WriteString("<" + tag + ">\n")
	for _, it := range b.Items {
		if it.Lead != "" {
			p.put("<li><strong>%s.</strong> %s</li>\n", it.Lead, it.Text)
		} else {
			p.put("<li>%s</li>\n", it.Text)
		}
	}
	p.b.WriteString("</" + tag + ">\n")
}

func (p *page) table(t Table) {
	p.b.WriteString(`<div class="scroll" tabindex="0"><table>` + "\n")
	if t.Caption != "" {
		p.put("<caption>%s</caption>\n", t.Caption)
	}
	p.b.WriteString("<thead><tr>")
	for _, c := range t.Columns {
		if c.Number {
			p.put(`<th scope="col" class="n">%s`, c.Head)
		} else {
			p.put(`<th scope="col">%s`, c.Head)
		}
		if c.Unit != "" {
			p.put(` <span>%s</span>`, c.Unit)
		}
		p.b.WriteString("</th>")
	}
	p.b.WriteString("</tr></thead>\n<tbody>\n")
	for _, r := range t.Rows {
		p.row(t, r)
	}
	p.b.WriteString("</tbody></table></div>\n")
	for _, n := range t.Notes {
		p.put(`<p class="small">%s</p>`+"\n", n)
	}
}

func (p *page) row(t Table, r Row) {
	n := len(t.Columns)
	if r.Group != "" {
		p.put(`<tr class="group"><th scope="colgroup" colspan="%s">%s</th></tr>`+"\n", strconv.Itoa(n), r.Group)
		return
	}
	class := ""
	if r.Bold {
		class = ` class="bold"`
	}
	p.b.WriteString("<tr" + class + ">")
	for i, c := range r.Cells {
		if t.Columns[i].Number {
			p.b.WriteString(`<td class="n">`)
		} else {
			p.b.WriteString("<td>")
		}
		if r.Mark != NoMark && i == n-1 {
			p.mark(r.Mark)
			p.b.WriteByte(' ')
		}
		p.put("%s</td>", c)
	}
	if r.Rest != "" {
		p.put(`<td class="rest" colspan="%s">`, strconv.Itoa(n-len(r.Cells)))
		p.mark(r.Mark)
		p.put(" %s</td>", r.Rest)
	}
	p.b.WriteString("</tr>\n")
}
