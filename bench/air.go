package bench

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"runnel/gas"
	"runnel/job"
	"runnel/measure"
)

// A room is the air of a sitting at an instant, with its standard uncertainties.
type room struct {
	air      gas.MoistAir
	uP       float64 // [Pa]
	uT       float64 // [K]
	uH       float64 // [-]
	warnings []gas.Warning
}

// airAt returns the room's air at t: between two records in proportion to time, before the first or after the last as that
// says. A record that is further away than the air age of the bench is stale, which is a warning. The zero time means that
// the moment is not known: then the first record stands, and its age is not judged.
func (s *Sitting) airAt(t time.Time) room {
	recs := s.air
	if t.IsZero() {
		return roomOf(recs[0])
	}
	next, _ := slices.BinarySearchFunc(recs, t, func(r job.AirRecord, t time.Time) int { return r.At.Compare(t) })
	var r room
	var gap time.Duration
	switch {
	case next == 0:
		r, gap = roomOf(recs[0]), recs[0].At.Sub(t)
	case next == len(recs):
		r, gap = roomOf(recs[next-1]), t.Sub(recs[next-1].At)
	default:
		a, b := recs[next-1], recs[next]
		r = between(roomOf(a), roomOf(b), t.Sub(a.At).Seconds()/b.At.Sub(a.At).Seconds())
		gap = min(t.Sub(a.At), b.At.Sub(t))
	}
	if limit := or(s.setup.card.AirAge, defaultAirAge); gap.Seconds() > limit {
		r.warnings = append(r.warnings, gas.Warning{Limit: fmt.Sprintf("air record at most %.0f min from the reading [min]", limit/60), Got: gap.Minutes()})
	}
	return r
}

func roomOf(r job.AirRecord) room {
	return room{
		air: gas.MoistAir{Pressure: r.Pressure, Temperature: r.Temperature, Humidity: r.Humidity, CO2: gas.StandardCO2},
		uP:  or(r.UPressure, defaultUPressure), uT: or(r.UTemp, defaultUTemp), uH: or(r.UHumidity, defaultUHumidity),
	}
}

// between returns the air a share w [-] of the way from a to b. Half the change counts as a bound of what is not known of
// the way between: rectangular.
func between(a, b room, w float64) room {
	mix := func(x, y float64) float64 { return x + w*(y-x) }
	u := func(ua, ub, x, y float64) float64 { return math.Hypot(max(ua, ub), (y-x)/2/math.Sqrt(3)) }
	return room{
		air: gas.MoistAir{
			Pressure: mix(a.air.Pressure, b.air.Pressure), Temperature: mix(a.air.Temperature, b.air.Temperature),
			Humidity: mix(a.air.Humidity, b.air.Humidity), CO2: gas.StandardCO2,
		},
		uP: u(a.uP, b.uP, a.air.Pressure, b.air.Pressure), uT: u(a.uT, b.uT, a.air.Temperature, b.air.Temperature),
		uH: u(a.uH, b.uH, a.air.Humidity, b.air.Humidity),
	}
}

// sortedAir returns the air records in order of time; one without a time counts as taken when the sitting began.
func sortedAir(s job.Sitting) []job.AirRecord {
	recs := slices.Clone(s.Air)
	for i := range recs {
		if recs[i].At.IsZero() {
			recs[i].At = s.At
		}
	}
	slices.SortStableFunc(recs, func(a, b job.AirRecord) int { return a.At.Compare(b.At) })
	return recs
}

// A zero is what a channel shows with no flow, corrected as the sensor is [SI].
type zero struct {
	at    time.Time
	value float64
}

// readZeros reads the zeros of a sitting by channel, in order of time.
func (s *Setup) readZeros(card job.Sitting) (map[string][]zero, error) {
	zeros := map[string][]zero{}
	for i, z := range card.Zero {
		k := slices.IndexFunc(s.sensors, func(x sensor) bool { return x.card.Channel == z.Channel })
		if k < 0 {
			return nil, fmt.Errorf("zero %d is of channel %q, which is no sensor of the bench card", i+1, z.Channel)
		}
		v, err := s.sensors[k].dimension.Parse(z.Value)
		if err != nil {
			return nil, fmt.Errorf("zero %d of channel %q: %w", i+1, z.Channel, err)
		}
		at := z.At
		if at.IsZero() {
			at = card.At
		}
		zeros[z.Channel] = append(zeros[z.Channel], zero{at, s.sensors[k].correct(v)})
	}
	for _, z := range zeros {
		slices.SortStableFunc(z, func(a, b zero) int { return cmp.Compare(a.at.UnixNano(), b.at.UnixNano()) })
	}
	return zeros, nil
}

// A drift is the zero of a channel at an instant.
type drift struct {
	value float64 // [SI]
	u     float64 // standard uncertainty from its drift [SI]
	known int     // records it rests on
}

// zeroAt returns the zero of a channel at t, in proportion to time between the records before and after. What the way between
// may have been is rectangular with half the change as its bound. With one record the drift is not known, and half of the
// zero itself stands for the bound; with none there is nothing to take off.
func (s *Sitting) zeroAt(channel string, t time.Time) drift {
	recs := s.zeros[channel]
	bound := func(half float64) float64 { return math.Abs(half) / math.Sqrt(3) }
	switch len(recs) {
	case 0:
		return drift{}
	case 1:
		return drift{recs[0].value, bound(recs[0].value / 2), 1}
	}
	first, last := recs[0], recs[len(recs)-1]
	if t.IsZero() {
		return drift{(first.value + last.value) / 2, bound((last.value - first.value) / 2), len(recs)}
	}
	next, _ := slices.BinarySearchFunc(recs, t, func(z zero, t time.Time) int { return z.at.Compare(t) })
	switch {
	case next == 0: // taken before the first zero: the nearest one, and the whole drift of the sitting as its bound
		return drift{first.value, bound(last.value - first.value), len(recs)}
	case next == len(recs):
		return drift{last.value, bound(last.value - first.value), len(recs)}
	}
	a, b := recs[next-1], recs[next]
	w := t.Sub(a.at).Seconds() / b.at.Sub(a.at).Seconds()
	return drift{a.value + w*(b.value-a.value), bound((b.value - a.value) / 2), len(recs)}
}

// zeroLine returns the budget line of a channel's zero; its estimate is what was taken off.
func (s *Sitting) zeroLine(x sensor, d drift) measure.Line {
	return measure.Line{
		Quantity: "zero of " + x.card.Channel, Key: "zero/" + s.card.ID + "/" + x.card.Channel, Unit: x.dimension.SI().Name,
		Kind: measure.TypeB, Distribution: measure.Rectangular, Estimate: d.value, U: d.u, Dof: math.Inf(1),
	}
}
