package rig

import (
	"fmt"
	"math"
	"math/rand/v2"

	"runnel/gas"
	"runnel/meter"
	"runnel/unit"
)

// The blower: pressure rise = shut·ω² − slope·Q², with the speed ω over its steady value. Numbers are invented.
const (
	blowerShut  = 24e3  // pressure rise without flow [Pa]
	blowerSlope = 1.6e5 // loss of rise with flow squared [Pa·s²/m⁶]
	spinUp      = 0.4   // time constant of the speed [s]
	runUp       = 0.3   // speed at which a stopped blower is when it turns again [-]
	hoseLag     = 0.05  // lag of the pressure lines [s]
	valveLag    = 0.3   // time constant of whoever turns the control valve [s]
	turbulence  = 0.004 // waver of the piece's effective area [-]
	turbMemory  = 0.08  // its memory [s]
	waver       = 0.003 // waver of the blower's speed [-]
	waverMemory = 0.12  // its memory [s]
	sag         = 0.10  // speed lost with the fault "sag" [-]
	clamping    = 0.0018
	meterNoise  = 1.1   // noise of the meter's sensor [Pa]
	testNoise   = 2.0   // noise of the test-pressure sensor [Pa]
	meterStep   = 0.5   // step of the meter's sensor [Pa]
	testStep    = 0.005 // step of the test-pressure sensor [inH2O]
	driftPerS   = 2e-4  // wander of the meter's zero [Pa/s]
)

// Options sets up a rig.
type Options struct {
	Area     float64      // effective area of the test piece [m²]; 0 means 930 mm²
	Pressure float64      // test pressure it is set to [Pa]; 0 means 28 inH2O
	Rate     float64      // samples a second [Hz]; 0 means 20
	Seed     uint64       // of everything drawn
	Air      gas.MoistAir // of the room; zero means 99 800 Pa, 21 °C, 45 %
	Steady   bool         // no luck in clamping, no errors of sensors and plate, no noise: for checks of the flow
}

// A Rig is a simulated bench. It is not safe for use by many goroutines; Server is.
type Rig struct {
	opt   Options
	rand  *rand.Rand
	air   gas.Air
	plate meter.Orifice
	truth Truth
	flt   map[string]bool

	time    float64 // [s]
	clock   float64 // of the device, which may step [s]
	area    float64 // as mounted [m²]
	blanked bool
	stopped bool    // the blower is off
	target  float64 // [Pa]
	speed   float64 // [-]
	valve   float64 // logarithm of its loss [ln Pa·s²/m⁶]
	leakK   float64 // leakage k·dp^n [m³/(s·Paⁿ)]
	turb    wander
	wave    wander
	hoses   [2]hose
	drop    float64 // last balance: drop across the piece [Pa]
	diff    float64 // and pressure difference of the plate [Pa]
	frozen  []float64
	spikeIn int
}

// Truth is what a rig really has on it: what a reading should find.
type Truth struct {
	Area       float64 `json:"effective_area_m2"` // of the piece [m²]
	Mounted    float64 `json:"as_mounted_m2"`     // with the luck of this clamping [m²]
	Leak       float64 `json:"leak_m3_s"`         // leakage at the set test pressure and the room's air [m³/s]
	Pressure   float64 `json:"test_pressure_pa"`  // it is set to [Pa]
	PlateC     float64 `json:"plate_coefficient"` // true over standard discharge coefficient [-]
	MeterGain  float64 `json:"meter_gain"`        // of the meter's sensor, less one is its error [-]
	TestGain   float64 `json:"test_gain"`         // of the test-pressure sensor [-]
	MeterZero  float64 `json:"meter_zero_pa"`     // shown without flow [Pa]
	TestZero   float64 `json:"test_zero_pa"`      // shown without drop [Pa]
	Blanked    bool    `json:"blanked"`
	Density    float64 `json:"air_density_kg_m3"` // of the room's air [kg/m³]
	MassFlow   float64 `json:"mass_flow_kg_s"`    // through the plate at the last sample [kg/s]
	Difference float64 `json:"plate_dp_pa"`       // true pressure difference of the plate at the last sample [Pa]
	Drop       float64 `json:"piece_dp_pa"`       // true drop across the piece at the last sample [Pa]
}

