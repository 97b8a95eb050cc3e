package app

import (
	"bytes"
	"fmt"
	"strings"

	"runnel/internal/fault"
	"runnel/passage"
)

// A Template is sections at full size for marking out, on sheets that A4 and Letter paper hold: each with its number and place, and a square of 50 mm to check
// the print by.
type Template struct {
	Title string
	Marks []TemplateMark
}

// A TemplateMark is one section.
type TemplateMark struct {
	Label   string
	Outline []passage.Point // [m]
}

// Templates returns the templates of those stations of a state whose outline is known, not more than most of them, spread evenly.
func (b PassageBook) Templates(s PassageState, most int) (Template, error) {
	t := Template{Title: orName(b.Piece.Title, b.Piece.ID) + ", " + b.Opening + ", " + orName(s.Title, "as it is")}
	st := s.Passage.Stations()
	var known []int
	for i := range st {
		if len(st[i].Outline) > 0 {
			known = append(known, i)
		}
	}
	if len(known) == 0 {
		return t, fault.Errorf(fault.Invalid, "no outline is known here: area and perimeter alone make no template. Type shapes, send a mesh or trace slices")
	}
	n := min(most, len(known))
	if n < len(known) {
		t.Title += fmt.Sprintf(", %d of %d sections", n, len(known))
	}
	for k := range n {
		i := known[0]
		if n > 1 {
			i = known[k*(len(known)-1)/(n-1)]
		}
		t.Marks = append(t.Marks, TemplateMark{Label: fmt.Sprintf("Section %d at %.1f mm, %.0f mm²", i+1, 1e3*st[i].At, 1e6*st[i].Area), Outline: st[i].Outline})
	}
	return t, nil
}

// Sizes of a sheet [mm]: as wide as A4 and as high as Letter, so that printed at full size either paper holds all of it.
const (
	sheetWide = 210.0
	sheetHigh = 279.0
	sheetEdge = 12.0
	checkSide = 50.0
)

// A placed section has its middle on a sheet [mm].
type placedMark struct {
	TemplateMark
	sheet  int
	x, y   float64 // of its centre [mm] from the upper left
	lx, ly float64 // of its label
}

// laid lays the sections on sheets, row by row.
func (t Template) laid() ([]placedMark, int, error) {
	var out []placedMark
	sheet, x, y, row := 0, sheetEdge, sheetEdge+checkSide+18, 0.0
	for _, m := range t.Marks {
		lo, hi := boxOf(m.Outline)
		w, h := 1e3*(hi[0]-lo[0]), 1e3*(hi[1]-lo[1])
		if w > sheetWide-2*sheetEdge || h > sheetHigh-2*sheetEdge-checkSide-26 {
			return nil, 0, fault.Errorf(fault.Invalid, "%s is %.0f × %.0f mm and does not fit a sheet", m.Label, w, h)
		}
		wide := max(w, 52)
		if x+wide > sheetWide-sheetEdge {
			x, y, row = sheetEdge, y+row+8, 0
		}
		if y+h+8 > sheetHigh-sheetEdge {
			sheet, x, y, row = sheet+1, sheetEdge, sheetEdge+checkSide+18, 0
		}
		out = append(out, placedMark{TemplateMark: m, sheet: sheet, x: x + wide/2 - 500*(lo[0]+hi[0]), y: y + h/2 + 500*(lo[1]+hi[1]), lx: x, ly: y + h + 5})
		x, row = x+wide+8, max(row, h+6)
	}
	return out, sheet + 1, nil
}

func boxOf(p []passage.Point) (lo, hi passage.Point) {
	lo, hi = p[0], p[0]
	for _, q := range p {
		for k := range 2 {
			lo[k], hi[k] = min(lo[k], q[k]), max(hi[k], q[k])
		}
	}
	return lo, hi
}

const checkWords = "Print at 100 %. This square must measure 50 mm (1.97 in) each way."

