package bench

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"runnel/job"
	"runnel/meter"
	"runnel/unit"
)

// Densities that the scales of liquid columns are made for, by their unit.
const (
	scaleWater   = 1000.0  // [kg/m³]: 1 mmH2O is 9.806 65 Pa. NIST SP 811 (2008), B.8
	scaleMercury = 13595.1 // [kg/m³]: 1 mmHg is 133.3224 Pa. NIST SP 811 (2008), B.8
	roomDensity  = 1.2     // of the air above a column [kg/m³]; its share is 0.1 % of water, 2 % of that with the weather
	oilReference = 288.15  // temperature that the specific gravity of a gauge oil is stated at [K]
	oilExpansion = 7e-4    // volume expansion of mineral gauge oils [1/K], from memory, ±20 %
)

// columnOf returns what the pressure is over what the scale of a liquid column says [-]: 1 for a sensor that is none.
//
//	factor = (ρ_fluid(T) − ρ_air)·g/(ρ_scale·9.80665)
//
// with ρ_scale that of the scale's unit; the scale of a gauge oil is drawn for its specific gravity, ρ_scale = SG·1000 kg/m³.
// Errors name what to write. Source: meter.Column.
func columnOf(c job.Sensor, u unit.Unit) (float64, error) {
	if c.Fluid == "" {
		if c.FluidTemp != 0 || c.SpecificGravity != 0 || c.Gravity != 0 {
			return 0, errors.New("fluid_temp, specific_gravity and gravity belong to a liquid column: name its fluid too, fluid = \"water\", \"mercury\" or \"oil\"")
		}
		return 1, nil
	}
	if c.FluidTemp == 0 {
		return 0, fmt.Errorf("a column of %s needs the temperature of its fluid: write fluid_temp = \"20 °C\"", c.Fluid)
	}
	column := meter.Column{Temperature: c.FluidTemp, Gravity: or(c.Gravity, meter.StandardGravity), AirDensity: roomDensity}
	scale, units := scaleWater, "inH2O or mmH2O"
	switch c.Fluid {
	case "water":
		column.Fluid = meter.Water
	case "mercury":
		column.Fluid, scale, units = meter.Mercury, scaleMercury, "inHg or mmHg"
	case "oil":
		if c.SpecificGravity == 0 {
			return 0, errors.New("a column of oil needs the specific gravity its scale is made for: write specific_gravity = 0.826, as it is printed on the gauge")
		}
		column.Fluid, column.SpecificGravity, column.OilTemp, column.Expansion = meter.GaugeOil, c.SpecificGravity, oilReference, oilExpansion
		scale = c.SpecificGravity * scaleWater
	}
	if !strings.Contains(units, u.Name) || u.Name == "" {
		return 0, fmt.Errorf("a column of %s is read in %s, not in %q", c.Fluid, units, u.Name)
	}
	pressure, _, err := column.Difference(1)
	if err != nil {
		return 0, err
	}
	factor := pressure / (scale * meter.StandardGravity)
	if math.Abs(factor-1) > 0.05 {
		return 0, fmt.Errorf("a column of %s at %s would be off its scale by %.1f %%: check fluid_temp, specific_gravity and gravity", c.Fluid, unit.Temperature.Format(c.FluidTemp, "°C", 1), 100*(factor-1))
	}
	return factor, nil
}
