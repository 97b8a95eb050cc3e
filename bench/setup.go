package bench

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"runnel/gas"
	"runnel/job"
	"runnel/meter"
	"runnel/unit"
)

// What is taken, with a warning, where the bench card is silent.
const (
	defaultLeakLimit  = 0.02   // leakage over reading that marks a reading [-]
	defaultPlateLimit = 0.01   // deviation of the check plate that marks a sitting [-]
	defaultAirAge     = 3600.0 // age at which an air record is stale [s]
	defaultUSensor    = 0.01   // relative standard uncertainty of a sensor [-]
	defaultUCal       = 0.01   // relative standard uncertainty of a calibrated meter [-]
	defaultUPipe      = 0.002  // of a pipe's diameter [-]: half of the 0.4 % of ISO 5167-1:2003, 8.2.2.3
	defaultUBore      = 5e-4   // of a bore [-]: half of the 0.1 % of ISO 5167-1:2003, 8.2.2.4
	defaultUByEye     = 0.01   // of a flow read by eye [-]
	defaultUPressure  = 100.0  // of the room's pressure [Pa]
	defaultUTemp      = 0.5    // of the room's temperature [K]
	defaultUHumidity  = 0.05   // of the room's relative humidity [-]
)

// A Setup is a bench card at work: its meters built and its sensors understood. It does not change after it is made.
type Setup struct {
	card    job.Bench
	gauges  map[string]gauge
	sensors []sensor
}

// A gauge is a meter with what the bench knows of it.
type gauge struct {
	meter    meter.Meter
	card     job.Meter
	upstream bool        // it sits before the piece
	plates   *plateCurve // known plates flowed through it; nil when there were none
	warnings []gas.Warning
}

// NewSetup builds the meters and sensors of a bench card. Errors name the meter or sensor that cannot be.
func NewSetup(card job.Bench) (*Setup, error) {
	s := &Setup{card: card, gauges: map[string]gauge{}}
	for _, m := range card.Meters {
		g, err := gaugeOf(m)
		if err != nil {
			return nil, fmt.Errorf("meter %q: %w", m.ID, err)
		}
		if g.plates, err = s.plateCurveOf(m.Calibration); err != nil {
			return nil, fmt.Errorf("meter %q: %w", m.ID, err)
		}
		s.gauges[m.ID] = g
	}
	for _, c := range card.Sensors {
		x, err := sensorOf(c)
		if err != nil {
			return nil, fmt.Errorf("sensor %q: %w", c.Channel, err)
		}
		s.sensors = append(s.sensors, x)
	}
	return s, nil
}

// gauge returns the meter by its id; an empty id means the only one there is.
func (s *Setup) gauge(id string) (gauge, error) {
	if id == "" && len(s.gauges) == 1 {
		for _, g := range s.gauges {
			return g, nil
		}
	}
	if g, ok := s.gauges[id]; ok {
		return g, nil
	}
	return gauge{}, fmt.Errorf("meter %q is not on the bench card: name one of %s", id, strings.Join(s.meterIDs(), ", "))
}

func (s *Setup) meterIDs() []string {
	ids := make([]string, 0, len(s.card.Meters))
	for _, m := range s.card.Meters {
		ids = append(ids, m.ID)
	}
	return ids
}

// sensor returns the sensor that has a role.
func (s *Setup) sensor(role string) (sensor, bool) {
	i := slices.IndexFunc(s.sensors, func(x sensor) bool { return x.card.Role == role })
	if i < 0 {
		return sensor{}, false
	}
	return s.sensors[i], true
}

func or(v, otherwise float64) float64 {
	if v == 0 {
		return otherwise
	}
	return v
}

// gaugeOf builds the meter of a card.
func gaugeOf(c job.Meter) (gauge, error) {
	g := gauge{card: c, upstream: c.Station == "upstream"}
	throat := meter.Throat{Pipe: c.Pipe, Bore: c.Bore, UPipe: or(c.UPipe, defaultUPipe), UBore: or(c.UBore, defaultUBore)}
	calibrated := func(m meter.Meter) meter.Meter {
		if c.Coefficient == 0 && c.UCoefficient == 0 {
			return m
		}
		return meter.Calibrated{Meter: m, C: c.Coefficient, UC: c.UCoefficient}
	}
	switch c.Kind {
	case "orifice_pipe":
		taps, err := tapsOf(c.Taps)
		if err != nil {
			return gauge{}, err
		}
		g.meter = calibrated(meter.Orifice{Throat: throat, Taps: taps})
	case "orifice_chamber":
		g.meter = meter.Chamber{
			Bore: c.Bore, Coefficient: or(c.Coefficient, meter.ChamberC), UC: or(c.UCoefficient, meter.ChamberUC), UBore: throat.UBore,
		}
	case "nozzle_isa1932":
		g.meter = calibrated(meter.Nozzle{Throat: throat, Profile: meter.ISA1932})
	case "nozzle_long_radius":
		g.meter = calibrated(meter.Nozzle{Throat: throat, Profile: meter.LongRadius})
	case "nozzle_venturi":
		g.meter = calibrated(meter.Nozzle{Throat: throat, Profile: meter.VenturiNozzle})
	case "venturi_machined":
		g.meter = calibrated(meter.Venturi{Throat: throat, Make: meter.Machined})
	case "venturi_cast":
		g.meter = calibrated(meter.Venturi{Throat: throat, Make: meter.AsCast})
	case "venturi_welded":
		g.meter = calibrated(meter.Venturi{Throat: throat, Make: meter.RoughWelded})
	case "nozzle_critical":
		g.meter = calibrated(meter.Critical{Bore: c.Bore, Pipe: c.Pipe, UBore: throat.UBore})
	default:
		return g.withCalibration(c)
	}
	return g, nil
}

