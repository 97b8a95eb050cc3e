package capture

import (
	"context"
	"time"
)

// A Source is one line to a device that yields samples of some channels of a bench.
//
// The contract, which capturetest.Run checks:
//   - Run connects, emits batches from one goroutine at a time, and emits nothing after it has returned.
//   - Run returns within a second of the end of its context, with its error; after that it holds nothing open.
//   - When the device is lost Run returns a *fault.Error of kind Device that wraps one of the errors of this package. It does
//     not try again by itself: a Session does, by calling Run anew. Run may be called again any number of times, not twice at once.
//   - Run returns nil only when nothing more will ever come, as at the end of a replayed trace.
//   - Times of a batch never fall, over all the batches of one Run; every column is as long as Times; NaN is a sample that was
//     not read. A sample that did not come is left out, never made up.
type Source interface {
	// Describe says what is read, without touching the device.
	Describe() Description
	// Run reads until the context ends or the device is lost. A batch belongs to the receiver once emitted.
	Run(ctx context.Context, emit func(Batch)) error
}

// A Description is what a Source reads.
type Description struct {
	Kind     string   // as in the address, "serial"
	Place    string   // as in the address, "/dev/ttyUSB0"
	Channels []string // channels of the bench card it feeds
	Rate     float64  // samples a second that each channel should have [Hz]; 0: learned from the first seconds
	AtRest   bool     // samples come only when someone gives them: silence is no fault
}

// Name is how a source stands in messages.
func (d Description) Name() string { return d.Kind + ":" + d.Place }

// A Batch is samples of some channels that share their times.
type Batch struct {
	Channels []string        // of the bench card
	Times    []time.Duration // monotonic time of each sample, by the session's clock
	Wall     time.Time       // wall clock at the last sample
	Values   [][]float64     // Values[i] are the samples of Channels[i], in the unit of the sensor; NaN: not read
	Lost     int             // lines or messages since the last batch that could not be read
	Step     time.Duration   // jump of the device's own clock since the last batch
}
