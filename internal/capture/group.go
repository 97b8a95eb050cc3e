package capture

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"runnel/internal/fault"
	"runnel/job"
	"runnel/unit"
)

// A Group is the sensors that hang on one line, out of which a driver makes a Source.
type Group struct {
	Kind  string
	Place string
	Taps  []Tap
}

// A Tap is one sensor on a line.
type Tap struct {
	Sensor  job.Sensor
	Address Address
}

// Groups sorts the sensors of a bench card by the line they hang on, in the order of the card. Sensors without a source are
// left out; when none has one that is an error.
func Groups(card job.Bench) ([]Group, error) {
	var groups []Group
	var errs []error
	for _, s := range card.Sensors {
		if s.Source == "" {
			continue
		}
		a, err := ParseAddress(s.Source)
		if err != nil {
			errs = append(errs, fmt.Errorf("sensor %q: %w", s.Channel, err))
			continue
		}
		i := slices.IndexFunc(groups, func(g Group) bool { return g.Kind == a.Kind && g.Place == a.Place })
		if i < 0 {
			groups = append(groups, Group{Kind: a.Kind, Place: a.Place})
			i = len(groups) - 1
		}
		groups[i].Taps = append(groups[i].Taps, Tap{s, a})
	}
	if len(groups) == 0 && len(errs) == 0 {
		errs = append(errs, fmt.Errorf("bench %q: %w", card.ID, errNoSource))
	}
	if len(errs) > 0 {
		return nil, fault.As(fault.Invalid, errors.Join(errs...))
	}
	return groups, nil
}

// Channels lists the channels of a group.
func (g Group) Channels() []string {
	out := make([]string, len(g.Taps))
	for i, t := range g.Taps {
		out[i] = t.Sensor.Channel
	}
	return out
}

// Options reads the options of a group: those of the line, which any of its sensors may give and none may contradict, and
// those of each sensor. Names are all the options the driver knows; unit, scale and offset are known of every sensor.
func (g Group) Options(line, tap []string) (port *Options, taps []*Options, err error) {
	port = &Options{values: map[string]string{}}
	tap = append(slices.Clone(tap), "unit", "scale", "offset")
	said := map[string]string{}
	for _, t := range g.Taps {
		own := &Options{values: map[string]string{}}
		for _, name := range slices.Sorted(maps.Keys(t.Address.Options)) {
			v := t.Address.Options[name]
			switch {
			case slices.Contains(line, name):
				if was, ok := port.values[name]; ok && was != v {
					return nil, nil, g.fault(t, fmt.Errorf("%s=%s contradicts %s=%s of sensor %q on the same line", name, v, name, was, said[name]))
				}
				port.values[name], said[name] = v, t.Sensor.Channel
			case slices.Contains(tap, name):
				own.values[name] = v
			default:
				return nil, nil, g.fault(t, fmt.Errorf("option %q is not known: a %s source has %s", name, g.Kind, strings.Join(append(slices.Clone(line), tap...), ", ")))
			}
		}
		taps = append(taps, own)
	}
	return port, taps, nil
}

// Fault wraps an error of a sensor's address as bad input that names the sensor.
func (g Group) Fault(tap int, err error) error { return g.fault(g.Taps[tap], err) }

func (g Group) fault(t Tap, err error) error {
	if err == nil {
		return nil
	}
	return fault.Errorf(fault.Invalid, "sensor %q, source %q: %w", t.Sensor.Channel, t.Sensor.Source, err)
}

// OneEach refuses two sensors that read the same field.
func (g Group) OneEach(key func(Address) string) error {
	seen := map[string]string{}
	for _, t := range g.Taps {
		k := key(t.Address)
		if was, twice := seen[k]; twice {
			return g.fault(t, fmt.Errorf("sensor %q reads the same: give every sensor its own field", was))
		}
		seen[k] = t.Sensor.Channel
	}
	return nil
}

// A Scale turns what a device reports into the unit of the sensor: raw·Factor + Offset.
type Scale struct {
	Factor float64 // [unit of the sensor per unit of the device]
	Offset float64 // [unit of the sensor]
}

// Of returns the value in the unit of the sensor for what a device reports.
func (s Scale) Of(raw float64) float64 { return raw*s.Factor + s.Offset }

// Scale reads the options unit, scale and offset of a sensor: what the device reports, times scale, plus offset, is in unit.
// said is the unit a pattern of lines has for the field, empty when it has none.
func (t Tap) Scale(o *Options, said string) (Scale, error) {
	name := o.Text("unit", said)
	if said != "" && name != said {
		return Scale{}, fmt.Errorf("unit=%s contradicts the pattern, which has the field in %s", name, said)
	}
	factor := o.Number("scale", 1, -1e12, 1e12)
	offset := o.Number("offset", 0, -1e12, 1e12)
	if err := o.Err(); err != nil {
		return Scale{}, err
	}
	if factor == 0 {
		return Scale{}, errors.New("scale=0 makes every sample the same: write another number")
	}
	if name == "" {
		return Scale{factor, offset}, nil
	}
	to, d, err := UnitOf(t.Sensor)
	if err != nil {
		return Scale{}, err
	}
	from, ok := d.Lookup(name)
	if !ok {
		return Scale{}, fmt.Errorf("unit=%s is no unit of %s: use one of %s", name, d.Name, strings.Join(d.Names(), ", "))
	}
	if from.Name == to.Name {
		return Scale{factor, offset}, nil
	}
	return Scale{factor * from.Factor / to.Factor, to.FromSI(from.ToSI(offset))}, nil
}

// OptionRate is the option of a sensor that says how many samples a second should come. A session reads it off the card; the
// drivers of lines that do not know their own rate list it among the options of a sensor.
const OptionRate = "rate"

// Rate reads the option rate [Hz]; 0 when it is not given. A number that cannot be is an error of the options.
func (t Tap) Rate(o *Options) float64 { return o.Number(OptionRate, 0, 0.001, 1e5) }

// rateOf returns the rate that the source of a sensor declares [Hz]; 0 when it does not.
func rateOf(s job.Sensor) float64 {
	a, err := ParseAddress(s.Source)
	if err != nil {
		return 0
	}
	return Tap{}.Rate(&Options{values: a.Options})
}

// UnitOf returns the unit a sensor reports in and its dimension.
func UnitOf(s job.Sensor) (unit.Unit, unit.Dimension, error) {
	for _, d := range dimensionsOf(s.Role) {
		if s.Unit == "" {
			return d.SI(), d, nil
		}
		if u, ok := d.Lookup(s.Unit); ok {
			return u, d, nil
		}
	}
	return unit.Unit{}, unit.Dimension{}, fmt.Errorf("unit %q does not fit a sensor of role %s", s.Unit, s.Role)
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
