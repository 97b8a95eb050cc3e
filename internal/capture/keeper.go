package capture

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"time"
)

// A Chunk is half a second of one source on its way to disk.
type Chunk struct {
	Source   string          // name of the source
	Channels []string        // of the bench card
	Times    []time.Duration // monotonic time of each sample, by the session's clock
	Wall     time.Time       // wall clock at the last sample
	Values   [][]float64     // Values[i] are the samples of Channels[i], in the unit of the sensor; NaN: not read
}

// waitAtMost is how many samples may wait in memory for a disk that is full; the oldest go first.
const waitAtMost = 8_000_000

// A keeper gathers samples and hands them to Keep.
type keeper struct {
	keep func(context.Context, []Chunk) error

	writing sync.Mutex // one Keep at a time
	mu      sync.Mutex
	open    []Chunk // being filled
	queue   []Chunk // closed and not kept yet
	wait    int     // samples in open and queue
	dropped int     // samples that had to go
	err     error
}

func newKeeper(keep func(context.Context, []Chunk) error) *keeper { return &keeper{keep: keep} }

// add appends a batch to the open chunk of its source.
func (k *keeper) add(source string, b Batch) {
	if k.keep == nil {
		return
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	i := slices.IndexFunc(k.open, func(c Chunk) bool { return c.Source == source && slices.Equal(c.Channels, b.Channels) })
	if i < 0 {
		k.open = append(k.open, Chunk{Source: source, Channels: b.Channels, Values: make([][]float64, len(b.Channels))})
		i = len(k.open) - 1
	}
	c := &k.open[i]
	c.Times, c.Wall = append(c.Times, b.Times...), b.Wall
	for j := range c.Values {
		c.Values[j] = append(c.Values[j], b.Values[j]...)
	}
	k.wait += len(b.Times) * len(b.Channels)
}

// free reports whether nothing is being written at the moment.
func (k *keeper) free() bool {
	if !k.writing.TryLock() {
		return false
	}
	k.writing.Unlock()
	return true
}

// flush hands over everything that came so far and returns when it is kept.
func (k *keeper) flush(ctx context.Context) error {
	if k.keep == nil {
		return nil
	}
	k.writing.Lock()
	defer k.writing.Unlock()
	k.mu.Lock()
	k.queue = append(k.queue, k.open...)
	k.open = nil
	for k.wait > waitAtMost && len(k.queue) > 0 {
		n := size(k.queue[:1])
		k.queue, k.wait, k.dropped = k.queue[1:], k.wait-n, k.dropped+n
	}
	queue := k.queue
	k.mu.Unlock()
	if len(queue) == 0 {
		return nil
	}
	err := k.keep(ctx, queue)
	k.mu.Lock()
	defer k.mu.Unlock()
	if ctx.Err() == nil {
		k.err = err
	}
	if err == nil {
		k.queue, k.wait = nil, k.wait-size(queue)
	}
	return err
}

func size(chunks []Chunk) int {
	n := 0
	for _, c := range chunks {
		n += len(c.Times) * len(c.Channels)
	}
	return n
}

// trouble says why samples are not kept; the text is empty when they are.
func (k *keeper) trouble() (Kind, string) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.err == nil {
		return "", ""
	}
	text := fmt.Sprintf("%d samples wait in memory: %v", k.wait, k.err)
	if k.dropped > 0 {
		text = fmt.Sprintf("%d samples are lost, %s", k.dropped, text)
	}
	kind := keepingKind(k.err)
	if kind == DiskFull {
		text = "make room on the disk; " + text
	}
	return kind, text
}

func (k *keeper) waiting() int {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.wait
}

func (s *Session) flush(ctx context.Context) error { return s.keeper.flush(ctx) }

// Flush keeps everything that has come so far and returns when it is on disk: call it before a reading is said to be taken.
func (s *Session) Flush(ctx context.Context) error { return s.flush(ctx) }
