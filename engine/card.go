package engine

import (
	"fmt"
	"math"

	"runnel/gas"
	"runnel/job"
	"runnel/unit"
	"runnel/wave"
)

// Flowed is what a bench says of the pieces of an engine. Zero fields were not flowed.
type Flowed struct {
	Runners  []float64   // effective area of each runner alone, mouth to head face, in cylinder order [m²]
	Drop     float64     // pressure drop the runners were read at [Pa]
	In       []FlowPoint // effective area of the intake side of the head over lift, port within
	Out      []FlowPoint // effective area of the exhaust side over lift, out of the cylinder
	HeadDrop float64     // pressure drop the head was read at [Pa]
	Throttle float64     // effective area of the throttle body alone [m²]
}

// Defaults of what an engine card leaves out: common practice, no source, but where a constant says otherwise.
const (
	defaultRodRatio     = 1.65    // rod over stroke [-]
	defaultLambda       = 0.88    // air ratio at full throttle [-]: best power 0.86–0.90, from memory
	defaultWallTemp     = 320.0   // wall of a runner under a bonnet [K]: from memory
	defaultPortTemp     = 360.0   // wall of a port in a water-cooled head [K]: about its coolant, from memory
	defaultExhaustWall  = 650.0   // exhaust wall [K]
	defaultCylinderWall = 450.0   // mean cylinder wall [K]
	defaultRoughness    = 20e-6   // worked casting, equivalent sand roughness [m]
	defaultThrottleC    = 0.90    // discharge coefficient of an open throttle on its free section [-]: 0.8–0.95, from memory
	defaultRunnerLoss   = 0.10    // entry of a runner with a small radius on its head [-]: r/D 0.1, tabulated entry losses
	advertisedLift      = 0.15e-3 // lift at which cams without lash are advertised [m]: common practice, no source
	hotPrimary          = 0.35    // pipe that stands for an exhaust that was not described [m]
)

// FromCard returns the engine of an engine card, with the readings of its pieces where there are any. What the card does not say is
// taken by a default and named in Assumed. Errors: ErrEngine, ErrCam, ErrFuel, ErrForced; several faults joined.
func FromCard(card job.Engine, flowed Flowed) (*Engine, error) {
	a := assumer{}
	e := &Engine{Title: card.Title, Motored: card.Motored, Gamma: card.ConstantGamma, Constant: card.ConstantR, RedLine: card.RedLine}
	e.Crank = Crank{Bore: card.Bore, Stroke: card.Stroke, Rod: card.Rod, CompressionRatio: card.CompressionRatio}
	a.take(&e.Crank.Rod, defaultRodRatio*card.Stroke, "connecting rod %.4g mm long", 1e3)
	if e.Gamma > 0 && e.Constant == 0 {
		e.Constant = 287.05
	}
	var err error
	if e.Phases, err = PhasesOf(card.Cylinders, card.FiringOrder); err != nil {
		return nil, err
	}
	if len(card.FiringOrder) == 0 && card.Cylinders > 1 {
		a.say("cylinders fire evenly in number order")
	}
	if e.Air, err = airOf(card.Air); err != nil {
		return nil, err
	}
	if e.Fuel, err = FuelNamed(card.Fuel.Name); err != nil {
		return nil, err
	}
	e.Lambda, e.Evaporate = card.Fuel.Lambda, card.Fuel.Evaporated
	if !card.Motored {
		a.take(&e.Lambda, defaultLambda, "air ratio %.2f", 1)
		a.take(&e.Evaporate, e.Fuel.Evaporated, "%.0f %% of the fuel evaporates before the valve closes", 100)
		e.FromWalls = card.Fuel.FromWalls
	}
	if err := e.camOf(card.Cam, &a); err != nil {
		return nil, err
	}
	e.valvesOf(card, flowed, &a)
	if err := e.inletOf(card, flowed, &a); err != nil {
		return nil, err
	}
	e.outletOf(card, &a)
	e.lossesOf(card, &a)
	e.Assumed = a.notes
	return e, e.Check()
}

// An assumer fills what is not known and keeps the list of it.
type assumer struct{ notes []string }

func (a *assumer) say(format string, args ...any) {
	a.notes = append(a.notes, fmt.Sprintf(format, args...))
}

// take sets a zero value to its default and says so, with the value times scale.
func (a *assumer) take(v *float64, d float64, format string, scale float64) {
	if *v == 0 {
		*v = d
		a.say(format, d*scale)
	}
}

// takeWall takes the default d for the temperature of a wall that was not given, and says so [K].
func (a *assumer) takeWall(v *float64, d float64, what string) {
	if *v == 0 {
		*v = d
		a.say("%s wall at %s", what, unit.Temperature.Format(d, "°C", 0))
	}
}

