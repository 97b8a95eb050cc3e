package meter

import (
	"math"

	"runnel/gas"
)

// limits gathers the limits of a standard that were left, and by how much.
//
// Outside its limits a standard states no uncertainty, and nothing that a standard says holds there in full. The rule here, common
// practice, no source: the uncertainty of the coefficient grows by the factor by which each limit is left, that of the expansibility by the
// factor by which its pressure ratio is; at most to a quarter. At half of the least Reynolds number the coefficient is half as sure.
type limits struct {
	left   []gas.Warning
	factor float64 // by which limits on size, shape and Reynolds number are left, multiplied [-]; 0: none
	ratio  float64 // by which the limit on the pressure ratio is left [-]; 0: it is not
}

// widest is the relative standard uncertainty to which a rule widens at most [-].
const widest = 0.25

// within notes it when x lies outside [lo, hi].
func (l *limits) within(limit string, x, lo, hi float64) {
	before := len(l.left)
	if l.left = within(l.left, limit, x, lo, hi); len(l.left) > before && x > 0 {
		l.factor = max(1, l.factor) * max(lo/x, x/hi)
	}
}

// ratioAbove notes it when the pressure ratio p2/p1 is below leastRatio.
func (l *limits) ratioAbove(limit string, up Upstream, dp float64) {
	before := len(l.left)
	if l.left = ratioWarning(l.left, limit, up, dp); len(l.left) > before {
		l.ratio = (dp / up.Pressure) / (1 - leastRatio)
	}
}

// close gives a flow its parts, widened where limits were left, and its warnings.
func (l *limits) close(f *Flow, parts []Part) {
	for i := range parts {
		switch p := &parts[i]; p.Name {
		case PartC, PartCalibration:
			p.URel = widened(p.URel, l.factor)
		case PartEps:
			p.URel = widened(p.URel, l.ratio)
		}
	}
	f.Parts, f.URel, f.Warnings = parts, combined(parts), append(f.Warnings, l.left...)
}

func widened(u, factor float64) float64 {
	return max(u, math.Min(widest, u*factor))
}
