package handover

import (
	"bytes"

	"runnel/internal/plot"
)

// NewPaperCanvas returns the canvas of a page of paper, and what closes it and returns the PDF.
func NewPaperCanvas() (c plot.Canvas, finish func() []byte) {
	p := &press{see: 1, fontUnset: true}
	p.open()
	p.pdf.SetCompression(false)
	p.newPage()
	return canvas{p, 10, 10}, func() []byte {
		var b bytes.Buffer
		if err := p.pdf.Output(&b); err != nil {
			panic("handover: " + err.Error())
		}
		return b.Bytes()
	}
}
