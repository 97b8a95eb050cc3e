package bench

import (
	"math"
	"strings"
	"testing"

	"runnel/job"
	"runnel/unit"
)

// Water of 20 °C weighs 998.207 kg/m³ (CRC Handbook), and air of 1.2 kg/m³ above it takes 0.12 %, so an inch of it is less than
// the inch of 4 °C of the unit by 0.299 %. Mercury of 20 °C weighs 13 545.9 kg/m³ against the 13 595.1 of its unit (CRC Handbook):
// −0.362 % and −0.009 % for the air. Tolerance: the last digit printed.
func TestColumnFactor(t *testing.T) {
	for _, c := range []struct {
		card job.Sensor
		want float64
	}{
		{job.Sensor{Unit: "inH2O"}, 1},
		{job.Sensor{Unit: "inH2O", Fluid: "water", FluidTemp: 293.15}, (998.207 - 1.2) / 1000},
		{job.Sensor{Unit: "mmHg", Fluid: "mercury", FluidTemp: 293.15}, (13545.9 - 1.2) / 13595.1},
		{job.Sensor{Unit: "inH2O", Fluid: "water", FluidTemp: 293.15, Gravity: 9.78}, (998.207 - 1.2) / 1000 * 9.78 / 9.80665},
		{job.Sensor{Unit: "inH2O", Fluid: "oil", FluidTemp: 288.15, SpecificGravity: 0.826}, 0.99997 - 1.2/826},
	} {
		u, _ := unit.Pressure.Lookup(c.card.Unit)
		got, err := columnOf(c.card, u)
		if err != nil || math.Abs(got-c.want) > 1e-5 {
			t.Errorf("%+v: factor %.6f, %v; want %.6f", c.card, got, err, c.want)
		}
	}
}

// A reading through the sensor carries the factor: 28 inches of real water at 20 °C are 27.916 inches of the unit.
func TestColumnSensorCorrects(t *testing.T) {
	s, err := sensorOf(job.Sensor{Channel: "test_dp", Role: "test_dp", Unit: "inH2O", Fluid: "water", FluidTemp: 293.15, U: "0.1 inH2O"})
	if err != nil {
		t.Fatal(err)
	}
	if got := s.correct(28*unit.InH2O) / unit.InH2O; math.Abs(got-27.916) > 1e-3 {
		t.Errorf("28 inches of water of 20 °C read as %.4f inH2O", got)
	}
}

func TestColumnRefuses(t *testing.T) {
	for _, c := range []struct {
		card job.Sensor
		want string
	}{
		{job.Sensor{Role: "test_dp", Unit: "inH2O", Fluid: "water"}, "fluid_temp"},
		{job.Sensor{Role: "test_dp", Unit: "Pa", Fluid: "water", FluidTemp: 293.15}, "inH2O"},
		{job.Sensor{Role: "test_dp", Unit: "inHg", Fluid: "water", FluidTemp: 293.15}, "inH2O"},
		{job.Sensor{Role: "test_dp", Unit: "inH2O", Fluid: "oil", FluidTemp: 293.15}, "specific_gravity"},
		{job.Sensor{Role: "test_dp", Unit: "inH2O", FluidTemp: 293.15}, "fluid = "},
		{job.Sensor{Role: "test_dp", Unit: "inH2O", Fluid: "water", FluidTemp: 20}, "temperature"},
		{job.Sensor{Role: "test_dp", Unit: "inH2O", Fluid: "water", FluidTemp: 293.15, Gravity: 32.2}, "free fall"},
	} {
		if _, err := sensorOf(c.card); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v; want it to name %q", c.card, err, c.want)
		}
	}
}
