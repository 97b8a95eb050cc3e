package assess

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"runnel/engine"
	"runnel/tract"
)

// A Demand is the air an engine asks for, from its pull, with the closed-form guides beside it.
type Demand struct {
	Title    string        `json:"title"`
	State    string        `json:"state"`
	Speeds   []DemandPoint `json:"speeds"`
	Throttle *Bore         `json:"throttle"` // nil when there is none
	Tuned    []TunedSpeed  `json:"tuned"`
	Peak     PeakDraught   `json:"peak"`
	Assumed  []string      `json:"assumed"`
	Warnings []string      `json:"warnings"`
}

// A DemandPoint is one speed.
type DemandPoint struct {
	Speed     float64       `json:"speed_rpm"`           // [rev/min]
	VE        float64       `json:"ve"`                  // volumetric efficiency on the room's air [-]
	Air       float64       `json:"air_kg_s"`            // mean of the whole engine [kg/s]
	Runner    float64       `json:"runner_mean_kg_s"`    // mean of one runner over the cycle [kg/s]
	Draught   float64       `json:"runner_peak_kg_s"`    // quasi-steady peak of one runner, an upper bound [kg/s]
	MachIndex float64       `json:"mach_index"`          // mean inlet Mach index Z [-]; 0: the valve is not known
	Sections  []SectionMach `json:"sections"`            // at the peak
	Loss      float64       `json:"throttle_loss_pa"`    // pressure lost in the throttle at the mean demand [Pa]; 0: no throttle
	LossRel   float64       `json:"throttle_loss_ratio"` // the same over the room's pressure [-]
}

// A SectionMach is the Mach number of the quasi-steady peak in one section.
type SectionMach struct {
	Name   string  `json:"name"`
	Area   float64 `json:"area_m2"`    // [m²]
	Mach   float64 `json:"mach"`       // [-]; 1: it would choke
	Choked bool    `json:"choked"`     // the peak does not pass: the true one is lower
	Speed  float64 `json:"mean_m_s"`   // mean speed in the section, at the cycle's mean flow [m/s]
	At     float64 `json:"position_m"` // from the mouth [m]
}

// A Bore is the throttle at the largest demand.
type Bore struct {
	Bore     float64    `json:"bore_m"`            // as fitted, 0: not known [m]
	Area     float64    `json:"effective_area_m2"` // of one body [m²]
	Air      float64    `json:"air_kg_s"`          // asked of one body [kg/s]
	At       float64    `json:"speed_rpm"`         // speed of that demand [rev/min]
	Allowed  float64    `json:"allowed_loss_pa"`   // chosen [Pa]
	Smallest float64    `json:"smallest_bore_m"`   // smallest of the bores that can be had within the loss, 0: none [m]
	Enough   float64    `json:"enough_bore_m"`     // beyond which a larger one gains nothing worth while, 0: none [m]
	Bores    []BoreLoss `json:"bores"`
	Note     string     `json:"note"`
}

// A BoreLoss is what one bore loses at the largest demand.
type BoreLoss struct {
	Bore   float64 `json:"bore_m"`  // [m]
	Loss   float64 `json:"loss_pa"` // [Pa]; -1: it chokes
	Choked bool    `json:"choked"`
}

// A TunedSpeed is a speed that a closed-form guide tunes the runners to, against the pull's own answer.
type TunedSpeed struct {
	Guide    string  `json:"guide"`
	Speed    float64 `json:"speed_rpm"`    // [rev/min]
	Pull     float64 `json:"pull_rpm"`     // speed of highest volumetric efficiency in the pull [rev/min]
	Disagree float64 `json:"disagreement"` // guide over pull, less one [-]
	AtEnd    bool    `json:"pull_at_end"`  // the pull's speed is the first or the last that was run: its best may lie beyond
	Source   string  `json:"source"`
}

// A PeakDraught compares the quasi-steady peak of the flow in a runner with that of the gas dynamics, at the speed of highest power.
type PeakDraught struct {
	Speed    float64 `json:"speed_rpm"`      // [rev/min]
	Guide    float64 `json:"guide_kg_s"`     // closed form [kg/s]
	Pull     float64 `json:"pull_kg_s"`      // in the pull, through the intake valves of cylinder 1 [kg/s]
	Back     float64 `json:"pull_back_kg_s"` // largest backflow there [kg/s]
	Disagree float64 `json:"disagreement"`   // guide over pull, less one [-]
}

