package capture

import (
	"fmt"
	"math"
	"time"
)

// The test pressure counts as not held when its mean over about half a second has been outside the band for a second.
const (
	holdMean  = 400 * time.Millisecond // time constant of the mean
	holdGrace = time.Second
)

// Hold says which test pressure drop [Pa] is to be held, and how far it may be off, relative [-]. From then on a fault is
// named when it is not held. A target of zero ends the watch.
func (s *Session) Hold(target, band float64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.hold.target, s.hold.band, s.hold.outside = target, band, 0
}

// Zero sets what a channel shows with no flow, corrected [SI unit of the sensor's dimension], which frames and the watch
// over the test pressure take off. Samples and traces stay as read.
func (s *Session) Zero(channel string, zero float64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if c := s.byName[channel]; c != nil {
		c.zero = zero
	}
}

// watchHold follows the test pressure.
func (s *Session) watchHold(b Batch, now time.Duration) {
	for k, name := range b.Channels {
		c := s.byName[name]
		if c.sensor.Role != "test_dp" {
			continue
		}
		for i, raw := range b.Values[k] {
			if math.IsNaN(raw) {
				continue
			}
			v, t := c.correct(raw), b.Times[i]
			if !s.hold.any || t-s.hold.last > 2*holdMean {
				s.hold.mean, s.hold.any = v, true
			} else {
				s.hold.mean += (v - s.hold.mean) * -math.Expm1(-float64(t-s.hold.last)/float64(holdMean))
			}
			s.hold.last = t
		}
	}
	if !s.hold.any || s.hold.target == 0 {
		return
	}
	switch {
	case s.hold.within():
		s.hold.outside = 0
	case s.hold.outside == 0:
		s.hold.outside = now
	}
}

func (h *hold) within() bool {
	return math.Abs(h.mean-h.target) <= h.band*math.Abs(h.target)
}

func (s *Session) lookAtHold(now time.Duration) {
	h := &s.hold
	if h.target == 0 || h.outside == 0 || now-h.outside < holdGrace || now-h.last > 2*time.Second {
		return
	}
	s.raise(NotHeld, "", "", fmt.Sprintf("the test pressure is %.1f %% off its target: set the blower", 100*(h.mean/h.target-1)))
}

// held is how the test pressure stands; zero when none is to be held.
func (s *Session) held() Held {
	if s.hold.target == 0 || !s.hold.any {
		return Held{}
	}
	return Held{Target: s.hold.target, Band: s.hold.band, Mean: s.hold.mean, Within: s.hold.within()}
}
