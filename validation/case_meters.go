package validation

import (
	"fmt"

	"runnel/gas"
	"runnel/meter"
	"runnel/unit"
)

// tapsNamed returns the tappings by their name in the data.
func (b *book) tapsNamed(name string) meter.Taps {
	switch name {
	case "corner":
		return meter.Corner
	case "flange":
		return meter.Flange
	case "D_and_D/2":
		return meter.DHalfD
	}
	b.fail("unknown tappings %q", name)
	return 0
}

func tapsLabel(name string) string {
	if name == "D_and_D/2" {
		return "D and D/2"
	}
	return name
}

func orifice(b *book) error {
	for _, r := range b.rows("orifice_iso5167.csv") {
		got := meter.OrificeC(b.num(r, "beta"), b.num(r, "Re_D"), b.num(r, "D_m"), b.tapsNamed(r["taps"]))
		b.compare("C, "+tapsLabel(r["taps"])+" tappings", got, b.num(r, "C"))
	}
	return nil
}

func expansibility(b *book) error {
	for _, r := range b.rows("orifice_iso5167_eps.csv") {
		beta, p1, p2, kappa := b.num(r, "beta"), b.num(r, "p1_Pa"), b.num(r, "p2_Pa"), b.num(r, "kappa")
		if r["device"] == "orifice" {
			b.compare("ε of an orifice plate", meter.OrificeExpansibility(p1, p2, beta, kappa), b.num(r, "eps"))
			continue
		}
		b.compare("ε of a nozzle or Venturi tube", meter.NozzleExpansibility(p1, p2, beta, kappa), b.num(r, "eps"))
	}
	return nil
}

func nozzle(b *book) error {
	makes := map[string]meter.Make{"venturi_as_cast": meter.AsCast, "venturi_machined": meter.Machined, "venturi_rough_welded": meter.RoughWelded}
	profiles := map[string]meter.Profile{"isa1932": meter.ISA1932, "longradius": meter.LongRadius, "venturi_nozzle": meter.VenturiNozzle}
	labels := map[string]string{"isa1932": "C of an ISA 1932 nozzle", "longradius": "C of a long-radius nozzle", "venturi_nozzle": "C of a Venturi nozzle"}
	for _, r := range b.rows("nozzle_venturi_iso5167.csv") {
		if m, ok := makes[r["device"]]; ok {
			b.compare("C of a Venturi tube", meter.VenturiC(m), b.num(r, "C"))
			continue
		}
		b.compare(labels[r["device"]], meter.NozzleC(profiles[r["device"]], b.num(r, "beta"), b.num(r, "Re_D")), b.num(r, "C"))
	}
	return nil
}

// meterFlow solves whole meters: coefficient, expansibility and flow together.
func meterFlow(b *book) error {
	for _, r := range b.rows("orifice_iso5167_massflow.csv") {
		up := meter.Upstream{
			Pressure: b.num(r, "p1_Pa"), Temperature: b.num(r, "T1_K"), Density: b.num(r, "rho1_kgm3"), Viscosity: b.num(r, "mu1_Pas"), Kappa: b.num(r, "kappa"),
		}
		throat := meter.Throat{Pipe: b.num(r, "D_m"), Bore: b.num(r, "d_m")}
		var m meter.Meter
		var label string
		switch r["device"] {
		case "orifice":
			m, label = meter.Orifice{Throat: throat, Taps: b.tapsNamed(r["taps"])}, "orifice plate"
		case "isa1932":
			m, label = meter.Nozzle{Throat: throat, Profile: meter.ISA1932}, "ISA 1932 nozzle"
		case "longradius":
			m, label = meter.Nozzle{Throat: throat, Profile: meter.LongRadius}, "long-radius nozzle"
		case "venturi_machined":
			m, label = meter.Venturi{Throat: throat, Make: meter.Machined}, "machined Venturi tube"
		default:
			return fmt.Errorf("unknown device %q", r["device"])
		}
		f, err := m.Flow(up, b.num(r, "dp_Pa"))
		if err != nil {
			return err
		}
		b.compare("mass flow, "+label, f.Mass, b.num(r, "m_kgs"))
	}
	for _, r := range b.rows("orifice_worked_example.csv") {
		o := meter.Orifice{Throat: meter.Throat{Pipe: b.num(r, "D_m"), Bore: b.num(r, "d_m")}, Taps: b.tapsNamed(r["taps"])}
		rho := b.num(r, "rho_kgm3")
		// Water: the pressure is so high that the gas law of the meter leaves no expansion.
		f, err := o.Flow(meter.Upstream{Pressure: 1e12, Temperature: 288, Density: rho, Viscosity: b.num(r, "mu_Pas"), Kappa: 1.4}, b.num(r, "dp_Pa"))
		if err != nil {
			return err
		}
		if r["quantity"] == "Q_m3s" {
			b.compare("volume flow, worked example with water", f.Mass/rho, b.num(r, "value"))
		}
	}
	return b.printedMeters()
}

