package engine

import (
	"math"

	"runnel/wave"
)

// A poppet is the joint of a pipe and a cylinder: a wave.Orifice whose jet, on its way into the pipe, is held at the speed of sound.
//
// The orifice lets a jet into a pipe whose gas runs away from it expand far beyond the speed of sound, up to a near vacuum on the coarse
// cells of a sketch. A real jet behind a valve mixes over the pipe's section with shocks; at most the section is choked. Mass flow and
// total enthalpy stay those of the orifice:
//
//	ρ* = ṁ/(A·a*),  a*² = γ·R·T₀·2/(γ+1),  p* = ρ*·R·T₀·2/(γ+1)
type poppet struct {
	wave.Orifice
}

var _ wave.Joint = (*poppet)(nil)

// Solve finds the flow through the valve at mid step.
func (j *poppet) Solve(ports []*wave.Port, t, dt float64) {
	j.Orifice.Solve(ports, t, dt)
	p := ports[0]
	if p.FaceU >= 0 {
		return
	}
	v := j.Vessel.State()
	if p.FaceU*p.FaceU*p.FaceRho <= v.Gamma*p.FaceP {
		return
	}
	t0 := v.T * 2 / (v.Gamma + 1)
	a := math.Sqrt(v.Gamma * v.R * t0)
	rho := -p.Mass / (p.Area * a)
	p.Set(rho, -a, rho*v.R*t0, p.Enthalpy/p.Mass, p.FaceY)
}
