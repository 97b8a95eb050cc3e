package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"runnel/gas"
	"runnel/job"
	"runnel/meter"
	"runnel/unit"
)

// What is true of the bench and not on its cards. All inside the uncertainties the cards state.
const (
	meterSlope = 1.0018 // slope of the meter sensor's calibration, as the card has it [-]
	testSlope  = 0.9991 // slope of the test-pressure sensor's calibration, as the card has it [-]
	meterGain  = 1.0010 // what its calibration leaves [-]
	testGain   = 0.9992 // what its calibration leaves [-]
	plateC     = 1.0015 // true over standard discharge coefficient of both plates [-]
	clamping   = 0.0018 // standard deviation of clamping a piece anew, relative in area [-]
	trueCheck  = 1.0012 // true over stated effective area of the check plate [-]
)

// The blower: pressure rise = shut·ω² − slope·Q², with the speed ω over its steady value.
const (
	blowerShut  = 24e3   // pressure rise without flow [Pa]
	blowerSlope = 1.6e5  // loss of rise with flow squared [Pa·s²/m⁶]
	spinUp      = 0.6    // time constant of spinning up [s]
	sampleStep  = 0.05   // one sample at 20 Hz [s]
	sampleCount = 400    // samples of a trace: 20 s
	hoseLag     = 0.08   // lag of the pressure lines [s]
	meterNoise  = 1.1    // noise of the meter sensor [Pa]
	testNoise   = 2.0    // noise of the test-pressure sensor [Pa]
	meterTick   = 2.0    // steps of the meter sensor in one pascal [1/Pa]
	testTick    = 200.0  // steps of the test-pressure sensor in one inch of water [1/inH2O]
	turbulence  = 0.0040 // waver of the piece's effective area [-]
	waver       = 0.003  // waver of the blower's speed [-]
)

// A rig is the bench ready for a trace: the room's air, the plate in the pipe, the leaks, the zeros.
type rig struct {
	air       gas.Air
	plate     meter.Orifice
	leakK     float64 // leakage k·dp^n at the room's air [m³/(s·Paⁿ)]
	leakN     float64 // its exponent [-]
	meterZero float64 // what the meter sensor shows without flow [Pa]
	testZero  float64 // what the test-pressure sensor shows without drop [Pa]
}

// flow returns the mass flow through an effective area and the leaks for a pressure drop dp [Pa].
func (g *rig) flow(area, dp float64) float64 {
	n := gas.Nozzle{
		Pressure: g.air.Pressure, Temperature: g.air.Temperature, Downstream: g.air.Pressure - dp,
		GasConstant: g.air.Compressibility * g.air.GasConstant, Gamma: g.air.Kappa,
	}
	return n.MassFlow(area) + g.leak(dp)
}

func (g *rig) leak(dp float64) float64 { return g.air.Density * g.leakK * math.Pow(dp, g.leakN) }

// difference inverts the meter: the pressure difference of the plate for a mass flow, with the chamber dp below the room.
// start is a first guess; the secant method in the square root needs two or three rounds.
func (g *rig) difference(mass, dp, start float64) (float64, error) {
	p1 := g.air.Pressure - dp
	up := meter.Upstream{
		Pressure: p1, Temperature: g.air.Temperature, Density: g.air.Density * p1 / g.air.Pressure, Viscosity: g.air.Viscosity, Kappa: g.air.Kappa,
	}
	miss := func(root float64) (float64, error) {
		f, err := g.plate.Flow(up, root*root)
		return f.Mass*plateC - mass, err
	}
	x0, x1 := math.Sqrt(start), math.Sqrt(start)*1.001
	m0, err := miss(x0)
	if err != nil {
		return 0, err
	}
	for range 40 {
		m1, err := miss(x1)
		if err != nil {
			return 0, err
		}
		if math.Abs(m1) < 1e-9*mass || m1 == m0 {
			return x1 * x1, nil
		}
		x0, x1, m0 = x1, math.Abs(x1-m1*(x1-x0)/(m1-m0)), m1
	}
	return 0, fmt.Errorf("no pressure difference of the plate for %g kg/s", mass)
}

