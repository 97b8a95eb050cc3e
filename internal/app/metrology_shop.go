package app

import (
	"context"
	"slices"
	"sync"
	"time"

	"runnel/internal/store"
	"runnel/job"
)

// A BenchChart is the history of a check plate on a bench, over all jobs that were flowed with it.
type BenchChart struct {
	Bench, Plate string // ids
	Title        string // of the bench
	Ours         bool   // it is the bench of the shop's card
	Chart        CheckChart
}

// A checkShelf holds the flows of the check plate by the hash of a job's files, so that the traces of a whole book are not read
// again for each look. A job with sittings has a bench card of its own, so that the hash says all.
type checkShelf struct {
	mu   sync.Mutex
	held recents[jobChecks]
}

func newCheckShelf() *checkShelf { return &checkShelf{held: newRecents[jobChecks](2 * mostHistory)} }

// jobChecks are the flows of the check plate in one job.
type jobChecks struct {
	bench, title string // of the bench card
	plate        job.CheckPlate
	points       []CheckPoint
	last         time.Time
}

func (a *App) jobChecks(ctx context.Context, row store.Job) (jobChecks, error) {
	a.checks.mu.Lock()
	k, ok := a.checks.held.get(row.Hash)
	a.checks.mu.Unlock()
	if ok {
		return k, nil
	}
	j, err := a.facts(ctx, row.ID, row.Revision, row.Hash)
	if err != nil {
		return jobChecks{}, err
	}
	k = jobChecks{bench: j.Bench.ID, title: j.Bench.Title, plate: j.Bench.CheckPlate}
	if k.points, err = checksOf(j); err != nil {
		return jobChecks{}, err
	}
	for _, p := range k.points {
		if p.At.After(k.last) {
			k.last = p.At
		}
	}
	a.checks.mu.Lock()
	defer a.checks.mu.Unlock()
	a.checks.held.put(row.Hash, k)
	return k, nil
}

// ShopCharts charts the check plate of every bench that the jobs kept here were flowed on, the shop's own first. What a point is
// follows from the job it was taken in, as ChartOf says; the limit is that of the card it was last flowed with.
func (a *App) ShopCharts(ctx context.Context) ([]BenchChart, error) {
	rows, err := a.store.Jobs(ctx)
	if err != nil {
		return nil, err
	}
	var all []jobChecks // one a bench and plate
	for _, row := range rows[:min(len(rows), mostHistory)] {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		k, err := a.jobChecks(ctx, row)
		if err != nil {
			a.log.Warn("control chart: a job is left out", "job", row.ID, "error", err)
			continue
		}
		if len(k.points) == 0 {
			continue
		}
		i := slices.IndexFunc(all, func(g jobChecks) bool { return g.bench == k.bench && g.plate.ID == k.plate.ID })
		if i < 0 {
			k.points = slices.Clone(k.points)
			all = append(all, k)
			continue
		}
		if k.last.After(all[i].last) {
			all[i].title, all[i].plate, all[i].last = k.title, k.plate, k.last
		}
		all[i].points = append(all[i].points, k.points...)
	}
	ours := a.cardOrNone(ctx)
	var out []BenchChart
	for _, g := range all {
		c, err := deviations(g.points, g.plate.Limit)
		if err != nil {
			return nil, invalid(err)
		}
		out = append(out, BenchChart{
			Bench: g.bench, Plate: g.plate.ID, Title: orWord(g.title, g.bench), Chart: c,
			Ours: ours.ID != "" && g.bench == ours.ID && g.plate.ID == ours.CheckPlate.ID,
		})
	}
	slices.SortStableFunc(out, func(x, y BenchChart) int {
		switch {
		case x.Ours == y.Ours:
			return 0
		case x.Ours:
			return -1
		}
		return 1
	})
	return out, nil
}
