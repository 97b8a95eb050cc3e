package handover

import (
	"strconv"

	"runnel/internal/plot"
)

// Sizes and leading of text on paper [pt].
const (
	sizeBody    = 9.5
	leadBody    = 13.6
	sizeOutcome = 10.5
	leadOutcome = 15.2
	sizeSmall   = 8.2
	leadSmall   = 11.2
	sizeSection = 14.0
	gapSection  = 20.0
	gapBlock    = 9.0
)

func (p *press) titleBlock() {
	ink, muted := plot.Text.Light(), plot.Muted.Light()
	shop := p.d.Shop
	if p.d.Place != "" {
		shop += ", " + p.d.Place
	}
	p.write(marginSide, p.y-12, p.clip(shop, true, 10, p.width()-90), true, 10, ink)
	p.right(p.w-marginSide, p.y-12, "Handover", 10, muted)
	p.rule(marginSide, p.w-marginSide, p.y-3, 1.6, plot.Accent)
	p.y += 24
	for _, l := range first(p.lines(p.d.Title, true, 20, p.width()), 4) {
		p.write(marginSide, p.y, l, true, 20, ink)
		p.y += 24
	}
	p.y -= 8
	p.headFacts()
}

// headFacts sets the facts of the title block in two columns.
func (p *press) headFacts() {
	const gap = 20
	col := (p.width() - gap) / 2
	half := (len(p.d.Head) + 1) / 2
	top, low := p.y, p.y
	for i, f := range p.d.Head {
		x := marginSide
		if i >= half {
			x += col + gap
		}
		if i == half {
			p.y = top
		}
		const name = 92
		lines := p.lines(f.Name, false, sizeSmall, name-8)
		for k, l := range lines {
			p.write(x, p.y+9+float64(k)*leadSmall, l, false, sizeSmall, plot.Muted.Light())
		}
		values := first(p.lines(f.Value, false, sizeBody-0.5, col-name), 5)
		for k, l := range values {
			p.write(x+name, p.y+9+float64(k)*12.4, l, false, sizeBody-0.5, plot.Text.Light())
		}
		p.y += max(float64(len(lines))*leadSmall, float64(len(values))*12.4) + 2
		low = max(low, p.y)
	}
	p.y = low + 2
}

func (p *press) section(s Section) {
	p.y += gapSection
	need := 30.0
	for i, b := range s.Blocks {
		need += p.need(b)
		if _, ok := b.(Paragraph); !ok || i > 1 { // a paragraph stays with what it leads to
			break
		}
	}
	need = min(need, p.bottom()-marginTop-2*bannerHeight)
	if p.room(need) {
		p.y += 4
	}
	p.pdf.Bookmark(s.Title, 0, p.y)
	p.write(marginSide, p.y+10, s.Title, true, sizeSection, plot.After.Light())
	p.y += 20
	for i, b := range s.Blocks {
		if i > 0 {
			p.y += gapBlock
		}
		if h, ok := b.(Paragraph); ok && h.Style == Head && i+1 < len(s.Blocks) {
			p.room(leadBody + 10 + p.need(s.Blocks[i+1]))
		}
		p.block(b)
	}
}

// need is the least height that must be left on a page for a block to begin there.
func (p *press) need(b Block) float64 {
	switch b := b.(type) {
	case Picture:
		return min(p.pictureHeight(b), 3*leadBody)
	case Table:
		return p.tableNeed(b)
	case Outcome:
		return leadOutcome * float64(len(p.lines(b.Text, false, sizeOutcome, p.width()-18)))
	case Sign:
		return signHeight
	case Paragraph:
		if b.Style != Head {
			return leadBody * float64(min(6, len(p.lines(b.Text, false, sizeBody, measure))))
		}
	}
	return 2 * leadBody
}

func (p *press) block(b Block) {
	switch b := b.(type) {
	case Paragraph:
		p.paragraph(b)
	case Outcome:
		p.outcome(b)
	case List:
		p.list(b)
	case Facts:
		p.facts(b)
	case Table:
		p.table(b)
	case Picture:
		p.picture(b)
	case Sign:
		p.sign(b)
	}
}

// run sets lines from x on, breaking pages so that no single line is left alone.
func (p *press) run(x float64, lines []string, size, lead float64, ink plot.RGB) {
	for len(lines) > 0 {
		fit := int((p.bottom() - p.y) / lead)
		switch {
		case fit >= len(lines):
			fit = len(lines)
		case fit < 2:
			p.newPage()
			continue
		case len(lines)-fit == 1:
			fit--
		}
		for _, l := range lines[:fit] {
			p.write(x, p.y+size, l, false, size, ink)
			p.y += lead
		}
		lines = lines[fit:]
		if len(lines) > 0 {
			p.newPage()
		}
	}
}