// loss is the pressure the plate takes for good.
func (g *rig) loss(dp float64) float64 { return dp * meter.PressureLoss(g.plate.Beta(), 0.6) }

// A state is the bench at one instant.
type state struct{ dp, meterDP float64 }

// settle finds the state for an effective area, a speed of the blower and a setting of the valve, starting from a near one.
func (g *rig) settle(area, speed, valve float64, s state) (state, error) {
	miss := func(dp float64) (float64, error) {
		mass := g.flow(area, dp)
		d, err := g.difference(mass, dp, s.meterDP)
		if err != nil {
			return 0, err
		}
		s.meterDP = d
		q := mass / g.air.Density
		return dp + g.loss(d) + (valve+blowerSlope)*q*q - blowerShut*speed*speed, nil
	}
	x0, x1 := s.dp, s.dp*1.001
	m0, err := miss(x0)
	if err != nil {
		return state{}, err
	}
	for range 40 {
		m1, err := miss(x1)
		if err != nil {
			return state{}, err
		}
		if math.Abs(m1) < 1e-3 || m1 == m0 {
			s.dp = x1
			return s, nil
		}
		x0, x1, m0 = x1, math.Abs(x1-m1*(x1-x0)/(m1-m0)), m1
	}
	return state{}, fmt.Errorf("the bench does not settle on %g m²", area)
}

// valve returns the setting at which the steady bench holds the pressure drop dp on an effective area.
func (g *rig) valve(area, dp float64) (float64, state, error) {
	mass := g.flow(area, dp)
	d, err := g.difference(mass, dp, 1000)
	if err != nil {
		return 0, state{}, err
	}
	q := mass / g.air.Density
	v := (blowerShut-dp-g.loss(d))/(q*q) - blowerSlope
	if v < 0 {
		return 0, state{}, fmt.Errorf("the blower cannot hold %g Pa on %g m²", dp, area)
	}
	return v, state{dp, d}, nil
}

// A fault is what goes wrong in a trace.
type fault int

const (
	none   fault = iota
	knock        // somebody knocks the hose of the meter once
	frozen       // the meter sensor stops and repeats its last value
)

// trace simulates one reading: the operator opens up, the blower spins up, 20 s are recorded.
func (g *rig) trace(r *rand.Rand, area, target float64, f fault) (job.Trace, error) {
	valve, steady, err := g.valve(area, target*(1+0.006*r.NormFloat64()))
	if err != nil {
		return job.Trace{}, err
	}
	pieceWaver := newWander(r, turbulence, 0.08, sampleStep)
	speedWaver := newWander(r, waver, 0.12, sampleStep)
	meterHose, testHose := newHose(hoseLag, sampleStep), newHose(hoseLag, sampleStep)
	times := make([]float64, sampleCount)
	meterDP, testDP := make([]float64, sampleCount), make([]float64, sampleCount)
	tick, _ := unit.Pressure.Lookup("inH2O")
	last := 0.0
	for i := range sampleCount {
		t := float64(i) * sampleStep
		times[i] = round(t, 100)
		speed := (1 - 0.9*math.Exp(-t/spinUp)) * (1 - 0.0002*t/20) * (1 + speedWaver.next(r))
		s, err := g.settle(area*(1+pieceWaver.next(r)), speed, valve, steady)
		if err != nil {
			return job.Trace{}, err
		}
		m := meterHose.follow(s.meterDP)*meterGain/meterSlope + g.meterZero + meterNoise*r.NormFloat64()
		d := testHose.follow(s.dp)*testGain/testSlope + g.testZero + testNoise*r.NormFloat64()
		switch {
		case f == knock && i == 270:
			m *= 1.32
		case f == frozen && i > 60:
			m = last
		}
		last = m
		meterDP[i] = round(m, meterTick)
		testDP[i] = tick.ToSI(round(tick.FromSI(d), testTick))
	}
	return job.Trace{Time: times, Channels: []job.Channel{
		{Name: "meter_dp", Unit: "Pa", Values: meterDP},
		{Name: "test_dp", Unit: "inH2O", Values: testDP},
	}}, nil
}