func airOf(c job.EngineAir) (Air, error) {
	air := Air{Pressure: c.Pressure, Temperature: c.Temperature}
	if air.Pressure == 0 {
		air.Pressure = 101325
	}
	if air.Temperature == 0 {
		air.Temperature = 298.15
	}
	if air.Temperature < 200 || air.Temperature > 400 || c.Humidity < 0 || c.Humidity > 1 {
		return air, fmt.Errorf("%w: air at %g K and %g relative humidity", ErrEngine, air.Temperature, c.Humidity)
	}
	e := c.Humidity * gas.SaturationPressure(air.Temperature)
	air.Water = e / (air.Pressure - e)
	return air, nil
}

// camOf makes the two lift profiles.
func (e *Engine) camOf(c job.CamCard, a *assumer) (err error) {
	if !lobeKnown(c.Intake) {
		return fmt.Errorf("%w: the intake lobe needs a lift table, or opens, closes and peak lift", ErrCam)
	}
	e.AtSeat = atSeat(c.Intake) || atSeat(c.Exhaust)
	if e.Intake, err = profileOf(c.Intake, c.Advance, false, a); err != nil {
		return fmt.Errorf("intake lobe: %w", err)
	}
	if lobeKnown(c.Exhaust) {
		e.Exhaust, err = profileOf(c.Exhaust, c.Advance, true, a)
		if err != nil {
			return fmt.Errorf("exhaust lobe: %w", err)
		}
		return nil
	}
	a.say("exhaust lobe as the intake lobe, mirrored about gas-exchange top centre")
	p := &Profile{}
	for i := range p.lift {
		p.lift[i] = e.Intake.lift[(camN-i)%camN]
	}
	e.Exhaust = p
	return nil
}

func lobeKnown(l job.LobeCard) bool {
	return len(l.Table) > 0 || l.PeakLift > 0 && (l.Duration > 0 || l.Opens != 0 || l.Closes != 0)
}

// atSeat reports whether the events of a lobe are stated where the valve leaves and meets its seat.
func atSeat(l job.LobeCard) bool { return lobeKnown(l) && len(l.Table) == 0 && l.AtLift == 0 }

func profileOf(l job.LobeCard, advance float64, exhaust bool, a *assumer) (*Profile, error) {
	rocker := l.RockerRatio()
	if len(l.Table) > 0 {
		t := make([]LiftPoint, len(l.Table))
		for i, q := range l.Table {
			t[i] = LiftPoint{Angle: q.Angle - advance, Lift: q.Lift}
		}
		return ProfileOf(t, rocker, l.Lash)
	}
	lobe := Lobe{AtLift: l.AtLift * rocker, PeakLift: l.PeakLift, Lash: l.Lash}
	if l.Shape == "sine2" {
		lobe.Shape = Sine2
	}
	side := "intake"
	if exhaust {
		side = "exhaust"
	}
	switch {
	case l.Opens != 0 || l.Closes != 0:
		lobe.Opens, lobe.Closes = -l.Opens, math.Pi+l.Closes
		if exhaust {
			lobe.Opens, lobe.Closes = -math.Pi-l.Opens, l.Closes
		}
		if l.Centre != 0 {
			lobe.Peak, lobe.PeakSet = l.Centre, true
			if exhaust {
				lobe.Peak = -l.Centre
			}
		}
	default:
		centre := l.Centre
		a.take(&centre, 108*math.Pi/180, side+" lobe centre %.0f° crank", 180/math.Pi)
		if exhaust {
			centre = -centre
		}
		lobe.Opens, lobe.Closes = centre-l.Duration/2, centre+l.Duration/2
	}
	lobe.Opens -= advance
	lobe.Closes -= advance
	lobe.Peak -= advance
	switch {
	case l.AtLift > 0:
	case l.Lash == 0 && lobe.Shape == Smooth:
		lobe.AtLift = min(advertisedLift, 0.02*l.PeakLift)
		a.say("%s events taken at %.2g mm of lift, as they are usually advertised: neither lash nor a lift was given", side, lobe.AtLift*1e3)
	default:
		a.say("%s events taken as where the valve leaves and meets its seat, lash off", side)
	}
	return lobe.Profile()
}

