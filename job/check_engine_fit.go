package job

import (
	"fmt"
	"math"
)

// outOfScope is what to do where an engine is blown.
const outOfScope = "leave it out: forced induction is out of scope, the pull knows only engines that draw the air of a room"

// fits checks that the parts of an engine go together: each may be of a believable size and still not belong to the others.
func (c *checker) fits(file string, e *Engine) {
	c.head(file, "engine.intake_valve", &e.Intake, &e.Cam.Intake, e.Bore)
	c.head(file, "engine.exhaust_valve", &e.Exhaust, &e.Cam.Exhaust, e.Bore)
	in := &e.Inlet
	if in.ThrottleBore > 0 && in.ThrottleShaft >= in.ThrottleBore {
		c.add(file, "engine.inlet.throttle_shaft", fmt.Sprintf("the shaft of %.4g mm leaves nothing open of a bore of %.4g mm", 1e3*in.ThrottleShaft, 1e3*in.ThrottleBore), "write the diameter of the shaft that carries the plate")
	}
	swept := math.Pi / 4 * e.Bore * e.Bore * e.Stroke
	if v := in.PlenumVolume; v > 0 && in.Layout != "individual" && v < swept/20 {
		c.add(file, "engine.inlet.plenum_volume", fmt.Sprintf("a plenum of %.3g L is less than a twentieth of one cylinder", 1e3*v), `write the volume between throttle and runners, or layout = "individual" where there is none`)
	}
	if n := e.Outlet.Collectors; n < 0 || (n > e.Cylinders && e.Cylinders > 0) {
		c.add(file, "engine.outlet.collectors", fmt.Sprintf("%d collectors for %d cylinders", n, e.Cylinders), "write how many pipes the primaries are gathered into")
	}
}

// head checks that the valves of one side fit the bore, and that lift and flow fit the valves.
func (c *checker) head(file, at string, v *ValveCard, l *LobeCard, bore float64) {
	n := float64(max(v.Count, 1))
	if v.Head > 0 && bore > 0 && n*v.Head*v.Head >= bore*bore {
		c.add(file, at+".head", fmt.Sprintf("a bore of %.4g mm does not hold %.0f × %.4g mm of valve a side", 1e3*bore, n, 1e3*v.Head), "write the diameter of one valve head, and how many a side as count")
		return
	}
	// Beyond half the head's diameter the curtain is twice the head's own area and lift gains nothing: more is a slip of a unit.
	if lift := l.highest(); v.Head > 0 && lift > v.Head {
		c.add(file, at+".head", fmt.Sprintf("a lift of %.4g mm is more than the valve's own diameter, %.4g mm", 1e3*lift, 1e3*v.Head), "write the valve head diameter here, and the lift at the valve under cam")
	}
	across := v.Head
	if across == 0 {
		across = bore / math.Sqrt(n)
	}
	for i, p := range v.Flow {
		if most := n * math.Pi / 4 * across * across; p.Area > most && most > 0 {
			c.add(file, fmt.Sprintf("%s.flow[%d].effective_area", at, i), fmt.Sprintf("an effective area of %.6g mm² is more than all of the valve heads, %.4g mm²", 1e6*p.Area, 1e6*most), `write the effective area of one cylinder's valves, like "900 mm²"`)
		}
	}
}

// highest returns the peak lift at the valve, before lash [m].
func (l *LobeCard) highest() float64 {
	if len(l.Table) == 0 {
		return l.PeakLift
	}
	most := 0.0
	for _, p := range l.Table {
		most = max(most, p.Lift)
	}
	return most * l.RockerRatio()
}

// dyno checks the points of a measured run.
func (c *checker) dyno(file string, run []DynoPoint) {
	for i, p := range run {
		at := fmt.Sprintf("engine.dyno[%d]", i)
		switch {
		case p.Speed < 3 || p.Speed > 500:
			c.add(file, at+".speed", fmt.Sprintf("a speed of %.6g rpm is that of no run", 60*p.Speed), `write it like "3000 rpm"`)
		case i > 0 && p.Speed <= run[i-1].Speed:
			c.add(file, at+".speed", fmt.Sprintf("%.6g rpm is not above the point before it", 60*p.Speed), "write the points in order of speed, each speed once")
		}
		if p.Torque <= 0 {
			c.add(file, at+".torque", "the torque is not above zero", `write it like "245 N·m"`)
		}
		c.notNegative(file, at+".air_flow", "air flow", p.AirFlow)
	}
}
