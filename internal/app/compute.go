package app

import (
	"context"

	"runnel/assess"
	"runnel/job"
)

// A Compute turns facts into what is derived from them. Tests give their own, to hold it up or to let it fail.
type Compute struct {
	// Readings is the quick part: everything but the pull.
	Readings func(job.Job) (assess.Assessment, error)
	// Solve is the whole. It tells progress how far it is, from any goroutine.
	Solve func(ctx context.Context, j job.Job, progress func(stage string, done, total int)) (assess.Assessment, error)
}

// orAssess fills in what package assess does.
func (c Compute) orAssess() Compute {
	if c.Readings == nil {
		c.Readings = assess.Readings
	}
	if c.Solve == nil {
		c.Solve = func(ctx context.Context, j job.Job, progress func(stage string, done, total int)) (assess.Assessment, error) {
			return assess.Solve(ctx, j, progress)
		}
	}
	return c
}
