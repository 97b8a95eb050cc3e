package web

import (
	"runnel/assess"
	"runnel/internal/plot"
)

// A filling says how unevenly the cylinders of a pull are filled.
type filling struct {
	Spread      float64 // largest of all speeds, best less worst cylinder over the mean [-]
	At          float64 // where [rev/min]
	Best, Worst int     // the cylinders there
	Alike       bool    // not worth a picture
	Figure      picture
}

// alike is the spread of volumetric efficiency below which cylinders count as filled alike [-]: about what settling leaves open.
const alike = 0.005

// fillingOf returns the filling of a state, "before" or "after" the work; nil where there is one cylinder only.
func fillingOf(points []assess.Point, state string) *filling {
	out := &filling{}
	many := false
	for _, p := range points {
		if len(p.Cylinders) < 2 {
			continue
		}
		many = true
		best, worst, mean := p.Cylinders[0], p.Cylinders[0], 0.0
		for _, c := range p.Cylinders {
			mean += c.VE / float64(len(p.Cylinders))
			if c.VE > best.VE {
				best = c
			}
			if c.VE < worst.VE {
				worst = c
			}
		}
		if s := (best.VE - worst.VE) / mean; s > out.Spread {
			out.Spread, out.At, out.Best, out.Worst = s, p.Speed, best.Number, worst.Number
		}
	}
	if !many {
		return nil
	}
	out.Alike = out.Spread < alike
	if !out.Alike {
		f := plot.Filling(points)
		f.Title += ", " + state + " the work"
		out.Figure = drawn(f)
	}
	return out
}
