package live

import (
	"context"
	"errors"
	"sync"
)

// ErrClosed is what a watcher gets when the hub has been closed and nothing is left.
var ErrClosed = errors.New("nothing more will be published")

// A Hub is a ring that is published to. Its methods may be called from any goroutine.
type Hub[T any] struct {
	mu      sync.Mutex
	ring    []T
	next    uint64        // how many were published
	changed chan struct{} // closed at the next change
	closed  bool
	watch   int
}

// NewHub keeps the last keep values. For a minute of frames at 20 Hz that is 1200.
func NewHub[T any](keep int) *Hub[T] {
	if keep < 1 {
		panic("live: a hub keeps at least one value")
	}
	return &Hub[T]{ring: make([]T, keep), changed: make(chan struct{})}
}

// Publish hands a value to whoever watches. It never waits. After Close it does nothing.
func (h *Hub[T]) Publish(v T) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed {
		return
	}
	h.ring[h.next%uint64(len(h.ring))] = v
	h.next++
	close(h.changed)
	h.changed = make(chan struct{})
}

// Close ends the hub: watchers get what is left and then ErrClosed.
func (h *Hub[T]) Close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	if !h.closed {
		h.closed = true
		close(h.changed)
	}
}

// Watching is how many watch.
func (h *Hub[T]) Watching() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.watch
}

// Latest returns the last value; ok is false before the first.
func (h *Hub[T]) Latest() (v T, ok bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.next == 0 {
		return v, false
	}
	return h.ring[(h.next-1)%uint64(len(h.ring))], true
}

// Watch joins. The first Next returns everything the ring holds. Close the watcher when done.
func (h *Hub[T]) Watch() *Watcher[T] {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.watch++
	return &Watcher[T]{hub: h, next: h.oldest()}
}

// oldest is the number of the oldest value in the ring.
func (h *Hub[T]) oldest() uint64 {
	if n := uint64(len(h.ring)); h.next > n {
		return h.next - n
	}
	return 0
}

// A Watcher is one that looks on. It is used by one goroutine.
type Watcher[T any] struct {
	hub    *Hub[T]
	next   uint64
	closed bool
}

// Next waits until there is something new and returns all of it, the oldest first. missed is how many values went by that
// the ring no longer holds. The error is that of the context, or ErrClosed.
func (w *Watcher[T]) Next(ctx context.Context) (news []T, missed int, err error) {
	for {
		news, missed, changed, err := w.take()
		if len(news) > 0 || err != nil {
			return news, missed, err
		}
		select {
		case <-ctx.Done():
			return nil, 0, ctx.Err()
		case <-changed:
		}
	}
}

// take returns what is new without waiting.
func (w *Watcher[T]) take() (news []T, missed int, changed <-chan struct{}, err error) {
	h := w.hub
	h.mu.Lock()
	defer h.mu.Unlock()
	if from := h.oldest(); w.next < from {
		missed = int(from - w.next) //nolint:gosec // a hub does not live long enough to overflow
		w.next = from
	}
	if w.next == h.next {
		if h.closed {
			return nil, 0, nil, ErrClosed
		}
		return nil, 0, h.changed, nil
	}
	news = make([]T, 0, h.next-w.next)
	for ; w.next < h.next; w.next++ {
		news = append(news, h.ring[w.next%uint64(len(h.ring))])
	}
	return news, missed, nil, nil
}

// Close leaves.
func (w *Watcher[T]) Close() {
	w.hub.mu.Lock()
	defer w.hub.mu.Unlock()
	if !w.closed {
		w.closed = true
		w.hub.watch--
	}
}
