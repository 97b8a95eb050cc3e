package gas_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runnel/gas"
	"runnel/internal/tabletest"
)

// Source: testdata/moist_air.csv, independent programs of CIPM-2007, Cramer 1993 and Sutherland; the tolerances are
// those of its header. The short form of the density rounds 1 − Mv/Ma to 0.3780, which is 1e-5 of the density at the
// wettest row (x_v 0.16): that is the tolerance of the comparison with it.
func TestMoistAirAgainstIndependentProgram(t *testing.T) {
	inRange := 0
	for _, r := range tabletest.Read(t, "testdata/moist_air.csv", 200) {
		m := gas.MoistAir{
			Pressure: r.Num(t, "p_Pa"), Temperature: r.Num(t, "t_C") + gas.ZeroCelsius,
			Humidity: r.Num(t, "RH"), CO2: r.Num(t, "xCO2"),
		}
		a, err := m.Properties()
		if err != nil {
			t.Errorf("id %s: %v", r["id"], err)
			continue
		}
		id := "id " + r["id"] + " "
		near(t, id+"p_sv", a.Saturation, r.Num(t, "psv_Pa"), 1e-9, 0)
		near(t, id+"f", a.Enhancement, r.Num(t, "f"), 1e-9, 0)
		near(t, id+"x_v", a.VapourFraction, r.Num(t, "xv"), 1e-9, 0)
		near(t, id+"Z", a.Compressibility, r.Num(t, "Z"), 1e-9, 0)
		near(t, id+"density", a.Density, r.Num(t, "rho_kgm3"), 1e-6, 0)
		near(t, id+"density, short form", a.Density, r.Num(t, "rho_eq4_kgm3"), 1e-5, 0)
		near(t, id+"speed of sound", a.SpeedOfSound, r.Num(t, "c_ms"), 1e-6, 0)
		near(t, id+"kappa", a.Kappa, r.Num(t, "gamma"), 1e-6, 0)
		near(t, id+"viscosity", a.Viscosity, r.Num(t, "mu_1976_Pas"), 1e-9, 0)
		if got, want := !warned(a, "CIPM-2007"), r["in_cipm_range"] == "1"; got != want {
			t.Errorf("%sinside CIPM-2007 range: %v, want %v", id, got, want)
		}
		if got, want := !warned(a, "Cramer"), r["in_cramer_range"] == "1"; got != want {
			t.Errorf("%sinside Cramer range: %v, want %v", id, got, want)
		} else if want {
			inRange++
		}
	}
	if inRange == 0 {
		t.Error("no row was inside the ranges: the test has lost its point")
	}
}

func warned(a gas.Air, of string) bool {
	for _, w := range a.Warnings {
		if strings.HasPrefix(w.Limit, of) {
			return true
		}
	}
	return false
}

// The speed of sound by Cramer must agree with that of a perfect gas of the same air, sqrt(κ·R·T), within the 0.1 % that
// real-gas effects and the fit leave: two routes that share only κ.
func TestSpeedOfSoundAgreesWithPerfectGas(t *testing.T) {
	for _, m := range []gas.MoistAir{
		{101325, 293.15, 0, gas.StandardCO2},
		{90e3, 298.15, 0.8, gas.StandardCO2},
		{80e3, 278.15, 0.3, 0.002},
	} {
		a, err := m.Properties()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "speed of sound", a.SpeedOfSound, math.Sqrt(a.Kappa*a.GasConstant*a.Temperature), 1e-3, 0)
	}
}

func TestMoistAirRefusesWhatAirCannotBe(t *testing.T) {
	good := gas.MoistAir{101325, 293.15, 0.5, gas.StandardCO2}
	for _, c := range []struct {
		name  string
		spoil func(*gas.MoistAir)
		want  string
	}{
		{"humidity in per cent", func(m *gas.MoistAir) { m.Humidity = 1.4 }, "relative humidity 1.4: want 0 to 1, that is 0 % to 100 %"},
		{"humidity below nothing", func(m *gas.MoistAir) { m.Humidity = -0.01 }, "relative humidity"},
		{"humidity not a number", func(m *gas.MoistAir) { m.Humidity = math.NaN() }, "relative humidity"},
		{"gauge pressure", func(m *gas.MoistAir) { m.Pressure = 200 }, "absolute pressure"},
		{"pressure infinite", func(m *gas.MoistAir) { m.Pressure = math.Inf(1) }, "air pressure"},
		{"Celsius for kelvin", func(m *gas.MoistAir) { m.Temperature = 20 }, "air temperature 20 K"},
		{"carbon dioxide in ppm", func(m *gas.MoistAir) { m.CO2 = 400 }, "carbon dioxide"},
	} {
		m := good
		c.spoil(&m)
		_, err := m.Properties()
		if e, ok := errors.AsType[*gas.InputError](err); !ok || !strings.Contains(e.Error(), c.want) {
			t.Errorf("%s: error %v, want an input error with %q", c.name, err, c.want)
		}
	}
}

// Damp air is lighter, warm air is lighter, pressed air is heavier: for every air in the CIPM-2007 range.
func TestDensityMovesTheRightWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := gas.MoistAir{
			Pressure:    rapid.Float64Range(60e3, 110e3).Draw(t, "p"),
			Temperature: rapid.Float64Range(288.15, 300.15).Draw(t, "T"),
			Humidity:    rapid.Float64Range(0, 0.99).Draw(t, "h"),
			CO2:         gas.StandardCO2,
		}
		base := density(t, m)
		damp, warm, pressed := m, m, m
		damp.Humidity += 0.01
		warm.Temperature++
		pressed.Pressure += 100
		if density(t, damp) >= base || density(t, warm) >= base || density(t, pressed) <= base {
			t.Fatalf("%+v: density %v, damper %v, warmer %v, pressed %v", m, base, density(t, damp), density(t, warm), density(t, pressed))
		}
	})
}

func density(t *rapid.T, m gas.MoistAir) float64 {
	a, err := m.Properties()
	if err != nil {
		t.Fatal(err)
	}
	return a.Density
}