// withCalibration builds the meters that are nothing without a calibration of their own. It is taken to have been made in
// dry air of 101 325 Pa and 20 °C.
func (g gauge) withCalibration(c job.Meter) (gauge, error) {
	u := c.UCoefficient
	if u == 0 {
		u = defaultUCal
		g.warnings = append(g.warnings, gas.Warning{Limit: "meter " + c.ID + ": its calibration states an uncertainty; relative standard uncertainty taken", Got: u})
	}
	room, err := gas.MoistAir{Pressure: DefaultPressure, Temperature: DefaultTemperature, CO2: gas.StandardCO2}.Properties()
	if err != nil {
		return gauge{}, err
	}
	switch c.Kind {
	case "laminar":
		g.meter = meter.Laminar{VolumeFlow: c.Laminar, Difference: c.LaminarAt, Upstream: meter.UpstreamOf(room), UCal: u}
	case "plate_percent":
		before := room.Density
		if !g.upstream {
			before *= 1 - c.FullScaleAt/room.Pressure
		}
		g.meter = meter.Percent{FullScale: c.FullScale, Density: room.Density, PlateDensity: before, UCal: u}
	case "table":
		points := make([]meter.Point, 0, len(c.Table))
		for _, p := range c.Table {
			points = append(points, meter.Point{Reading: p.Reading, Mass: p.MassFlow})
		}
		if g.meter, err = meter.NewTable(points, u); err != nil {
			return gauge{}, err
		}
	default:
		return gauge{}, fmt.Errorf("kind %q of meter is not known", c.Kind)
	}
	return g, nil
}

func tapsOf(name string) (meter.Taps, error) {
	switch name {
	case "corner":
		return meter.Corner, nil
	case "flange":
		return meter.Flange, nil
	case "d-d2":
		return meter.DHalfD, nil
	}
	return 0, fmt.Errorf("tappings %q are not known: write \"corner\", \"flange\" or \"d-d2\"", name)
}

// A sensor is a channel with its calibration and uncertainty understood.
type sensor struct {
	card      job.Sensor
	unit      unit.Unit
	dimension unit.Dimension
	u         float64 // standard uncertainty [SI unit of the dimension, or - when relative]
	relative  bool    // u is a share of the value
	assumed   bool    // u was not stated
	column    float64 // true pressure over what the scale of a liquid column says [-]; 1 for any other sensor
}

// dimensionsOf lists what a role may be measured in.
func dimensionsOf(role string) []unit.Dimension {
	switch role {
	case "meter_dp", "test_dp", "air_pressure":
		return []unit.Dimension{unit.Pressure}
	case "air_temp", "meter_temp":
		return []unit.Dimension{unit.Temperature}
	case "air_rh":
		return []unit.Dimension{unit.Ratio}
	}
	return append([]unit.Dimension{unit.Ratio}, unit.All()...)
}

func sensorOf(c job.Sensor) (sensor, error) {
	s := sensor{card: c}
	found := false
	for _, d := range dimensionsOf(c.Role) {
		if u, ok := d.Lookup(c.Unit); ok || c.Unit == "" {
			if c.Unit == "" {
				u = d.SI()
			}
			s.unit, s.dimension, found = u, d, true
			break
		}
	}
	if !found {
		return sensor{}, fmt.Errorf("unit %q does not fit a sensor of role %s", c.Unit, c.Role)
	}
	factor, err := columnOf(c, s.unit)
	if err != nil {
		return sensor{}, err
	}
	s.column = factor
	return s, s.readU()
}

// readU understands the standard uncertainty. A per cent is a share of the value, except of humidity and of a percent scale,
// whose unit it is.
func (s *sensor) readU() error {
	switch {
	case s.card.U == "":
		s.u, s.relative, s.assumed = defaultUSensor, true, true
		return nil
	case strings.Contains(s.card.U, "%") && s.dimension.Name != unit.Ratio.Name:
		u, err := unit.Ratio.Parse(s.card.U)
		s.u, s.relative = u, true
		return err
	}
	d := s.dimension
	if d.Name == unit.Temperature.Name {
		d = unit.TemperatureSpan
	}
	u, err := d.Parse(s.card.U)
	s.u = u
	return err
}

// correct returns the true value of what the sensor shows, both in SI, by its calibration polynomial.
func (s *sensor) correct(x float64) float64 {
	if len(s.card.Calibration) == 0 {
		return x * s.column
	}
	v, sum := s.unit.FromSI(x), 0.0
	for _, c := range slices.Backward(s.card.Calibration) {
		sum = sum*v + c
	}
	return s.unit.ToSI(sum) * s.column
}

// span returns the ends of the range in SI, corrected; high is not above low when there is none.
func (s *sensor) span() (low, high float64) {
	if s.card.Low == nil || s.card.High == nil {
		return 0, 0
	}
	return s.correct(s.unit.ToSI(*s.card.Low)), s.correct(s.unit.ToSI(*s.card.High))
}

// uOf returns the standard uncertainty at a value [SI].
func (s sensor) uOf(value float64) float64 {
	if s.relative {
		return s.u * math.Abs(value)
	}
	return s.u
}
