package app

import (
	"context"
	"slices"

	"runnel/internal/fault"
	"runnel/job"
)

// undo takes the last thing that was kept back: a reading no longer counts, another record is taken out.
func (d *desk) undo(ctx context.Context) error {
	d.mu.Lock()
	k := d.kept
	s, err := sittingOf(d.facts, d.sitting)
	d.mu.Unlock()
	if err != nil {
		return err
	}
	if k == nil || k.Undone {
		last := slices.IndexFunc(s.Readings, func(r job.Reading) bool { return r.Void == "" })
		for i, r := range s.Readings {
			if r.Void == "" {
				last = i
			}
		}
		if last < 0 {
			return fault.Errorf(fault.Conflict, "there is nothing to undo")
		}
		k = &BenchKept{Task: StepReadings, ID: s.Readings[last].ID, Opening: s.Readings[last].Opening}
	}
	const why = "undone at the bench"
	switch k.Task {
	case StepReadings:
		err = d.app.Void(ctx, d.whatever(), k.ID, why)
	case StepZero:
		err = d.strikeZeros(ctx, k, why)
	default:
		n := map[string]int{StepLeakage: len(s.Leakage), StepCheck: len(s.Checks)}[k.Task]
		err = d.app.Strike(ctx, d.whatever(), k.Task, n-1, why)
	}
	if err != nil {
		return err
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	gone := *k
	gone.Undone = true
	d.kept, d.message, d.taking, d.task = &gone, "undone: "+orWord(map[string]string{StepReadings: k.ID}[k.Task], k.Task), nil, k.Task
	if s, err := sittingOf(d.facts, d.sitting); err == nil && k.Task == StepReadings {
		d.chosen = next(d.plan.queue(s), 0)
	}
	return nil
}

// strikeZeros takes the zeros out that were kept together.
func (d *desk) strikeZeros(ctx context.Context, k *BenchKept, why string) error {
	return d.app.record(ctx, d.whatever(), "zero taken out", why, func(_ job.Job, s *job.Sitting) error {
		s.Zero = slices.DeleteFunc(s.Zero, func(z job.ZeroRecord) bool { return z.At.Equal(k.At) })
		return nil
	})
}
