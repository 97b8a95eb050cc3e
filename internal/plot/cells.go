package plot

import "math"

// cellLevels is how many steps of colour lie on each side of the middle.
const cellLevels = 7

// level turns a value into a step from -cellLevels to cellLevels.
func (m Cells) level(v float64) int {
	if !finite(v) || m.Span <= 0 {
		return 0
	}
	return int(clamp(math.Round((v-m.Mid)/m.Span*cellLevels), -cellLevels, cellLevels))
}

func cellFill(level int) Fill {
	f := Fill{Ink: Accent, Alpha: float64(level) / cellLevels}
	if level < 0 {
		f = Fill{Ink: After, Alpha: -f.Alpha}
	}
	return f
}

func (m Cells) draw(c Canvas, f frame) {
	var by [2*cellLevels + 1][]Box
	for row := range min(len(m.V), len(m.Y)-1) {
		values := m.V[row]
		n := min(len(values), len(m.X)-1)
		for from := 0; from < n; {
			to, lv := from+1, m.level(values[from])
			for to < n && m.level(values[to]) == lv {
				to++
			}
			if lv != 0 {
				box := f.rect(AlongX, m.X[from], m.X[to], m.Y[row], m.Y[row+1])
				by[lv+cellLevels] = append(by[lv+cellLevels], box)
			}
			from = to
		}
	}
	c.Open(m.Label)
	for i, boxes := range by {
		if len(boxes) > 0 {
			c.Boxes(boxes, cellFill(i-cellLevels))
		}
	}
	c.Close()
	m.drawKey(c, f)
}

func (m Cells) ends() []endLabel { return nil }

// drawKey draws the key of the colours above the right end of the map.
func (m Cells) drawKey(c Canvas, f frame) {
	const width, height = 9.0, 9.0
	face := Face{Ink: Muted, Size: sizeSmall}
	dec := decimalsOf(m.Span)
	hi := Signed(m.Mid+m.Span, dec) + " " + m.Unit
	y := f.box.Y - 18
	x := f.box.X + f.box.W - c.Width(hi, face) - 5 - (2*cellLevels+1)*width
	for lv := -cellLevels; lv <= cellLevels; lv++ {
		if lv != 0 {
			c.Boxes([]Box{{x + float64(lv+cellLevels)*width, y, width, height}}, cellFill(lv))
		}
	}
	c.Text(Pt{f.box.X + f.box.W, y + height}, hi, Face{Ink: Muted, Size: sizeSmall, Anchor: End})
	c.Text(Pt{x - 5, y + height}, Number(m.Mid-m.Span, dec), Face{Ink: Muted, Size: sizeSmall, Anchor: End})
}
