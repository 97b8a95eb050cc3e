package app

import (
	"sync"

	"runnel/assess"
	"runnel/job"
)

// pastReadings keeps the corrected readings of the jobs in use by what they follow from: a station that is typed or cut from a mesh changes the
// job, but no reading.
type pastReadings struct {
	mu   sync.Mutex
	held recents[assess.Assessment] // by the content hash of the job without its sections
}

func newPastReadings() *pastReadings {
	return &pastReadings{held: newRecents[assess.Assessment](shelfSize)}
}

// of returns the readings of a book, computing them only when no job with the same facts beside its sections has been seen of late. What
// computes them is not shown the sections, so that they cannot depend on them.
func (c *pastReadings) of(b *book, compute func(job.Job) (assess.Assessment, error)) (assess.Assessment, error) {
	bare, facts := b.bare()
	if a, ok := c.get(facts); ok {
		return a, nil
	}
	a, err := compute(bare)
	if err != nil {
		return a, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.held.put(facts, a)
	return a, nil
}

func (c *pastReadings) get(facts string) (assess.Assessment, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.held.get(facts)
}

// withoutSections returns a job without what is known of its passages. Neither readings nor the pull are shown more, so that neither can depend
// on a station, and neither is computed again for one.
func withoutSections(j job.Job) job.Job {
	j.Sections = nil
	pieces := make([]job.Piece, len(j.Pieces))
	for i, p := range j.Pieces {
		p.Sections = nil
		pieces[i] = p
	}
	j.Pieces = pieces
	return j
}
