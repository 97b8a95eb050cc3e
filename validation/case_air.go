package validation

import (
	"fmt"

	"runnel/gas"
)

func moistAir(b *book) error {
	for _, r := range b.rows("moist_air.csv") {
		a, err := gas.MoistAir{
			Pressure: b.num(r, "p_Pa"), Temperature: b.num(r, "t_C") + gas.ZeroCelsius, Humidity: b.num(r, "RH"), CO2: b.num(r, "xCO2"),
		}.Properties()
		if err != nil {
			return fmt.Errorf("row %s: %w", r["id"], err)
		}
		b.compare("saturation pressure", a.Saturation, b.num(r, "psv_Pa"))
		b.compare("enhancement factor", a.Enhancement, b.num(r, "f"))
		b.compare("mole fraction of vapour", a.VapourFraction, b.num(r, "xv"))
		b.compare("compressibility", a.Compressibility, b.num(r, "Z"))
		b.compare("density", a.Density, b.num(r, "rho_kgm3"))
		b.compare("density by the printed short form", a.Density, b.num(r, "rho_eq4_kgm3"))
		b.compare("speed of sound", a.SpeedOfSound, b.num(r, "c_ms"))
		b.compare("ratio of specific heats", a.Kappa, b.num(r, "gamma"))
		b.compare("viscosity", a.Viscosity, b.num(r, "mu_1976_Pas"))
	}
	return nil
}

func massFlow(b *book) error {
	for _, r := range b.rows("massflow_function.csv") {
		psi := gas.NozzleFunction(b.num(r, "p_p0"), b.num(r, "gamma"))
		b.compare("ψ", psi, b.num(r, "psi"))
		b.compare("ψ over its choked value", psi/gas.NozzleFunction(0, b.num(r, "gamma")), b.num(r, "psi_over_psimax"))
	}
	return nil
}

func isentropic(b *book) error {
	for _, r := range b.rows("isentropic_naca1135.csv") {
		s := gas.IsentropicAt(b.num(r, "M"), b.num(r, "gamma"))
		b.compare("p/p0", s.Pressure, b.num(r, "p_p0"))
		b.compare("T/T0", s.Temperature, b.num(r, "T_T0"))
		b.compare("ρ/ρ0", s.Density, b.num(r, "rho_rho0"))
		b.compare("A/A*", s.Area, b.num(r, "A_Astar"))
		b.compare("mass flow parameter", s.MassFlow, b.num(r, "massflow_param"))
	}
	return nil
}

func shock(b *book) error {
	for _, r := range b.rows("normal_shock.csv") {
		s := gas.NormalShock(b.num(r, "M1"), b.num(r, "gamma"))
		b.compare("Mach number behind", s.Mach, b.num(r, "M2"))
		b.compare("pressure ratio", s.Pressure, b.num(r, "p2_p1"))
		b.compare("density ratio", s.Density, b.num(r, "rho2_rho1"))
		b.compare("temperature ratio", s.Temperature, b.num(r, "T2_T1"))
		b.compare("total pressure ratio", s.TotalPressure, b.num(r, "p02_p01"))
	}
	return nil
}

func fanno(b *book) error {
	for _, r := range b.rows("fanno.csv") {
		s := gas.FannoAt(b.num(r, "M"), b.num(r, "gamma"))
		b.compare("T/T*", s.Temperature, b.num(r, "T_Tstar"))
		b.compare("p/p*", s.Pressure, b.num(r, "p_pstar"))
		b.compare("ρ/ρ*", s.Density, b.num(r, "rho_rhostar"))
		b.compare("p0/p0*", s.TotalPressure, b.num(r, "p0_p0star"))
		b.compare("friction length", s.Length, b.num(r, "fL4_D"))
	}
	return nil
}
