package handover

import (
	"slices"
	"strings"

	"runnel/internal/plot"
)

// padding of a cell at each side, and above and below its lines [pt].
const (
	padX = 3.2
	padY = 2.6
	padN = 9.0 // more on the left of text that follows a number [pt]
)

// before is the padding at the left of column i [pt].
func before(columns []Column, i int) float64 {
	if i > 0 && columns[i-1].Number && !columns[i].Number {
		return padX + padN
	}
	return padX
}

// A grid is a table made ready for the width of the page.
type grid struct {
	t     Table
	size  float64   // letters [pt]
	lead  float64   // from line to line [pt]
	width []float64 // of each column [pt]
	head  [][]string
}

// signRoom is the room a mark takes before its text [pt].
func (g grid) signRoom() float64 { return g.size + 3 }

func (p *press) grid(t Table) grid {
	g := grid{t: t}
	for _, size := range []float64{8, 7.5, 7, 6.5} {
		g.size, g.lead = size, size*1.3
		natural, least := p.columnWidths(t, size)
		g.width = share(natural, least, p.width())
		if total(least) <= p.width() {
			break
		}
	}
	for i, c := range t.Columns {
		g.head = append(g.head, p.lines(c.Head, true, g.size-0.5, g.inner(i)))
	}
	return g
}

// inner is the width that the text of column i may take [pt].
func (g grid) inner(i int) float64 { return g.width[i] - before(g.t.Columns, i) - padX + 0.01 }

func total(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum
}

// columnWidths returns how wide each column would like to be and how narrow it may become.
func (p *press) columnWidths(t Table, size float64) (natural, least []float64) {
	natural, least = make([]float64, len(t.Columns)), make([]float64, len(t.Columns))
	for i, c := range t.Columns {
		p.font(true, size-0.5)
		for w := range strings.SplitSeq(c.Head, " ") {
			least[i] = max(least[i], p.pdf.GetStringWidth(w))
		}
		p.font(false, size-0.5)
		least[i] = max(least[i], p.pdf.GetStringWidth(c.Unit))
		natural[i] = least[i]
	}
	for _, r := range t.Rows {
		p.font(r.Bold, size)
		for i, cell := range r.Cells {
			extra := 0.0
			if r.Mark != NoMark && i == len(t.Columns)-1 {
				extra = size + 3
			}
			w := p.pdf.GetStringWidth(cell) + extra
			natural[i] = max(natural[i], w)
			if t.Columns[i].Number {
				least[i] = max(least[i], w)
				continue
			}
			for word := range strings.SplitSeq(cell, " ") {
				least[i] = max(least[i], min(p.pdf.GetStringWidth(word), 110)+extra)
			}
		}
	}
	for i := range natural {
		pad := before(t.Columns, i) + padX
		natural[i] += pad
		least[i] += pad
	}
	return natural, least
}

// share divides the width among the columns: what is over goes to the columns of text, what is missing is taken from them.
func share(natural, least []float64, width float64) []float64 {
	out := make([]float64, len(natural))
	copy(out, natural)
	if over := width - total(natural); over >= 0 {
		for i := range out {
			out[i] += over / float64(len(out))
		}
		return out
	}
	give, have := 0.0, width-total(least)
	for i := range out {
		give += natural[i] - least[i]
	}
	for i := range out {
		out[i] = least[i]
		if have > 0 && give > 0 {
			out[i] += have * (natural[i] - least[i]) / give
		}
	}
	if have < 0 {
		for i := range out {
			out[i] *= width / total(least)
		}
	}
	return out
}

func (g grid) headHeight() float64 {
	most, units := 1, 0
	for i, h := range g.head {
		most = max(most, len(h))
		if g.t.Columns[i].Unit != "" {
			units = 1
		}
	}
	return float64(most+units)*(g.lead-0.5) + 2*padY
}

// rowHeight is the height of a row with its cells broken into lines.
func (p *press) rowHeight(g grid, r Row) (float64, [][]string, []string) {
	if r.Group != "" {
		return g.lead + 2*padY + 3, nil, nil
	}
	most := 1
	cells := make([][]string, len(r.Cells))
	x := 0.0
	for i, c := range r.Cells {
		w := g.inner(i)
		if r.Mark != NoMark && i == len(g.width)-1 {
			w -= g.signRoom()
		}
		cells[i] = p.lines(c, r.Bold, g.size, w)
		most = max(most, len(cells[i]))
		x += g.width[i]
	}
	var rest []string
	if r.Rest != "" {
		rest = p.lines(r.Rest, false, g.size, p.width()-x-2*padX-g.signRoom())
		most = max(most, len(rest))
	}
	return float64(most)*g.lead + 2*padY, cells, rest
}

