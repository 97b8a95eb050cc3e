package app

import (
	"context"

	"runnel/assess"
	"runnel/internal/fault"
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
		c.Readings = func(job.Job) (assess.Assessment, error) {
			return assess.Assessment{}, fault.Errorf(fault.Internal, "readings are not computed yet")
		}
	}
	if c.Solve == nil {
		c.Solve = func(context.Context, job.Job, func(string, int, int)) (assess.Assessment, error) {
			return assess.Assessment{}, fault.Errorf(fault.Internal, "the pull is not computed yet")
		}
	}
	return c
}
