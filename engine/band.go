package engine

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"runnel/measure"
)

// An Unknowns is how far what is not known of an engine may lie from what was taken: standard deviations, but for the wall, and of
// readings. Shares are relative.
type Unknowns struct {
	CA50        float64 // half-burned angle [rad]
	Duration    float64 // duration of burn [-]
	Heat        float64 // heat-transfer coefficient [-]
	Friction    float64 // friction [-]
	LowLift     float64 // valve flow below L/D 0.15 [-]
	Wall        float64 // intake wall temperature [K]
	Event       float64 // each cam event stated at a lift, or of a lift table [rad]
	SeatEvent   float64 // each cam event stated at the seat [rad]
	Release     float64 // heat set free by the burn, with what the model leaves out [-]
	ReadCommon  float64 // what all readings share: meter, plate [-]
	ReadOwn     float64 // what each round has of its own [-]
	NotMeasured float64 // valve flow at all lifts, when typical values stand for a reading [-]
}

// DefaultUnknowns returns the spread taken where the user says nothing: common practice, no source. That of the heat set free stands for what one
// zone and a law of burning leave out; it was chosen so that the published small engine of the outside checks lies within its bands on ethanol, which is therefore no check of it.
func DefaultUnknowns() Unknowns {
	return Unknowns{
		CA50: 2 * math.Pi / 180, Duration: 0.10, Heat: 0.15, Friction: 0.10, LowLift: 0.08, Wall: 10,
		Event: math.Pi / 180, SeatEvent: 3 * math.Pi / 180, Release: 0.05,
		ReadCommon: 0.005, ReadOwn: 0.004, NotMeasured: 0.06,
	}
}

// event is how far each cam event of an engine may lie off [rad].
func (u Unknowns) event(e *Engine) float64 {
	if e.AtSeat {
		return u.SeatEvent
	}
	return u.Event
}

// BandOptions say how a band is found. The zero value takes the defaults, but for Rand, which must be given.
type BandOptions struct {
	Unknowns Unknowns // zero: DefaultUnknowns
	Samples  int      // draws; 0: 24
	Speeds   int      // speeds at which the draws are run, spread over the pull's; 0: 4. Between them the deviation is interpolated
	Mesh     float64  // [m]; 0: 0.045
	Workers  int      // 0: one a core. It does not change the result
	Rand     *rand.Rand
}

// An Interval is a 95 % interval around a value.
type Interval struct {
	Value float64 // as computed [the unit of the quantity]
	Lo    float64 // lower end [as Value]
	Hi    float64 // upper end [as Value]
}

// A BandPoint is the bands at one speed.
type BandPoint struct {
	Speed  float64  // [rev/s]
	Before Interval // torque before [N·m]
	After  Interval // torque after [N·m]
	Gain   Interval // torque after less before [N·m]
}

// unknownCount is the number of what is drawn; the last two are each round's own reading.
const (
	unknownCount = 11
	ownReading   = unknownCount - 2
)