// valvesOf sets the flow of both sides of the head.
func (e *Engine) valvesOf(card job.Engine, flowed Flowed, a *assumer) {
	side := func(c job.ValveCard, read []FlowPoint, exhaust bool, name string, one, two float64) ValveFlow {
		v := ValveFlow{Count: max(c.Count, 1), Constant: c.Constant, Exhaust: exhaust}
		share := one
		if v.Count > 1 {
			share = two
		}
		v.Seat = Seat{Head: c.Head, Width: c.Seat, Angle: c.SeatAngle, Port: c.Throat, Stem: c.Stem}
		a.take(&v.Seat.Head, share*card.Bore, name+" valve head %.4g mm", 1e3)
		if v.Seat.Angle == 0 {
			v.Seat.Angle = math.Pi / 4
		}
		if v.Seat.Width == 0 {
			v.Seat.Width = 0.035 * v.Seat.Head
		}
		if v.Seat.Port == 0 {
			v.Seat.Port = 0.88 * v.Seat.Head
		}
		if v.Seat.Stem == 0 {
			v.Seat.Stem = 0.18 * v.Seat.Head
		}
		switch {
		case v.Constant > 0:
			v.Reverse = 1
		case len(c.Flow) > 0:
			for _, q := range c.Flow {
				v.Measured = append(v.Measured, FlowPoint{q.Lift, q.Area})
			}
		case len(read) > 0:
			v.Measured = read
		default:
			a.say("%s valve flow over lift: typical published coefficients, not measured", name)
		}
		return v
	}
	e.In = side(card.Intake, flowed.In, false, "intake", 0.45, 0.36)
	e.Out = side(card.Exhaust, flowed.Out, true, "exhaust", 0.38, 0.31)
}

// OpenThrottle returns the free section [m²] of a fully open butterfly of bore d [m] with a shaft of diameter shaft [m].
//
//	A = π/4·d²·(1 − 2/π·(a·√(1−a²) + asin a)), a = shaft/d
//
// Source: Heywood (1988), eq. 7.18 at 90°.
func OpenThrottle(d, shaft float64) float64 {
	a := min(max(shaft/d, 0), 1)
	return math.Pi / 4 * d * d * (1 - 2/math.Pi*(a*math.Sqrt(1-a*a)+math.Asin(a)))
}

func (e *Engine) inletOf(card job.Engine, flowed Flowed, a *assumer) error {
	c := card.Inlet
	in := Inlet{
		PortLength: c.PortLength, PortBore: c.PortBore, Plenum: c.PlenumVolume, DuctLength: c.DuctLength, DuctBore: c.DuctBore,
		EntryLoss: c.EntryLoss, WallTemp: c.WallTemp, PortTemp: c.PortTemp, NoCorrection: card.Outlet.Direct,
	}
	switch c.Layout {
	case "two_plenums":
		in.Layout = TwoPlenums
	case "individual":
		in.Layout = Individual
	}
	if !card.NoHeat {
		a.takeWall(&in.WallTemp, defaultWallTemp, "runner")
		if c.PortLength > 0 {
			a.takeWall(&in.PortTemp, defaultPortTemp, "intake port")
		}
	}
	in.Wall = wallFriction(c.Friction, c.Roughness, card)
	if err := e.runnersOf(c, &in, a); err != nil {
		return err
	}
	if in.Layout == Individual && in.DuctLength > 0 {
		a.say("the inlet duct before individual throttles is left out")
	}
	if in.Layout == Individual && c.PlenumVolume > 0 {
		a.say("the plenum of %.3g L is left out: individual runners breathe from the open", c.PlenumVolume*1e3)
	}
	if half := card.Cylinders / 2; in.Layout == TwoPlenums && half > 0 {
		a.say("the first half of the cylinders, up to %d, breathes from one plenum and the rest from the other, each with a throttle of its own", half)
	}
	n := float64(card.Cylinders)
	if in.Layout != Individual {
		share := 1.0
		if in.Layout == TwoPlenums {
			share = 0.5
		}
		a.take(&in.Plenum, share*e.Displacement(), "plenum of %.3g L", 1e3)
		in.RunnerLoss = defaultRunnerLoss
		if c.DuctLength == 0 && c.ThrottleBore == 0 && flowed.Throttle == 0 {
			in.Throttle = share * n / 4 * math.Pi / 4 * e.In.Seat.Head * e.In.Seat.Head * float64(e.In.Count)
			a.say("no throttle or duct given: the plenum breathes through an effective area of %.4g cm²", in.Throttle*1e4)
		}
	}
	switch {
	case flowed.Throttle > 0:
		in.Throttle = flowed.Throttle
	case c.ThrottleBore > 0:
		in.Throttle = defaultThrottleC * OpenThrottle(c.ThrottleBore, c.ThrottleShaft)
		a.say("throttle: discharge coefficient %.2f on its free section, not measured", defaultThrottleC)
	}
	if in.DuctLength > 0 && in.DuctBore == 0 {
		in.DuctBore = max(c.ThrottleBore, 0.03)
		a.say("inlet duct as wide as the throttle, %.4g mm", in.DuctBore*1e3)
	}
	e.Inlet = in
	return nil
}

func wallFriction(darcy, rough float64, card job.Engine) wave.Friction {
	switch {
	case darcy > 0:
		return wave.Darcy(darcy)
	case card.ConstantGamma > 0 && card.NoHeat && rough == 0:
		return nil // a check without losses
	case rough == 0:
		rough = defaultRoughness
	}
	return wave.Rough(rough)
}
