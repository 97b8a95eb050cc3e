package wave

import "math"

// A State is gas at rest, as a joint sees it in a vessel.
type State struct {
	P     float64 // absolute pressure [Pa]
	T     float64 // temperature [K]
	Y     float64 // burned mass fraction [-]
	R     float64 // specific gas constant [J/(kg K)]
	Gamma float64 // isentropic exponent γ [-]
	H     float64 // specific enthalpy, counted from 0 K [J/kg]
	V     float64 // volume the gas fills [m³]; 0 for one so large that it does not matter
}

// A Vessel is a space of gas at rest that joints exchange gas with: a room, a
// plenum, a cylinder. A vessel belongs to one Network.
//
// In every step the Network calls Begin once, then State as often as it likes
// (it must not change between Begin and Advance), then Add once for every
// joint, then Advance.
type Vessel interface {
	// Begin prepares the state for the step from t to t + dt [s]. A step that
	// has to be shortened begins again with a smaller dt.
	Begin(t, dt float64)
	// State returns the gas as the joints see it during the step.
	State() State
	// Add takes in a mass [kg] with its total enthalpy [J] and its burned mass
	// [kg]; negative when the vessel gives.
	Add(mass, enthalpy, burned float64)
	// Advance ends the step: the vessel does its own work up to t + dt [s].
	Advance(t, dt float64)
	// Limit returns the longest step [s] the vessel can follow, +Inf if any,
	// when joints of the total flow area [m²] open into it.
	Limit(area float64) float64
}

// A Room is a vessel so large that its state stays the same. It keeps count of
// what it took in.
type Room struct {
	state                    State
	mass, enthalpy, burned   float64
	dMass, dEnergy, dSpecies float64 // rounding carried by the sums
}

// NewRoom returns a room at absolute pressure p [Pa], temperature t [K] and
// burned mass fraction y [-].
func NewRoom(gas *Gas, p, t, y float64) *Room { return &Room{state: gas.at(p, t, y)} }

// Begin does nothing: the state of a room does not change.
func (r *Room) Begin(_, _ float64) {}

// State returns the constant state of the room.
func (r *Room) State() State { return r.state }

// Set changes the state of the room from now on: absolute pressure p [Pa],
// temperature t [K], burned mass fraction y [-].
func (r *Room) Set(gas *Gas, p, t, y float64) { r.state = gas.at(p, t, y) }

// Add counts what the room took in: mass [kg], total enthalpy [J], burned mass [kg].
func (r *Room) Add(mass, enthalpy, burned float64) {
	r.mass, r.dMass = addExact(r.mass, r.dMass, mass)
	r.enthalpy, r.dEnergy = addExact(r.enthalpy, r.dEnergy, enthalpy)
	r.burned, r.dSpecies = addExact(r.burned, r.dSpecies, burned)
}

// Advance does nothing.
func (r *Room) Advance(_, _ float64) {}

// Limit returns +Inf [s]: a room does not limit the step.
func (r *Room) Limit(float64) float64 { return math.Inf(1) }

// Taken returns what the room has taken in since it was made: mass [kg], total
// enthalpy [J] and burned mass [kg].
func (r *Room) Taken() (mass, enthalpy, burned float64) { return r.mass, r.enthalpy, r.burned }

// addExact is one step of Kahan's compensated sum.
func addExact(sum, lost, v float64) (newSum, newLost float64) {
	v -= lost
	t := sum + v
	return t, (t - sum) - v
}

// A Volume is a vessel of fixed volume, such as a plenum: mass, energy and
// burned mass are balanced, the gas in it is uniform and at rest.
//
//	dm/dt = Σ ṁ,  dU/dt = Σ ṁ·h₀ + Q,  p·V = m·R·T
//
// The joints see it half a step ahead, extrapolated with the flows of the step
// before, which makes the exchange second order in time. Definition.
type Volume struct {
	gas    *Gas
	volume float64 // [m³]
	// Per volume: mass [kg/m³], internal energy [J/m³], burned mass [kg/m³].
	held, in, rate         [3]float64
	wallArea, wallT, coeff float64 // [m²], [K], [W/(m² K)]
	temperature            float64 // [K]
	state                  State
}

