package capture

import "time"

// A Clock tells the time twice: monotonic since it was started, which samples are timed by, and on the wall.
type Clock struct {
	Mono func() time.Duration // since the start; never steps
	Wall func() time.Time     // may step
}

// NewClock starts a clock on a source of time like time.Now, whose results carry both.
func NewClock(now func() time.Time) Clock {
	start := now()
	return Clock{
		Mono: func() time.Duration { return now().Sub(start) },
		Wall: func() time.Time { return now().Round(0) },
	}
}

// A DeviceClock turns the time stamps of a device into times of the session. The device's spacing is kept, so that lines
// that arrive in one go do not lie on top of each other; its slow error against our clock is followed.
type DeviceClock struct {
	last, offset time.Duration
	started      bool
}

// What a device clock may be off by.
const (
	clockStepLimit = 500 * time.Millisecond // a jump beyond this is a step, not delay
	clockDrift     = 2e-4                   // relative error of a device's clock that is followed [-]
)

// At returns the time of the session for a device's stamp that arrived at now, and the step of the device's clock, which is
// zero unless it jumped.
func (d *DeviceClock) At(stamp, now time.Duration) (at, step time.Duration) {
	if !d.started {
		d.started, d.last, d.offset = true, stamp, now-stamp
		return now, 0
	}
	passed := stamp - d.last
	late := now - (stamp + d.offset) // positive: it came later than its clock says
	if passed < 0 || late < -clockStepLimit || late > 2*clockStepLimit {
		step = -late
		d.last, d.offset = stamp, now-stamp
		return now, step
	}
	d.last = stamp
	d.offset += time.Duration(clockDrift * float64(passed))
	if now-stamp < d.offset {
		d.offset = now - stamp // the least delay seen is the best anchor
	}
	return stamp + d.offset, 0
}

// Spread returns n times that end at now and lie evenly after last: for samples without a time of their own that came in
// one go. period [0: unknown] is the longest spacing to use.
func Spread(last, now time.Duration, n int, period time.Duration) []time.Duration {
	out := make([]time.Duration, n)
	step := now - last
	if n > 0 {
		step /= time.Duration(n)
	}
	if period > 0 {
		step = min(step, period)
	}
	for i := range out {
		out[i] = now - time.Duration(n-1-i)*step
	}
	return out
}
