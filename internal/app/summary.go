package app

import (
	"context"
	"encoding/json"
	"sync"

	"runnel/internal/fault"
	"runnel/internal/store"
)

// summaries are the shorts of the jobs by the hash of their files, each made once, one after the other.
type summaries struct {
	mu  sync.Mutex
	all map[string]*making
	one sync.Mutex // held while one is made
}

// A making is a summary that is being made, or was.
type making struct {
	done chan struct{} // closed when it is there
	s    Summary
	err  error
}

func newSummaries() *summaries { return &summaries{all: map[string]*making{}} }

// of returns the making of a hash; the first who asks starts it aside.
func (s *summaries) of(hash string, aside func(func()), work func() (Summary, error)) *making {
	s.mu.Lock()
	defer s.mu.Unlock()
	m, ok := s.all[hash]
	if !ok {
		m = &making{done: make(chan struct{})}
		s.all[hash] = m
		aside(func() {
			s.one.Lock()
			defer s.one.Unlock()
			m.s, m.err = work()
			close(m.done)
		})
	}
	return m
}

// onto puts what is there onto a card.
func (m *making) onto(c *Card) {
	select {
	case <-m.done:
	default:
		c.Pending = true
		return
	}
	switch {
	case m.err == nil:
		c.Summary = m.s
	case fault.KindOf(m.err) == fault.Internal:
		c.Problem = "its readings could not be corrected; this is our fault, and the details are in the log"
	default:
		c.Problem = m.err.Error()
	}
}

// summary returns the kept summary of a job, or makes it from its readings.
func (a *App) summary(ctx context.Context, row store.Job) (Summary, error) {
	var s Summary
	data, ok, err := a.store.Assessment(ctx, key(row.Hash, optCard))
	if err != nil {
		return Summary{}, err
	}
	if ok && json.Unmarshal(data, &s) == nil {
		return s, nil
	}
	b, _, err := a.open(ctx, row.ID)
	if err != nil {
		return Summary{}, err
	}
	as, err := a.readings(b)
	if err != nil {
		return Summary{}, err
	}
	s = summarize(b.job, as)
	if data, err = json.Marshal(s); err != nil {
		return Summary{}, err
	}
	return s, a.store.KeepAssessment(ctx, key(row.Hash, optCard), data)
}
