package meter_test

import (
	"errors"
	"math"
	"testing"

	"runnel/gas"
	"runnel/meter"
)

// Tanaka et al. 2001, table 1, from memory: 0 °C 999.8428, 20 °C 998.2067, 40 °C 992.2152 kg/m³; one unit of the last digit.
func TestWaterDensity(t *testing.T) {
	for c, want := range map[float64]float64{0: 999.8428, 20: 998.2067, 40: 992.2152} {
		near(t, "water", meter.WaterDensity(gas.ZeroCelsius+c), want, 0, 1.1e-4)
	}
}

// CRC Handbook of Chemistry and Physics, table of the volume of mercury (quoted at physlink.com), ml/g with 1 ml the
// volume of 1 g of water at its densest, 1.000028 cm³. The table is said to hold to 1 part in 70 000; twice that is allowed.
func TestMercuryDensity(t *testing.T) {
	for c, volume := range map[float64]float64{0: 0.073554, 10: 0.0736877, 20: 0.0738215, 30: 0.0739552, 40: 0.0740891, 90: 0.0747594} {
		near(t, "mercury", meter.MercuryDensity(gas.ZeroCelsius+c), 1e3/(volume*1.000028), 2.9e-5, 0)
	}
}

// An inch of real water is 248.84 Pa at 60 °F (NIST SP 811, App. B.8, from memory; half a unit of the last digit). 28 inches
// are 6961.9 Pa at 20 °C, as the project's literature notes computed from the density of water (section 1.2; one unit of the last digit).
func TestColumnOfWater(t *testing.T) {
	for _, c := range []struct{ temp, inches, want, tol float64 }{{288.70555, 1, 248.84, 5e-3}, {293.15, 28, 6961.9, 0.11}} {
		got, w, err := meter.Column{Fluid: meter.Water, Temperature: c.temp, Gravity: meter.StandardGravity}.Difference(c.inches * 0.0254)
		if err != nil || len(w) != 0 {
			t.Fatal(err, w)
		}
		near(t, "inches of water", got, c.want, 0, c.tol)
	}
	// 1 inHg is 3386.389 Pa by convention, with mercury at 0 °C (NIST SP 811, App. B); the density there is rounded to 13 595.1.
	got, _, err := meter.Column{Fluid: meter.Mercury, Temperature: gas.ZeroCelsius, Gravity: meter.StandardGravity}.Difference(0.0254)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "1 inHg", got, 3386.389, 5e-6, 0)
}

// The air above a column and the place take their share: 1.2 of 998 kg/m³, and 9.81 of 9.80665 m/s².
func TestColumnShares(t *testing.T) {
	c := meter.Column{Fluid: meter.Water, Temperature: 293.15, Gravity: meter.StandardGravity}
	bare := difference(t, c)
	c.AirDensity = 1.2
	near(t, "with air above", difference(t, c)/bare, 1-1.2/meter.WaterDensity(293.15), 1e-12, 0)
	c.AirDensity, c.Gravity = 0, 9.81
	near(t, "at another place", difference(t, c)/bare, 9.81/9.80665, 1e-12, 0)
	oil := meter.Column{Fluid: meter.GaugeOil, Temperature: 298.15, Gravity: meter.StandardGravity, SpecificGravity: 0.826, OilTemp: 288.15, Expansion: 9e-4}
	near(t, "oil 10 K above its temperature", difference(t, oil), 0.826*999.97495/1.009*meter.StandardGravity, 1e-12, 0)
}

func difference(t *testing.T, c meter.Column) float64 {
	t.Helper()
	dp, _, err := c.Difference(1)
	if err != nil {
		t.Fatal(err)
	}
	return dp
}

func TestColumnWarnsAndRefuses(t *testing.T) {
	good := meter.Column{Fluid: meter.GaugeOil, Temperature: 293.15, Gravity: meter.StandardGravity, SpecificGravity: 0.826, OilTemp: 288.15}
	if _, w, err := good.Difference(0.5); err != nil || len(w) != 1 {
		t.Errorf("oil of unknown expansion 5 K off: warnings %v, error %v; want one warning", w, err)
	}
	for name, spoil := range map[string]func(*meter.Column){
		"Celsius for kelvin":  func(c *meter.Column) { c.Temperature = 20 },
		"no gravity":          func(c *meter.Column) { c.Gravity = 0 },
		"no specific gravity": func(c *meter.Column) { c.SpecificGravity = 0 },
		"density for gravity": func(c *meter.Column) { c.SpecificGravity = 826 },
		"frozen water":        func(c *meter.Column) { c.Fluid, c.Temperature = meter.Water, 270 },
	} {
		c := good
		spoil(&c)
		_, _, err := c.Difference(0.5)
		if _, ok := errors.AsType[*gas.InputError](err); !ok {
			t.Errorf("%s: error %v, want an input error", name, err)
		}
	}
	if _, _, err := good.Difference(math.NaN()); err == nil {
		t.Error("a height that is not a number was taken")
	}
}

// WGS 84, defined values of normal gravity: 9.7803253359 m/s² at the equator, 9.8321849379 at a pole; and 45° near the
// conventional 9.80665 minus the 0.00045 between them that is common knowledge from memory (9.80620).
func TestGravity(t *testing.T) {
	near(t, "equator", meter.GravityAt(0, 0), 9.7803253359, 1e-12, 0)
	near(t, "pole", meter.GravityAt(math.Pi/2, 0), 9.8321849379, 1e-10, 0)
	near(t, "45°", meter.GravityAt(math.Pi/4, 0), 9.80620, 0, 1e-5)
	near(t, "a kilometre up", meter.GravityAt(0, 1000)-meter.GravityAt(0, 0), -3.086e-3, 1e-9, 0)
}
