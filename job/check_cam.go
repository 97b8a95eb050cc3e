package job

import (
	"fmt"
	"math"
)

// lobe checks one lobe of the cam.
func (c *checker) lobe(file, at string, l *LobeCard, exhaust bool) {
	events := l.Opens != 0 || l.Closes != 0 || l.Duration != 0
	switch {
	case len(l.Table) > 0 && events:
		c.add(file, at+".table", "the lobe has both a lift table and events", "leave one of the two out")
	case len(l.Table) > 0 && len(l.Table) < 4:
		c.add(file, at+".table", fmt.Sprintf("a lift table of %d points", len(l.Table)), "write at least four points")
	case l.Duration != 0 && (l.Opens != 0 || l.Closes != 0):
		c.add(file, at+".duration", "the lobe has both a duration and the angles it opens and closes at", "write duration with centre, or opens with closes")
	case l.Duration < 0 || l.Duration > 2*math.Pi:
		c.add(file, at+".duration", fmt.Sprintf("duration of %.6g°", l.Duration/degree), "write crank degrees between 0 and 360")
	case events && l.PeakLift == 0:
		c.add(file, at+".peak_lift", "the lobe has events but no peak lift", `write peak_lift = "11 mm"`)
	}
	c.notNegative(file, at+".peak_lift", "peak lift", l.PeakLift)
	c.notNegative(file, at+".lash", "lash", l.Lash)
	for i, p := range l.Table {
		if i > 0 && p.Angle <= l.Table[i-1].Angle {
			c.add(file, fmt.Sprintf("%s.table[%d].angle", at, i), "the angle is not after the one before it", "write the points in order of angle")
		}
		c.notNegative(file, fmt.Sprintf("%s.table[%d].lift", at, i), "lift", p.Lift)
	}
	c.events(file, at, l)
	c.when(file, at, l, exhaust)
}

// events checks that the angles a lobe opens and closes at, and the lift they are stated at, are those of one lobe.
func (c *checker) events(file, at string, l *LobeCard) {
	if len(l.Table) > 0 {
		return
	}
	open := l.Duration
	if l.Opens != 0 || l.Closes != 0 {
		for _, half := range []struct{ has, lacks string }{{"opens", "closes"}, {"closes", "opens"}} {
			if c.given != nil && c.given(file, at+"."+half.has) && !c.given(file, at+"."+half.lacks) {
				c.add(file, at+"."+half.has, fmt.Sprintf("the lobe has %s but not %s", half.has, half.lacks), fmt.Sprintf("write %s, too, like \"60 °\"; \"0 °\" is right where the cam card says so", half.lacks))
				return
			}
		}
		open = l.Opens + math.Pi + l.Closes
	}
	// Common practice, no source: from the shortest lobe of a small engine, stated at a high lift, to the longest of a racing one.
	if open != 0 && l.Duration >= 0 && l.Duration <= 2*math.Pi && (open < 60*degree || open > 420*degree) {
		c.add(file, at, fmt.Sprintf("the lobe is open for %.0f crank degrees", open/degree),
			"write angles as a cam card does: the intake opens before top centre and closes after bottom centre, the exhaust opens before bottom and closes after top centre")
	}
	if stated := l.AtLift * l.RockerRatio(); l.PeakLift > 0 && stated >= l.PeakLift {
		c.add(file, at+".at_lift", fmt.Sprintf("the events are stated at %.4g mm of lift at the valve, and the peak lift is %.4g mm", 1e3*stated, 1e3*l.PeakLift), "write the tappet lift that the cam card states its angles at")
	}
	if l.PeakLift > 0 && l.Lash >= l.PeakLift {
		c.add(file, at+".lash", fmt.Sprintf("the lash of %.4g mm is not below the peak lift of %.4g mm", 1e3*l.Lash, 1e3*l.PeakLift), "write the valve clearance")
	}
}

// when checks that a lobe peaks where an intake or an exhaust lobe can: common practice, no source, and wide on purpose. It finds
// angles that were counted from another top centre.
func (c *checker) when(file, at string, l *LobeCard, exhaust bool) {
	peak, key, known := 0.0, at+".centre", true
	switch {
	case len(l.Table) > 3:
		top := 0.0
		for _, p := range l.Table {
			if p.Lift > top {
				top, peak = p.Lift, p.Angle
			}
		}
		key, known = at+".table", top > 0
		if exhaust {
			peak = -peak
		}
	case l.Centre != 0:
		peak = l.Centre
	case l.Opens != 0 || l.Closes != 0:
		peak, key = (math.Pi+l.Closes-l.Opens)/2, at
		if exhaust {
			peak = (math.Pi + l.Opens - l.Closes) / 2
		}
	default:
		known = false
	}
	if known && (peak < 45*degree || peak > 180*degree) {
		side, count := "after", "intake angles count from gas-exchange top centre onwards"
		if exhaust {
			side, count = "before", "exhaust angles count from gas-exchange top centre backwards, in a lift table with a minus sign"
		}
		c.add(file, key, fmt.Sprintf("the lobe peaks %.0f° %s gas-exchange top centre", peak/degree, side), "write a peak between 45° and 180°; "+count)
	}
}
