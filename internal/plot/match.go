package plot

import (
	"fmt"
	"strconv"

	"runnel/assess"
	"runnel/unit"
)

// A MatchRow is one row of the match picture: a match and what the row is called.
type MatchRow struct {
	Label string
	Match assess.Match
}

// Match draws the openings of a piece with their 95 % intervals on one flow axis, one row a round. An upright line marks
// the mean of a row; an odd one out is drawn in the accent.
func Match(rows []MatchRow, s unit.System) Figure {
	const pitch = 12.5
	style := s.Flow()
	f := Figure{
		Title: "Flow of every opening, round by round",
		Desc:  "Each dot is one opening with its 95 % interval; the upright line is the mean of the row.",
		X:     Axis{Label: "Flow", Unit: style.Unit},
	}
	most := 1
	for _, r := range rows {
		most = max(most, len(r.Match.Runners))
	}
	var dots []Dot
	for i, r := range rows {
		f.Y.Names = append(f.Y.Names, r.Label)
		n := len(r.Match.Runners)
		ink := Before
		if i == len(rows)-1 {
			ink = After
		}
		for k, o := range r.Match.Runners {
			d := Dot{
				X: style.Value(o.Flow), Lo: style.Value(o.Lo95), Hi: style.Value(o.Hi95),
				Y: float64(i) + (float64(k)-float64(n-1)/2)/float64(most+1), Ink: ink, Label: o.Opening,
			}
			d.Note = fmt.Sprintf("%s, opening %s: %s (%s to %s)", r.Label, o.Opening, style.Show(o.Flow),
				Number(d.Lo, style.Decimals), Number(d.Hi, style.Decimals))
			if o.Odd {
				d.Ink, d.Shape = Accent, Square
				d.Label += " odd one out"
			}
			dots = append(dots, d)
		}
		mean := style.Value(r.Match.Mean)
		f.Layers = append(f.Layers, Line{
			X: []float64{mean, mean}, Y: []float64{float64(i) - 0.46, float64(i) + 0.46}, Ink: ink, Thin: true,
			Note: r.Label + ": mean " + style.Show(r.Match.Mean),
		})
		f.Desc += fmt.Sprintf(" %s: mean %s, spread %s %%", r.Label, style.Show(r.Match.Mean),
			strconv.FormatFloat(100*r.Match.SpreadRel, 'f', 1, 64))
		if words := r.Match.TrueSpread(1); words != "" {
			f.Desc += ", " + words
		}
		f.Desc += "."
	}
	f.Layers = append(f.Layers, Points{Along: AlongX, Dots: dots})
	f.Height = 56 + float64(len(rows))*(float64(most)+1)*pitch
	return f
}
