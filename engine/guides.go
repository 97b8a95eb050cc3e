package engine

import "math"

// EngelmanFactor is the usual ratio of the intake's natural frequency to the engine's speed at the tuned speed, K [-].
// Source: Engelman, ASME 73-WA/DGP-2 (1973), about 2.0–2.5; against a gas-dynamic computation the speed it gives came out
// 7–24 % high, so it is a rough line of ±25 %.
const EngelmanFactor = 2.1

// EngelmanVolume returns the effective volume of the cylinder V_eff [m³] for displacement vd [m³] of one cylinder and
// compression ratio r [-].
//
//	V_eff = V_d/2·(r+1)/(r−1)
//
// Source: Engelman (1973), as quoted in public lecture notes.
func EngelmanVolume(vd, r float64) float64 { return vd / 2 * (r + 1) / (r - 1) }

// EngelmanFrequency returns the natural frequency f [Hz] of one runner of length l [m] and area a [m²] with the effective
// volume v [m³], at speed of sound c [m/s].
//
//	f = c/(2π)·√(A/(L·V_eff))
//
// Source: Engelman (1973), from memory; Helmholtz resonator.
func EngelmanFrequency(c, l, a, v float64) float64 {
	return c / (2 * math.Pi) * math.Sqrt(a/(l*v))
}

// EngelmanTwoVolume returns the two natural frequencies f1 < f2 [Hz] of runner (length l1 [m], area a1 [m²]), effective
// cylinder volume v1 [m³], plenum volume v2 [m³] and duct before the plenum (l2 [m], a2 [m²]), at speed of sound c [m/s].
//
//	f = c/(2π)·√{[(ab+a+1) ∓ √((ab+a+1)² − 4ab)] / [2ab·(L1/A1)·V1]}, a = (L2/A2)/(L1/A1), b = V2/V1
//
// Source: Engelman (1973), as quoted in public lecture notes.
func EngelmanTwoVolume(c, l1, a1, v1, l2, a2, v2 float64) (f1, f2 float64) {
	i1 := l1 / a1
	a, b := l2/a2/i1, v2/v1
	s := a*b + a + 1
	d := math.Sqrt(s*s - 4*a*b)
	k := 2 * a * b * i1 * v1
	return c / (2 * math.Pi) * math.Sqrt((s-d)/k), c / (2 * math.Pi) * math.Sqrt((s+d)/k)
}

// TunedSpeed returns the engine speed [rev/s] tuned to natural frequency f [Hz] with the factor k [-]. Source: Engelman (1973).
func TunedSpeed(f, k float64) float64 { return f / k }

// QuarterWaveSpeed returns the engine speed [rev/s] at which a runner closed at the valve, of length l [m] and bore d [m], makes
// q [-] cycles of its quarter-wave tone in one revolution, at speed of sound c [m/s].
//
//	n = c/(4·L_e·q), L_e = L + 0.6·d/2
//
// No one q is best: in the motored reference engine of this package's tests the best speeds of pipes of 0.3 to 0.8 m lie at
// q = 3.7 to 2.1. The end correction is that of an open pipe's end
// (Levine & Schwinger 1948, 0.6133 of the radius); a flanged mouth in a plenum has 0.82.
func QuarterWaveSpeed(c, l, d, q float64) float64 {
	return c / (4 * (l + 0.6133*d/2) * q)
}

// MachIndex returns the mean inlet Mach index Z [-] for bore b [m], valve head diameter dv [m], count of intake valves n,
// mean piston speed sp [m/s], mean flow coefficient over the open period cf [-] on the valve's head area, and speed of
// sound c [m/s].
//
//	Z = (B/D_v)²/n·S̄p/(C_f·c)
//
// Volumetric efficiency falls beyond 0.5–0.6. Source: Livengood, Rogowski & Taylor; C. F. Taylor, The Internal Combustion
// Engine in Theory and Practice, vol. 1, ch. 6.
func MachIndex(b, dv float64, n int, sp, cf, c float64) float64 {
	return b / dv * (b / dv) / float64(n) * sp / (cf * c)
}

// MachIndexKnee is the mean inlet Mach index beyond which volumetric efficiency falls quickly [-]. Source: Taylor, from memory: 0.5–0.6.
const MachIndexKnee = 0.55