// SVG draws one sheet at full size; it must be from 0 to below the number of sheets.
func (t Template) SVG(sheet int) (svg string, sheets int, err error) {
	marks, sheets, err := t.laid()
	if err != nil {
		return "", 0, err
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%gmm" height="%gmm" viewBox="0 0 %g %g" fill="none" stroke="#000" stroke-width="0.25">`+"\n", sheetWide, sheetHigh, sheetWide, sheetHigh)
	fmt.Fprintf(&b, `<rect x="%g" y="%g" width="%g" height="%g"/>`+"\n", sheetEdge, sheetEdge, checkSide, checkSide)
	text := func(x, y float64, s string) {
		fmt.Fprintf(&b, `<text x="%.2f" y="%.2f" font-family="sans-serif" font-size="3.6" fill="#000" stroke="none">%s</text>`+"\n", x, y, escaped(s))
	}
	text(sheetEdge+checkSide+5, sheetEdge+6, t.Title)
	text(sheetEdge+checkSide+5, sheetEdge+12, checkWords)
	text(sheetEdge+checkSide+5, sheetEdge+18, fmt.Sprintf("Sheet %d of %d. Looking along the flow.", sheet+1, sheets))
	for _, m := range marks {
		if m.sheet != sheet {
			continue
		}
		b.WriteString(`<path d="M`)
		for _, p := range m.Outline {
			fmt.Fprintf(&b, "%.3f %.3f ", m.x+1e3*p[0], m.y-1e3*p[1])
		}
		fmt.Fprintf(&b, `Z"/><path d="M%.3f %.3fh4M%.3f %.3fv4"/>`+"\n", m.x-2, m.y, m.x, m.y-2)
		text(m.lx, m.ly, m.Label)
	}
	b.WriteString("</svg>\n")
	return b.String(), sheets, nil
}

func escaped(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;").Replace(s)
}

// PDF draws all sheets at full size.
func (t Template) PDF() ([]byte, error) {
	marks, sheets, err := t.laid()
	if err != nil {
		return nil, err
	}
	const pt = 72 / 25.4 // points in a millimetre
	w := &pdfWriter{}
	w.object("<< /Type /Catalog /Pages 2 0 R >>")
	var kids strings.Builder
	for i := range sheets {
		fmt.Fprintf(&kids, "%d 0 R ", 4+2*i)
	}
	w.object(fmt.Sprintf("<< /Type /Pages /Count %d /Kids [ %s] >>", sheets, kids.String()))
	w.object("<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>")
	for i := range sheets {
		var c bytes.Buffer
		fmt.Fprintf(&c, "%.6f 0 0 %.6f 0 %.4f cm 0.25 w\n", pt, -pt, sheetHigh*pt) // millimetres from the upper left
		fmt.Fprintf(&c, "%g %g %g %g re S\n", sheetEdge, sheetEdge, checkSide, checkSide)
		text := func(x, y float64, s string) {
			fmt.Fprintf(&c, "BT /F1 3.6 Tf 1 0 0 -1 %.2f %.2f Tm (%s) Tj ET\n", x, y, pdfText(s))
		}
		text(sheetEdge+checkSide+5, sheetEdge+6, t.Title)
		text(sheetEdge+checkSide+5, sheetEdge+12, checkWords)
		text(sheetEdge+checkSide+5, sheetEdge+18, fmt.Sprintf("Sheet %d of %d. Looking along the flow.", i+1, sheets))
		for _, m := range marks {
			if m.sheet != i {
				continue
			}
			for k, p := range m.Outline {
				op := "l"
				if k == 0 {
					op = "m"
				}
				fmt.Fprintf(&c, "%.3f %.3f %s ", m.x+1e3*p[0], m.y-1e3*p[1], op)
			}
			fmt.Fprintf(&c, "h S %.3f %.3f m %.3f %.3f l %.3f %.3f m %.3f %.3f l S\n", m.x-2, m.y, m.x+2, m.y, m.x, m.y-2, m.x, m.y+2)
			text(m.lx, m.ly, m.Label)
		}
		w.object(fmt.Sprintf("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 %.4f %.4f] /Resources << /Font << /F1 3 0 R >> >> /Contents %d 0 R >>", sheetWide*pt, sheetHigh*pt, 5+2*i))
		w.object(fmt.Sprintf("<< /Length %d >>\nstream\n%s\nendstream", c.Len(), c.String()))
	}
	return w.close(), nil
}

// pdfText writes a text in the encoding of the standard fonts; what that lacks becomes a question mark.
func pdfText(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '(' || r == ')' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '–':
			b.WriteString(`\226`)
		case r >= ' ' && r < 0x7f:
			b.WriteRune(r)
		case r >= 0xa0 && r <= 0xff:
			fmt.Fprintf(&b, `\%03o`, r)
		default:
			b.WriteByte('?')
		}
	}
	return b.String()
}

// A pdfWriter writes numbered objects one after the other.
type pdfWriter struct {
	b  bytes.Buffer
	at []int
}

func (w *pdfWriter) object(body string) {
	if len(w.at) == 0 {
		w.b.WriteString("%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")
	}
	w.at = append(w.at, w.b.Len())
	fmt.Fprintf(&w.b, "%d 0 obj\n%s\nendobj\n", len(w.at), body)
}

func (w *pdfWriter) close() []byte {
	start := w.b.Len()
	fmt.Fprintf(&w.b, "xref\n0 %d\n0000000000 65535 f \n", len(w.at)+1)
	for _, at := range w.at {
		fmt.Fprintf(&w.b, "%010d 00000 n \n", at)
	}
	fmt.Fprintf(&w.b, "trailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n", len(w.at)+1, start)
	return w.b.Bytes()
}
