package job

import "time"

// A Bench is the bench as it is set up: its meters, its sensors and the plate that proves it.
type Bench struct {
	ID          string     `toml:"id" need:"yes"`
	Title       string     `toml:"title"`
	SetupRepeat float64    `toml:"setup_repeat" dim:"ratio"` // standard uncertainty of clamping and sealing anew [-]
	LeakLimit   float64    `toml:"leak_limit" dim:"ratio"`   // leakage over reading above which a reading is marked [-], default 0.02
	AirAge      float64    `toml:"air_age" dim:"time"`       // age at which an air record counts as stale [s], default 3600
	Meters      []Meter    `toml:"meters" need:"yes"`
	Sensors     []Sensor   `toml:"sensors" need:"yes"`
	CheckPlate  CheckPlate `toml:"check_plate"`

	Calibrations []Curve `toml:"calibrations"` // curves from known plates, which the meters name
}

// OnPercentScale reports whether the meter of a rig card, or the only one there is where it names none, is a plate on a percent scale.
func (b *Bench) OnPercentScale(rig RigCard) bool {
	for _, m := range b.Meters {
		if m.ID == rig.Meter || rig.Meter == "" && len(b.Meters) == 1 {
			return m.Kind == "plate_percent"
		}
	}
	return false
}

// A Meter is a meter card: what turns a pressure difference into mass flow. Kind decides which fields count.
type Meter struct {
	ID           string       `toml:"id" need:"yes" id:"meters"`
	Kind         string       `toml:"kind" need:"yes" oneof:"orifice_pipe,orifice_chamber,nozzle_isa1932,nozzle_long_radius,nozzle_venturi,venturi_machined,venturi_cast,venturi_welded,nozzle_critical,laminar,plate_percent,table"`
	Title        string       `toml:"title"`
	Pipe         float64      `toml:"pipe" dim:"length"` // inside diameter of the pipe D [m]
	Bore         float64      `toml:"bore" dim:"length"` // bore d [m]
	Taps         string       `toml:"taps" oneof:"corner,flange,d-d2"`
	Coefficient  float64      `toml:"coefficient" dim:"ratio"`             // discharge coefficient of a chamber orifice, or from calibration [-]; 0: the standard's
	UCoefficient float64      `toml:"u_coefficient" dim:"ratio"`           // its standard uncertainty, relative [-]; 0: the standard's
	UPipe        float64      `toml:"u_pipe" dim:"ratio"`                  // standard uncertainty of D, relative [-]
	UBore        float64      `toml:"u_bore" dim:"ratio"`                  // standard uncertainty of d, relative [-]
	FullScale    float64      `toml:"full_scale" dim:"flow"`               // volume flow at 100 % of a percent scale at FullScaleAt [m³/s]
	FullScaleAt  float64      `toml:"full_scale_at" dim:"pressure"`        // test pressure of FullScale [Pa]
	Laminar      float64      `toml:"laminar" dim:"flow"`                  // volume flow of a laminar element at LaminarAt and 20 °C air [m³/s]
	LaminarAt    float64      `toml:"laminar_at" dim:"pressure"`           // pressure difference of Laminar [Pa]
	Table        []TablePoint `toml:"table"`                               // transfer curve
	Station      string       `toml:"station" oneof:"upstream,downstream"` // where the meter sits as the air flows: before or after the piece; default downstream
	Calibration  string       `toml:"calibration" ref:"calibrations"`      // curve of known plates flowed through this meter on this bench
}

// A TablePoint is one point of a transfer curve.
type TablePoint struct {
	Reading  float64 `toml:"reading"`                   // what the sensor shows [its own unit]
	MassFlow float64 `toml:"mass_flow" dim:"mass_flow"` // mass flow there [kg/s]
}

// A Sensor is one channel of the bench.
type Sensor struct {
	Channel         string    `toml:"channel" need:"yes" id:"sensors"` // stem of the column name in a trace, "meter_dp"
	Role            string    `toml:"role" need:"yes" oneof:"meter_dp,test_dp,air_pressure,air_temp,air_rh,meter_temp,meter_reading"`
	Unit            string    `toml:"unit"`                            // unit it reports in
	Low             *float64  `toml:"low"`                             // lower end of the range, in Unit
	High            *float64  `toml:"high"`                            // upper end of the range, in Unit
	Calibration     []float64 `toml:"calibration"`                     // true = c0 + c1·x + c2·x² …, x in Unit; empty: as read
	U               string    `toml:"u"`                               // standard uncertainty: "0.5 Pa" or "0.25 %" of the value
	Source          string    `toml:"source"`                          // where it is read from, for the live bench
	Fluid           string    `toml:"fluid" oneof:"water,mercury,oil"` // what stands in a liquid column read in inH2O, mmH2O, inHg or mmHg; empty: no column
	FluidTemp       float64   `toml:"fluid_temp" dim:"temperature"`    // temperature of that fluid [K]
	SpecificGravity float64   `toml:"specific_gravity"`                // of a gauge oil at 15 °C, the one its scale is made for [-]
	Gravity         float64   `toml:"gravity"`                         // local acceleration of free fall [m/s²]; 0: the standard 9.80665
}

