package riemann

import "math"

// A State is gas on one side of a face.
type State struct {
	Rho   float64 // density [kg/m³]
	U     float64 // velocity [m/s]
	P     float64 // absolute pressure [Pa]
	Gamma float64 // isentropic exponent γ [-], > 1
}

// SoundSpeed returns a = √(γp/ρ) [m/s].
func (s State) SoundSpeed() float64 { return math.Sqrt(s.Gamma * s.P / s.Rho) }

// Energy returns the total energy per volume ρE = p/(γ−1) + ½ρu² [J/m³].
func (s State) Energy() float64 { return s.P/(s.Gamma-1) + 0.5*s.Rho*s.U*s.U }

// valid reports whether the state is a gas.
func (s State) valid() bool {
	return s.Rho > 0 && s.P > 0 && s.Gamma > 1 && !math.IsInf(s.Rho, 0) && !math.IsInf(s.P, 0) &&
		!math.IsNaN(s.U) && !math.IsInf(s.U, 0)
}

// A Flux is what crosses a face per area.
type Flux struct {
	Mass     float64 // ρu [kg/(m² s)]
	Momentum float64 // ρu² + p [Pa]
	Energy   float64 // u·(ρE + p) [W/m²]
}

// Flux returns the physical flux of the state.
func (s State) Flux() Flux {
	m := s.Rho * s.U
	return Flux{Mass: m, Momentum: m*s.U + s.P, Energy: s.U * (s.Energy() + s.P)}
}
