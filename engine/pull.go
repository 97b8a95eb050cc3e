package engine

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
)

// ErrSpeeds means that the speeds asked for cannot be run.
var ErrSpeeds = errors.New("speeds cannot be run")

// chainLength is how many speeds one machine runs in a row, each warm-started from the one before. It is fixed, so that the result
// does not depend on how many workers there are.
const chainLength = 3

// Pull computes the engine at the given speeds [rev/s], in any order, and returns one point for each in that order. progress, if
// not nil, is told how many are done; it may be called from several goroutines, one at a time.
//
// A point that did not settle is marked, not left out. Errors: ErrEngine, ErrForced, ErrSpeeds, wave.ErrStep, or that of ctx.
func Pull(ctx context.Context, e *Engine, speeds []float64, opt Options, progress func(done, total int)) ([]Point, error) {
	opt = opt.filled()
	if err := checkSpeeds(e, speeds); err != nil {
		return nil, err
	}
	if err := e.Check(); err != nil {
		return nil, err
	}
	order := ascending(speeds)
	out := make([]Point, len(speeds))
	was, left := opt.Warm.states(speeds)
	var mu sync.Mutex
	done := 0
	chain := func(ctx context.Context, from int) error {
		return e.chain(ctx, speeds, order[from:min(from+chainLength, len(order))], out, was, left, opt, func() {
			if progress == nil {
				return
			}
			mu.Lock()
			defer mu.Unlock()
			done++
			progress(done, len(speeds))
		})
	}
	chains := (len(order) + chainLength - 1) / chainLength
	err := each(ctx, chains, opt.Workers, func(ctx context.Context, k int) error { return chain(ctx, k*chainLength) })
	if err != nil {
		return nil, err
	}
	opt.Warm.keep(speeds, left)
	return out, nil
}

// chain runs the speeds of the given indices on one machine.
func (e *Engine) chain(ctx context.Context, speeds []float64, index []int, out []Point, was, left []*warmState, opt Options, tick func()) error {
	m, err := e.build(opt.Mesh)
	if err != nil {
		return err
	}
	m.start()
	for _, i := range index {
		if was != nil {
			m.load(was[i])
		}
		m.set(speeds[i])
		p, err := m.settle(ctx, opt)
		if err != nil {
			return err
		}
		p.Guides = e.guides(p)
		out[i] = p
		if left != nil {
			left[i] = m.save()
		}
		tick()
	}
	return nil
}

func checkSpeeds(e *Engine, speeds []float64) error {
	if len(speeds) == 0 {
		return fmt.Errorf("%w: none given", ErrSpeeds)
	}
	for _, n := range speeds {
		if !(n >= 3 && n <= 500) {
			return fmt.Errorf("%w: %.0f rpm, wanted 180 to 30000 rpm", ErrSpeeds, n*60)
		}
		if e.RedLine > 0 && n > e.RedLine*1.25 {
			return fmt.Errorf("%w: %.0f rpm is more than a quarter above the red line of %.0f rpm", ErrSpeeds, n*60, e.RedLine*60)
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
