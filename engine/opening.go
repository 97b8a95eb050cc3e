package engine

// A valve is the valves of one side of a cylinder as an opening over time. It satisfies wave.Opening.
type valve struct {
	cyl     *cylinder
	areas   []float64 // forward effective area over the cycle [m²], camN points
	reverse float64   // reverse over forward [-]
	outward bool      // the pipe's outflow is the valve's forward flow (intake); else its reverse (exhaust)
	now     float64   // area at the last step, halfway through it [m²]
	when    float64   // the time of it [s]
}

// areasOf returns the effective area over the cycle.
func areasOf(p *Profile, v ValveFlow) (areas []float64, reverse float64) {
	peak, _ := p.Peak()
	t := v.table(peak)
	areas = make([]float64, camN)
	for i, l := range p.lift {
		if l > 0 {
			areas[i] = t.at(l)
		}
	}
	return areas, t.reverse
}

// see returns the forward effective area [m²] at time t [s], when the crank is at angle theta [rad], and keeps it for Areas.
func (v *valve) see(t, theta float64) float64 {
	x := theta * (1 / camStep)
	i := int(x)
	f := x - float64(i)
	if i >= camN {
		i -= camN
	}
	j := i + 1
	if j == camN {
		j = 0
	}
	v.when, v.now = t, v.areas[i]+f*(v.areas[j]-v.areas[i])
	return v.now
}

// Areas returns the effective areas [m²] at time t [s] out of and into the pipe.
func (v *valve) Areas(t float64) (out, in float64) {
	a := v.now
	if t != v.when {
		a = v.see(t, v.cyl.angle(t))
	}
	if v.outward {
		return a, a * v.reverse
	}
	return a * v.reverse, a
}
