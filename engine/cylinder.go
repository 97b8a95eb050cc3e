package engine

import (
	"math"

	"runnel/wave"
)

// A cylinder is one working chamber: a single zone of air with its fuel and burned gas, uniform in pressure and temperature.
//
//	dU/dt = Σ ṁ·h₀ + ṁ_fuel·h_fuel − p·dV/dt + Q̇_burn − Q̇_wall
//
// The pipes carry air; fuel is added in proportion as air comes through a valve and taken off as it goes back, so that every
// part of fresh air in the cylinder has its fuel and the air's books stay exact. It satisfies wave.Vessel.
type cylinder struct {
	crank slider
	pipe  *wave.Gas // the gas of the pipes: air and burned
	gas   *wave.Gas // the gas within: air with fuel and burned
	shaft *shaft
	phase float64    // [rad]
	turn  float64    // most crank angle in a step [rad]
	lag   [2]float64 // sine and cosine of the phase

	fuelAir float64 // [-]
	fuelH   float64 // energy that comes with the fuel of one kilogram of air [J/kg]

	air, burned float64    // [kg]
	energy      float64    // [J]
	in          [3]float64 // of this step: mass, enthalpy, burned
	rate        [3]float64 // of the last step, with its heat: mass [kg/s], energy [W], burned [kg/s]
	volume      float64    // at the present time [m³]
	temp        float64    // [K]
	was         float64    // a step before [K]
	midT        float64    // half a step ahead [K]
	pressure    float64    // at the present time [Pa]
	mid         wave.State // half a step ahead
	midP        float64
	open        [2]*valve

	burn  *burning
	walls walls
	sum   tally
}

// A burning is the present burn of a cylinder.
type burning struct {
	law      Wiebe
	whole    float64 // 1 − e^−a
	end      float64 // last angle of the burn [rad] from firing top dead centre
	heat     float64 // set free [J/kg of charge burned], with the change of the energies' zero
	fresh    float64 // charge at its start [kg]
	fraction float64 // burned of it so far [-]
	active   bool
}

func (b *burning) at(theta float64) float64 {
	if theta >= b.end {
		return 1
	}
	return b.law.Fraction(theta) / b.whole
}

// walls is the heat transfer to the walls of a cylinder.
type walls struct {
	model   HeatModel
	factor  float64
	temp    float64 // [K]
	sp      float64 // mean piston speed [m/s]
	bore    float64 // B^-0.2, with the constant of Woschni
	swept   float64 // V_d [m³]
	ref     float64 // V_d·T_r/(p_r·V_r) at intake closing
	polyPV  float64 // p_r·V_r^1.33
	wasOpen bool
}

// A tally is what is summed over a cycle.
type tally struct {
	work     float64 // ∫p dV [J]
	heat     float64 // to the walls [J]
	released float64 // by the burn [J]
	fuel     float64 // fuel that came in [kg]
	peak     float64 // highest pressure [Pa]
	trapped  float64 // mass at intake closing [kg]
	residual float64 // burned share then [-]
	closing  float64 // pressure then [Pa]
}

func newCylinder(e *Engine, g *gases, s *shaft, phase float64) *cylinder {
	c := &cylinder{shaft: s, crank: e.Crank.slider(), pipe: g.pipe, gas: g.chamber, fuelAir: g.fuelAir, fuelH: g.fuelH}
	c.follow(phase)
	c.walls = walls{
		model: e.Heat.Model, factor: e.Heat.Multiplier, temp: e.Heat.WallTemp, bore: math.Pow(e.Crank.Bore, -0.2), swept: e.Crank.Swept(),
	}
	if !e.Motored {
		c.burn = &burning{heat: g.heat}
	}
	return c
}

// start fills the cylinder at time zero with gas at pressure p [Pa], temperature t [K] and burned fraction y [-].
func (c *cylinder) start(p, t, y float64) {
	c.volume = c.volumeAt(0)
	m := p * c.volume / (c.gas.R(y) * t)
	c.burned = m * y
	c.air = m * (1 - y) / (1 + c.fuelAir)
	c.energy = m * c.gas.Energy(t, y)
	c.temp, c.was, c.pressure = t, t, p
	c.rate = [3]float64{}
	if c.burn != nil {
		c.burn.active = false
	}
}

