package engine

import (
	"math"
	"testing"

	"runnel/gas"
	"runnel/wave"
)

// closedCrank is the crank of closedCylinder.
var closedCrank = Crank{Bore: 0.086, Stroke: 0.086, Rod: 0.1433, CompressionRatio: 10}

// closedCylinder is a cylinder with both valves shut, of a perfect gas, at bottom dead centre before compression.
func closedCylinder(gamma float64, burn *burning) *cylinder {
	g := wave.ConstantGas(gamma, 287)
	c := &cylinder{
		crank: closedCrank.slider(), pipe: g, gas: g, shaft: &shaft{}, turn: 0.02, burn: burn,
	}
	c.walls.model = NoHeat
	shut := make([]float64, camN)
	for i := range c.open {
		c.open[i] = &valve{cyl: c, areas: shut, reverse: 1, outward: true}
	}
	c.shaft.spin(100 * math.Pi)
	c.follow(-math.Pi) // at time zero the piston is at bottom dead centre
	c.start(1e5, 300, 0)
	return c
}

// turn steps the cylinder through the crank angle [rad] in steps of d [rad].
func turn(c *cylinder, from, through, d float64) float64 {
	n := int(math.Round(through / d))
	dt := through / float64(n) / c.shaft.omega
	for i := range n {
		t := from + float64(i)*dt
		c.Begin(t, dt)
		c.Advance(t, dt)
	}
	return from + float64(n)*dt
}

// A motored closed cylinder follows p·V^γ = constant: closed form, 0.1 %, with steps of a degree as the engine takes them.
func TestMotoredAdiabatic(t *testing.T) {
	c := closedCylinder(1.4, nil)
	v0 := c.volume
	tm := 0.0
	for range 36 {
		tm = turn(c, tm, math.Pi/18, math.Pi/180)
		near(t, "pressure", c.pressure, 1e5*math.Pow(v0/c.volume, 1.4), 1e-3)
		near(t, "temperature", c.temp, 300*math.Pow(v0/c.volume, 0.4), 1e-3)
	}
	if w := c.sum.work / (1e5 * v0); math.Abs(w) > 1e-4 {
		t.Errorf("work of a whole turn over p·V = %v, want 0", w)
	}
}

// Otto limit: when the charge burns at once at top centre, the work of the closed turn over the heat is 1 − r^(1−γ).
// Closed form (Heywood eq. 5.31), 0.1 %. The law's duration is 0.02° and is stepped in hundredths while it lasts.
func TestOttoLimit(t *testing.T) {
	for _, gamma := range []float64{1.3, 1.4} {
		b := &burning{law: Wiebe{Start: -1e-6, Duration: 3e-4, A: 5, M: 2}, heat: 1e6}
		b.whole = -math.Expm1(-b.law.A)
		b.end = b.law.Start + b.law.Duration
		c := closedCylinder(gamma, b)
		m := c.mass()
		tm := turn(c, 0, math.Pi-2e-6, math.Pi/720)
		tm = turn(c, tm, 4e-4, 2e-6)
		turn(c, tm, math.Pi-4e-4+2e-6, math.Pi/720)
		near(t, "heat", c.sum.released, m*1e6, 1e-9)
		near(t, "efficiency", c.sum.work/c.sum.released, OttoEfficiency(10, gamma), 1e-3)
		near(t, "burned", c.burned, m, 1e-9)
	}
}

// idealEfficiency is the efficiency of the constant-volume cycle with the real charge: no heat loss, no friction, no gas exchange.
func idealEfficiency(t testing.TB, f Fuel, lambda, ratio float64) float64 {
	t.Helper()
	e := &Engine{Fuel: f, Lambda: lambda, Evaporate: 1, Burn: Burn{Complete: 1}, Air: Air{Pressure: 1e5, Temperature: 300}}
	g, err := e.gases()
	if err != nil {
		t.Fatal(err)
	}
	b := &burning{law: Wiebe{Start: -1e-6, Duration: 3e-4, A: 5, M: 2}, heat: g.heat}
	b.whole = -math.Expm1(-b.law.A)
	b.end = b.law.Start + b.law.Duration
	c := closedCylinder(1.4, b)
	crank := closedCrank
	crank.CompressionRatio = ratio
	c.crank = crank.slider()
	c.pipe, c.gas, c.fuelAir = g.pipe, g.chamber, g.fuelAir
	c.start(1e5, 330, 0.04)
	fuel := c.air * g.fuelAir
	tm := turn(c, 0, math.Pi-2e-6, math.Pi/720)
	tm = turn(c, tm, 4e-4, 2e-6)
	turn(c, tm, math.Pi-4e-4+2e-6, math.Pi/720)
	return c.sum.work / (fuel * f.Heat)
}

