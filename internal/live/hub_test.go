package live_test

import (
	"context"
	"errors"
	"slices"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"

	"runnel/internal/live"
)

// One that joins late gets what the ring holds at once, and then what follows.
func TestLateJoiner(t *testing.T) {
	h := live.NewHub[int](5)
	for i := range 8 {
		h.Publish(i)
	}
	w := h.Watch()
	defer w.Close()
	news, missed, err := w.Next(t.Context())
	if err != nil || missed != 0 || !slices.Equal(news, []int{3, 4, 5, 6, 7}) {
		t.Fatalf("got %v, missed %d, %v", news, missed, err)
	}
	h.Publish(8)
	if news, _, _ = w.Next(t.Context()); !slices.Equal(news, []int{8}) {
		t.Errorf("then got %v", news)
	}
}

func TestSlowOneIsToldWhatItMissed(t *testing.T) {
	h := live.NewHub[int](4)
	w := h.Watch()
	for i := range 10 {
		h.Publish(i)
	}
	news, missed, err := w.Next(t.Context())
	if err != nil || missed != 6 || !slices.Equal(news, []int{6, 7, 8, 9}) {
		t.Errorf("got %v, missed %d, %v", news, missed, err)
	}
}

func TestEnds(t *testing.T) {
	h := live.NewHub[int](4)
	w := h.Watch()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, _, err := w.Next(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("with an ended context: %v", err)
	}
	h.Publish(1)
	h.Close()
	h.Publish(2)
	if news, _, err := w.Next(t.Context()); err != nil || !slices.Equal(news, []int{1}) {
		t.Errorf("what was left: %v, %v", news, err)
	}
	if _, _, err := w.Next(t.Context()); !errors.Is(err, live.ErrClosed) {
		t.Errorf("after the end: %v", err)
	}
	w.Close()
	w.Close()
	if n := h.Watching(); n != 0 {
		t.Errorf("%d watch after all have left", n)
	}
}

// Whatever the order of publishing and asking: values come in order, none twice, and those seen and missed add up.
func TestNothingIsLostUntold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := live.NewHub[int](rapid.IntRange(1, 7).Draw(t, "keep"))
		w := h.Watch()
		published, accounted, last := 0, 0, -1
		t.Repeat(map[string]func(*rapid.T){
			"publish": func(*rapid.T) { h.Publish(published); published++ },
			"ask": func(t *rapid.T) {
				if accounted == published {
					return
				}
				news, missed, err := w.Next(context.Background())
				if err != nil {
					t.Fatal(err)
				}
				accounted += len(news) + missed
				for _, v := range news {
					if v <= last {
						t.Fatalf("%d after %d", v, last)
					}
					last = v
				}
				if accounted != published || last != published-1 {
					t.Fatalf("seen and missed %d of %d, last %d", accounted, published, last)
				}
			},
		})
	})
}

// Fifty watchers at 20 Hz, one of them asleep: each of the others gets every value, soon, and the publisher never waits.
func TestFiftyWatchers(t *testing.T) {
	t.Parallel()
	const watchers, frames, every = 50, 40, 50 * time.Millisecond
	h := live.NewHub[time.Time](1200)
	asleep := h.Watch()
	var wg sync.WaitGroup
	var mu sync.Mutex
	var delays []time.Duration
	for range watchers {
		w := h.Watch()
		wg.Go(func() {
			defer w.Close()
			seen := 0
			for seen < frames {
				news, missed, err := w.Next(t.Context())
				now := time.Now()
				if err != nil || missed > 0 {
					t.Errorf("missed %d, %v", missed, err)
					return
				}
				mu.Lock()
				for _, at := range news {
					delays = append(delays, now.Sub(at))
				}
				mu.Unlock()
				seen += len(news)
			}
		})
	}
	var longest time.Duration
	for range frames {
		time.Sleep(every)
		now := time.Now()
		h.Publish(now)
		longest = max(longest, time.Since(now))
	}
	wg.Wait()
	slices.Sort(delays)
	p95 := delays[len(delays)*95/100]
	t.Logf("%d values seen by %d watchers: 95 %% within %v; the longest publishing took %v", len(delays), watchers, p95, longest)
	if len(delays) != watchers*frames {
		t.Errorf("%d values seen, wanted %d", len(delays), watchers*frames)
	}
	if p95 > 50*time.Millisecond { // far above what it takes, far below what the screen is allowed
		t.Errorf("95 %% within %v", p95)
	}
	if news, missed, err := asleep.Next(t.Context()); err != nil || len(news) != frames || missed != 0 {
		t.Errorf("the sleeper got %d, missed %d, %v", len(news), missed, err)
	}
}