// angle returns the crank angle [rad] of the cylinder at time t [s] since the start of a cycle: 0 gas-exchange top dead
// centre, 2π firing top dead centre, in 0…4π.
func (c *cylinder) angle(t float64) float64 {
	a := c.shaft.omega*t - c.phase
	return a - Cycle*math.Floor(a*(1/Cycle))
}

// follow sets the phase [rad] by which the cylinder comes after the first.
func (c *cylinder) follow(phase float64) {
	c.phase = phase
	c.lag[0], c.lag[1] = math.Sincos(phase)
}

// volumeAt returns the volume [m³] at time t [s].
func (c *cylinder) volumeAt(t float64) float64 {
	return c.crank.volume(c.shaft.cosine(t, c.lag[0], c.lag[1]))
}

func (c *cylinder) mass() float64 { return c.air*(1+c.fuelAir) + c.burned }

// Begin predicts the state half a step ahead: with the flows of the step before and the piston's work at the present pressure.
func (c *cylinder) Begin(t, dt float64) {
	h := dt / 2
	th, v := c.angle(t+h), c.volumeAt(t+h)
	m := c.mass()
	shut := c.open[0].see(t+h, th)+c.open[1].see(t+h, th) == 0
	dm, db := c.rate[0]*h, c.rate[2]*h
	if shut || math.Abs(dm) > 0.3*m {
		dm, db = 0, 0
	}
	du := c.rate[1] * h
	if math.Abs(du) > 0.3*c.energy {
		du = 0
	}
	m += dm
	burned := min(max(c.burned+db, 0), m)
	u := c.energy + du - c.pressure*(v-c.volume)
	y := burned / m
	c.midT = c.warmth(u/m, y, 1.5*c.temp-0.5*c.was)
	c.midP = m * c.gas.R(y) * c.midT / v
	if shut { // nobody looks
		return
	}
	air := (m - burned) / (1 + c.fuelAir)
	c.mid = c.pipe.At(c.midP, c.midT, burned/(air+burned))
}

// warmth returns the temperature [K] of the gas within of specific energy e [J/kg] and burned fraction y [-], from a guess [K]; its error
// is below 1e-8 of it.
func (c *cylinder) warmth(e, y, guess float64) float64 {
	t := c.gas.Near(e, y, guess)
	if d := t - guess; !(math.Abs(d) <= 2e-4*t) {
		if !(math.Abs(d) < 0.3*guess) {
			return c.gas.Temperature(e, y, c.temp)
		}
		t = c.gas.Near(e, y, t)
		if !(math.Abs(d) <= 0.02*t) {
			t = c.gas.Near(e, y, t)
		}
	}
	return t
}

// State returns the gas as the valves see it, of the last step in which one was open.
func (c *cylinder) State() wave.State { return c.mid }

// Add takes in what came through a valve.
func (c *cylinder) Add(mass, enthalpy, burned float64) {
	c.in[0] += mass
	c.in[1] += enthalpy
	c.in[2] += burned
}

// Limit returns the longest step [s]: what the open valves may pass into the chamber, and the most crank angle.
func (c *cylinder) Limit(float64) float64 {
	dt := c.turn / c.shaft.omega
	// The time is known to the valves only as the state's: the present area is that of the last step.
	a := c.open[0].now + c.open[1].now
	if a == 0 {
		return dt
	}
	// The squares are compared first: hardly ever is the valve the limit.
	most, pass := 0.4*c.volume, a*a*c.mid.Gamma*c.mid.R*max(c.mid.T, 200)
	if dt*dt*pass > most*most {
		dt = most / math.Sqrt(pass)
	}
	return dt
}

