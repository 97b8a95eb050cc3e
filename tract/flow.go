package tract

import (
	"fmt"
	"math"
)

// machOfReduced returns the subsonic Mach number [-] at which ṁ·√(R·T0)/(p0·A) is phi [-]; ok is false when nothing subsonic passes
// that much.
//
//	φ = √γ·M·(1 + (γ−1)/2·M²)^(−(γ+1)/(2(γ−1)))
func machOfReduced(phi, gamma float64) (m float64, ok bool) {
	a := (gamma - 1) / 2
	e := (gamma + 1) / (2 * (gamma - 1))
	top := math.Sqrt(gamma) * math.Pow(1+a, -e)
	if !(phi < top) {
		return 1, false
	}
	if phi <= 0 {
		return 0, true
	}
	target := math.Log(phi / math.Sqrt(gamma))
	m = phi / math.Sqrt(gamma)
	// ln φ rises and is concave below M = 1, so Newton steps come from below and never pass the root.
	for range 60 {
		x := m * m
		step := (target - math.Log(m) + e*math.Log1p(a*x)) * m * (1 + a*x) / (1 - x)
		m += step
		if math.Abs(step) <= 1e-15*m || m >= 1 {
			break
		}
	}
	return min(m, 1), true
}

// head returns the velocity head an element takes its share of, over the total pressure [-], and its logarithmic slope to φ:
// p0·(γ/2)·M² for friction, ½ρV² for the rest.
func head(phi, gamma float64, friction bool) (f, slope float64, ok bool) {
	m, ok := machOfReduced(phi, gamma)
	if !ok {
		return 0, 0, false
	}
	x := m * m
	in := 1 + (gamma-1)/2*x
	f, slope = gamma/2*x, 2*in/(1-x)
	if !friction {
		f /= math.Pow(in, gamma/(gamma-1))
		slope = (2*in - gamma*x) / (1 - x)
	}
	return f, slope, true
}

// march takes the flow w = ṁ·√(R·T0) [Pa·m²] through the chain. It returns the total pressure at every place of the grid and the loss
// of every element [Pa]; ok is false when the flow does not pass.
func (ch *chain) march(w float64) (total, loss []float64, ok bool) {
	total, loss = make([]float64, len(ch.grid)), make([]float64, len(ch.elements))
	p0, next := ch.air.Pressure, 0
	for i, e := range ch.elements {
		for ; next < e.place; next++ {
			total[next] = p0
		}
		f, _, ok := head(w/(p0*ch.grid[e.index].Area), ch.air.Gamma, e.kind == kindFriction)
		k := ch.coefficient(e, w)
		if !ok || k*f >= 1 {
			return nil, nil, false
		}
		loss[i] = k * f * p0
		p0 -= loss[i]
	}
	for ; next < len(total); next++ {
		total[next] = p0
	}
	return total, loss, true
}

// exit returns the static pressure at the exit [Pa] at the total pressure p0 there, and its logarithmic slope to φ.
func (ch *chain) exit(p0, w float64) (p, slope float64, ok bool) {
	g := ch.air.Gamma
	m, ok := machOfReduced(w/(p0*ch.grid[len(ch.grid)-1].Area), g)
	if !ok {
		return 0, 0, false
	}
	return p0 / totalRatio(m, g), -g * m * m / (1 - m*m), true
}

// solve returns the flow ṁ·√(R·T0) [Pa·m²] at which the static pressure at the exit is end [Pa]. When a place chokes before, it returns
// the most that passes, less one part in ten thousand million, and says so: so near, M is within 1e-5 of 1 and the slopes are those of the choked flow.
func (ch *chain) solve(end float64) (w float64, choked bool, err error) {
	g := ch.air.Gamma
	miss := func(w float64) float64 {
		total, _, ok := ch.march(w)
		if !ok {
			return -end
		}
		p, _, ok := ch.exit(total[len(total)-1], w)
		if !ok {
			return -end
		}
		return p - end
	}
	least := math.Inf(1)
	for _, p := range ch.grid {
		least = min(least, p.Area)
	}
	hi := ch.air.Pressure * least * math.Sqrt(g) * math.Pow((g+1)/2, -(g+1)/(2*(g-1))) * (1 + 1e-12)
	w = bracketed(miss, hi*1e-9, hi)
	if !(w > hi*1e-9) || math.IsNaN(w) {
		return 0, false, fmt.Errorf("%w: no flow is found for a drop of %g Pa", ErrLedger, ch.air.Pressure-end)
	}
	if left := miss(w * (1 - 1e-6)); left > 1e-3*(ch.air.Pressure-end) {
		return w * (1 - 1e-10), true, nil
	}
	for back := 1e-15; miss(w) == -end && back < 1e-6; back *= 2 {
		w *= 1 - back // a root a bit beyond the last flow that passes
	}
	return w, false, nil
}

// slopes is how the static pressure at the exit changes.
type slopes struct {
	byFlow float64   // with ln w [Pa]
	byArea []float64 // with ln A of every place of the grid [Pa]
	byK    []float64 // with K of every element [Pa]
	byEnd  float64   // with the head lost at the exit, as K of it [Pa]
}

// adjoint returns the exact derivatives of the static pressure at the exit at the flow w, by one pass backward through the chain.
//
//	p0' = p0·(1 − K·F(φ)),  φ = w/(p0·A)
func (ch *chain) adjoint(w float64) slopes {
	g := ch.air.Gamma
	n := len(ch.elements)
	before := make([]float64, n+1)
	before[0] = ch.air.Pressure
	type state struct{ k, f, slope float64 }
	st := make([]state, n)
	for i, e := range ch.elements {
		f, s, ok := head(w/(before[i]*ch.grid[e.index].Area), g, e.kind == kindFriction)
		if !ok {
			panic("tract: adjoint of a flow that does not pass")
		}
		st[i] = state{ch.coefficient(e, w), f, s}
		before[i+1] = before[i] * (1 - st[i].k*f)
	}
	out := slopes{byArea: make([]float64, len(ch.grid)), byK: make([]float64, n)}
	p, s, _ := ch.exit(before[n], w)
	out.byFlow = p * s
	out.byArea[len(ch.grid)-1] = -p * s
	out.byEnd = -(before[n] - p)
	weight := p / before[n] * (1 - s) // ∂p/∂p0 at the exit
	for i := n - 1; i >= 0; i-- {
		e, x := ch.elements[i], st[i]
		loss := before[i] * x.f // for K = 1
		out.byK[i] = -weight * loss
		byW, byA := ch.coefficientSlopes(e, w)
		out.byFlow -= weight * loss * (x.k*x.slope + byW)
		out.byArea[e.index] += weight * loss * x.k * x.slope
		for _, a := range byA {
			out.byArea[a.index] -= weight * loss * a.slope
		}
		weight *= 1 - x.k*x.f*(1-x.slope)
	}
	return out
}
