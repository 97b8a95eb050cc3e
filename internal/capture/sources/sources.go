package sources

import (
	"errors"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"runnel/internal/capture"
	"runnel/internal/capture/modbus"
	"runnel/internal/capture/mqtt"
	"runnel/internal/capture/replay"
	"runnel/internal/capture/rig"
	"runnel/internal/capture/serial"
	"runnel/internal/fault"
	"runnel/job"
)

// opener makes the source of a group.
type opener func(capture.Group, capture.Clock) (capture.Source, error)

// kinds lists every kind. A new one is a package beside the others and a line here.
func kinds() map[string]opener {
	return map[string]opener{
		serial.Kind:      serial.Open,
		modbus.KindTCP:   modbus.Open,
		modbus.KindRTU:   modbus.Open,
		mqtt.Kind:        mqtt.Open,
		replay.Kind:      replay.Open,
		rig.Kind:         as(rig.Open),
		capture.KindHand: as(capture.NewHand),
	}
}

// as lets a constructor of a concrete source stand in the list.
func as[S capture.Source](open func(capture.Group, capture.Clock) (S, error)) opener {
	return func(g capture.Group, c capture.Clock) (capture.Source, error) {
		s, err := open(g, c)
		if err != nil {
			return nil, err
		}
		return s, nil
	}
}

// Open makes the sources of a bench card, without touching any device. Everything wrong with the addresses is listed at
// once, as bad input.
func Open(card job.Bench, clock capture.Clock) ([]capture.Source, error) {
	return OpenIn("", card, clock)
}

// OpenIn is Open for a bench card that lies in a folder: traces to replay are looked for from there.
func OpenIn(dir string, card job.Bench, clock capture.Clock) ([]capture.Source, error) {
	groups, err := capture.Groups(card)
	if err != nil {
		return nil, err
	}
	all := kinds()
	var out []capture.Source
	var errs []error
	for _, g := range groups {
		open, ok := all[g.Kind]
		if !ok {
			errs = append(errs, fault.Errorf(fault.Invalid, "sensor %q: source %q is of kind %q, which is not known: use one of %s",
				g.Taps[0].Sensor.Channel, g.Taps[0].Sensor.Source, g.Kind, strings.Join(slices.Sorted(maps.Keys(all)), ", ")))
			continue
		}
		if g.Kind == replay.Kind && !filepath.IsAbs(g.Place) {
			g.Place = filepath.Join(dir, g.Place)
		}
		s, err := open(g, clock)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		out = append(out, s)
	}
	if len(errs) > 0 {
		return nil, fault.As(fault.Invalid, errors.Join(errs...))
	}
	return out, nil
}
