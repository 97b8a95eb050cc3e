package rig_test

import (
	"math"
	"testing"
	"time"

	"runnel/internal/capture"
	"runnel/internal/capture/capturetest"
	"runnel/internal/capture/rig"
	"runnel/job"
)

func groupOf(t *testing.T, card string) capture.Group {
	t.Helper()
	b, err := job.LoadBench("bench.toml", []byte(card))
	if err != nil {
		t.Fatal(err)
	}
	g, err := capture.Groups(b)
	if err != nil || len(g) != 1 {
		t.Fatalf("%d groups, %v", len(g), err)
	}
	return g[0]
}

func TestSource(t *testing.T) {
	t.Parallel()
	capturetest.Run(t, func(t *testing.T) capturetest.Subject {
		t.Helper()
		clock := capture.NewClock(time.Now)
		s, err := rig.Open(groupOf(t, rig.Card(rig.OwnSources("seed=4&hz=50"))), clock)
		if err != nil {
			t.Fatal(err)
		}
		tell := func(line string) func() {
			return func() {
				if _, err := s.Do(line); err != nil {
					t.Error(err)
				}
			}
		}
		return capturetest.Subject{
			Source: s, Clock: clock, Unplug: tell("fault unplug"), Plug: tell("well"),
			Want: func(channel string, v float64) bool {
				if channel == "test_dp" {
					return math.Abs(v-28) < 4
				}
				return v > 0
			},
		}
	})
}
