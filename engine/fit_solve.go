package engine

import (
	"context"
	"fmt"
	"math"
	"slices"
)

// Steps of a fit.
const (
	fitSteps  = 4    // most Gauss–Newton steps
	fitNear   = 0.05 // a step shorter than this ends them [standard deviations]
	fitSlope  = 1.0  // half the distance between the two runs a slope is taken over [standard deviations]
	fitHalves = 3    // most times a step that makes it worse is halved
)

// Cycles of the runs that find the slopes: from the settled state of the engine as it was taken, and those whose mean is taken, since
// on a coarse mesh cycles differ by some tenths of a per cent and often in pairs.
const (
	fitSettle = 4
	fitMean   = 4
)

// A place is where a fit stands.
type place struct {
	x      []float64 // deviates
	values []float64 // of the fine pull there
	steps  int
	jac    [][]float64 // d values/dx, scales left out
}

// descend takes Gauss–Newton steps from no deviation and returns where they end.
func (f *fitter) descend(ctx context.Context, tell func(k int)) (p place, err error) {
	p.x = make([]float64, fitCount)
	if f.taken, err = f.fine(ctx, p.x); err != nil {
		return p, err
	}
	p.values = f.taken
	tell(1)
	if p.jac, err = f.slopes(ctx); err != nil {
		return p, err
	}
	for p.steps < fitSteps {
		moved, err := f.advance(ctx, &p)
		if err != nil {
			return p, err
		}
		p.steps++
		tell(1 + p.steps)
		if moved < fitNear {
			break
		}
	}
	return p, nil
}

// advance takes one step, halved while it makes the sum worse, and returns the most that a deviate moved.
func (f *fitter) advance(ctx context.Context, p *place) (moved float64, err error) {
	step, err := f.step(p)
	if err != nil {
		return 0, err
	}
	was := f.sum(p.values, p.x)
	for range fitHalves {
		next := make([]float64, len(step))
		for j := range next {
			next[j] = min(max(p.x[j]+step[j], -fitBound), fitBound)
			moved = max(moved, math.Abs(next[j]-p.x[j]))
		}
		if moved < fitNear/5 {
			return 0, nil
		}
		v, err := f.fine(ctx, next)
		if err != nil {
			return 0, err
		}
		if f.sum(v, next) <= was {
			p.x, p.values = next, v
			return moved, nil
		}
		for j := range step {
			step[j] /= 2
		}
		moved = 0
	}
	return 0, nil
}

// slopes returns d values/dx over one standard deviation to either side of no deviation, all runs side by side. The scales' slopes
// are left at zero: they follow from the values.
func (f *fitter) slopes(ctx context.Context) ([][]float64, error) {
	warm := &Warm{}
	if _, err := Pull(ctx, f.e, f.speeds, Options{Mesh: f.opt.Mesh, Workers: f.opt.Workers, Warm: warm}, nil); err != nil {
		return nil, err
	}
	var side [2][fitEngine][]float64
	err := each(ctx, 2*fitEngine, f.opt.Workers, func(ctx context.Context, k int) error {
		x := make([]float64, fitCount)
		x[k/2] = fitSlope * float64(2*(k%2)-1)
		v, err := f.steady(ctx, f.opt.Unknowns.perturb(f.e, deviates(x), 0), warm)
		side[k%2][k/2] = v
		return err
	})
	if err != nil {
		return nil, err
	}
	jac := make([][]float64, len(f.y))
	for i := range jac {
		jac[i] = make([]float64, fitCount)
		for j := range fitEngine {
			jac[i][j] = (side[1][j][i] - side[0][j][i]) / (2 * fitSlope)
		}
	}
	return jac, nil
}

// steady returns the values of an engine on the coarse mesh, each the mean of some cycles.
func (f *fitter) steady(ctx context.Context, e *Engine, from *Warm) ([]float64, error) {
	m, err := e.build(f.opt.Mesh)
	if err != nil {
		return nil, err
	}
	m.start()
	out := make([]Point, len(f.speeds))
	for i, n := range f.speeds {
		m.load(from.state[key(n)])
		m.set(n)
		for k := range fitSettle + fitMean {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			if err := m.cycle(); err != nil {
				return nil, err
			}
			if p := m.point(); k >= fitSettle {
				out[i].Torque += p.Torque / fitMean
				out[i].AirFlow += p.AirFlow / fitMean
			}
		}
	}
	return f.values(out), nil
}

