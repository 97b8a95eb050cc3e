package app

import (
	"fmt"

	"runnel/internal/plot"
	"runnel/job"
	"runnel/measure"
)

// SharesPicture draws what the scatter of a study comes from, as shares of all variance.
func SharesPicture(a StudyAnswer) plot.Figure {
	f := plot.Figure{
		Title: "Where the scatter comes from", Desc: "Shares of all variance.",
		X: plot.Axis{Label: "Share of all variance", Unit: "%", Include: []float64{0, 100}}, Height: 190,
	}
	bars := plot.Bars{Along: plot.AlongX}
	inks := []plot.Ink{plot.Part2, plot.Part4, plot.Accent, plot.After}
	for i, r := range a.Sources() {
		share := 100 * r.Share
		f.Y.Names = append(f.Y.Names, r.Name)
		text := plot.Number(share, 1) + " %"
		bars.Bars = append(bars.Bars, plot.Bar{At: float64(i), To: share, Ink: inks[i], Label: text, Note: r.Name + ": " + text})
		f.Desc += " " + r.Name + ": " + text + "."
	}
	f.Layers = []plot.Layer{bars}
	return f
}

// EatenPicture draws what the gauge eats of a claimed change, in per cent of the flow. It has nothing to draw without a claim.
func EatenPicture(a StudyAnswer) plot.Figure {
	claim, eaten := 100*a.Claim, 100*a.Claim*a.Eats
	f := plot.Figure{
		Title:  "What is left of the claim",
		Desc:   fmt.Sprintf("Of a claimed change of %s %% two single readings leave %s %% in doubt.", plot.Number(claim, 2), plot.Number(eaten, 2)),
		X:      plot.Axis{Label: "Change", Unit: "%", Include: []float64{0, 1.15 * claim}},
		Y:      plot.Axis{Names: []string{"Claim", "In doubt"}},
		Height: 130,
	}
	f.Layers = []plot.Layer{plot.Bars{Along: plot.AlongX, Bars: []plot.Bar{
		{At: 0, To: claim, Ink: plot.After, Label: plot.Number(claim, 2) + " %"},
		{At: 1, To: eaten, Ink: plot.Accent, Label: plot.Number(eaten, 2) + " %"},
	}}}
	return f
}

// LabsPicture draws what each shop found, with its 95 % interval, against the consensus or reference with its own.
func LabsPicture(c job.LabComparison, a LabsAnswer) plot.Figure {
	u := map[string]float64{}
	for _, e := range c.Results {
		u[e.Shop] = e.Standard()
	}
	what := "consensus"
	if a.Reference {
		what = "reference"
	}
	f := plot.Figure{
		Title: "What each shop found, against the " + what, Desc: "Each dot is a shop with two standard uncertainties; the shade is the " + what + " with two of its own.",
		X: plot.Axis{Label: "Result", Unit: UnitWord(a.Unit)},
	}
	var dots []plot.Dot
	for i, s := range sortedBy(a.Scores, func(s measure.LabScore) float64 { return s.Value }) {
		f.Y.Names = append(f.Y.Names, s.Lab)
		half := 2 * u[s.Lab]
		d := plot.Dot{X: s.Value, Y: float64(i), Lo: s.Value - half, Hi: s.Value + half, Ink: plot.After, Label: "En " + plot.Signed(s.En, 2)}
		switch s.Word {
		case measure.LabDiffers:
			d.Ink, d.Shape = plot.Loss, plot.Square
			d.Label += ", " + s.Word
		case measure.LabUnstated:
			d.Ink, d.Shape, d.Label = plot.Same, plot.Ring, s.Word
		}
		d.Note = s.Lab + ": " + d.Label
		dots = append(dots, d)
		f.Desc += " " + d.Note + "."
	}
	half := 2 * a.UConsensus
	f.X.Include = []float64{a.Consensus - half, a.Consensus + half}
	f.Layers = []plot.Layer{
		plot.Shade{Along: plot.AlongX, From: a.Consensus - half, To: a.Consensus + half, Ink: plot.Same},
		plot.Rule{Along: plot.AlongX, At: a.Consensus, Ink: plot.Text},
		plot.Points{Along: plot.AlongX, Dots: dots},
	}
	f.Height = 76 + 27*float64(max(1, len(dots)))
	return f
}