const leakExponent = 0.58 // of the leakage's power law [-]

// New sets a rig up.
func New(o Options) (*Rig, error) {
	o = o.orDefaults()
	air, err := o.Air.Properties()
	if err != nil {
		return nil, fmt.Errorf("air of the rig: %w", err)
	}
	if !(o.Area > 1e-7 && o.Area < 3e-3) {
		return nil, fmt.Errorf("effective area %.4g mm² is beyond this rig: choose up to 3000 mm²", o.Area*1e6)
	}
	if !(o.Rate >= 0.1 && o.Rate <= 5000) {
		return nil, fmt.Errorf("rate %g Hz is beyond this rig: choose 0.1 to 5000 Hz", o.Rate)
	}
	r := &Rig{
		opt: o, rand: rand.New(rand.NewPCG(o.Seed, 0x72756e6e656c)), air: air, target: o.Pressure, flt: map[string]bool{}, // the one seed of a rig
		plate: meter.Orifice{Throat: meter.Throat{Pipe: plateInPipe, Bore: plateBore}, Taps: meter.Corner},
		turb:  wander{sd: turbulence, memory: turbMemory}, wave: wander{sd: waver, memory: waverMemory},
		hoses: [2]hose{{lag: hoseLag}, {lag: hoseLag}},
		leakK: unit.VolumeFlow.Of(1.2, "cfm") / math.Pow(unit.Pressure.Of(28, "inH2O"), leakExponent),
	}
	r.truth = Truth{PlateC: 1, MeterGain: 1, TestGain: 1, Density: air.Density}
	if !o.Steady { // inside what the card of the rig states
		r.truth.PlateC += 0.0020 * r.luck()
		r.truth.MeterGain += 0.0015 * r.luck()
		r.truth.TestGain += 0.0015 * r.luck()
		r.truth.MeterZero, r.truth.TestZero = 4*r.luck(), 4*r.luck()
	}
	r.Mount(o.Area)
	if err := r.set(); err != nil {
		return nil, err
	}
	return r, nil
}

func (o Options) orDefaults() Options {
	if o.Area == 0 {
		o.Area = 930e-6
	}
	if o.Pressure == 0 {
		o.Pressure = unit.Pressure.Of(28, "inH2O")
	}
	if o.Rate == 0 {
		o.Rate = 20
	}
	if o.Air == (gas.MoistAir{}) {
		o.Air = gas.MoistAir{Pressure: 99800, Temperature: 294.15, Humidity: 0.45, CO2: gas.StandardCO2}
	}
	return o
}

// luck is a normal draw that stays within one and a half standard deviations: errors as a card states them, no outliers.
func (r *Rig) luck() float64 {
	for {
		if x := r.rand.NormFloat64(); math.Abs(x) < 1.5 {
			return x
		}
	}
}

// Mount clamps a piece of an effective area [m²] anew, with the luck that clamping has.
func (r *Rig) Mount(area float64) {
	r.truth.Area, r.area, r.blanked = area, area, false
	if !r.opt.Steady {
		r.area *= 1 + clamping*r.luck()
	}
}

// Truth returns what the rig has on it.
func (r *Rig) Truth() Truth {
	t := r.truth
	t.Mounted, t.Pressure, t.Blanked, t.Difference, t.Drop = r.area, r.target, r.blanked, r.diff, r.drop
	t.Leak = r.leakK * math.Pow(r.target, leakExponent)
	t.MassFlow = r.flow(r.open(), r.drop)
	return t
}

// open is the effective area that is open to the air now [m²].
func (r *Rig) open() float64 {
	if r.blanked {
		return 0
	}
	return r.area
}

// A wander is noise with memory: a first-order autoregression.
type wander struct{ sd, memory, x float64 }

func (w *wander) next(dt, draw float64) float64 {
	keep := math.Exp(-dt / w.memory)
	w.x = keep*w.x + w.sd*math.Sqrt(1-keep*keep)*draw
	return w.x
}

// A hose is the lag of a pressure line: first order.
type hose struct {
	lag, x float64
	filled bool
}

func (h *hose) follow(x, dt float64) float64 {
	if !h.filled {
		h.x, h.filled = x, true
	}
	h.x += (x - h.x) * -math.Expm1(-dt/h.lag)
	return h.x
}
