package engine

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// ErrSpeeds means that the speeds asked for cannot be run.
var ErrSpeeds = errors.New("speeds cannot be run")

// chainLength is how many speeds one machine runs in a row, each warm-started from the one before, when nothing else is known. It is
// fixed, so that the result does not depend on how many workers there are.
const chainLength = 3

// sketchMesh is the cell length [m] of the sketch a finer pull is started from: a cycle of it costs a fraction of a fine one, and
// it settles what takes many cycles, the heat and the gas in the pipes.
const sketchMesh = 0.045

// sketchCycles is the most cycles of a sketch: some speeds of it wander for ever by a few thousandths, which more cycles do not help.
const sketchCycles = 6

// Pull computes the engine at the given speeds [rev/s], in any order, and returns one point for each in that order. progress, if
// not nil, is told how many are done; it may be called from several goroutines, one at a time.
//
// A pull on a fine mesh is started from a sketch of itself on a coarse one. A point that did not settle is marked, not left out.
// Errors: ErrEngine, ErrForced, ErrSpeeds, wave.ErrStep, or that of ctx.
func Pull(ctx context.Context, e *Engine, speeds []float64, opt Options, progress func(done, total int)) ([]Point, error) {
	opt = opt.filled()
	if err := checkSpeeds(e, speeds); err != nil {
		return nil, err
	}
	if err := e.Check(); err != nil {
		return nil, err
	}
	g, err := e.gases()
	if err != nil {
		return nil, err
	}
	p := &puller{e: e, g: g, speeds: speeds, opt: opt, out: make([]Point, len(speeds))}
	p.was, p.left = opt.Warm.states(speeds)
	if p.was == nil && opt.Mesh < 0.6*sketchMesh {
		s := &puller{e: e, g: g, speeds: speeds, opt: opt, out: make([]Point, len(speeds)), left: make([]*warmState, len(speeds))}
		s.opt.Mesh, s.opt.Tolerance, s.opt.MaxCycles = sketchMesh, 5e-3, min(opt.MaxCycles, sketchCycles)
		if err := s.run(ctx); err != nil {
			return nil, err
		}
		p.was = s.left
	}
	p.progress = progress
	if err := p.run(ctx); err != nil {
		return nil, err
	}
	opt.Warm.keep(speeds, p.left)
	return p.out, nil
}

// A puller is one pull under way.
type puller struct {
	e         *Engine
	g         *gases
	speeds    []float64
	opt       Options
	was, left []*warmState // states to start from and to leave; nil: none
	out       []Point
	progress  func(done, total int)
	mu        sync.Mutex
	done      int
}

// run computes all speeds: each on its own where all have a state to start from, else in chains.
func (p *puller) run(ctx context.Context) error {
	length := 1
	if slices.Contains(p.was, nil) || p.was == nil {
		length = chainLength
	}
	order := ascending(p.speeds)
	chains := (len(order) + length - 1) / length
	return each(ctx, chains, p.opt.Workers, func(ctx context.Context, k int) error {
		return p.chain(ctx, order[k*length:min((k+1)*length, len(order))])
	})
}

// chain runs the speeds of the given indices on one machine.
func (p *puller) chain(ctx context.Context, index []int) error {
	m, err := p.e.buildWith(p.g, p.opt)
	if err != nil {
		return err
	}
	m.start()
	for _, i := range index {
		if p.was != nil {
			m.load(p.was[i])
		}
		m.set(p.speeds[i])
		q, err := m.settle(ctx, p.opt)
		if err != nil {
			return err
		}
		q.Guides = p.e.guides(q)
		p.out[i] = q
		if p.left != nil {
			p.left[i] = m.save()
		}
		p.tick()
	}
	return nil
}

func (p *puller) tick() {
	if p.progress == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.done++
	p.progress(p.done, len(p.speeds))
}

// fastestPiston is a mean piston speed beyond that of any engine [m/s]: racing engines reach 25 to 28, common practice, no source.
const fastestPiston = 40.0

func checkSpeeds(e *Engine, speeds []float64) error {
	if len(speeds) == 0 {
		return fmt.Errorf("%w: none given", ErrSpeeds)
	}
	for _, n := range speeds {
		if !(n >= 3 && n <= 500) {
			return fmt.Errorf("%w: %.0f rpm: write speeds from 180 to 30000 rpm", ErrSpeeds, n*60)
		}
		if e.RedLine > 0 && n > e.RedLine*1.25 {
			return fmt.Errorf("%w: %.0f rpm is more than a quarter above the red line of %.0f rpm: write speeds up to %.0f rpm", ErrSpeeds, n*60, e.RedLine*60, math.Floor(e.RedLine*75))
		}
		if sp := 2 * e.Crank.Stroke * n; sp > fastestPiston {
			return fmt.Errorf("%w: at %.0f rpm the piston would go %.0f m/s on average: write speeds up to %.0f rpm", ErrSpeeds, n*60, sp, math.Floor(30*fastestPiston/e.Crank.Stroke))
		}
	}
	return nil
}

// ascending returns the indices of v in rising order of value.
func ascending(v []float64) []int {
	idx := make([]int, len(v))
	for i := range idx {
		idx[i] = i
	}
	for i := 1; i < len(idx); i++ {
		for j := i; j > 0 && v[idx[j]] < v[idx[j-1]]; j-- {
			idx[j], idx[j-1] = idx[j-1], idx[j]
		}
	}
	return idx
}

// each runs job 0…n−1 on the given number of workers (0: one a core) and returns the error of the lowest job that failed.
func each(ctx context.Context, n, workers int, job func(ctx context.Context, k int) error) error {
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	errs := make([]error, n)
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(workers, n) {
		wg.Go(func() {
			for {
				k := int(next.Add(1)) - 1
				if k >= n {
					return
				}
				if errs[k] = job(ctx, k); errs[k] != nil {
					cancel()
					return
				}
			}
		})
	}
	wg.Wait()
	var first error
	for _, err := range errs {
		if err != nil && (first == nil || errors.Is(first, context.Canceled)) {
			first = err
		}
	}
	if first == nil {
		return ctx.Err()
	}
	return first
}
