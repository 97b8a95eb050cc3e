package engine

import (
	"context"
	"fmt"
	"math"
	"slices"
)

// finish makes the result of a fit that ended at p.
func (f *fitter) finish(p place) (*Fit, error) {
	cov, err := f.covariance(&p)
	if err != nil {
		return nil, err
	}
	out := &Fit{u: f.opt.Unknowns, Iterations: p.steps, Warnings: f.notes}
	left := max(float64(len(f.y))-decided(cov), 1)
	out.Misfit = math.Sqrt(f.misfit(f.model(p.values, p.x)) / left)
	if out.Misfit > 1 {
		f.wide = out.Misfit
		if err := f.yield(&p); err != nil {
			return nil, err
		}
		if cov, err = f.covariance(&p); err != nil {
			return nil, err
		}
	}
	out.Effective = decided(cov)
	if out.Misfit > 3 {
		out.Warnings = append(out.Warnings, fmt.Sprintf("the fitted engine scatters about the run %.1f times as much as the run's uncertainty lets expect: check the engine card and what the run was corrected to", out.Misfit))
	}
	out.z = deviates(p.x)
	engineCov := make([][]float64, fitEngine)
	for i := range engineCov {
		engineCov[i] = cov[i][:fitEngine]
	}
	if out.l, err = cholesky(engineCov); err != nil {
		return nil, err
	}
	f.report(out, p, cov)
	return out, nil
}

// yield takes a last step along the slopes, after the run's uncertainty was widened.
func (f *fitter) yield(p *place) error {
	step, err := f.step(p)
	if err != nil {
		return err
	}
	p.x, p.values = slices.Clone(p.x), slices.Clone(p.values)
	for j := range step {
		p.x[j] += step[j]
		for i := range p.values {
			p.values[i] += p.jac[i][j] * step[j]
		}
	}
	return nil
}

func (f *fitter) covariance(p *place) ([][]float64, error) {
	a, _ := f.normal(p)
	l, err := cholesky(a)
	if err != nil {
		return nil, err
	}
	return inverse(l), nil
}

// decided returns how many unknowns the run decided: what of the prior's variance is gone, summed [-].
func decided(cov [][]float64) float64 {
	n := 0.0
	for j := range cov {
		n += 1 - cov[j][j]
	}
	return n
}

// report fills in the unknowns and the points.
func (f *fitter) report(out *Fit, p place, cov [][]float64) {
	u, e := f.opt.Unknowns, f.e
	deg := 180 / math.Pi
	add := func(j int, name, unit string, prior, sd float64, factor bool) {
		k := FitUnknown{Name: name, Unit: unit, Prior: prior, PriorU: sd, Value: prior + sd*p.x[j], U: sd * math.Sqrt(cov[j][j])}
		if factor {
			k.Value = prior * math.Exp(sd*p.x[j])
			k.PriorU, k.U = prior*sd, k.Value*sd*math.Sqrt(cov[j][j])
		}
		k.AtBound = math.Abs(p.x[j]) >= fitBound*(1-1e-9)
		if k.AtBound {
			out.Warnings = append(out.Warnings, name+" stands at the bound of what is believable: check the engine card and the run")
		}
		out.Unknowns = append(out.Unknowns, k)
	}
	if e.Burn.Start == 0 {
		add(0, "half of the charge burned after top centre", "°", e.Burn.CA50*deg, u.CA50*deg, false)
	}
	add(1, "duration of burn, factor", "", 1, u.Duration, true)
	add(2, "heat to the cylinder walls, factor", "", max(e.Heat.Multiplier, 0), u.Heat, true)
	add(3, "friction, factor", "", orOne(e.Friction.Factor), u.Friction, true)
	add(4, "valve flow at low lift, factor", "", orOne(e.In.LowLift), u.LowLift, true)
	add(5, "intake wall temperature", "K", e.Inlet.WallTemp, u.Wall, false)
	add(6, "scale of the bench readings, factor", "", 1, u.ReadCommon, false)
	add(7, "cam, each event later in closing and earlier in opening", "°", 0, u.event(e)*deg, false)
	add(8, "heat set free by the burn, factor", "", 1, u.Release, true)
	add(fitScale, "scale of the run's torque, factor", "", 1, f.opt.Scale, false)
	if len(f.air) > 0 {
		add(fitAir, "scale of the run's air flow, factor", "", 1, f.opt.AirScale, false)
	}
	was, now := f.taken, p.values
	for i, r := range f.run {
		out.Points = append(out.Points, FitPoint{Speed: r.Speed, Torque: r.Torque, Before: was[i], After: now[i]})
	}
	for k, i := range f.air {
		q := &out.Points[i]
		q.Air, q.AirFrom, q.AirTo = f.run[i].AirFlow, was[len(f.run)+k], now[len(f.run)+k]
	}
}

func orOne(v float64) float64 {
	if v == 0 {
		return 1
	}
	return v
}

// Apply returns the engine with the fitted unknowns: the one that was fitted, or the same engine with other pieces. A nil Fit leaves
// the engine as it is.
func (f *Fit) Apply(e *Engine) *Engine {
	if f == nil {
		return e
	}
	return f.u.perturb(e, f.z, 0)
}

// disturb returns the engine, not yet fitted, with the fitted unknowns and a draw z of standard normal deviates of what remains
// unknown; own picks the round's own reading.
func (f *Fit) disturb(e *Engine, z []float64, own int) *Engine {
	q := make([]float64, unknownCount)
	copy(q[fitEngine:], z[fitEngine:])
	for i := range fitEngine {
		q[i] = f.z[i]
		for k := 0; k <= i; k++ {
			q[i] += f.l[i][k] * z[k]
		}
	}
	return f.u.perturb(e, q, own)
}

// disturber returns how a draw disturbs an engine: as the run has left it unknown, or by the spread u where there is no run.
func (f *Fit) disturber(u Unknowns) func(e *Engine, z []float64, own int) *Engine {
	if f == nil {
		return u.perturb
	}
	return f.disturb
}

// Bands computes what the function Bands does, with what a run has taught: a and b are the fine pulls of the fitted engines, but
// before and after are handed over as they were before Apply. A nil Fit knows nothing more. opt.Unknowns counts only for a nil Fit.
func (f *Fit) Bands(ctx context.Context, before, after *Engine, a, b []Point, opt BandOptions) ([]BandPoint, error) {
	opt = opt.filled()
	if err := sameSpeeds(a, b); err != nil {
		return nil, err
	}
	speeds := pick(a, opt.Speeds)
	draws, dev, err := deviations(ctx, []*Engine{before, after}, speeds, opt, f.Apply, f.disturber(opt.Unknowns))
	if err != nil {
		return nil, err
	}
	return bandPoints(a, b, speeds, draws, dev), nil
}

// Band computes the 95 % band of the torque of one engine around its fine pull, as Bands does for two. The engine is handed over as
// it was before Apply, p is the pull of the fitted one. A nil Fit knows nothing but the priors. Errors: as Bands.
func (f *Fit) Band(ctx context.Context, e *Engine, p []Point, opt BandOptions) ([]Interval, error) {
	opt = opt.filled()
	if err := sameSpeeds(p, p); err != nil {
		return nil, err
	}
	speeds := pick(p, opt.Speeds)
	draws, dev, err := deviations(ctx, []*Engine{e}, speeds, opt, f.Apply, f.disturber(opt.Unknowns))
	if err != nil {
		return nil, err
	}
	out := make([]Interval, len(p))
	for i, b := range bandPoints(p, p, speeds, draws, dev) {
		out[i] = b.Before
	}
	return out, nil
}