// perturb returns the engine with the draw z of standard normal deviates; own picks the round's own reading.
func (u Unknowns) perturb(e *Engine, z []float64, own int) *Engine {
	flow := 1 + u.ReadCommon*z[6] + u.ReadOwn*z[ownReading+own]
	event := u.event(e)
	return e.With(func(e *Engine) {
		e.Burn.CA50 += u.CA50 * z[0]
		if e.Burn.Start != 0 {
			e.Burn.Start -= u.CA50 * z[0]
		}
		e.Intake, e.Exhaust = e.Intake.Change(0, 2*event*z[7], 1), e.Exhaust.Change(0, 2*event*z[7], 1)
		e.Burn.Complete *= math.Exp(u.Release * z[8])
		if e.Burn.Stretch == 0 {
			e.Burn.Stretch = 1
		}
		e.Burn.Stretch *= math.Exp(u.Duration * z[1])
		e.Heat.Multiplier *= math.Exp(u.Heat * z[2])
		if e.Friction.Factor == 0 {
			e.Friction.Factor = 1
		}
		e.Friction.Factor *= math.Exp(u.Friction * z[3])
		for _, v := range []*ValveFlow{&e.In, &e.Out} {
			if v.LowLift == 0 {
				v.LowLift = 1
			}
			v.LowLift *= math.Exp(u.LowLift * z[4])
			if len(v.Measured) == 0 && v.Constant == 0 {
				v.Scale = math.Exp(u.NotMeasured * z[4])
			} else if len(v.Measured) > 0 {
				v.Scale = flow
			}
		}
		e.Inlet.WallTemp += u.Wall * z[5]
		e.Inlet.PortTemp += u.Wall * z[5]
		for i := range e.Inlet.Runners {
			r := &e.Inlet.Runners[i]
			if r.Loss > 0 {
				// The loss with which the runner would flow that much more or less: (1+K)/A² follows 1/Ae².
				r.Loss = max((1+r.Loss)/(flow*flow)-1, 0)
			}
		}
	})
}

// Bands computes the 95 % bands of the torque of the engine before and after, and of the difference, around the given fine pulls
// of both, which are at the same speeds. What is not known is drawn by Latin hypercube in common for both engines, so that it cancels in
// the difference as far as it does in truth; each round's own reading is drawn apart. Every draw runs both engines on a coarse mesh from
// the settled state of the undisturbed one, for three cycles; its deviation from that one is put onto the fine pull.
//
//	d_s = b₀ + Σ b_j·z_sj + r_s,  u² = Σ (b_j² − s_r²·C_jj) + s_r²·(1 + 1/N)
//	band = value + b₀ ± t(0.975, ν)·u, the value itself within
//
// The slopes b by least squares, C the inverse of their normal matrix, so that the width is the engine's and hardly that of the N draws; s_r is
// what the slopes leave, of N − 12 degrees of freedom, ν by Welch–Satterthwaite with the spreads taken as known. With fewer than sixteen
// draws u² is the draws' own variance times 1 + 1/N, ν = N − 1. It promises no absolute power: an error of the model that is not among the
// unknowns is not in it. Source: linear regression and JCGM 100:2008, 5.1.2 and G.4. Errors: as Pull; ErrSpeeds when the pulls differ in their speeds.
func Bands(ctx context.Context, before, after *Engine, a, b []Point, opt BandOptions) ([]BandPoint, error) {
	return (*Fit)(nil).Bands(ctx, before, after, a, b, opt)
}

func sameSpeeds(a, b []Point) error {
	if len(a) != len(b) || len(a) == 0 {
		return fmt.Errorf("%w: %d points before, %d after", ErrSpeeds, len(a), len(b))
	}
	for i := range a {
		if a[i].Speed != b[i].Speed || i > 0 && a[i].Speed <= a[i-1].Speed {
			return fmt.Errorf("%w: the pulls before and after are not at the same rising speeds", ErrSpeeds)
		}
	}
	return nil
}

// deviations runs one or two engines with draws in common and returns by how much the torque of each draw at the speeds [rev/s]
// differs from that of the undisturbed engine [N·m]; one engine stands for both.
func deviations(ctx context.Context, engines []*Engine, speeds []float64, opt BandOptions, calm func(*Engine) *Engine,
	disturb func(e *Engine, z []float64, own int) *Engine,
) (draws [][]float64, dev [][2][]float64, err error) {
	draws = latin(opt.Samples, unknownCount, opt.Rand)
	run := Options{Mesh: opt.Mesh, Tolerance: 2e-3, MaxCycles: 20, Workers: opt.Workers}
	base, warm := make([][]float64, len(engines)), make([]*Warm, len(engines))
	for k, e := range engines {
		warm[k] = &Warm{}
		o := run
		o.Warm = warm[k]
		p, err := Pull(ctx, calm(e), speeds, o, nil)
		if err != nil {
			return nil, nil, err
		}
		base[k] = torques(p)
	}
	dev = make([][2][]float64, opt.Samples)
	err = each(ctx, len(engines)*opt.Samples, opt.Workers, func(ctx context.Context, j int) error {
		s, k := j/len(engines), j%len(engines)
		o := run
		o.Workers, o.MaxCycles, o.Warm = 1, history, &Warm{state: warm[k].state, readOnly: true}
		p, err := Pull(ctx, disturb(engines[k], draws[s], k), speeds, o, nil)
		if err != nil {
			return err
		}
		t := torques(p)
		for i := range t {
			t[i] -= base[k][i]
		}
		dev[s][k] = t
		return nil
	})
	if len(engines) == 1 {
		for s := range dev {
			dev[s][1] = dev[s][0]
		}
	}
	return draws, dev, err
}