// AllowedLoss is the pressure loss accepted in the throttle where nothing else is asked for [Pa]: about 1 % of the room's pressure,
// common practice, no source.
const AllowedLoss = 1000.0

// The gas that the guides take: dry air.
const (
	dryConstant = 287.05 // [J/(kg·K)]
	dryGamma    = 1.4    // [-]
)

// Ask computes the air an engine asks for at the given speeds [rev/s] on a mesh [m], 0 for the usual one; allowed is the pressure
// loss accepted in the throttle [Pa]. progress may be nil. Errors: as engine.Pull, as tract.BoreChoice.Advise.
func Ask(ctx context.Context, t Tied, speeds []float64, mesh, allowed float64, progress Progress) (Demand, error) {
	progress = quietly(progress)
	progress("pull "+t.State, 0, len(speeds))
	ps, err := engine.Pull(ctx, t.Engine, speeds, engine.Options{Mesh: mesh}, func(done, total int) { progress("pull "+t.State, done, total) })
	if err != nil {
		return Demand{}, err
	}
	out, err := demandOf(t, ps, allowed)
	if err != nil {
		return Demand{}, err
	}
	out.Assumed, out.Warnings = append(out.Assumed, t.Assumed...), append(append([]string{}, t.Warnings...), out.Warnings...)
	for _, w := range PullWarnings(ps) {
		out.Warnings = appendNew(out.Warnings, w)
	}
	best := mostPower(ps)
	progress("trace", 0, 1)
	r, err := engine.Record(ctx, t.Engine, best.Speed, 1, 720, engine.Options{Mesh: mesh})
	if err != nil {
		return Demand{}, err
	}
	progress("trace", 1, 1)
	out.Peak = peakOf(t.Engine, best, r)
	return out, nil
}

// demandOf returns the demand of an engine from the points of its pull, but for the peak of the gas dynamics, which needs a recording.
func demandOf(t Tied, ps []engine.Point, allowed float64) (out Demand, err error) {
	out = Demand{Title: t.Card.Title, State: t.State, Assumed: []string{}, Warnings: []string{}}
	full, most := ps[0], ps[0]
	for _, p := range ps {
		if p.VE > full.VE {
			full = p
		}
		if p.AirFlow > most.AirFlow {
			most = p
		}
		q, err := demandAt(t.Engine, p)
		if err != nil {
			out.Warnings = appendNew(out.Warnings, rpm(p.Speed)+": "+err.Error())
		}
		out.Speeds = append(out.Speeds, q)
	}
	out.Tuned = tuned(t.Engine, full.Speed)
	for i := range out.Tuned {
		out.Tuned[i].AtEnd = atEnd(ps, full.Speed)
	}
	out.Throttle, err = boreOf(t, most, allowed)
	return out, err
}

// atEnd reports whether a speed [rev/s] is the lowest or the highest of a pull.
func atEnd(ps []engine.Point, speed float64) bool {
	lo, hi := speed, speed
	for _, p := range ps {
		lo, hi = math.Min(lo, p.Speed), math.Max(hi, p.Speed)
	}
	return speed == lo || speed == hi
}

// mostPower returns the point of highest power.
func mostPower(ps []engine.Point) engine.Point {
	best := ps[0]
	for _, p := range ps {
		if p.Power > best.Power {
			best = p
		}
	}
	return best
}

// peakOf compares the quasi-steady peak of the flow in a runner with that of a recording at the same point.
func peakOf(e *engine.Engine, p engine.Point, r *engine.Recording) PeakDraught {
	out := PeakDraught{Speed: round(p.Speed*60, 6), Guide: draught(e, p)}
	for _, v := range r.FlowIn {
		out.Pull, out.Back = math.Max(out.Pull, v), math.Max(out.Back, -v)
	}
	out.Disagree = out.Guide/out.Pull - 1
	return out
}

func density(e *engine.Engine) float64 { return e.Air.Pressure / (dryConstant * e.Air.Temperature) }

