package plot

// NewSVGCanvas returns the canvas of a page, and what returns what was written on it.
func NewSVGCanvas() (c Canvas, finish func() []byte) {
	s := &svg{}
	return s, func() []byte { return []byte(s.b.String()) }
}
