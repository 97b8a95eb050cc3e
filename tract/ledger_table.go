package tract

import (
	"fmt"
	"math"
)

// write fills the table and the profile at the flow w = ṁ·√(R·T0) [Pa·m²].
func (ch *chain) write(out *Ledger, w float64, c Case) error {
	total, loss, ok := ch.march(w)
	if !ok {
		return fmt.Errorf("%w: the flow of the reading, %.4g mm² effective, cannot pass the sections as given, of which the narrowest has %.4g mm²", ErrLedger, 1e6*c.Reading, 1e6*c.Passage.Narrowest().Area)
	}
	g, r, t0 := c.Air.Gamma, c.Air.GasConstant, c.Air.Temperature
	out.Mass = w / math.Sqrt(r*t0)
	fastest := 0.0
	for i, p := range ch.grid {
		m, ok := machOfReduced(w/(total[i]*p.Area), g)
		if !ok {
			return fmt.Errorf("%w: choked at %.1f mm", ErrLedger, 1e3*p.At)
		}
		speed := m * math.Sqrt(g*r*t0/(1+(g-1)/2*m*m))
		out.Profile = append(out.Profile, State{At: p.At, Area: p.Area, Total: total[i], Static: total[i] / totalRatio(m, g), Velocity: speed, Mach: m})
		fastest = max(fastest, m)
	}
	if fastest > 0.3 {
		out.Warnings = append(out.Warnings, fmt.Sprintf("Mach number up to %.2f: the loss coefficients are those of incompressible flow, good to about 0.3", fastest))
	}
	out.Losses = append([]Loss(nil), ch.rows...)
	for i, e := range ch.elements {
		out.Losses[e.row].Drop += loss[i]
	}
	last := out.Profile[len(out.Profile)-1]
	end := c.Air.Pressure - c.Drop
	out.Losses = append(out.Losses, Loss{
		Name: "exit: velocity head lost", Kind: "exit", From: last.At, To: last.At, K: 1, Lo: 1, Hi: exitMost, Section: last.Area,
		Drop: last.Total - last.Static, Source: "all of the velocity head (Rennels and Hudson 2012)",
	})
	if left := last.Static - end; c.Reading == 0 && left > 1e-4*c.Drop {
		out.Losses = append(out.Losses, Loss{
			Name: "choking: pressure not won back", Kind: "choking", From: last.At, To: last.At, Section: last.Area, Drop: left,
			Source: "rest of the test pressure",
		})
	}
	for i := range out.Losses {
		l := &out.Losses[i]
		l.Share = l.Drop / c.Drop
		if l.Kind != "friction" {
			continue
		}
		// Friction is stated on the section in the middle of its part.
		mid := ch.find((l.From + l.To) / 2)
		s := out.Profile[mid]
		l.Section = s.Area
		l.K = l.Drop / (g / 2 * s.Mach * s.Mach * s.Static)
		u := ch.frictionSpread(element{index: mid}, w) / rangeOf / 2
		l.Lo, l.Hi = l.K*(1-u), l.K*(1+u)
	}
	if c.Reading > 0 {
		out.Unexplained = Loss{
			Name: "unexplained", Kind: "unexplained", From: ch.grid[0].At, To: last.At, Section: last.Area,
			Drop: last.Static - end, Share: (last.Static - end) / c.Drop, Source: "reading less ledger",
		}
	}
	return nil
}
