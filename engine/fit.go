package engine

import (
	"context"
	"errors"
	"fmt"
	"slices"
)

// ErrFit means that an engine cannot be fitted to a measured run.
var ErrFit = errors.New("engine cannot be fitted to the run")

// A DynoPoint is one point of a measured run at full throttle.
type DynoPoint struct {
	Speed   float64 // [rev/s]
	Torque  float64 // at the crank, in the air of the engine's description [N·m]
	AirFlow float64 // [kg/s]; 0: not measured
}

// FitOptions say how an engine is fitted to a run. The zero value takes the defaults.
type FitOptions struct {
	Unknowns Unknowns // what was known before the run; zero: DefaultUnknowns
	Noise    float64  // standard uncertainty of one torque against its neighbours, relative [-]; 0: 0.010
	AirNoise float64  // the same of one air flow [-]; 0: 0.015
	Scale    float64  // standard uncertainty of what all torques of the run share, relative [-]; 0: 0.02
	AirScale float64  // the same of the air flows [-]; 0: 0.02
	Mesh     float64  // of the runs that find the slopes [m]; 0: CoarseMesh
	Workers  int      // 0: one a core. It does not change the result
}

// Defaults of a run: common practice, no source.
const (
	dynoNoise, dynoScale = 0.010, 0.02
	airNoise, airScale   = 0.015, 0.02
)

func (o FitOptions) filled() FitOptions {
	set := func(v *float64, d float64) {
		if *v == 0 {
			*v = d
		}
	}
	set(&o.Noise, dynoNoise)
	set(&o.AirNoise, airNoise)
	set(&o.Scale, dynoScale)
	set(&o.AirScale, airScale)
	set(&o.Mesh, CoarseMesh)
	if o.Unknowns == (Unknowns{}) {
		o.Unknowns = DefaultUnknowns()
	}
	return o
}

// Places of the fitted deviates: the first are those of Unknowns.perturb, then the run's own scales.
const (
	fitEngine = unknownCount - 2 // each round's own reading is not fitted
	fitScale  = fitEngine
	fitAir    = fitEngine + 1
	fitCount  = fitEngine + 2
)

// fitBound is how far a deviate may go [standard deviations].
const fitBound = 3.0

// A Fit is an engine's unknowns after a measured run has been looked at.
type Fit struct {
	Unknowns   []FitUnknown
	Points     []FitPoint
	Misfit     float64  // what remains over what the run's uncertainty lets expect; above 1 the uncertainty was widened by it [-]
	Effective  float64  // number of unknowns the run decided [-]
	Iterations int      // steps taken
	Warnings   []string // what to doubt

	u Unknowns
	z []float64   // best deviates
	l [][]float64 // Cholesky factor of their covariance
}

// A FitUnknown is one unknown before and after.
type FitUnknown struct {
	Name    string
	Unit    string  // "°", "K", or "" for a factor
	Prior   float64 // value taken before [in its unit]
	PriorU  float64 // standard uncertainty before [in its unit]
	Value   float64 // best value [in its unit]
	U       float64 // standard uncertainty after [in its unit]
	AtBound bool    // the value stands at the bound of three prior standard deviations
}

// A FitPoint compares one point of the run with the engine, the run's scale error not put on.
type FitPoint struct {
	Speed   float64 // [rev/s]
	Torque  float64 // measured [N·m]
	Before  float64 // torque of the engine as it was taken [N·m]
	After   float64 // torque of the fitted engine [N·m]
	Air     float64 // air flow measured, 0: not [kg/s]
	AirFrom float64 // of the engine as it was taken [kg/s]
	AirTo   float64 // of the fitted engine [kg/s]
}

// fitMost is the most points of a run that are used.
const fitMost = 16

