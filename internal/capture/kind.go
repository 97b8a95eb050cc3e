package capture

import (
	"errors"
	"syscall"
	"time"
)

// A Kind is a fault of the live bench by its name.
type Kind string

// The faults that are named. Each is named within two seconds for channels of 5 Hz and more.
const (
	Unplugged   Kind = "unplugged"              // the device is gone, or sends nothing
	Frozen      Kind = "frozen"                 // one value repeated beyond chance
	OutOfRange  Kind = "out of range"           // at or beyond an end of the sensor's range
	Spikes      Kind = "spikes"                 // samples far from both neighbourhoods, again and again
	WrongRate   Kind = "wrong rate"             // more or fewer samples than expected
	ClockStep   Kind = "clock step"             // the device's clock or this machine's wall clock jumped
	TwoSources  Kind = "two sources"            // two sources claim one channel, or another program has the port
	BrokerGone  Kind = "broker gone"            // the MQTT broker cannot be reached
	DiskFull    Kind = "disk full"              // samples cannot be written; they wait in memory
	NotKept     Kind = "not recorded"           // samples cannot be written for another reason
	NotHeld     Kind = "test pressure not held" // the test pressure is outside its band
	Unreadable  Kind = "unreadable"             // lines or messages that do not fit the pattern or the checksum
	NotAnswered Kind = "not answered"           // the device is there and refuses: wrong register, wrong unit
)

// Errors a Source ends with. They come wrapped, with what was being read.
var (
	ErrUnplugged   = errors.New("the device is gone")
	ErrBroker      = errors.New("the broker cannot be reached")
	ErrTaken       = errors.New("another program has it open")
	ErrNotAnswered = errors.New("the device refuses")
)

// kindOf names the fault behind the error of a source.
func kindOf(err error) Kind {
	switch {
	case errors.Is(err, ErrBroker):
		return BrokerGone
	case errors.Is(err, ErrTaken):
		return TwoSources
	case errors.Is(err, ErrNotAnswered):
		return NotAnswered
	}
	return Unplugged
}

// keepingKind names the fault behind an error of keeping samples. A store says that the disk is full by a method
// DiskFull() bool of its error.
func keepingKind(err error) Kind {
	var full interface{ DiskFull() bool }
	if errors.Is(err, syscall.ENOSPC) || (errors.As(err, &full) && full.DiskFull()) {
		return DiskFull
	}
	return NotKept
}

// A Fault is something wrong with the live bench, from its begin to its end.
type Fault struct {
	Kind    Kind      `json:"kind"`
	Channel string    `json:"channel,omitempty"` // empty: all of the source, or of the bench
	Source  string    `json:"source,omitempty"`
	Text    string    `json:"text"`           // what is wrong and what to do
	Since   time.Time `json:"since"`          // wall clock at its begin
	Until   time.Time `json:"until,omitzero"` // wall clock at its end; zero while it lasts
	From    float64   `json:"from_s"`         // time of the session at its begin [s]
	To      float64   `json:"to_s,omitempty"` // time of the session at its end [s]; 0 while it lasts
}
