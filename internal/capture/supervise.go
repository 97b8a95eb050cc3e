package capture

import (
	"context"
	"time"
)

// Waits between attempts to reach a device that is lost: the first, and the longest after doubling.
const (
	firstWait = 250 * time.Millisecond
	lastWait  = 5 * time.Second
)

// supervise runs a source again and again until the context ends or nothing more will come. lost is told of every end with
// an error.
func supervise(ctx context.Context, src Source, emit func(Batch), lost func(error)) {
	wait := firstWait
	for ctx.Err() == nil {
		came := false
		err := src.Run(ctx, func(b Batch) {
			came = true
			emit(b)
		})
		if err == nil || ctx.Err() != nil {
			return
		}
		lost(err)
		if came {
			wait = firstWait
		}
		if !sleep(ctx, wait) {
			return
		}
		wait = min(2*wait, lastWait)
	}
}

// sleep waits, and reports whether the context still runs.
func sleep(ctx context.Context, d time.Duration) bool {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-t.C:
		return true
	}
}
