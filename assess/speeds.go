package assess

import (
	"math"

	"runnel/engine"
	"runnel/job"
)

// Speeds returns the speeds of a pull [rev/s]: those the engine card names, else twelve from a quarter of
// the red line up to it.
func Speeds(card job.Engine) ([]float64, error) {
	if card.Speeds != "" {
		return job.ParseSpeeds(card.Speeds)
	}
	top := card.RedLine * 60
	if top == 0 {
		top = 7000
	}
	step := math.Max(50, math.Round(top*0.75/11/50)*50)
	first := math.Max(500, math.Round((top-11*step)/50)*50)
	out := make([]float64, 0, 12)
	for i := range 12 {
		if n := first + float64(i)*step; n <= top+1e-9 {
			out = append(out, n/60)
		}
	}
	return out, nil
}

// PullWarnings names the speeds that did not settle.
func PullWarnings(ps []engine.Point) []string {
	out := []string{}
	for _, p := range ps {
		if !p.Settled {
			out = append(out, rpm(p.Speed)+" did not settle: its figures are of the last cycle run")
		}
	}
	return out
}