// Advance ends the step.
func (c *cylinder) Advance(t, dt float64) {
	theta, next := c.angle(t), c.angle(t+dt)
	v := c.volumeAt(t + dt)
	in := c.in
	c.in = [3]float64{}
	dAir := in[0] - in[2]
	fuel := c.fuelAir * dAir
	u := in[1]
	if fuel != 0 {
		u += c.fuelEnergy(dAir)
	}
	c.air = max(c.air+dAir, 0)
	c.burned = max(c.burned+in[2], 0)
	work := c.midP * (v - c.volume)
	q := c.wallHeat(theta) * dt
	r := c.burnStep(theta, next)
	c.energy += u + r - q - work
	m := c.mass()
	y := c.burned / m
	c.temp, c.was = c.warmth(c.energy/m, y, 2*c.midT-c.temp), c.temp
	c.volume = v
	c.pressure = m * c.gas.R(y) * c.temp / v
	inv := 1 / dt
	c.rate = [3]float64{(in[0] + fuel) * inv, (u + r - q) * inv, in[2] * inv}
	s := &c.sum
	s.work += work
	s.heat += q
	s.released += r
	s.fuel += fuel
	s.peak = max(s.peak, c.pressure)
}

// fuelEnergy returns the energy [J] that comes with the fuel of dAir [kg] of air: as it was injected on the way in, at the
// chamber's temperature on the way out.
func (c *cylinder) fuelEnergy(dAir float64) float64 {
	if dAir > 0 {
		return c.fuelH * dAir
	}
	return dAir * ((1+c.fuelAir)*c.gas.Enthalpy(c.temp, 0) - c.pipe.Enthalpy(c.temp, 0))
}

// burnStep moves the burn from angle theta to next [rad] and returns the heat it sets free [J].
func (c *cylinder) burnStep(theta, next float64) float64 {
	b := c.burn
	if b == nil {
		return 0
	}
	was, th := theta-Cycle/2, next-Cycle/2
	if !b.active {
		if was >= b.law.Start || th < b.law.Start {
			return 0
		}
		b.active, b.fraction = true, 0
		b.fresh = c.air * (1 + c.fuelAir)
	}
	x := b.at(th)
	dm := min((x-b.fraction)*b.fresh, c.air*(1+c.fuelAir))
	b.fraction = x
	b.active = x < 1
	c.air -= dm / (1 + c.fuelAir)
	c.burned += dm
	return dm * b.heat
}

// wallHeat returns the heat flow to the walls [W] at angle theta [rad].
func (c *cylinder) wallHeat(theta float64) float64 {
	w := &c.walls
	open := c.open[0].now+c.open[1].now > 0                       // halfway through the step
	if w.wasOpen && !open && theta > Cycle/8 && theta < Cycle/2 { // the intake has just closed
		c.sum.trapped, c.sum.residual, c.sum.closing = c.mass(), c.burned/c.mass(), c.pressure
		w.ref = w.swept * c.temp / (c.pressure * c.volume)
		w.polyPV = c.pressure * wave.Power(c.volume, polytropic)
	}
	w.wasOpen = open
	if w.model == NoHeat || w.factor == 0 {
		return 0
	}
	return w.factor * c.coefficient(theta, open) * c.crank.walls(c.volume) * (c.temp - w.temp)
}

func (c *cylinder) coefficient(theta float64, open bool) float64 {
	w := &c.walls
	if w.model == Hohenberg {
		return HohenbergCoefficient(c.volume, c.pressure, c.temp, w.sp)
	}
	speed := 6.18 * w.sp
	if !open {
		speed = 2.28 * w.sp
		if c.burn != nil && theta > Cycle/2+c.burn.law.Start {
			pm := w.polyPV * wave.Power(c.volume, -polytropic)
			speed += 3.24e-3 * w.ref * max(c.pressure-pm, 0)
		}
	}
	// WoschniCoefficient with its powers taken together.
	return 129.8 * w.bore * wave.Powers(c.pressure*1e-5*speed, 0.8, c.temp, -0.53)
}

// polytropic is the exponent of motored compression that Woschni's form compares the pressure with [-]. Common practice, no source.
const polytropic = 1.33
