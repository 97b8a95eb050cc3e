package job

import (
	"fmt"
	"strings"

	"runnel/unit"
)

// engine checks an engine card. Its keys stand under "engine".
func (c *checker) engine(file string) {
	e := c.job.Engine
	if e.Cylinders < 1 || e.Cylinders > 24 {
		c.add(file, "engine.cylinders", fmt.Sprintf("%d cylinders", e.Cylinders), "write 1 to 24")
	} else {
		c.firingOrder(file, e)
		if n := len(e.Inlet.RunnerLengths); n > 0 && n != e.Cylinders {
			c.add(file, "engine.inlet.runner_lengths", fmt.Sprintf("%d runner lengths for %d cylinders", n, e.Cylinders), "write one a cylinder")
		}
	}
	c.positive(file, "engine.bore", "bore", e.Bore)
	c.positive(file, "engine.stroke", "stroke", e.Stroke)
	c.sizes(file, e)
	if e.CompressionRatio <= 1 {
		c.add(file, "engine.compression_ratio", fmt.Sprintf("compression ratio %.6g is not above 1", e.CompressionRatio), "write the volume at bottom over the volume at top dead centre, such as 9.5")
	}
	if e.Rod != 0 && e.Rod <= e.Stroke/2 {
		c.add(file, "engine.rod", "the connecting rod is not longer than half the stroke", "write the distance between the centres of its eyes")
	}
	for i, text := range e.Inlet.RunnerLengths {
		if v, err := unit.Length.Parse(text); err != nil || v <= 0 {
			c.add(file, fmt.Sprintf("engine.inlet.runner_lengths[%d]", i), fmt.Sprintf("%q is no length", clip(text)), `write it like "300 mm"`)
		}
	}
	if e.Speeds != "" {
		if _, err := ParseSpeeds(e.Speeds); err != nil {
			found, write, _ := strings.Cut(err.Error(), ": ")
			c.add(file, "engine.speeds", found, write)
		}
	}
	c.ratio(file, "engine.air.rh", e.Air.Humidity)
	if e.Air.Pressure > highestAir {
		c.add(file, "engine.air.pressure", fmt.Sprintf("%.6g kPa is more than the air of a room", e.Air.Pressure/1e3), outOfScope)
	} else {
		c.airPressure(file, "engine.air.pressure", e.Air.Pressure, true)
	}
	c.airTemperature(file, "engine.air.temp", e.Air.Temperature, true)
	c.lobe(file, "engine.cam.intake", &e.Cam.Intake, false)
	c.lobe(file, "engine.cam.exhaust", &e.Cam.Exhaust, true)
	c.valve(file, "engine.intake_valve", &e.Intake)
	c.valve(file, "engine.exhaust_valve", &e.Exhaust)
	c.fits(file, e)
	c.dyno(file, e.Dyno)
}

func (c *checker) firingOrder(file string, e *Engine) {
	if len(e.FiringOrder) == 0 {
		return
	}
	seen := make([]bool, e.Cylinders+1)
	for i, n := range e.FiringOrder {
		switch {
		case n < 1 || n > e.Cylinders:
			c.add(file, fmt.Sprintf("engine.firing_order[%d]", i), fmt.Sprintf("cylinder %d is none of %d", n, e.Cylinders), fmt.Sprintf("write each of 1 to %d once", e.Cylinders))
		case seen[n]:
			c.add(file, fmt.Sprintf("engine.firing_order[%d]", i), fmt.Sprintf("cylinder %d fires twice", n), fmt.Sprintf("write each of 1 to %d once", e.Cylinders))
		default:
			seen[n] = true
		}
	}
	if len(e.FiringOrder) != e.Cylinders {
		c.add(file, "engine.firing_order", fmt.Sprintf("the firing order has %d cylinders, the engine %d", len(e.FiringOrder), e.Cylinders), fmt.Sprintf("write each of 1 to %d once", e.Cylinders))
	}
}

func (c *checker) valve(file, at string, v *ValveCard) {
	if v.Count < 0 || v.Count > 5 {
		c.add(file, at+".count", fmt.Sprintf("%d valves a side of one cylinder", v.Count), "write 1 to 5")
	}
	if v.Stem > 0 && v.Head > 0 && v.Stem >= v.Head {
		c.add(file, at+".stem", "the stem is not thinner than the valve head", "write the stem's diameter")
	}
	for i, p := range v.Flow {
		if i > 0 && p.Lift <= v.Flow[i-1].Lift {
			c.add(file, fmt.Sprintf("%s.flow[%d].lift", at, i), "the lift is not above the one before it", "write the points in order of lift")
		}
		c.notNegative(file, fmt.Sprintf("%s.flow[%d].effective_area", at, i), "effective area", p.Area)
	}
}
