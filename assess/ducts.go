package assess

import (
	"context"
	"math"

	"runnel/engine"
)

// Ducts is the pressure at the valves of cylinder 1 over one cycle, at the speed of highest power after the work. Angles count from
// gas-exchange top centre, from half a revolution before it.
type Ducts struct {
	State   string     `json:"state"`                    // "before" or "after"
	Speed   float64    `json:"speed_rpm"`                // [rev/min]
	Angle   []float64  `json:"crank_angle_deg"`          // [°]
	Intake  []float64  `json:"intake_port_pressure_pa"`  // in the runner at the valve [Pa]
	Exhaust []float64  `json:"exhaust_port_pressure_pa"` // in the exhaust pipe at the valve [Pa]; nil: the valve opens to the room
	Room    float64    `json:"room_pressure_pa"`         // absolute [Pa]
	Opens   [2]float64 `json:"opens_deg"`                // intake and exhaust, at 0.1 mm lift [°]
	Closes  [2]float64 `json:"closes_deg"`               // intake and exhaust [°]
	Settled bool       `json:"settled"`
}

// ductSamples is how many crank angles a cycle is kept at: one every four degrees.
const ductSamples = 180

// ductStart is the crank angle that a cycle is shown from [°], so that all of the gas exchange lies in the middle.
const ductStart = -180.0

// record keeps one cycle of both states at the speed of highest power after the work, and what it says of the peak demand.
func record(ctx context.Context, out *Pull, tied []Tied, points [2][]engine.Point, progress Progress) error {
	best := mostPower(points[1])
	for k, t := range tied {
		progress("cycle "+t.State, 0, 1)
		r, err := engine.Record(ctx, t.Engine, best.Speed, 1, ductSamples, engine.Options{})
		if err != nil {
			return err
		}
		out.Ducts = append(out.Ducts, ductsOf(t, r))
		if k == 1 && out.Demand != nil {
			out.Demand.Peak = peakOf(t.Engine, best, r)
		}
		progress("cycle "+t.State, 1, 1)
	}
	return nil
}

func ductsOf(t Tied, r *engine.Recording) Ducts {
	n := len(r.Angle)
	d := Ducts{State: t.State, Speed: round(r.Point.Speed*60, 6), Room: t.Engine.Air.Pressure, Settled: r.Point.Settled}
	from := (n + int(ductStart)*n/720) % n
	for k := range n {
		i := (from + k) % n
		d.Angle = append(d.Angle, ductStart+720*float64(k)/float64(n))
		d.Intake = append(d.Intake, math.Round(r.Port[i]))
		if r.Exhaust != nil {
			d.Exhaust = append(d.Exhaust, math.Round(r.Exhaust[i]))
		}
	}
	for k := range d.Opens {
		d.Opens[k], d.Closes[k] = inCycle(r.Opens[k]), inCycle(r.Closes[k])
	}
	return d
}

// inCycle turns a crank angle [rad] into the cycle that is shown [°].
func inCycle(a float64) float64 {
	deg := a / degree
	return round(deg-720*math.Floor((deg-ductStart)/720), 1)
}