func draught(e *engine.Engine, p engine.Point) float64 {
	return engine.PeakRunnerDemand(e.Crank.Swept(), p.Speed, p.VE, density(e))
}

func demandAt(e *engine.Engine, p engine.Point) (DemandPoint, error) {
	n := float64(e.Cylinders())
	q := DemandPoint{Speed: round(p.Speed*60, 6), VE: p.VE, Air: p.AirFlow, Runner: p.AirFlow / n, Draught: draught(e, p), MachIndex: p.Guides.MachIndex}
	r := e.Inlet.Runners[0]
	section := func(name string, area, at float64) {
		m, ok := machOf(q.Draught, area, e.Air.Pressure, e.Air.Temperature)
		q.Sections = append(q.Sections, SectionMach{Name: name, Area: area, Mach: m, Choked: !ok, At: at, Speed: q.Runner / (density(e) * area)})
	}
	if len(r.Shape) > 0 {
		least := r.Shape[0]
		for _, s := range r.Shape {
			if s.Area < least.Area {
				least = s
			}
		}
		last := r.Shape[len(r.Shape)-1]
		section("mouth", r.Shape[0].Area, 0)
		section("smallest", least.Area, least.X/last.X*r.Length)
		section("head face", last.Area, r.Length)
	} else {
		section("mouth", math.Pi/4*r.Entry*r.Entry, 0)
		section("head face", math.Pi/4*r.Exit*r.Exit, r.Length)
	}
	if e.Inlet.PortLength > 0 && e.Inlet.PortBore > 0 {
		section("port at the valve", math.Pi/4*e.Inlet.PortBore*e.Inlet.PortBore, r.Length+e.Inlet.PortLength)
	}
	air, area, ok := throttleFlow(e, p)
	if !ok {
		return q, nil
	}
	loss, err := air.Drop(area)
	if err != nil {
		return q, fmt.Errorf("throttle: %w", err)
	}
	q.Loss, q.LossRel = loss, loss/e.Air.Pressure
	return q, nil
}

// throttleFlow returns what one throttle is asked for, and its effective area [m²]: the mean into a plenum, the quasi-steady peak of
// one cylinder for a throttle of its own.
func throttleFlow(e *engine.Engine, p engine.Point) (air tract.Inflow, area float64, ok bool) {
	mass := p.AirFlow
	switch e.Inlet.Layout {
	case engine.TwoPlenums:
		mass /= 2
	case engine.Individual:
		mass = draught(e, p)
	case engine.CommonPlenum:
	}
	in := tract.Inflow{Mass: mass, Pressure: e.Air.Pressure, Temperature: e.Air.Temperature, GasConstant: dryConstant, Gamma: dryGamma}
	return in, e.Inlet.Throttle, e.Inlet.Throttle > 0
}