// The chamber's burned gas has the equilibrium of one pressure and one gas constant; this is the same constant-volume cycle with the
// full equilibrium at every temperature and pressure, by package gas alone. The two efficiencies agree within 1 %.
func TestFuelAirCycle(t *testing.T) {
	f, _ := FuelNamed("gasoline")
	ch, err := f.Charge(1, 1, 0)
	if err != nil {
		t.Fatal(err)
	}
	const r, t1, p1 = 10.0, 330.0, 1e5
	mass, rf := ch.Fresh.Mass(), ch.Fresh.GasConstant()
	o2 := f.oxygen()
	atoms := [4]float64{f.C, f.H, f.O + 2*o2, 2 * airN2 * o2}
	var zero float64
	for _, q := range ch.Burned {
		zero += q.Amount * (q.Species.Enthalpy(gas.RefTemp) - gas.MolarGasConstant*gas.RefTemp)
	}
	state := func(temp, p float64) (u, rb float64) {
		b, err := gas.Equilibrium(atoms, airAr*o2, temp, p)
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range b {
			u += q.Amount * (q.Species.Enthalpy(temp) - gas.MolarGasConstant*temp)
		}
		return (u - zero) / mass, b.Amount() * gas.MolarGasConstant / mass
	}
	// at returns temperature and pressure of the equilibrium gas of energy u in volume v.
	at := func(u, v, guess float64) (temp, p float64) {
		temp, p = guess, 290*guess/v
		for range 40 {
			for range 3 {
				_, rb := state(temp, p)
				p = rb * temp / v
			}
			a, _ := state(temp, p)
			b, _ := state(temp+1, p)
			step := (u - a) / (b - a)
			temp += step
			if math.Abs(step) < 1e-3 {
				break
			}
		}
		return temp, p
	}
	v1 := rf * t1 / p1
	temp := t1
	const n = 4000
	for range n {
		temp *= math.Exp(rf / (ch.Fresh.HeatCapacity(temp) - rf) * math.Log(r) / n)
	}
	work := ch.Fresh.InternalEnergy(t1) - ch.Fresh.InternalEnergy(temp)
	u := ch.Fresh.InternalEnergy(temp) + ch.Heat
	v := v1 / r
	temp, p := at(u, v, 2850)
	const m = 60
	for range m {
		next := v * math.Pow(r, 1.0/m)
		w := p * (next - v)
		for range 3 {
			_, q := at(u-w, next, temp)
			w = (p + q) / 2 * (next - v)
		}
		u, v, work = u-w, next, work+w
		temp, p = at(u, v, temp)
	}
	want := work / (ch.FuelAir / (1 + ch.FuelAir) * f.Heat)
	near(t, "fuel-air efficiency", idealEfficiency(t, f, 1, r), want, 0.01)
}

func TestCylinderAllocs(t *testing.T) {
	c := closedCylinder(1.4, nil)
	tm := 0.0
	if n := testing.AllocsPerRun(100, func() {
		c.Begin(tm, 1e-6)
		c.Advance(tm, 1e-6)
		tm += 1e-6
	}); n != 0 {
		t.Errorf("%v allocations in a step", n)
	}
}

// The loop's volume and wall area are those of the published formulas at every angle.
func TestSlider(t *testing.T) {
	s := closedCrank.slider()
	c := closedCylinder(1.4, nil)
	c.follow(0.7)
	for th := -1.0; th < Cycle; th += 0.1 {
		v := c.volumeAt((th + 0.7) / c.shaft.omega)
		near(t, "volume", v, closedCrank.Volume(th), 1e-13)
		near(t, "walls", s.walls(v), closedCrank.WallArea(th), 1e-13)
	}
}

// The loop's heat-transfer coefficient is that of the published form, whatever the state.
func TestWallCoefficient(t *testing.T) {
	c := closedCylinder(1.4, nil)
	c.walls = walls{model: Woschni, factor: 1, sp: 14, bore: math.Pow(closedCrank.Bore, -0.2)}
	for _, p := range []float64{0.6e5, 3e5, 60e5} {
		for _, temp := range []float64{320, 900, 2500} {
			c.pressure, c.temp = p, temp
			for _, open := range []bool{true, false} {
				want := WoschniCoefficient(closedCrank.Bore, p, temp, WoschniSpeed(14, 0, 1, 1, 1, 0, 0, open))
				near(t, "coefficient", c.coefficient(1, open), want, 1e-12)
			}
		}
	}
	c.walls.model = Hohenberg
	near(t, "Hohenberg", c.coefficient(1, false), HohenbergCoefficient(c.volume, c.pressure, c.temp, 14), 1e-12)
}
