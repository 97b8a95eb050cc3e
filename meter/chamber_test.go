package meter_test

import (
	"testing"

	"runnel/gas"
	"runnel/internal/tabletest"
	"runnel/meter"
)

// Source: testdata/calibration_orifices_computed.csv, C 0.60 from still air at 101 325 Pa and 293.15 K (ρ 1.20412), the
// ISO law at β = 0 and the isentropic law. Tolerance: half a unit of the last printed digit.
func TestChamberAgainstReference(t *testing.T) {
	const inch, inH2O, cfm = 0.0254, 249.08891, 0.3048 * 0.3048 * 0.3048 / 60
	density := 101325 / (287.05 * 293.15)
	up := meter.Upstream{Pressure: 101325, Temperature: 293.15, Density: density, Viscosity: 1.813e-5, Kappa: 1.4}
	for _, r := range tabletest.Read(t, "testdata/calibration_orifices_computed.csv", 8) {
		c := meter.Chamber{Bore: r.Num(t, "d_in") * inch, Coefficient: meter.ChamberC, UC: meter.ChamberUC}
		dp := r.Num(t, "dp_inH2O") * inH2O
		iso, err := c.Flow(up, dp)
		if err != nil {
			t.Fatal(err)
		}
		c.Expansion = meter.ExpansionIsentropic
		isen, err := c.Flow(up, dp)
		if err != nil {
			t.Fatal(err)
		}
		id := r["d_in"] + " in at " + r["dp_inH2O"] + " inH2O "
		near(t, id+"eps", iso.Expansibility, r.Num(t, "eps_ISO"), 0, 5.1e-6)
		near(t, id+"mass flow", iso.Mass*1e3, r.Num(t, "m_ISO_g_s"), 0, 5.1e-4)
		near(t, id+"cfm", iso.Mass/density/cfm, r.Num(t, "cfm_ISO"), 0, 5.1e-3)
		near(t, id+"cfm, isentropic", isen.Mass/density/cfm, r.Num(t, "cfm_isentropic_Cd0p60"), 0, 5.1e-3)
	}
}

// The chamber orifice is wider than a plate in a pipe and says so on every flow.
func TestChamberSaysItIsOutsideTheStandard(t *testing.T) {
	up := roomAir()
	f, err := meter.Chamber{Bore: 0.05, Coefficient: meter.ChamberC, UC: meter.ChamberUC}.Flow(up, 2500)
	if err != nil {
		t.Fatal(err)
	}
	if !outside(f, "chamber orifice: outside ISO 5167") {
		t.Errorf("warnings %v, want one that it is outside ISO 5167", f.Warnings)
	}
	pipe, err := meter.Orifice{Throat: meter.Throat{Pipe: 0.1, Bore: 0.05}}.Flow(up, 2500)
	if err != nil {
		t.Fatal(err)
	}
	if f.URel < 2*pipe.URel {
		t.Errorf("relative standard uncertainty %v, want well above %v of a plate in a pipe", f.URel, pipe.URel)
	}
}

// As the drop goes to nothing both laws of expansion agree with an incompressible flow. Their slopes in Δp/p1 are
// 0.351/κ and 3/(4κ), so at a drop of 1e-7 of the pressure ε is within 1e-7 of 1.
func TestChamberExpansibilityLimit(t *testing.T) {
	up := roomAir()
	for _, law := range []meter.Expansion{meter.ExpansionISO, meter.ExpansionIsentropic} {
		for _, dp := range []float64{0, 0.0101325} {
			f, err := meter.Chamber{Bore: 0.05, Coefficient: 0.6, Expansion: law}.Flow(up, dp)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "eps", f.Expansibility, 1, 1e-7, 0)
		}
	}
}

func TestChamberRefusesAPercentCoefficient(t *testing.T) {
	if _, err := (meter.Chamber{Bore: 0.05, Coefficient: 60}).Flow(roomAir(), 100); err == nil {
		t.Error("a coefficient of 60 was taken")
	}
	var air gas.MoistAir
	if _, err := air.Properties(); err == nil {
		t.Error("the zero value of air was taken")
	}
}