func (o BandOptions) filled() BandOptions {
	if o.Rand == nil {
		panic("engine: Bands needs a random source")
	}
	if o.Unknowns == (Unknowns{}) {
		o.Unknowns = DefaultUnknowns()
	}
	if o.Samples == 0 {
		o.Samples = 24
	}
	if o.Speeds == 0 {
		o.Speeds = 4
	}
	if o.Mesh == 0 {
		o.Mesh = 0.045
	}
	return o
}

func torques(p []Point) []float64 {
	t := make([]float64, len(p))
	for i := range p {
		t[i] = p[i].Torque
	}
	return t
}

// pick returns n of the points' speeds, evenly spread, the ends within.
func pick(p []Point, n int) []float64 {
	n = min(n, len(p))
	out := make([]float64, n)
	for i := range n {
		k := 0
		if n > 1 {
			k = int(math.Round(float64(i) * float64(len(p)-1) / float64(n-1)))
		}
		out[i] = p[k].Speed
	}
	return out
}

// bandPoints puts the deviations of the draws onto the fine pulls.
func bandPoints(a, b []Point, speeds []float64, draws [][]float64, dev [][2][]float64) []BandPoint {
	out := make([]BandPoint, len(a))
	spread := newRegression(draws)
	column := func(i int, f func(d [2][]float64) []float64) (mean, half float64) {
		v := make([]float64, len(dev))
		for s := range dev {
			v[s] = lerp(speeds, f(dev[s]), a[i].Speed)
		}
		return spread.half(v)
	}
	around := func(v, mean, half float64) Interval {
		return Interval{Value: v, Lo: min(v, v+mean-half), Hi: max(v, v+mean+half)}
	}
	for i := range a {
		p := BandPoint{Speed: a[i].Speed}
		m, h := column(i, func(d [2][]float64) []float64 { return d[0] })
		p.Before = around(a[i].Torque, m, h)
		m, h = column(i, func(d [2][]float64) []float64 { return d[1] })
		p.After = around(b[i].Torque, m, h)
		m, h = column(i, func(d [2][]float64) []float64 {
			g := make([]float64, len(d[0]))
			for k := range g {
				g[k] = d[1][k] - d[0][k]
			}
			return g
		})
		p.Gain = around(b[i].Torque-a[i].Torque, m, h)
		out[i] = p
	}
	return out
}

// lerp returns y at v, straight between the points x.
func lerp(x, y []float64, v float64) float64 {
	for i := 1; i < len(x); i++ {
		if v <= x[i] {
			f := max((v-x[i-1])/(x[i]-x[i-1]), 0)
			return y[i-1] + f*(y[i]-y[i-1])
		}
	}
	return y[len(y)-1]
}

// latin returns n draws of d standard normal deviates: each of n equal slices of probability once in every column.
func latin(n, d int, r *rand.Rand) [][]float64 {
	out := make([][]float64, n)
	for i := range out {
		out[i] = make([]float64, d)
	}
	for j := range d {
		for i, k := range r.Perm(n) {
			out[i][j] = measure.NormalQuantile((float64(k) + r.Float64()) / float64(n))
		}
	}
	return out
}
