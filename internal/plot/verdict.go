package plot

import (
	"fmt"
	"math"
	"strings"

	"runnel/assess"
)

// A VerdictRow is one row of the picture of verdicts.
type VerdictRow struct {
	Label   string
	Verdict assess.Verdict
}

// WordInk returns the ink and the shape that go with the word of a verdict.
func WordInk(word string) (Ink, Shape) {
	switch {
	case strings.HasPrefix(word, "proven gain"):
		return Gain, Up
	case strings.HasPrefix(word, "proven loss"):
		return Loss, Down
	}
	return Same, Disc
}

// Verdicts draws the change of every verdict with its 95 % interval [%]; changes within the smallest one worth claiming
// [-] are shaded.
func Verdicts(rows []VerdictRow, smallest float64) Figure {
	f := Figure{
		Title: "Change of flow with its 95 % interval",
		Desc:  "A verdict is proven when its whole interval lies outside the shaded range.",
		X:     Axis{Label: "Change", Unit: "%", Include: []float64{-300 * smallest, 300 * smallest}},
	}
	var dots []Dot
	lo, hi := f.X.Include[0], f.X.Include[1]
	for i, r := range rows {
		f.Y.Names = append(f.Y.Names, r.Label)
		v := r.Verdict
		if v.Refused != "" || v.Ratio <= 0 || math.IsNaN(v.Ratio) {
			dots = append(dots, Dot{X: 0, Y: float64(i), Shape: Bare, Ink: Muted, Label: "not comparable", Note: r.Label + ": " + v.Refused})
			continue
		}
		ink, shape := WordInk(v.Word)
		d := Dot{X: percent(v.Ratio), Lo: percent(v.Lo95), Hi: percent(v.Hi95), Y: float64(i), Ink: ink, Shape: shape}
		d.Label = Signed(d.X, 1) + " %"
		d.Note = fmt.Sprintf("%s: %s %% (%s to %s), %s", r.Label, Signed(d.X, 2), Signed(d.Lo, 2), Signed(d.Hi, 2), v.Word)
		dots = append(dots, d)
		lo, hi = min(lo, d.Lo), max(hi, d.Hi)
		f.Desc += " " + d.Note + "."
	}
	f.X.Include = append(f.X.Include, hi+labelShare*(hi-lo))
	f.Layers = []Layer{
		Shade{Along: AlongX, From: -100 * smallest, To: 100 * smallest, Ink: Same},
		Rule{Along: AlongX, At: 0, Ink: Muted},
		Points{Along: AlongX, Dots: dots},
	}
	f.Height = 60 + 32*float64(max(1, len(rows))) // a long name takes two lines
	return f
}

// labelShare is the room to the right of the last interval for its label, as a share of all intervals [-].
const labelShare = 0.09

// percent turns a ratio into a change in per cent.
func percent(ratio float64) float64 { return 100 * (ratio - 1) }