// NewVolume returns a volume v [m³] filled with gas at absolute pressure p [Pa],
// temperature t [K] and burned mass fraction y [-].
func NewVolume(gas *Gas, v, p, t, y float64) *Volume {
	if !(v > 0) || !(p > 0) || !(t > 0) {
		panic("wave: a volume needs V, p and T > 0")
	}
	o := &Volume{gas: gas, volume: v}
	o.Fill(p, t, y)
	return o
}

// Fill sets the gas to absolute pressure p [Pa], temperature t [K] and burned
// mass fraction y [-], and forgets the flows of the step before.
func (o *Volume) Fill(p, t, y float64) {
	rho := p / (o.gas.R(y) * t)
	o.held = [3]float64{rho, o.gas.density(p, t, y), rho * y}
	o.rate = [3]float64{}
	o.temperature = t
	o.state = o.settle(&o.held)
}

// Wall gives the volume a wall of area a [m²] at temperature t [K] with heat
// transfer coefficient h [W/(m² K)]; without it the volume is adiabatic.
func (o *Volume) Wall(a, t, h float64) { o.wallArea, o.wallT, o.coeff = a, t, h }

// settle makes the state from mass, energy and burned mass per volume.
func (o *Volume) settle(u *[3]float64) State {
	e, y := u[1]/u[0], u[2]/u[0]
	r := o.gas.R(y)
	if g := o.gas; g.constant {
		t := e / g.cf[0]
		return State{P: (g.gamma - 1) * u[1], T: t, Y: y, R: r, Gamma: g.gamma, H: e + r*t, V: o.volume}
	}
	// A Newton step leaves some tenth of the square of itself; a second one, where that matters, leaves no error.
	p, _, gamma, t := o.gas.close(u[0], e, y, o.temperature)
	if math.Abs(t-o.temperature) > 1e-6*t {
		p, _, gamma, t = o.gas.close(u[0], e, y, t)
	}
	return State{P: p, T: t, Y: y, R: r, Gamma: gamma, H: e + r*t, V: o.volume}
}

// Begin extrapolates the state to the middle of the step of dt [s].
func (o *Volume) Begin(_, dt float64) {
	if !(o.held[0] > 0) || !(o.held[1] > 0) {
		panic("wave: a volume was emptied: the step is too long for it")
	}
	mid := o.held
	for k := range mid {
		mid[k] += 0.5 * dt * o.rate[k]
	}
	// Not across a jump, such as a valve that has just been shut.
	if mid[0] < 0.5*o.held[0] || mid[1] < 0.5*o.held[1] || mid[0] > 2*o.held[0] || mid[1] > 2*o.held[1] {
		mid = o.held
	}
	mid[2] = min(max(mid[2], 0), mid[0])
	o.state = o.settle(&mid)
}

// State returns the gas half a step ahead.
func (o *Volume) State() State { return o.state }

// Add takes in mass [kg], total enthalpy [J] and burned mass [kg].
func (o *Volume) Add(mass, enthalpy, burned float64) {
	o.in[0] += mass
	o.in[1] += enthalpy
	o.in[2] += burned
}

// Advance ends the step of dt [s].
func (o *Volume) Advance(_, dt float64) {
	o.temperature = o.state.T
	if o.coeff > 0 {
		o.in[1] += dt * o.coeff * o.wallArea * (o.wallT - o.temperature)
	}
	for k, d := range o.in {
		d /= o.volume
		o.held[k] += d
		o.rate[k] = d / dt
	}
	o.in = [3]float64{}
}

// Limit returns the longest step [s] in which a wave through the opening area
// [m²] does not overfill the volume.
func (o *Volume) Limit(area float64) float64 {
	if area <= 0 {
		return math.Inf(1)
	}
	return 0.5 * o.volume / (area * math.Sqrt(o.state.Gamma*o.state.R*o.state.T))
}

// Contents returns mass [kg], internal energy [J] and burned mass [kg] in the volume.
func (o *Volume) Contents() (mass, energy, burned float64) {
	return o.held[0] * o.volume, o.held[1] * o.volume, o.held[2] * o.volume
}

// Now returns the gas as it is at the end of the last step.
func (o *Volume) Now() State { return o.settle(&o.held) }

// Size returns the volume [m³].
func (o *Volume) Size() float64 { return o.volume }
