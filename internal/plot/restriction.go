package plot

import (
	"runnel/assess"
)

// Restriction draws what share of the pressure drop of the tract each piece takes [%], one bar a state. name gives the
// title of a piece.
func Restriction(states []assess.Restriction, name func(piece string) string) Figure {
	f := Figure{
		Title: "Share of the pressure drop of the tract", Desc: "The longest part holds the flow back most.",
		X: Axis{Label: "Share", Unit: "%", Include: []float64{0, 100}},
	}
	bars := Bars{Along: AlongX, Thick: 0.56}
	ink := map[string]Ink{}
	for i, r := range states {
		f.Y.Names = append(f.Y.Names, r.State)
		at := 0.0
		for _, p := range r.Pieces {
			k, ok := ink[p.Piece]
			if !ok {
				k = Part(len(ink))
				ink[p.Piece] = k
			}
			to := at + 100*p.Share
			share := Number(100*p.Share, 0) + " %"
			bars.Bars = append(bars.Bars, Bar{
				At: float64(i), From: at, To: to, Ink: k, In: share + " " + name(p.Piece),
				Note: r.State + ": " + name(p.Piece) + " " + share,
			})
			at = to
		}
		if r.HoldsBack != "" {
			f.Desc += " " + r.State + ": " + name(r.HoldsBack) + " holds the flow back most."
		}
	}
	f.Layers = []Layer{bars}
	f.Height = 56 + 44*float64(max(1, len(states)))
	return f
}
