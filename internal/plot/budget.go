package plot

import (
	"sort"

	"runnel/assess"
)

// Budget draws the shares of the causes of uncertainty in the variance of a reading [%], the largest first.
func Budget(lines []assess.BudgetLine) Figure {
	sorted := append([]assess.BudgetLine(nil), lines...)
	sort.SliceStable(sorted, func(i, j int) bool { return sorted[i].Share > sorted[j].Share })
	f := Figure{
		Title: "Where the uncertainty comes from", Desc: "Share of each cause in the variance.",
		X: Axis{Label: "Share of the variance", Unit: "%", Include: []float64{0}},
	}
	bars := Bars{Along: AlongX}
	for i, l := range sorted {
		f.Y.Names = append(f.Y.Names, l.Quantity)
		text := Number(100*l.Share, 1) + " %"
		bars.Bars = append(bars.Bars, Bar{At: float64(i), To: 100 * l.Share, Ink: kindInk(l.Kind), Label: text, Note: l.Quantity + ": " + text + ", type " + l.Kind})
		f.Desc += " " + l.Quantity + " " + text + "."
	}
	f.Layers = []Layer{bars}
	f.Height = 56 + 28*float64(max(1, len(lines))) // a long name takes two lines
	return f
}

// kindInk tells what was observed (type A) from what was known before (type B).
func kindInk(kind string) Ink {
	if kind == "A" {
		return Accent
	}
	return After
}