// FitDyno fits the unknowns of an engine to a measured run: bounded least squares in which what was believed before counts as a
// measurement too. With standard deviates z of the unknowns, scale errors s of the run, torques and air flows y_i of relative
// standard uncertainty u_i and the pull's m_i
//
//	S(z, s) = Σ ((y_i − m_i(z)·(1 + s))/(u_i·y_i))² + |z|² + (s/u_s)², |z_j| ≤ 3
//
// is least, by Gauss–Newton steps from the fine pull, with slopes taken once, over one standard deviation to either side on a
// coarser mesh. What remains known of the unknowns is the covariance (JᵀWJ + 1)⁻¹ there. Where the run scatters about the fitted pull by more than its uncertainty lets
// expect, W is lowered by the square of that ratio first, so that a model that cannot follow the run does not claim to know more
// than it does. The scale errors keep the absolute level of the torque as uncertain as the dynamometer is.
//
// Sources: Gauss–Newton and the posterior of a linearised problem: Tarantola, Inverse Problem Theory (2005), 3.2; widening by the
// misfit: Birge, Phys. Rev. 40 (1932) 207. Errors: ErrFit, else as Pull.
func FitDyno(ctx context.Context, e *Engine, run []DynoPoint, opt FitOptions, progress func(done, total int)) (*Fit, error) {
	opt = opt.filled()
	if progress == nil {
		progress = func(int, int) {}
	}
	f, err := newFitter(e, run, opt)
	if err != nil {
		return nil, err
	}
	end, err := f.descend(ctx, func(k int) { progress(min(k, fitSteps+1), fitSteps+2) })
	if err != nil {
		return nil, err
	}
	out, err := f.finish(end)
	progress(fitSteps+2, fitSteps+2)
	return out, err
}

// A fitter is a fit under way.
type fitter struct {
	e      *Engine
	run    []DynoPoint
	opt    FitOptions
	speeds []float64
	air    []int // points with an air flow
	warm   Warm
	taken  []float64 // values of the engine as it was taken
	y, u   []float64 // measured values and their standard uncertainties
	wide   float64   // ratio by which u was widened
	notes  []string
}

func newFitter(e *Engine, run []DynoPoint, opt FitOptions) (*fitter, error) {
	f := &fitter{e: e, opt: opt, wide: 1}
	if e.Motored {
		return nil, fmt.Errorf("%w: it is motored, and a run is fired", ErrFit)
	}
	if len(run) == 0 {
		return nil, fmt.Errorf("%w: the run has no points", ErrFit)
	}
	for i, p := range run {
		if !(p.Torque > 0) || p.AirFlow < 0 || i > 0 && p.Speed <= run[i-1].Speed {
			return nil, fmt.Errorf("%w: point %d (%.0f rpm, %g N·m, %g kg/s): speeds must rise and torque be above zero", ErrFit, i+1, p.Speed*60, p.Torque, p.AirFlow)
		}
	}
	n := min(len(run), fitMost)
	if n < len(run) {
		f.notes = append(f.notes, fmt.Sprintf("%d of the run's %d points were used, evenly spread", n, len(run)))
	}
	for k := range n {
		i := k
		if n < len(run) {
			i = k * (len(run) - 1) / (n - 1)
		}
		f.run = append(f.run, run[i])
		f.speeds = append(f.speeds, run[i].Speed)
	}
	if n < 4 {
		f.notes = append(f.notes, fmt.Sprintf("a run of %d points decides little", n))
	}
	for i, p := range f.run {
		if p.AirFlow > 0 {
			f.air = append(f.air, i)
		}
		f.y, f.u = append(f.y, p.Torque), append(f.u, opt.Noise*p.Torque)
	}
	for _, i := range f.air {
		f.y, f.u = append(f.y, f.run[i].AirFlow), append(f.u, opt.AirNoise*f.run[i].AirFlow)
	}
	return f, nil
}

// values lists torques and measured air flows of a pull as y does.
func (f *fitter) values(p []Point) []float64 {
	v := torques(p)
	for _, i := range f.air {
		v = append(v, p[i].AirFlow)
	}
	return v
}

// fine returns the values of the engine with deviates x on the fine mesh, started from the run before.
func (f *fitter) fine(ctx context.Context, x []float64) ([]float64, error) {
	p, err := Pull(ctx, f.opt.Unknowns.perturb(f.e, deviates(x), 0), f.speeds, Options{Workers: f.opt.Workers, Warm: &f.warm}, nil)
	if err != nil {
		return nil, err
	}
	return f.values(p), nil
}

// deviates returns the deviates of perturb: each round's own reading has none.
func deviates(x []float64) []float64 {
	z := make([]float64, unknownCount)
	copy(z, x[:fitEngine])
	return z
}

// scale returns the factor that the run puts on value i at deviates x [-], with the place and the size of its own deviate.
func (f *fitter) scale(i int, x []float64) (factor float64, at int, sd float64) {
	at, sd = fitScale, f.opt.Scale
	if i >= len(f.run) {
		at, sd = fitAir, f.opt.AirScale
	}
	return 1 + sd*x[at], at, sd
}

// model returns what the run would have read of an engine with the given values: times the scale errors at x.
func (f *fitter) model(values, x []float64) []float64 {
	m := slices.Clone(values)
	for i := range m {
		s, _, _ := f.scale(i, x)
		m[i] *= s
	}
	return m
}
