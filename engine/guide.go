package engine

import "math"

// Guides are the closed-form answers beside the pull's own at one speed: rough lines, shown with their disagreement.
type Guides struct {
	MachIndex   float64 // mean inlet Mach index Z [-]; its knee is near MachIndexKnee
	MeanFlow    float64 // mean flow coefficient of the intake valve over its open period, on the head area of all valves [-]
	EngelmanVE  float64 // speed over the speed Engelman's rule tunes the runners to [-]
	QuarterWave float64 // cycles of the runner's quarter-wave tone in one revolution [-]
	RunnerMach  float64 // Mach number in the runner's smallest section at the peak of a quasi-steady draught [-]
}

// guides returns the closed-form answers at the speed of p.
func (e *Engine) guides(p Point) Guides {
	c := e.sound()
	area, length := e.runnerArea(0)
	mean, least := 0.0, math.Inf(1)
	const n = 50
	for i := range n {
		a := area(length * (float64(i) + 0.5) / n)
		mean += 1 / a / n
		least = min(least, a)
	}
	mean = 1 / mean
	g := Guides{MeanFlow: e.meanFlow()}
	if e.In.Seat.Head > 0 && g.MeanFlow > 0 {
		g.MachIndex = MachIndex(e.Crank.Bore, e.In.Seat.Head, max(e.In.Count, 1), e.Crank.MeanPistonSpeed(p.Speed), g.MeanFlow, c)
	}
	g.EngelmanVE = p.Speed / e.EngelmanSpeed()
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
