package plot

import (
	"io"
	"strconv"
	"strings"
)

// SVG returns the figure as one svg element that can stand inside a page. Its colours are custom properties (see [CSS])
// with the light palette as fallback; it has no script, no style element and refers to nothing outside.
func (f Figure) SVG() string {
	w, h := f.size()
	s := &svg{}
	s.b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" class="plot" role="img" viewBox="0 0 `)
	s.b.WriteString(num(w) + " " + num(h) + `" width="` + num(w) + `" height="` + num(h) + `" aria-label="`)
	s.b.WriteString(escape(f.Title) + `" font-family="ui-sans-serif,system-ui,'Segoe UI',Roboto,'DejaVu Sans',sans-serif"`)
	s.b.WriteString(` font-variant="tabular-nums" fill="none" stroke-linejoin="round">` + "\n")
	s.b.WriteString("<title>" + escape(f.Title) + "</title>\n")
	if f.Desc != "" {
		s.b.WriteString("<desc>" + escape(f.Desc) + "</desc>\n")
	}
	f.Draw(s)
	s.b.WriteString("</svg>\n")
	return s.b.String()
}

// WriteSVG writes what SVG returns.
func (f Figure) WriteSVG(w io.Writer) error {
	_, err := io.WriteString(w, f.SVG())
	return err
}

// svg is the canvas of a page.
type svg struct {
	b     strings.Builder
	group bool
}

// num writes a length to a tenth of a px.
func num(v float64) string {
	s := strconv.FormatFloat(v, 'f', 1, 64)
	s = strings.TrimSuffix(s, ".0")
	if s == "-0" {
		return "0"
	}
	return s
}

// escape makes s safe as text or attribute value of XML.
func escape(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '&':
			b.WriteString("&amp;")
		case r == '<':
			b.WriteString("&lt;")
		case r == '>':
			b.WriteString("&gt;")
		case r == '"':
			b.WriteString("&quot;")
		case r == '\'':
			b.WriteString("&#39;")
		case r < ' ' || r == 0xfffe || r == 0xffff:
			b.WriteByte(' ')
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

func ink(k Ink, u use) string {
	name, c := k.colour(u)
	return "var(--" + name + "," + c.Hex() + ")"
}

func (s *svg) Open(note string) {
	if note == "" {
		return
	}
	s.group = true
	s.b.WriteString("<g><title>" + escape(note) + "</title>\n")
}

func (s *svg) Close() {
	if s.group {
		s.b.WriteString("</g>\n")
	}
	s.group = false
}

func (s *svg) Line(pts []Pt, st Stroke) {
	if len(pts) == 0 {
		return
	}
	s.b.WriteString(`<path d="`)
	s.path(pts)
	s.b.WriteByte('"')
	s.stroke(st)
	s.b.WriteString("/>\n")
}

func (s *svg) path(pts []Pt) {
	for i, p := range pts {
		switch i {
		case 0:
			s.b.WriteByte('M')
		case 1:
			s.b.WriteByte('L')
		default:
			s.b.WriteByte(' ')
		}
		s.b.WriteString(num(p.X) + " " + num(p.Y))
	}
}

func (s *svg) stroke(st Stroke) {
	if st.Width <= 0 {
		return
	}
	s.b.WriteString(` stroke="` + ink(st.Ink, forMarks) + `"`)
	if st.Width != 1 {
		s.b.WriteString(` stroke-width="` + num(st.Width) + `"`)
	}
	if st.Dash {
		s.b.WriteString(` stroke-dasharray="6 4"`)
	}
}

func (s *svg) fill(f Fill) {
	s.b.WriteString(` fill="` + ink(f.Ink, forMarks) + `"`)
	if f.Alpha < 1 {
		s.b.WriteString(` fill-opacity="` + strconv.FormatFloat(f.Alpha, 'f', 2, 64) + `"`)
	}
}

func (s *svg) Area(pts []Pt, f Fill) {
	s.b.WriteString(`<path d="`)
	s.path(pts)
	s.b.WriteString(`Z"`)
	s.fill(f)
	s.b.WriteString("/>\n")
}

func (s *svg) Boxes(boxes []Box, f Fill) {
	s.b.WriteString(`<path d="`)
	for _, b := range boxes {
		s.b.WriteString("M" + num(b.X) + " " + num(b.Y) + "h" + num(b.W) + "v" + num(b.H) + "h" + num(-b.W) + "z")
	}
	s.b.WriteByte('"')
	s.fill(f)
	s.b.WriteString("/>\n")
}

func (s *svg) Circle(at Pt, radius float64, f Fill, st Stroke) {
	s.b.WriteString(`<circle cx="` + num(at.X) + `" cy="` + num(at.Y) + `" r="` + num(radius) + `"`)
	s.fill(f)
	s.stroke(st)
	s.b.WriteString("/>\n")
}

func (s *svg) Text(at Pt, text string, face Face) {
	u := forWords
	if face.On {
		u = onFill
	}
	s.b.WriteString(`<text x="` + num(at.X) + `" y="` + num(at.Y) + `" font-size="` + num(face.Size) + `"`)
	switch face.Anchor {
	case Start:
	case Middle:
		s.b.WriteString(` text-anchor="middle"`)
	case End:
		s.b.WriteString(` text-anchor="end"`)
	}
	if face.Bold {
		s.b.WriteString(` font-weight="650"`)
	}
	s.b.WriteString(` fill="` + ink(face.Ink, u) + `">` + escape(text) + "</text>\n")
}

// Width estimates the width of a text in the sans-serif of a page, rather too wide than too narrow.
func (s *svg) Width(text string, face Face) float64 {
	w := 0.0
	for _, r := range text {
		w += advance(r)
	}
	if face.Bold {
		w *= 1.06
	}
	return w * face.Size
}

// advance is a typical advance of a letter of a sans-serif face [em]. By class of letter; no source, only for layout.
func advance(r rune) float64 {
	switch {
	case strings.ContainsRune("ijl.,:;'|!", r):
		return 0.30
	case strings.ContainsRune(" frt()/[]-·", r):
		return 0.40
	case strings.ContainsRune("mwMW%@", r):
		return 0.92
	case r >= 'A' && r <= 'Z', r == '+', r == '−', r == '±', r == '–', r == '=':
		return 0.70
	case r == '\u2009':
		return 0.2
	case r > 0x2e80:
		return 1
	}
	return 0.60
}