// sum returns S [-] of an engine with the given values at x.
func (f *fitter) sum(values, x []float64) float64 {
	s := f.misfit(f.model(values, x))
	for _, v := range x {
		s += v * v
	}
	return s
}

func (f *fitter) misfit(m []float64) float64 {
	s := 0.0
	for i, y := range f.y {
		d := (y - m[i]) / (f.u[i] * f.wide)
		s += d * d
	}
	return s
}

// normal returns JᵀWJ + 1 and JᵀW(y − m) − x at a place.
func (f *fitter) normal(p *place) (a [][]float64, b []float64) {
	a, b = make([][]float64, fitCount), make([]float64, fitCount)
	for j := range a {
		a[j] = make([]float64, fitCount)
		a[j][j] = 1
		b[j] = -p.x[j]
	}
	m := f.model(p.values, p.x)
	row := make([]float64, fitCount)
	for i := range f.y {
		s, at, sd := f.scale(i, p.x)
		for j := range row {
			row[j] = p.jac[i][j] * s
		}
		row[at] = p.values[i] * sd
		w := 1 / (f.u[i] * f.wide * f.u[i] * f.wide)
		for j := range row {
			b[j] += w * row[j] * (f.y[i] - m[i])
			for k := range row {
				a[j][k] += w * row[j] * row[k]
			}
		}
	}
	return a, b
}

// step returns the Gauss–Newton step from a place, kept within the bounds.
func (f *fitter) step(p *place) ([]float64, error) {
	a, b := f.normal(p)
	return boundedStep(a, b, p.x)
}

// boundedStep solves A·step = b for a step from x that stays within the bounds: what would leave them is held there and the rest
// solved again.
func boundedStep(a [][]float64, b, x []float64) ([]float64, error) {
	n := len(b)
	held, step := make([]bool, n), make([]float64, n)
	for range n {
		l, err := cholesky(freed(a, held))
		if err != nil {
			return nil, err
		}
		rhs := slices.Clone(b)
		for j := range n {
			for k := range n {
				if held[k] && !held[j] {
					rhs[j] -= a[j][k] * step[k]
				}
			}
			if held[j] {
				rhs[j] = step[j]
			}
		}
		again := false
		for j, s := range solveCholesky(l, rhs) {
			if held[j] {
				continue
			}
			if step[j] = s; math.Abs(x[j]+s) > fitBound {
				step[j], held[j], again = math.Copysign(fitBound, x[j]+s)-x[j], true, true
			}
		}
		if !again {
			break
		}
	}
	return step, nil
}

// freed returns a copy of a with the rows and columns of what is held those of the unit matrix.
func freed(a [][]float64, held []bool) [][]float64 {
	out := make([][]float64, len(a))
	for j := range a {
		out[j] = slices.Clone(a[j])
		for k := range out[j] {
			if held[j] || held[k] {
				out[j][k] = 0
			}
		}
		if held[j] {
			out[j][j] = 1
		}
	}
	return out
}

// cholesky returns the lower factor of a symmetric positive definite matrix.
func cholesky(a [][]float64) ([][]float64, error) {
	n := len(a)
	l := make([][]float64, n)
	for i := range n {
		l[i] = make([]float64, n)
		for j := 0; j <= i; j++ {
			s := a[i][j]
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			if i != j {
				l[i][j] = s / l[j][j]
				continue
			}
			if !(s > 0) {
				return nil, fmt.Errorf("%w: the run does not fit together (row %d)", ErrFit, i+1)
			}
			l[i][i] = math.Sqrt(s)
		}
	}
	return l, nil
}

// solveCholesky returns x of L·Lᵀ·x = b.
func solveCholesky(l [][]float64, b []float64) []float64 {
	n := len(b)
	x := slices.Clone(b)
	for i := range n {
		for k := range i {
			x[i] -= l[i][k] * x[k]
		}
		x[i] /= l[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			x[i] -= l[k][i] * x[k]
		}
		x[i] /= l[i][i]
	}
	return x
}

// inverse returns A⁻¹ from the factor of A.
func inverse(l [][]float64) [][]float64 {
	n := len(l)
	out := make([][]float64, n)
	for j := range n {
		e := make([]float64, n)
		e[j] = 1
		out[j] = solveCholesky(l, e)
	}
	return out
}
