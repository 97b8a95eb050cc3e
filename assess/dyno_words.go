package assess

import (
	"fmt"
	"strings"

	"runnel/engine"
)

// A Narrowed is the half width of a 95 % band, the mean over the speeds of a pull, without and with the dynamometer run [N·m].
type Narrowed struct {
	Unfitted float64 `json:"unfitted_nm"` // [N·m]
	Fitted   float64 `json:"fitted_nm"`   // [N·m]
	Share    float64 `json:"narrower"`    // by how much it is narrower [-]; below zero: wider
}

// intervals picks one of the bands at each speed.
func intervals(ps []engine.BandPoint, of func(engine.BandPoint) engine.Interval) []engine.Interval {
	out := make([]engine.Interval, len(ps))
	for i, p := range ps {
		out[i] = of(p)
	}
	return out
}

// narrowed compares the widths of a band at the same speeds.
func narrowed(was, is []engine.Interval) *Narrowed {
	mean := func(band []engine.Interval) float64 {
		sum := 0.0
		for _, b := range band {
			sum += (b.Hi - b.Lo) / 2
		}
		return sum / float64(len(band))
	}
	out := &Narrowed{Unfitted: mean(was), Fitted: mean(is)}
	if out.Unfitted > 0 {
		out.Share = 1 - out.Fitted/out.Unfitted
	}
	return out
}

// little is the change of a band's width that is not spoken of [-]: the draws of a band tell its width no better.
const little = 0.05

// word says in a word what became of a band, with its widths shown by show.
func (n Narrowed) word(show func(nm float64) string) string {
	switch {
	case n.Share > little:
		return fmt.Sprintf("is %.0f %% narrower, ±%s instead of ±%s", 100*n.Share, show(n.Fitted), show(n.Unfitted))
	case n.Share < -little:
		return fmt.Sprintf("is %.0f %% wider, ±%s instead of ±%s", -100*n.Share, show(n.Fitted), show(n.Unfitted))
	}
	return "is as wide as before, ±" + show(n.Fitted)
}

// BandWords says what the run did to the bands, with torques [N·m] shown by show, and that it promises no absolute power. Empty where
// the bands are not known.
func (d DynoFit) BandWords(show func(nm float64) string) string {
	if d.Band == nil {
		return ""
	}
	text := "With the run the 95 % band on torque " + d.Band.word(show) + " on average over the speeds"
	if d.ChangeBand != nil {
		text += "; the band on the change " + d.ChangeBand.word(show)
	}
	return text + ". A run corrects what was taken of this engine and goes no further than the dynamometer is trusted itself: no absolute torque or power is promised."
}

// told is the share of its former uncertainty that an unknown must keep to count as not told by the run [-].
const told = 0.9

// Words says in a sentence what the run made of the unknown. Uncertainties are standard uncertainties.
func (k DynoUnknown) Words() string {
	name := strings.TrimSuffix(k.Name, ", factor")
	if k.Unit != "" || k.Prior == 0 || k.Value == 0 {
		u := k.Unit
		if u != "°" {
			u = " " + u
		}
		return fmt.Sprintf("%s: %.3g%s instead of %.3g%s (known to ±%.2g%s without the run, ±%.2g%s with it)%s",
			name, k.Value, u, k.Prior, u, k.PriorU, u, k.U, u, hardly(k.U, k.PriorU))
	}
	was, is := k.PriorU/k.Prior, k.U/k.Value
	said := "as was taken"
	if shift := 100 * (k.Value/k.Prior - 1); shift >= 0.5 {
		said = fmt.Sprintf("%.0f %% more than was taken", shift)
	} else if shift <= -0.5 {
		said = fmt.Sprintf("%.0f %% less than was taken", -shift)
	}
	return fmt.Sprintf("%s: %s (known to ±%.1f %% without the run, ±%.1f %% with it)%s", name, said, 100*was, 100*is, hardly(is, was))
}

// hardly ends a sentence of an uncertainty with and without the run.
func hardly(is, was float64) string {
	if is > told*was {
		return ". The run hardly tells it."
	}
	return "."
}