// A CheckPlate is the plate that is flowed to prove the bench.
type CheckPlate struct {
	ID            string  `toml:"id"`
	EffectiveArea float64 `toml:"effective_area" dim:"area"` // known effective area [m²]; 0: no plate
	U             float64 `toml:"u" dim:"ratio"`             // its standard uncertainty, relative [-]
	Limit         float64 `toml:"limit" dim:"ratio"`         // deviation beyond which a sitting is marked [-], default 0.01
}

// A Sitting is one spell at the bench. Readings belong to it.
type Sitting struct {
	ID       string       `toml:"id" need:"yes" id:"sittings"`
	At       time.Time    `toml:"at" need:"yes"`
	By       string       `toml:"by"`
	Note     string       `toml:"note"`
	Air      []AirRecord  `toml:"air" need:"yes"`
	Zero     []ZeroRecord `toml:"zero"`
	Leakage  []LeakPoint  `toml:"leakage"`
	Checks   []PlateCheck `toml:"check"`
	Readings []Reading    `toml:"readings"`
	File     string       `toml:"-"` // "sittings/….toml"
}

// An AirRecord is the room's air at an instant.
type AirRecord struct {
	At          time.Time `toml:"at"`
	Pressure    float64   `toml:"pressure" need:"yes" dim:"pressure"`  // absolute pressure [Pa]
	Temperature float64   `toml:"temp" need:"yes" dim:"temperature"`   // temperature [K]
	Humidity    float64   `toml:"rh" need:"yes" dim:"ratio"`           // relative humidity [-]
	UPressure   float64   `toml:"u_pressure" dim:"pressure"`           // standard uncertainty [Pa]; 0: the default of package bench
	UTemp       float64   `toml:"u_temp" dim:"temperature_difference"` // standard uncertainty [K]
	UHumidity   float64   `toml:"u_rh" dim:"ratio"`                    // standard uncertainty [-]
}

// A ZeroRecord is what a channel shows with no flow.
type ZeroRecord struct {
	At      time.Time `toml:"at"`
	Channel string    `toml:"channel" need:"yes" ref:"sensors"`
	Value   string    `toml:"value" need:"yes"` // with its unit, "1.2 Pa"
}

// A LeakPoint is the flow with everything blanked at one test pressure: a trace, or typed.
type LeakPoint struct {
	At           time.Time `toml:"at"`
	TestPressure float64   `toml:"test_pressure" dim:"pressure"` // pressure drop held [Pa]
	Flow         float64   `toml:"flow" dim:"flow"`              // volume flow at the room's air [m³/s]; 0 when Trace says it
	UFlow        float64   `toml:"u_flow" dim:"flow"`            // standard uncertainty of Flow for itself, as of its resolution [m³/s]; a flow below twice it counts as not seen; 0: as the sensor of Meter says
	Trace        string    `toml:"trace"`
	Meter        string    `toml:"meter" ref:"meters"`
}

// A PlateCheck is a flow of the check plate.
type PlateCheck struct {
	At            time.Time `toml:"at"`
	Trace         string    `toml:"trace"`
	Meter         string    `toml:"meter" ref:"meters"`
	EffectiveArea float64   `toml:"effective_area" dim:"area"` // as read [m²]; 0 when Trace says it
	UByEye        float64   `toml:"u_by_eye" dim:"ratio"`      // relative standard uncertainty of EffectiveArea as read by eye [-]; 0: 0.01
}

// A Reading is one reading as it was taken: where its trace is and what was under test.
type Reading struct {
	ID           string    `toml:"id" need:"yes" id:"readings"`
	Rig          string    `toml:"rig" need:"yes" ref:"rigs"`
	Round        string    `toml:"round" need:"yes" ref:"rounds"`
	Opening      string    `toml:"opening" need:"yes"`
	Lift         float64   `toml:"lift" dim:"length"` // valve lift [m]; 0 for a piece without a valve
	At           time.Time `toml:"at"`
	Trace        string    `toml:"trace"`
	MeterDP      float64   `toml:"meter_dp" dim:"pressure"`          // typed by hand instead of a trace: meter pressure difference [Pa]
	Scale        float64   `toml:"scale" dim:"ratio"`                // typed by hand, with a plate on a percent scale: what it shows, 1 at 100 % [-]
	TestPressure float64   `toml:"test_pressure" dim:"pressure"`     // typed by hand: pressure drop across the piece [Pa]
	Typed        string    `toml:"typed" oneof:"as_shown,corrected"` // what the typed numbers are: as the sensor shows them, which its calibration, fluid and zero then correct, or corrected already; empty: as_shown
	UByEye       float64   `toml:"u_by_eye" dim:"ratio"`             // standard uncertainty of a reading by eye, relative in flow [-]
	Void         string    `toml:"void"`                             // reason why it does not count; empty: it counts
	Note         string    `toml:"note"`
}

// A Trace is the samples of the sensors over time, in SI.
type Trace struct {
	Time     []float64 // time of each sample [s]
	Channels []Channel
}

// A Channel is one column of a trace.
type Channel struct {
	Name   string    // stem of the column name, "meter_dp"
	Unit   string    // unit it was written in
	Values []float64 // samples [SI unit of the column's dimension]; NaN where a cell is empty
}

// Channel returns the named channel.
func (t Trace) Channel(name string) (Channel, bool) {
	for _, c := range t.Channels {
		if c.Name == name {
			return c, true
		}
	}
	return Channel{}, false
}
