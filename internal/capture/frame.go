package capture

import (
	"math"
	"slices"
	"time"

	"runnel/job"
	"runnel/unit"
)

// A Frame is what came in within a twentieth of a second: what a needle and its trail are drawn from.
type Frame struct {
	Seq     uint64    `json:"seq"`    // counts from 1
	Time    float64   `json:"time_s"` // time of the session [s]
	At      time.Time `json:"at"`     // wall clock
	Needles []Needle  `json:"needles"`
	Faults  []Fault   `json:"faults,omitempty"` // that last
	Held    Held      `json:"held,omitzero"`
}

// A Needle is one channel in a frame. Numbers are absent where no sample came: a gap is shown as a gap.
type Needle struct {
	Channel string   `json:"channel"`
	N       int      `json:"n"`                  // samples in the frame
	Raw     *float64 `json:"raw,omitempty"`      // mean as read [unit of the sensor]
	Value   *float64 `json:"value_si,omitempty"` // mean corrected, zero taken off [SI unit of the sensor's dimension]
	Low     *float64 `json:"low_si,omitempty"`   // least of the frame, corrected likewise [SI unit of the sensor's dimension]
	High    *float64 `json:"high_si,omitempty"`  // greatest of the frame [SI unit of the sensor's dimension]
	Age     float64  `json:"age_s"`              // since the last sample [s]; −1 when none has come
}

// Held is the test pressure against its band.
type Held struct {
	Target float64 `json:"target_pa"` // pressure drop to hold [Pa]
	Band   float64 `json:"band"`      // half width of the band, relative [-]
	Mean   float64 `json:"mean_pa"`   // as it is, over some half a second [Pa]
	Within bool    `json:"within"`
}

// A State is a session at an instant, for people who look on and for a set-up page.
type State struct {
	Time     float64       `json:"time_s"` // time of the session [s]
	At       time.Time     `json:"at"`     // wall clock
	Channels []ChannelSign `json:"channels"`
	Faults   []Fault       `json:"faults"`
	Backlog  int           `json:"backlog"` // samples that wait to be kept
}

// A ChannelSign is the life signs of a channel.
type ChannelSign struct {
	Channel string   `json:"channel"`
	Role    string   `json:"role"`
	Unit    string   `json:"unit"` // of Raw
	Source  string   `json:"source"`
	Samples int64    `json:"samples"`            // since the start
	Rate    float64  `json:"rate_hz"`            // as it comes in [Hz]
	Want    float64  `json:"want_hz"`            // as it should come in [Hz]; 0: not known
	Raw     *float64 `json:"raw,omitempty"`      // last, as read [unit of the sensor]
	Value   *float64 `json:"value_si,omitempty"` // last, corrected, zero taken off [SI unit of the sensor's dimension]
	Mean    *float64 `json:"mean,omitempty"`     // of the last second, as read [unit of the sensor]
	SD      *float64 `json:"sd,omitempty"`       // standard deviation of the last second, as read [unit of the sensor]
	Age     float64  `json:"age_s"`              // since the last sample [s]; −1 when none has come
	Faults  []Kind   `json:"faults,omitempty"`
}

// A channel is one sensor of the bench while a session runs.
type channel struct {
	sensor  job.Sensor
	unit    unit.Unit
	owner   int // place of its source; −1: none
	signs   signs
	samples int64
	raw     float64 // last
	zero    float64 // [SI]

	n              int // of the frame
	sum, low, high float64
	recent         []float64 // samples of about the last second
	recentAt       []time.Duration
}

// correct returns the true value [SI] of what the sensor shows, by its calibration, less its zero.
func (c *channel) correct(raw float64) float64 {
	v := raw
	if k := c.sensor.Calibration; len(k) > 0 {
		v = 0
		for _, x := range slices.Backward(k) {
			v = v*raw + x
		}
	}
	return c.unit.ToSI(v) - c.zero
}

// add takes samples into the frame and the life signs.
func (c *channel) add(times []time.Duration, values []float64) {
	c.signs.add(times, values)
	for i, v := range values {
		if math.IsNaN(v) {
			continue
		}
		c.samples++
		c.raw = v
		if c.n == 0 {
			c.sum, c.low, c.high = 0, v, v
		}
		c.n++
		c.sum, c.low, c.high = c.sum+v, min(c.low, v), max(c.high, v)
		c.recent, c.recentAt = append(c.recent, v), append(c.recentAt, times[i])
	}
	if n := len(times); n > 0 {
		c.forget(times[n-1] - time.Second)
	}
}

// forget drops recent samples before t.
func (c *channel) forget(t time.Duration) {
	k := 0
	for k < len(c.recentAt) && c.recentAt[k] < t {
		k++
	}
	if k > 64 || k == len(c.recentAt) { // not at every sample
		c.recent = append(c.recent[:0], c.recent[k:]...)
		c.recentAt = append(c.recentAt[:0], c.recentAt[k:]...)
	}
}

func (c *channel) age(now time.Duration) float64 {
	if !c.signs.any {
		return -1
	}
	return max(0, (now - c.signs.last).Seconds())
}

// needle closes the frame.
func (c *channel) needle(now time.Duration) Needle {
	n := Needle{Channel: c.sensor.Channel, N: c.n, Age: c.age(now)}
	if c.n > 0 {
		raw := c.sum / float64(c.n)
		value, low, high := c.correct(raw), c.correct(c.low), c.correct(c.high)
		low, high = min(low, high), max(low, high)
		n.Raw, n.Value, n.Low, n.High = &raw, &value, &low, &high
	}
	c.n = 0
	return n
}

func (c *channel) sign(now time.Duration) ChannelSign {
	s := ChannelSign{
		Channel: c.sensor.Channel, Role: c.sensor.Role, Unit: c.unit.Name, Samples: c.samples,
		Rate: c.signs.seen(now), Want: c.signs.rate, Age: c.age(now),
	}
	if c.samples == 0 {
		return s
	}
	raw, value := c.raw, c.correct(c.raw)
	s.Raw, s.Value = &raw, &value
	c.forget(now - time.Second)
	if n := len(c.recent); n > 1 {
		mean, sum := 0.0, 0.0
		for _, v := range c.recent {
			mean += v / float64(n)
		}
		for _, v := range c.recent {
			sum += (v - mean) * (v - mean)
		}
		sd := math.Sqrt(sum / float64(n-1))
		s.Mean, s.SD = &mean, &sd
	}
	return s
}