// tableNeed is the height of caption, head and the first two rows.
func (p *press) tableNeed(t Table) float64 {
	g := p.grid(t)
	need := g.headHeight()
	if t.Caption != "" {
		need += leadBody + 2
	}
	for i, r := range t.Rows {
		h, _, _ := p.rowHeight(g, r)
		need += h
		if i >= 1 && t.Rows[i-1].Group == "" || i >= 2 {
			break
		}
	}
	return min(need, p.bottom()-marginTop-bannerHeight)
}

func (p *press) table(t Table) {
	g := p.grid(t)
	p.room(p.tableNeed(t))
	if t.Caption != "" {
		p.write(marginSide, p.y+sizeBody, p.clip(t.Caption, true, sizeBody, p.width()-10), true, sizeBody, plot.Text.Light())
		p.y += leadBody + 2
	}
	p.tableHead(g)
	for i, r := range t.Rows {
		h, cells, rest := p.rowHeight(g, r)
		need := h
		if r.Group != "" && i+1 < len(t.Rows) {
			next, _, _ := p.rowHeight(g, t.Rows[i+1])
			need += next
		}
		if i == len(t.Rows)-2 { // the last row does not stand alone under a repeated head
			next, _, _ := p.rowHeight(g, t.Rows[i+1])
			need += next
		}
		if p.room(need) {
			p.tableHead(g)
			p.again(g, t.Rows[:i], r)
		}
		p.row(g, r, h, cells, rest)
	}
	p.y += 3
	var notes []string
	for _, n := range t.Notes {
		notes = append(notes, p.lines(n, false, sizeSmall, measure)...)
	}
	p.run(marginSide, notes, sizeSmall, leadSmall, plot.Muted.Light())
}

// again repeats the line that heads the group that goes on over the page.
func (p *press) again(g grid, before []Row, r Row) {
	if r.Group != "" {
		return
	}
	for _, b := range slices.Backward(before) {
		if b.Group != "" {
			again := Row{Group: b.Group + " (continued)"}
			h, _, _ := p.rowHeight(g, again)
			p.row(g, again, h, nil, nil)
			return
		}
	}
}

func (p *press) tableHead(g grid) {
	h := g.headHeight()
	x := marginSide
	bottom := p.y + h - padY - 1
	for i, c := range g.t.Columns {
		y := bottom
		if c.Unit != "" {
			p.cell(g.left(x, i), y, g.width[i], c.Unit, c.Number, false, g.size-0.5, plot.Muted.Light())
		}
		if g.hasUnits() {
			y -= g.lead - 0.5
		}
		for _, line := range slices.Backward(g.head[i]) {
			p.cell(g.left(x, i), y, g.width[i], line, c.Number, true, g.size-0.5, plot.Text.Light())
			y -= g.lead - 0.5
		}
		x += g.width[i]
	}
	p.y += h
	p.rule(marginSide, p.w-marginSide, p.y, 0.8, plot.Text)
}

// left moves the left edge x of column i by what it stands off from a number before it.
func (g grid) left(x float64, i int) float64 { return x + before(g.t.Columns, i) - padX }

func (g grid) hasUnits() bool {
	for _, c := range g.t.Columns {
		if c.Unit != "" {
			return true
		}
	}
	return false
}

// cell writes one line of a cell, numbers to the right.
func (p *press) cell(x, y, width float64, s string, number, bold bool, size float64, ink plot.RGB) {
	p.font(bold, size)
	if number {
		x += width - padX - p.pdf.GetStringWidth(s)
	} else {
		x += padX
	}
	p.write(x, y, s, bold, size, ink)
}

func (p *press) row(g grid, r Row, h float64, cells [][]string, rest []string) {
	ink := plot.Text.Light()
	base := p.y + padY + g.size*0.95
	if r.Group != "" {
		p.write(marginSide+padX, base+3, p.clip(r.Group, true, g.size, p.width()-16), true, g.size, plot.After.Light())
	}
	x := marginSide
	for i, c := range cells {
		left, width := g.left(x, i), g.width[i]
		if r.Mark != NoMark && i == len(g.width)-1 {
			p.sign1(g, r.Mark, left+padX, base)
			left, width = left+g.signRoom(), width-g.signRoom()
		}
		for k, l := range c {
			p.cell(left, base+float64(k)*g.lead, width, l, g.t.Columns[i].Number, r.Bold, g.size, ink)
		}
		x += g.width[i]
	}
	if len(rest) > 0 {
		p.sign1(g, r.Mark, x+padX, base)
		for k, l := range rest {
			p.cell(x+g.signRoom(), base+float64(k)*g.lead, 0, l, false, false, g.size, plot.Accent.LightWord())
		}
	}
	p.y += h
	p.rule(marginSide, p.w-marginSide, p.y, 0.4, plot.Grid)
}

// sign1 writes the mark of a row.
func (p *press) sign1(g grid, m Mark, x, y float64) {
	if m != NoMark {
		p.write(x, y, m.Sign(), true, g.size, m.Ink().LightWord())
	}
}