func (p *press) paragraph(b Paragraph) {
	switch b.Style {
	case Plain:
		p.run(marginSide, p.lines(b.Text, false, sizeBody, measure), sizeBody, leadBody, plot.Text.Light())
	case Small:
		p.run(marginSide, p.lines(b.Text, false, sizeSmall, measure), sizeSmall, leadSmall, plot.Muted.Light())
	case Quote:
		y := p.y
		p.run(marginSide+12, p.lines("“"+b.Text+"”", false, sizeBody, measure-12), sizeBody, leadBody, plot.Text.Light())
		if p.y > y {
			c := plot.Accent.Light()
			p.pdf.SetFillColor(int(c.R), int(c.G), int(c.B))
			p.pdf.Rect(marginSide, y+1, 2, p.y-y-2, "F")
		}
	case Head:
		p.room(leadBody * 4)
		for _, l := range first(p.lines(b.Text, true, sizeBody+0.5, p.width()), 3) {
			p.write(marginSide, p.y+sizeBody, l, true, sizeBody+0.5, plot.Text.Light())
			p.y += leadBody
		}
		p.y -= gapBlock - 3
	}
}

func (p *press) outcome(b Outcome) {
	p.room(p.need(b))
	if b.Mark != NoMark {
		p.write(marginSide, p.y+sizeOutcome, b.Mark.Sign(), true, sizeOutcome+1, b.Mark.Ink().LightWord())
	} else {
		p.rule(marginSide, marginSide+8, p.y+7, 1.4, plot.Same)
	}
	p.run(marginSide+18, p.lines(b.Text, false, sizeOutcome, p.width()-18), sizeOutcome, leadOutcome, plot.Text.Light())
	p.y -= 2
}

func (p *press) list(b List) {
	indent := 14.0
	if b.Numbered {
		indent = 20
	}
	for i, it := range b.Items {
		p.room(2 * leadBody)
		mark := "–"
		if b.Numbered {
			mark = strconv.Itoa(i+1) + "."
		}
		p.write(marginSide, p.y+sizeBody, mark, false, sizeBody, plot.Muted.Light())
		x := marginSide + indent
		if it.Lead == "" {
			p.run(x, p.lines(it.Text, false, sizeBody, measure-indent), sizeBody, leadBody, plot.Text.Light())
		} else {
			p.leadItem(x, it, measure-indent)
		}
		p.y += 2.5
	}
}

// leadItem sets an item whose first words are bold.
func (p *press) leadItem(x float64, it Item, width float64) {
	lead := it.Lead + ". "
	p.font(true, sizeBody)
	w := p.pdf.GetStringWidth(lead)
	lines := p.lines(it.Text, false, sizeBody, width-w)
	rest := ""
	if len(lines) > 1 {
		rest = it.Text[len(lines[0]):]
	}
	p.write(x, p.y+sizeBody, lead, true, sizeBody, plot.Text.Light())
	p.write(x+w, p.y+sizeBody, lines[0], false, sizeBody, plot.Text.Light())
	p.y += leadBody
	if rest != "" {
		p.run(x, p.lines(rest, false, sizeBody, width), sizeBody, leadBody, plot.Text.Light())
	}
}

func (p *press) facts(b Facts) {
	const name = 92
	for _, f := range b.Rows {
		names := p.lines(f.Name, false, sizeBody, name-8)
		p.room(float64(max(2, len(names))) * leadBody)
		page, top := p.pdf.PageNo(), p.y
		for i, l := range names {
			p.write(marginSide, p.y+sizeBody+float64(i)*leadBody, l, false, sizeBody, plot.Muted.Light())
		}
		p.run(marginSide+name, p.lines(f.Value, false, sizeBody, measure-name), sizeBody, leadBody, plot.Text.Light())
		if p.pdf.PageNo() == page {
			p.y = max(p.y, top+float64(len(names))*leadBody)
		}
		p.y++
	}
}

func (p *press) pictureHeight(b Picture) float64 {
	_, h := b.Figure.Size()
	return pt*h + 6 + leadSmall*float64(len(p.lines(b.Caption, false, sizeSmall, measure)))
}

// picture sets a picture here when there is room, else at the top of the next page: what follows fills this one.
func (p *press) picture(b Picture) {
	if len(p.waiting) > 0 || p.y+p.pictureHeight(b) > p.bottom() {
		p.waiting = append(p.waiting, b)
		p.y -= gapBlock
		return
	}
	p.setPicture(b)
}

func (p *press) setPicture(b Picture) {
	_, h := b.Figure.Size()
	b.Figure.Draw(canvas{p, marginSide, p.y})
	p.y += pt*h + 6
	for _, l := range p.lines(b.Caption, false, sizeSmall, measure) {
		p.write(marginSide, p.y+sizeSmall, l, false, sizeSmall, plot.Muted.Light())
		p.y += leadSmall
	}
}

const signHeight = 96.0

func (p *press) sign(b Sign) {
	p.room(signHeight)
	const gap = 24
	col := (p.width() - gap) / 2
	for i, who := range b.Lines {
		x := marginSide + float64(i)*(col+gap)
		p.write(x, p.y+12, p.clip(who, false, sizeBody, col), false, sizeBody, plot.Text.Light())
		for k, what := range []string{"Name", "Date and signature"} {
			y := p.y + 46 + float64(k)*38
			p.rule(x, x+col, y, 0.6, plot.Muted)
			p.write(x, y+10, what, false, sizeSmall-0.7, plot.Muted.Light())
		}
	}
	p.y += signHeight
}
