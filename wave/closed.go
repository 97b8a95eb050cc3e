package wave

import "math"

// wallPressure returns the pressure [Pa] the arriving gas makes on a rigid wall.
func wallPressure(p *Port) float64 {
	a2 := p.Gamma * p.P / p.Rho
	if p.U < 0 {
		x := 1 + 0.5*(p.Gamma-1)*p.U/math.Sqrt(a2)
		if x < 0.2 {
			x = 0.2
		}
		return p.P * power(x, 2*p.Gamma/(p.Gamma-1))
	}
	b := 0.25 * (p.Gamma + 1) * p.U
	return p.P + p.Rho*p.U*(b+math.Sqrt(b*b+a2))
}