// AirDemand returns the mass flow the engine asks for [kg/s] at speed n [rev/s] with displacement vd [m³] of the whole
// engine, volumetric efficiency ve [-] and air density rho [kg/m³].
//
//	ṁ = η_v·ρ·V_d·n/2
//
// Source: Heywood (1988), eq. 2.27a.
func AirDemand(vd, n, ve, rho float64) float64 { return ve * rho * vd * n / 2 }

// PeakRunnerDemand returns the quasi-steady peak of the mass flow in one runner [kg/s] at speed n [rev/s] for displacement
// vd [m³] of the cylinder, volumetric efficiency ve [-] and density rho [kg/m³].
//
//	ṁ_peak = π·η_v·ρ·V_d·n
//
// An upper bound: the piston's peak speed with the gas following at once. A long cam and the air's inertia spread it.
func PeakRunnerDemand(vd, n, ve, rho float64) float64 { return math.Pi * ve * rho * vd * n }

// Guides are the closed-form answers beside the pull's own at one speed: rough lines, shown with their disagreement.
type Guides struct {
	MachIndex   float64 // mean inlet Mach index Z [-]; its knee is near MachIndexKnee
	MeanFlow    float64 // mean flow coefficient of the intake valve over its open period, on the head area of all valves [-]
	Engelman    float64 // speed over the speed Engelman's rule tunes the runners to [-]
	QuarterWave float64 // cycles of the runner's quarter-wave tone in one revolution [-]
	RunnerMach  float64 // Mach number in the runner's smallest section at the peak of a quasi-steady draught [-]
}

// guides returns the closed-form answers at the speed of p.
func (e *Engine) guides(p Point) Guides {
	c := e.sound()
	area, length := e.runnerArea(0)
	least := math.Inf(1)
	const n = 50
	for i := range n {
		least = min(least, area(length*(float64(i)+0.5)/n))
	}
	g := Guides{MeanFlow: e.meanFlow()}
	if e.In.Seat.Head > 0 && g.MeanFlow > 0 {
		g.MachIndex = MachIndex(e.Crank.Bore, e.In.Seat.Head, max(e.In.Count, 1), e.Crank.MeanPistonSpeed(p.Speed), g.MeanFlow, c)
	}
	g.Engelman = p.Speed / e.EngelmanSpeed()
	g.QuarterWave = c / (4 * (length + 0.6133*math.Sqrt(area(0)/math.Pi)) * p.Speed)
	rho := e.density()
	g.RunnerMach = PeakRunnerDemand(e.Crank.Swept(), p.Speed, p.VE, rho) / (rho * least * c)
	return g
}

// EngelmanSpeed returns the speed [rev/s] that Engelman's rule tunes the first runner to. Source: see EngelmanFrequency.
func (e *Engine) EngelmanSpeed() float64 {
	area, length := e.runnerArea(0)
	inertia := 0.0
	const n = 50
	for i := range n {
		inertia += length / n / area(length*(float64(i)+0.5)/n)
	}
	v := EngelmanVolume(e.Crank.Swept(), e.Crank.CompressionRatio)
	return TunedSpeed(EngelmanFrequency(e.sound(), inertia, 1, v), EngelmanFactor)
}

// meanFlow returns the flow coefficient of the intake valve averaged over its open period, on the head area of all valves [-].
func (e *Engine) meanFlow() float64 {
	areas, _ := areasOf(e.Intake, e.In)
	var sum float64
	var n int
	for _, a := range areas {
		if a > 0 {
			sum += a
			n++
		}
	}
	head := math.Pi / 4 * e.In.Seat.Head * e.In.Seat.Head * float64(max(e.In.Count, 1))
	if n == 0 || head == 0 {
		return 0
	}
	return sum / float64(n) / head
}

// sound returns the speed of sound of the room's air [m/s], taken as dry.
func (e *Engine) sound() float64 { return math.Sqrt(1.4 * 287.05 * e.Air.Temperature) }

// density returns the density of the room's air [kg/m³], taken as dry.
func (e *Engine) density() float64 { return e.Air.Pressure / (287.05 * e.Air.Temperature) }
