package meter_test

import (
	"testing"

	"runnel/meter"
	"runnel/meter/metertest"
)

// TestContract runs the contract of a meter on every kind.
func TestContract(t *testing.T) {
	up := roomAir()
	throat := meter.Throat{Pipe: 0.1, Bore: 0.055, UPipe: 0.002, UBore: 0.0005}
	table, err := meter.NewTable([]meter.Point{{0, 0}, {1, 0.01}, {2.5, 0.05}, {4, 0.16}, {5, 0.3}}, 0.01)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		kind string
		metertest.Case
	}{
		{"orifice_pipe", metertest.Case{Meter: meter.Orifice{Throat: throat, Taps: meter.Corner}, High: 50e3}},
		{"orifice_pipe", metertest.Case{Meter: meter.Orifice{Throat: throat, Taps: meter.Flange}, High: 50e3}},
		{"orifice_pipe", metertest.Case{Meter: meter.Orifice{Throat: throat, Taps: meter.DHalfD}, High: 50e3}},
		{"orifice_chamber", metertest.Case{Meter: meter.Chamber{Bore: 0.05, Coefficient: meter.ChamberC, UC: meter.ChamberUC}, High: 50e3}},
		{"orifice_chamber", metertest.Case{Meter: meter.Chamber{Bore: 0.05, Coefficient: 0.62, UC: 0.005, Expansion: meter.ExpansionIsentropic}, High: 45e3}},
		{"nozzle_isa1932", metertest.Case{Meter: meter.Nozzle{Throat: throat, Profile: meter.ISA1932}, High: 45e3}},
		{"nozzle_long_radius", metertest.Case{Meter: meter.Nozzle{Throat: throat, Profile: meter.LongRadius}, High: 45e3}},
		{"nozzle_venturi", metertest.Case{Meter: meter.Nozzle{Throat: throat, Profile: meter.VenturiNozzle}, High: 45e3}},
		{"venturi_cast", metertest.Case{Meter: meter.Venturi{Throat: throat, Make: meter.AsCast}, High: 45e3}},
		{"venturi_machined", metertest.Case{Meter: meter.Venturi{Throat: throat, Make: meter.Machined}, High: 45e3}},
		{"venturi_welded", metertest.Case{Meter: meter.Venturi{Throat: throat, Make: meter.RoughWelded}, High: 45e3}},
		{"nozzle_critical", metertest.Case{Meter: meter.Critical{Bore: 0.01}, Low: 50e3, High: 95e3, Choked: true}},
		{"nozzle_critical", metertest.Case{Meter: meter.Critical{Bore: 0.01, Pipe: 0.05, Profile: meter.Cylindrical, UBore: 0.001}, Low: 50e3, High: 95e3, Choked: true}},
		{"laminar", metertest.Case{Meter: meter.Laminar{VolumeFlow: 0.1, Difference: 2000, Upstream: up, UCal: 0.005}, High: 2500}},
		{"plate_percent", metertest.Case{Meter: meter.Percent{FullScale: 0.15, Density: 1.2, PlateDensity: 1.12, UCal: 0.01}, High: 1}},
		{"orifice_pipe", metertest.Case{Meter: meter.Calibrated{Meter: meter.Orifice{Throat: throat, Taps: meter.Flange}, C: 0.612, UC: 0.003}, High: 20e3}},
		{"table", metertest.Case{Meter: table, High: 5, Signal: true}},
	} {
		c.Up = up
		if got := c.Meter.Kind(); got != c.kind {
			t.Errorf("kind %q, want %q", got, c.kind)
		}
		t.Run(c.kind, func(t *testing.T) { metertest.Run(t, c.Case) })
	}
}
