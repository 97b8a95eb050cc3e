package plot

// A Canvas is what a figure is drawn on. The origin is the upper left corner and y grows downwards.
type Canvas interface {
	// Open starts a group of marks that belong together; note says in words what they show. Groups do not nest.
	Open(note string)
	// Close ends the group.
	Close()
	// Line draws an open line through pts.
	Line(pts []Pt, s Stroke)
	// Area fills the closed outline pts.
	Area(pts []Pt, f Fill)
	// Boxes fills all boxes in one colour.
	Boxes(boxes []Box, f Fill)
	// Circle draws a disc with an outline; a stroke of no width leaves the outline out.
	Circle(at Pt, radius float64, f Fill, s Stroke)
	// Text writes one line with its baseline at the point.
	Text(at Pt, s string, face Face)
	// Width returns how wide Text would write s [px].
	Width(s string, face Face) float64
}

// A Pt is a point of the canvas.
type Pt struct {
	X float64 // from the left [px]
	Y float64 // from the top [px]
}

// A Box is an upright rectangle of the canvas.
type Box struct {
	X float64 // left edge [px]
	Y float64 // upper edge [px]
	W float64 // width [px]
	H float64 // height [px]
}

// A Stroke is how a line is drawn.
type Stroke struct {
	Ink   Ink
	Width float64 // [px]
	Dash  bool
}

// A Fill is how an area is filled.
type Fill struct {
	Ink   Ink
	Alpha float64 // how much of what lies below is covered [-], 0 to 1
}

// A Face is how text is written.
type Face struct {
	Ink    Ink
	Size   float64 // [px]
	Bold   bool
	Anchor Anchor
	On     bool // the text stands on an area filled with Ink: it is written in the colour that can be read there
}

// Anchor is where the point of a text lies in it.
type Anchor int

// The anchors.
const (
	Start Anchor = iota
	Middle
	End
)