// printedMeters compares with a printed table of one pipe with several plates and nozzles.
func (b *book) printedMeters() error {
	up := meter.Upstream{Pressure: 101325, Temperature: 293.15, Density: 1.2041, Viscosity: 1.813e-5, Kappa: 1.4}
	for _, r := range b.rows("iso5167_check_values.csv") {
		throat := meter.Throat{Pipe: 0.1, Bore: 0.1 * b.num(r, "beta")}
		corner, err := meter.Orifice{Throat: throat, Taps: meter.Corner}.Flow(up, 2500)
		if err != nil {
			return err
		}
		// The other tappings of the table belong to the Reynolds number of the plate with corner tappings.
		half := meter.OrificeC(throat.Beta(), corner.Reynolds, throat.Pipe, meter.DHalfD)
		b.compareWithin("printed C, corner tappings", corner.Coefficient, b.num(r, "C_corner"), 5.1e-6)
		b.compareWithin("printed C, D and D/2 tappings", half, b.num(r, "C_D_and_D2"), 5.1e-6)
		b.compareWithin("printed ε, orifice plate", corner.Expansibility, b.num(r, "eps_orifice"), 5.1e-6)
		b.compareWithin("printed mass flow, kg/s", corner.Mass, b.num(r, "m_kg_s_corner"), 5.1e-7)
		b.compareWithin("printed lasting pressure loss, Pa", corner.Loss, b.num(r, "permanent_loss_Pa"), 0.051)
	}
	return nil
}

func chamber(b *book) error {
	density := 101325 / (287.05 * 293.15)
	up := meter.Upstream{Pressure: 101325, Temperature: 293.15, Density: density, Viscosity: 1.813e-5, Kappa: 1.4}
	for _, r := range b.rows("calibration_orifices_computed.csv") {
		c := meter.Chamber{Bore: b.num(r, "d_in") * unit.Inch, Coefficient: meter.ChamberC, UC: meter.ChamberUC}
		dp := b.num(r, "dp_inH2O") * unit.InH2O
		iso, err := c.Flow(up, dp)
		if err != nil {
			return err
		}
		c.Expansion = meter.ExpansionIsentropic
		isen, err := c.Flow(up, dp)
		if err != nil {
			return err
		}
		b.compareWithin("ε, law of ISO 5167-2", iso.Expansibility, b.num(r, "eps_ISO"), 5.1e-6)
		b.compareWithin("mass flow, g/s", iso.Mass*1e3, b.num(r, "m_ISO_g_s"), 5.1e-4)
		b.compareWithin("flow, cfm", iso.Mass/density/unit.CFM, b.num(r, "cfm_ISO"), 5.1e-3)
		b.compareWithin("flow by the isentropic law, cfm", isen.Mass/density/unit.CFM, b.num(r, "cfm_isentropic_Cd0p60"), 5.1e-3)
	}
	return nil
}

func pressure(b *book) error {
	for _, r := range b.rows("bench_pressure_conversion.csv") {
		n := gas.Nozzle{Pressure: 101325, Temperature: 293.15, Downstream: 101325 - b.num(r, "dp_inH2O")*unit.InH2O, GasConstant: 287.05, Gamma: 1.4}
		rho := n.Pressure / (n.GasConstant * n.Temperature)
		b.compareWithin("flux of an ideal nozzle, kg/(s·m²)", n.Flux(), b.num(r, "flux_isentropic_kg_m2s"), 5.1e-4)
		b.compareWithin("flow through a square inch, cfm", n.Flux()*unit.Inch*unit.Inch/rho/unit.CFM, b.num(r, "cfm_per_in2_isentropic"), 5.1e-3)
	}
	return nil
}
