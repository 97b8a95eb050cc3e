package meter

import (
	"fmt"
	"math"

	"runnel/gas"
)

// A CriticalProfile is the shape of a critical-flow nozzle.
type CriticalProfile int

// The nozzles of ISO 9300:2005.
const (
	Toroidal        CriticalProfile = iota // toroidal throat, normally machined
	ToroidalPrecise                        // toroidal throat, accurately machined
	Cylindrical                            // cylindrical throat
)

// uCriticalFunction is the relative standard uncertainty [-] allowed for taking the critical-flow function of a perfect
// gas: that of real air near 100 kPa and 20 °C differs by less than it. Our own allowance.
const uCriticalFunction = 5e-4

// A Critical is a critical-flow nozzle. ISO 9300:2005. It passes a mass flow that its upstream state alone decides, as
// long as it is choked.
type Critical struct {
	Bore         float64         // throat diameter d [m]
	Pipe         float64         // inside diameter of the pipe before it D [m]; 0: it draws from still air
	Profile      CriticalProfile // shape of the nozzle
	BackPressure float64         // highest downstream over upstream pressure at which it was proven to choke [-]; 0: the critical ratio of the gas
	UBore        float64         // relative standard uncertainty of d [-]
}

// Kind returns "nozzle_critical".
func (Critical) Kind() string { return "nozzle_critical" }

// Reads returns Difference.
func (Critical) Reads() Quantity { return Difference }

// criticalLaw is C = a − b·Re^(−n) with its expanded uncertainty and range.
type criticalLaw struct{ a, b, n, percent, low, high float64 }

func (p CriticalProfile) law() criticalLaw {
	switch p {
	case Toroidal:
		return criticalLaw{0.9959, 2.720, 0.5, 0.3, 2.1e4, 3.2e7}
	case ToroidalPrecise:
		return criticalLaw{0.9985, 3.412, 0.5, 0.2, 2.1e4, 1.4e6}
	case Cylindrical:
		return criticalLaw{0.9976, 0.1388, 0.2, 0.3, 3.5e5, 1.1e7}
	}
	panic("meter: unknown critical-flow nozzle")
}

// CriticalC returns the discharge coefficient C [-] of a critical-flow nozzle at throat Reynolds number re [-].
//
//	C = a − b·Re^(−n)
//
// with a, b, n 0.9959, 2.720, 0.5 (toroidal, normally machined), 0.9985, 3.412, 0.5 (accurately machined) and 0.9976,
// 0.1388, 0.2 (cylindrical). Below Re = 2000, far outside the range, C is that at 2000.
// Source: ISO 9300:2005, 7.2; the coefficients are from memory of the standard and were not seen in print.
func CriticalC(profile CriticalProfile, re float64) float64 {
	l := profile.law()
	return l.a - l.b*math.Pow(max(re, leastRe), -l.n)
}

// Flow returns the mass flow with the pressure difference dp = p1 − p2 [Pa] over the nozzle, which only has to be large
// enough: above that the flow does not depend on it.
//
//	ṁ = π/4·d²·C·C*·p0/sqrt(R·T0),  C* = ψ(r*)
//
// The Reynolds number is that of the throat, 4ṁ/(π·d·μ). With a pipe before it p0 and T0 are worked out from p1, T1 and the
// Mach number there.
//
// Errors: *gas.InputError; ErrNotChoked, with the pressure ratio.
// Warnings: the Reynolds number; d/D above 0.25.
// Source: ISO 9300:2005, 7.1 and 7.2, with the critical-flow function of a perfect gas.
func (c Critical) Flow(up Upstream, dp float64) (Flow, error) {
	f, err := c.Bare(up, dp)
	if err != nil {
		return Flow{}, err
	}
	law, l := c.Profile.law(), limits{}
	l.within("ISO 9300:2005 7.2: throat Reynolds number "+num(law.low)+" to "+num(law.high), f.Reynolds, law.low, law.high)
	if c.Pipe > 0 {
		l.within("ISO 9300:2005: throat over pipe diameter at most 0.25", c.Bore/c.Pipe, 0, 0.25)
	}
	l.close(&f, []Part{{PartC, law.percent / 100 / 2, 1}, {PartEps, uCriticalFunction, 1}, {PartBore, c.UBore, 2}})
	return f, nil
}

// Bare is Flow without uncertainty and warnings.
func (c Critical) Bare(up Upstream, dp float64) (Flow, error) {
	if err := c.check(); err != nil {
		return Flow{}, err
	}
	if err := up.check(); err != nil {
		return Flow{}, err
	}
	if err := checkDrop(up, dp); err != nil {
		return Flow{}, err
	}
	limit := c.BackPressure
	if limit == 0 {
		limit = gas.CriticalRatio(up.Kappa)
	}
	area := math.Pi / 4 * c.Bore * c.Bore
	stagnation := c.stagnation(up, area)
	if r := (up.Pressure - dp) / (up.Pressure * stagnation); r > limit {
		return Flow{}, fmt.Errorf("downstream over upstream pressure is %.4f, and %.4f or less is wanted: %w", r, limit, ErrNotChoked)
	}
	// p0/sqrt(R·T0) with R = p1/(ρ1·T1): for a perfect gas p0/sqrt(T0) = p1/sqrt(T1)·(p0/p1)^((γ+1)/(2γ)).
	k := area * gas.NozzleFunction(0, up.Kappa) * math.Sqrt(up.Pressure*up.Density) * math.Pow(stagnation, (up.Kappa+1)/(2*up.Kappa))
	perMass := 4 / (math.Pi * c.Bore * up.Viscosity)
	f := Flow{Expansibility: 1, Loss: dp}
	l := c.Profile.law()
	law := powerLaw{l.a, l.b, l.n}
	f.Mass = selfConsistent(k, perMass, law.at)
	f.Coefficient, f.Reynolds = f.Mass/k, f.Mass*perMass
	return f, nil
}

// stagnation returns p0/p1 [-] for the Mach number in the pipe at which the throat, of the given area [m²], is sonic.
func (c Critical) stagnation(up Upstream, area float64) float64 {
	if c.Pipe == 0 {
		return 1
	}
	share := area / (math.Pi / 4 * c.Pipe * c.Pipe) // A*/A in the pipe
	r := gas.NozzleRatio(share*gas.NozzleFunction(0, up.Kappa), up.Kappa)
	return 1 / r
}

func (c Critical) check() error {
	if err := positive("throat diameter", "m", c.Bore); err != nil {
		return err
	}
	if c.Pipe < 0 || (c.Pipe > 0 && c.Bore > steepest*c.Pipe) {
		return &gas.InputError{Quantity: "throat diameter", Got: c.Bore, Unit: "m", Want: "want at most a quarter of the pipe's diameter of " + num(c.Pipe) + " m"}
	}
	if !(c.BackPressure >= 0 && c.BackPressure < 1) {
		return &gas.InputError{Quantity: "proven back-pressure ratio", Got: c.BackPressure, Want: "want 0 (take the critical ratio) to below 1"}
	}
	return checkShare("uncertainty of the throat diameter", c.UBore)
}
