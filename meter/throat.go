package meter

import (
	"math"
	"strconv"

	"runnel/gas"
)

// steepest is the diameter ratio above which no meter of this package computes [-]. ISO 5167 ends at 0.75 to 0.80; up to
// here the formulae still say something, with a warning. Our own limit.
const steepest = 0.85

// leastRe is the Reynolds number [-] below which the coefficient of a meter is held. All standards end far above it, where
// a warning starts; below it their formulae rise or fall without end, and may leave no flow that agrees with its own
// coefficient.
const leastRe = 2000

// A Throat is the pair of diameters of a differential-pressure meter in a pipe.
type Throat struct {
	Pipe  float64 // inside diameter of the pipe D [m]
	Bore  float64 // bore of the plate, nozzle or Venturi throat d [m]
	UPipe float64 // relative standard uncertainty of D [-]; ISO 5167-1:2003, 8.2.2.3 allows at most 0.002
	UBore float64 // relative standard uncertainty of d [-]; ISO 5167-1:2003, 8.2.2.4 allows at most 0.0005
}

// Beta returns the diameter ratio β = d/D [-]. Definition.
func (t Throat) Beta() float64 { return t.Bore / t.Pipe }

// check refuses what cannot be built.
func (t Throat) check() error {
	if err := positive("pipe diameter", "m", t.Pipe); err != nil {
		return err
	}
	if err := positive("bore", "m", t.Bore); err != nil {
		return err
	}
	if t.Bore >= t.Pipe {
		return &gas.InputError{
			Quantity: "bore", Got: t.Bore, Unit: "m",
			Want: "it does not fit in a pipe of " + strconv.FormatFloat(t.Pipe, 'g', 6, 64) + " m: check which diameter is which, and their units",
		}
	}
	if b := t.Beta(); b > steepest {
		return &gas.InputError{
			Quantity: "diameter ratio beta", Got: b,
			Want: "want at most 0.75 to 0.80 (the standard's limit for the meter): take a smaller bore or a larger pipe",
		}
	}
	if err := checkShare("uncertainty of the pipe diameter", t.UPipe); err != nil {
		return err
	}
	return checkShare("uncertainty of the bore", t.UBore)
}

// parts returns the budget lines: C and ε with sensitivity 1, D with −2β⁴/(1−β⁴), d with 2/(1−β⁴).
// Source: ISO 5167-1:2003, 8.2.2.1.
func (t Throat) parts(uC, uEps float64) []Part {
	b4 := fourth(t.Beta())
	return []Part{
		{PartC, uC, 1},
		{PartEps, uEps, 1},
		{PartPipe, t.UPipe, -2 * b4 / (1 - b4)},
		{PartBore, t.UBore, 2 / (1 - b4)},
	}
}

// solve finds the mass flow that agrees with its own Reynolds number Re_D = 4ṁ/(π·μ·D). The coefficient is a function of
// the natural logarithm of Re_D, from that of leastRe up.
func (t Throat) solve(up Upstream, dp, eps float64, coefficient func(lnRe float64) float64) (f Flow) {
	f.Expansibility = eps
	k := eps / math.Sqrt(1-fourth(t.Beta())) * math.Pi / 4 * t.Bore * t.Bore * math.Sqrt(2*dp*up.Density)
	perMass := 4 / (math.Pi * up.Viscosity * t.Pipe)
	if k == 0 {
		return f
	}
	f.Mass = selfConsistent(k, perMass, coefficient)
	f.Reynolds = f.Mass * perMass
	f.Coefficient = f.Mass / k
	f.Loss = dp * PressureLoss(t.Beta(), f.Coefficient)
	return f
}

// PressureLoss returns the share [-] of its pressure difference that an orifice plate or nozzle of diameter ratio beta [-]
// and discharge coefficient c [-] takes from the flow for good.
//
//	Δϖ/Δp = (sqrt(1 − β⁴(1 − C²)) − Cβ²)/(sqrt(1 − β⁴(1 − C²)) + Cβ²)
//
// Source: ISO 5167-2:2003, 5.4.1; ISO 5167-3:2003, 5.1.8.
func PressureLoss(beta, c float64) float64 {
	b2 := beta * beta
	root, cb := math.Sqrt(1-b2*b2*(1-c*c)), c*b2
	return (root - cb) / (root + cb)
}

// selfConsistent solves m = k·c(ln(m·perMass)) for the mass flow m [kg/s] by the secant method in the logarithm, which converges
// also where c varies as a negative power of m (small Reynolds numbers). k [kg/s] must be above zero; perMass is the Reynolds
// number of a unit of mass flow [s/kg]. Below leastRe the coefficient is held.
func selfConsistent(k, perMass float64, c func(lnRe float64) float64) float64 {
	const rounds = 60
	lnK, lnPer, least := math.Log(k), math.Log(perMass), math.Log(leastRe)
	residual := func(x float64) float64 { return lnK + math.Log(c(max(x+lnPer, least))) - x }
	x0 := lnK + lnStart
	r0 := residual(x0)
	x1 := x0 + r0
	for range rounds {
		r1 := residual(x1)
		if math.Abs(r1) < 1e-14 || r1 == r0 {
			break
		}
		x0, x1, r0 = x1, x1-r1*(x1-x0)/(r1-r0), r1
	}
	return math.Exp(x1)
}

// lnStart is the logarithm of the coefficient that the search begins with [-], that of a plate.
const lnStart = -0.5108256237659907

// leastRatio is the pressure ratio p2/p1 [-] down to which the expansibility of every part of ISO 5167:2003 is valid.
const leastRatio = 0.75

// ratioWarning adds a warning when the pressure ratio p2/p1 is below leastRatio.
func ratioWarning(w []gas.Warning, limit string, up Upstream, dp float64) []gas.Warning {
	return within(w, limit, (up.Pressure-dp)/up.Pressure, leastRatio, 1)
}

// checkDrop refuses a difference that would leave no pressure downstream.
func checkDrop(up Upstream, dp float64) error {
	if err := checkReading(Difference, dp); err != nil {
		return err
	}
	if dp >= up.Pressure {
		return &gas.InputError{
			Quantity: "meter pressure difference", Got: dp, Unit: "Pa",
			Want: "it is not below the upstream pressure of " + strconv.FormatFloat(up.Pressure, 'g', 6, 64) + " Pa: check the units, and that the upstream pressure is absolute",
		}
	}
	return nil
}

func fourth(x float64) float64 { return x * x * x * x }

// num writes a limit without an exponent.
func num(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