// machOf returns the Mach number [-] of mass flow m [kg/s] through an area [m²] from rest at p [Pa] and temp [K]; ok is false, and the
// number 1, when it does not pass.
//
//	ṁ·√(R·T₀)/(A·p₀) = √γ·M·(1 + (γ−1)/2·M²)^(−(γ+1)/(2(γ−1)))
//
// Source: isentropic flow, NACA Report 1135 (1953), eq. 50 in another form.
func machOf(m, area, p, temp float64) (mach float64, ok bool) {
	want := m * math.Sqrt(dryConstant*temp) / (area * p)
	flux := func(x float64) float64 {
		return math.Sqrt(dryGamma) * x * math.Pow(1+(dryGamma-1)/2*x*x, -(dryGamma+1)/(2*(dryGamma-1)))
	}
	if want >= flux(1) {
		return 1, false
	}
	lo, hi := 0.0, 1.0
	for range 60 {
		if mid := (lo + hi) / 2; flux(mid) < want {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, true
}

func boreOf(t Tied, most engine.Point, allowed float64) (*Bore, error) {
	air, area, ok := throttleFlow(t.Engine, most)
	if !ok {
		return nil, nil //nolint:nilnil // no throttle, no answer
	}
	c := tract.BoreChoice{Air: air, Coefficient: tract.ThrottleCoefficient, Shaft: t.Card.Inlet.ThrottleShaft, MaxLoss: allowed, Worth: tract.WorthWhile}
	if t.Card.Inlet.ThrottleBore > 0 { // the body as it is says how well it flows
		open, err := tract.Throttle{Bore: t.Card.Inlet.ThrottleBore, Shaft: t.Card.Inlet.ThrottleShaft}.Open(math.Pi / 2)
		if err == nil && open.Area > 0 {
			c.Coefficient = math.Min(area/open.Area, 1.2)
		}
	}
	advice, err := c.Advise()
	if err != nil {
		return nil, err
	}
	out := &Bore{Bore: t.Card.Inlet.ThrottleBore, Area: area, Air: air.Mass, At: round(most.Speed*60, 6), Allowed: allowed, Smallest: advice.Smallest, Enough: advice.Enough}
	for _, b := range advice.Bores {
		l := BoreLoss{Bore: b.Bore, Loss: b.Loss}
		if math.IsInf(b.Loss, 1) {
			l.Loss, l.Choked = -1, true
		}
		out.Bores = append(out.Bores, l)
	}
	out.Note = fmt.Sprintf("Mean demand into still air behind the body, coefficient %.2f on the open area.", c.Coefficient)
	if t.Engine.Inlet.Layout == engine.Individual {
		out.Note = fmt.Sprintf("Quasi-steady peak of one cylinder, an upper bound; coefficient %.2f on the open area.", c.Coefficient)
	}
	if advice.Smallest == 0 { // that Enough may be below Smallest shows in the two
		for _, w := range advice.Warnings {
			out.Note += " " + strings.ToUpper(w[:1]) + w[1:] + "."
		}
	}
	return out, nil
}

// tuned lists the closed-form tuned speeds against the speed of the pull's highest volumetric efficiency [rev/s].
func tuned(e *engine.Engine, full float64) []TunedSpeed {
	c := math.Sqrt(dryGamma * dryConstant * e.Air.Temperature)
	r := e.Inlet.Runners[0]
	length, d := r.Length+e.Inlet.PortLength, 2*math.Sqrt(meanSection(e)/math.Pi)
	add := func(name string, n float64, source string) TunedSpeed {
		return TunedSpeed{Guide: name, Speed: round(n*60, 0), Pull: round(full*60, 6), Disagree: n/full - 1, Source: source}
	}
	out := []TunedSpeed{
		add("Engelman, runner and cylinder", e.EngelmanSpeed(), "Engelman, ASME 73-WA/DGP-2 (1973), constant 2.1, as quoted in lecture notes"),
		add("quarter wave, 2.5 cycles a revolution", engine.QuarterWaveSpeed(c, length, d, 2.5), "standing wave, Levine and Schwinger (1948); common practice, no source, and no one number of cycles is best"),
		add("quarter wave, 3.5 cycles a revolution", engine.QuarterWaveSpeed(c, length, d, 3.5), "standing wave, Levine and Schwinger (1948); common practice, no source, and no one number of cycles is best"),
	}
	if in := e.Inlet; in.Layout == engine.CommonPlenum && in.DuctLength > 0 && in.DuctBore > 0 {
		f1, f2 := engine.EngelmanTwoVolume(c, length, meanSection(e), engine.EngelmanVolume(e.Crank.Swept(), e.Crank.CompressionRatio),
			in.DuctLength, math.Pi/4*in.DuctBore*in.DuctBore, in.Plenum)
		source := "Engelman (1973), two volumes, constant 2.1, as quoted in lecture notes"
		out = append(out, add("Engelman with plenum and duct, lower", engine.TunedSpeed(f1, engine.EngelmanFactor), source),
			add("Engelman with plenum and duct, upper", engine.TunedSpeed(f2, engine.EngelmanFactor), source))
	}
	return out
}

// Invalid reports whether err says that what was asked for cannot be computed as it was described: the input is at fault.
func Invalid(err error) bool {
	for _, e := range []error{ErrNoEngine, ErrSetting, engine.ErrEngine, engine.ErrForced, engine.ErrSpeeds, engine.ErrFit, engine.ErrCam, engine.ErrFuel, engine.ErrTwin, tract.ErrPressure, tract.ErrThrottle} {
		if errors.Is(err, e) {
			return true
		}
	}
	return false
}
