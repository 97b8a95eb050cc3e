package gas_test

import (
	"math"
	"testing"

	"runnel/gas"
	"runnel/internal/tabletest"
)

// Source: testdata/isentropic_naca1135.csv, the equations of NACA Report 1135 with A/A* also by numerical integration;
// tolerance of its header.
func TestIsentropicAgainstReference(t *testing.T) {
	for _, r := range tabletest.Read(t, "testdata/isentropic_naca1135.csv", 20) {
		gamma, mach := r.Num(t, "gamma"), r.Num(t, "M")
		s, id := gas.IsentropicAt(mach, gamma), "id "+r["id"]+" "
		near(t, id+"p/p0", s.Pressure, r.Num(t, "p_p0"), 1e-10, 0)
		near(t, id+"T/T0", s.Temperature, r.Num(t, "T_T0"), 1e-10, 0)
		near(t, id+"rho/rho0", s.Density, r.Num(t, "rho_rho0"), 1e-10, 0)
		near(t, id+"A/A*", s.Area, r.Num(t, "A_Astar"), 1e-10, 0)
		near(t, id+"mass flow parameter", s.MassFlow, r.Num(t, "massflow_param"), 1e-10, 0)
		near(t, id+"Mach number from ratio", gas.MachFromRatio(s.Pressure, gamma), mach, 1e-10, 0)
	}
}

// Source: testdata/normal_shock.csv, NACA Report 1135 with conservation residuals below 1e-13; tolerance of its header.
func TestNormalShockAgainstReference(t *testing.T) {
	for _, r := range tabletest.Read(t, "testdata/normal_shock.csv", 10) {
		s, id := gas.NormalShock(r.Num(t, "M1"), r.Num(t, "gamma")), "id "+r["id"]+" "
		near(t, id+"M2", s.Mach, r.Num(t, "M2"), 1e-10, 0)
		near(t, id+"p2/p1", s.Pressure, r.Num(t, "p2_p1"), 1e-10, 0)
		near(t, id+"rho2/rho1", s.Density, r.Num(t, "rho2_rho1"), 1e-10, 0)
		near(t, id+"T2/T1", s.Temperature, r.Num(t, "T2_T1"), 1e-10, 0)
		near(t, id+"p02/p01", s.TotalPressure, r.Num(t, "p02_p01"), 1e-10, 0)
	}
}

// Source: testdata/fanno.csv, closed forms with the length also by numerical integration; tolerance of its header.
func TestFannoAgainstReference(t *testing.T) {
	for _, r := range tabletest.Read(t, "testdata/fanno.csv", 10) {
		s, id := gas.FannoAt(r.Num(t, "M"), r.Num(t, "gamma")), "id "+r["id"]+" "
		near(t, id+"T/T*", s.Temperature, r.Num(t, "T_Tstar"), 1e-9, 0)
		near(t, id+"p/p*", s.Pressure, r.Num(t, "p_pstar"), 1e-9, 0)
		near(t, id+"rho/rho*", s.Density, r.Num(t, "rho_rhostar"), 1e-9, 0)
		near(t, id+"p0/p0*", s.TotalPressure, r.Num(t, "p0_p0star"), 1e-9, 0)
		near(t, id+"4fL/D", s.Length, r.Num(t, "fL4_D"), 1e-9, 1e-12)
	}
}

// A jump conserves mass, momentum and energy: ρu, p + ρu² and the stagnation temperature are the same on both sides.
func TestNormalShockConserves(t *testing.T) {
	for _, gamma := range []float64{1.2, 1.4, 1.67} {
		for _, m1 := range []float64{1, 1.3, 2.2, 6} {
			s := gas.NormalShock(m1, gamma)
			speed := s.Mach * math.Sqrt(s.Temperature) / m1
			near(t, "mass", s.Density*speed, 1, 1e-13, 0)
			near(t, "momentum", s.Pressure*(1+gamma*s.Mach*s.Mach), 1+gamma*m1*m1, 1e-13, 0)
			near(t, "stagnation temperature", s.Temperature/gas.IsentropicAt(s.Mach, gamma).Temperature, 1/gas.IsentropicAt(m1, gamma).Temperature, 1e-13, 0)
		}
	}
}
