package meter

// A Make is how a classical Venturi tube was made.
type Make int

// The Venturi tubes of ISO 5167-4:2003, 5.5.
const (
	AsCast      Make = iota // "as cast" convergent section, 5.5.2
	Machined                // machined convergent section, 5.5.3
	RoughWelded             // rough-welded sheet-iron convergent section, 5.5.4
)

// A Venturi is a classical Venturi tube in a pipe. ISO 5167-4:2003.
type Venturi struct {
	Throat

	Make Make // how it was made
}

// Kind returns "venturi_cast", "venturi_machined" or "venturi_welded".
func (v Venturi) Kind() string {
	switch v.Make {
	case AsCast:
		return "venturi_cast"
	case Machined:
		return "venturi_machined"
	case RoughWelded:
		return "venturi_welded"
	}
	panic("meter: unknown make of Venturi tube")
}

// Reads returns Difference.
func (Venturi) Reads() Quantity { return Difference }

// venturiLimits is what ISO 5167-4:2003, 5.5 states of one make.
type venturiLimits struct {
	clause                         string
	c, percentC                    float64 // coefficient [-] and its expanded uncertainty [%]
	pipeLow, pipeHigh              float64 // pipe diameter [mm]
	betaLow, betaHigh, reLow, reHi float64 // diameter ratio and Reynolds number [-]
}

func (m Make) limits() venturiLimits {
	switch m {
	case AsCast:
		return venturiLimits{"5.5.2", 0.984, 0.7, 100, 800, 0.30, 0.75, 2e5, 2e6}
	case Machined:
		return venturiLimits{"5.5.3", 0.995, 1.0, 50, 250, 0.40, 0.75, 2e5, 1e6}
	case RoughWelded:
		return venturiLimits{"5.5.4", 0.985, 1.5, 200, 1200, 0.40, 0.70, 2e5, 2e6}
	}
	panic("meter: unknown make of Venturi tube")
}

// venturiLoss is the share of its pressure difference that a Venturi tube takes for good [-]: the middle of the 5 to 20 %
// that ISO 5167-4:2003, 5.9 gives.
const venturiLoss = 0.125

// VenturiC returns the discharge coefficient C [-] of a Venturi tube: 0.984 as cast, 0.995 machined, 0.985 rough-welded.
// Source: ISO 5167-4:2003, 5.5.2–5.5.4.
func VenturiC(m Make) float64 { return m.limits().c }

// Flow returns the mass flow for a pressure difference dp [Pa]. The coefficient is constant within the limits of the
// standard; below them it is lower and less certain (ISO 5167-4:2003, annex B), which the warning stands for.
//
// Errors: *gas.InputError for what cannot be built or read.
// Warnings: the limits of ISO 5167-4:2003, 5.5.2–5.5.4 on D, β and Re_D, and p2/p1 ≥ 0.75.
// Source: ISO 5167-1:2003 eq. (1); ISO 5167-4:2003, 5.5–5.7.
func (v Venturi) Flow(up Upstream, dp float64) (Flow, error) {
	f, err := v.Bare(up, dp)
	if err != nil {
		return Flow{}, err
	}
	b4 := fourth(v.Beta())
	l := v.limits(up, dp, f.Reynolds)
	l.close(&f, v.parts(v.Make.limits().percentC/100/2, (4+100*b4*b4)*dp/up.Pressure/100/2))
	return f, nil
}

// Bare is Flow without uncertainty and warnings.
func (v Venturi) Bare(up Upstream, dp float64) (Flow, error) {
	if err := v.check(); err != nil {
		return Flow{}, err
	}
	if err := up.check(); err != nil {
		return Flow{}, err
	}
	if err := checkDrop(up, dp); err != nil {
		return Flow{}, err
	}
	law := powerLaw{a: v.Make.limits().c}
	f := v.solve(up, dp, nozzleEps(dp/up.Pressure, v.Beta(), up.Kappa), law.at)
	f.Loss = venturiLoss * dp
	return f, nil
}

// limits lists the limits of use that are left.
func (v Venturi) limits(up Upstream, dp, re float64) (l limits) {
	const tiny = 1e-9
	of := v.Make.limits()
	std := "ISO 5167-4:2003 " + of.clause + ": "
	l.within(std+"pipe diameter D "+num(of.pipeLow)+" to "+num(of.pipeHigh)+" mm", v.Pipe*1e3, of.pipeLow-tiny, of.pipeHigh+tiny)
	l.within(std+"diameter ratio beta "+num(of.betaLow)+" to "+num(of.betaHigh), v.Beta(), of.betaLow-tiny, of.betaHigh+tiny)
	if dp == 0 {
		return l
	}
	l.within(std+"Reynolds number Re_D "+num(of.reLow)+" to "+num(of.reHi), re, of.reLow, of.reHi)
	l.ratioAbove("ISO 5167-4:2003 5.6: pressure ratio p2/p1 at least 0.75", up, dp)
	return l
}
