package main

import (
	"math"

	"runnel/gas"
	"runnel/passage"
	"runnel/unit"
)

// bareFlow is the true flow of each runner with a bare entry, at 28 inH2O and dry air of 101 325 Pa and 20 °C [cfm].
// Runner 4 of the intake as received has a step in it.
func bareFlow(round string) [6]float64 {
	switch round {
	case "received":
		return [6]float64{195.8, 193.9, 194.6, 183.2, 194.9, 196.4}
	case "roughed":
		return [6]float64{196.5, 194.3, 195.4, 184.0, 195.3, 196.8}
	case "welded":
		return [6]float64{201.2, 200.3, 200.9, 199.5, 200.7, 201.6}
	case "finished":
		return [6]float64{204.7, 204.0, 204.4, 203.7, 204.2, 205.0}
	}
	panic("gen: no round " + round)
}

// area turns a flow at the reference into an effective area [m²].
func area(cfm float64) (float64, error) {
	a, err := gas.MoistAir{Pressure: 101325, Temperature: unit.Temperature.Of(20, "°C"), CO2: gas.StandardCO2}.Properties()
	if err != nil {
		return 0, err
	}
	n := gas.Nozzle{
		Pressure: a.Pressure, Temperature: a.Temperature, Downstream: a.Pressure - testPressure,
		GasConstant: a.Compressibility * a.GasConstant, Gamma: a.Kappa,
	}
	return n.EffectiveArea(unit.VolumeFlow.Of(cfm, "cfm") * a.Density)
}

// withEntry returns the effective area of a runner with a rounded entry from that with a bare one: the losses of the
// two entries, on the head in the entry bore, are exchanged. Incompressible, as handbooks give the losses.
//
//	1/Ar² = 1/Ab² − (K(0) − K(r/D))/Ae²
func withEntry(bare float64) (float64, error) {
	sharp, err := passage.EntryLoss(0)
	if err != nil {
		return 0, err
	}
	rounded, err := passage.EntryLoss(entryRadius / entryBore)
	if err != nil {
		return 0, err
	}
	entry := math.Pi / 4 * entryBore * entryBore
	return 1 / math.Sqrt(1/(bare*bare)-(sharp.K-rounded.K)/(entry*entry)), nil
}

// headArea returns the effective area of valve and port over lift [m²]. The coefficients on the curtain area are typical
// ones, from memory, of a good port.
func headArea(lift float64, cylinder int) float64 {
	x := []float64{0, 0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.35}
	c := []float64{0.69, 0.68, 0.67, 0.65, 0.61, 0.56, 0.51, 0.46}
	of, i := lift/valveHead, 0
	for i < len(x)-2 && of > x[i+1] {
		i++
	}
	coefficient := c[i] + (of-x[i])/(x[i+1]-x[i])*(c[i+1]-c[i])
	if cylinder == 4 {
		coefficient *= 0.985
	}
	return coefficient * math.Pi * valveHead * lift
}

// bodyArea is the effective area of the throttle body wide open: bore less shaft, with a coefficient of 0.93.
func bodyArea() float64 { return 0.93 * (math.Pi/4*0.065*0.065 - 0.065*0.010) }
