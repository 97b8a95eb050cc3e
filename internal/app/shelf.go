package app

import (
	"sync"

	"runnel/assess"
	"runnel/job"
)

// A shelf holds the few jobs in use, read and with their readings corrected, by the hash of their files.
type shelf struct {
	mu   sync.Mutex
	held recents[*book]
}

// shelfSize is how many jobs are held: a porter has one or two open, and a job with its traces takes a few megabytes.
const shelfSize = 6

// A book is one job on the shelf. Each part is computed once, by the first who asks.
type book struct {
	hash string
	shop string // state of the shop's bench card it was read with; empty: its own
	job  job.Job
	bare func() (j job.Job, facts string) // see withoutSections

	once     sync.Once
	readings assess.Assessment
	err      error

	mu    sync.Mutex
	whole *assess.Assessment
}

// facts is the content hash of what the readings and the pull follow from.
func (b *book) facts() string {
	_, facts := b.bare()
	return facts
}

func newShelf() *shelf { return &shelf{held: newRecents[*book](shelfSize)} }

func (s *shelf) get(hash string) (*book, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.held.get(hash)
}

// put shelves a job and returns its book; the one that is there already wins, unless it was read with another bench card of the
// shop.
func (s *shelf) put(hash, shop string, j job.Job) *book {
	s.mu.Lock()
	defer s.mu.Unlock()
	if b, ok := s.held.get(hash); ok && b.shop == shop {
		return b
	}
	b := &book{hash: hash, shop: shop, job: j}
	b.bare = sync.OnceValues(func() (job.Job, string) {
		bare := withoutSections(j)
		facts, err := bare.ContentHash()
		if err != nil { // a job that cannot be written can still be read
			facts = hash + shop
		}
		return bare, facts
	})
	s.held.put(hash, b)
	return b
}

func (b *book) known() (assess.Assessment, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.whole == nil {
		return assess.Assessment{}, false
	}
	return *b.whole, true
}

func (b *book) learn(whole assess.Assessment) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.whole = &whole
}
