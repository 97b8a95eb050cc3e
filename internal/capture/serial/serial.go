package serial

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"go.bug.st/serial"

	"runnel/internal/capture"
	"runnel/internal/fault"
	"runnel/unit"
)

// Kind is how an address begins.
const Kind = "serial"

// readTimeout is how long one read of the port waits; the context is looked at in between.
const readTimeout = 50 * time.Millisecond

// lineLimit is how long a line may be before it counts as rubbish.
const lineLimit = 4096

// A source reads one port.
type source struct {
	about   capture.Description
	clock   capture.Clock
	mode    serial.Mode
	pattern *pattern
	check   string
	send    string
	every   time.Duration
	fields  []string        // wanted, in the order of the channels
	scales  []capture.Scale // of the channels
	place   []int           // of the channels among the fields of the pattern
	stamp   int             // place of the device's clock among the fields; −1: none
	tick    time.Duration   // unit of the stamp
}

// Open makes the source of the sensors on one port. It does not touch the port yet.
func Open(g capture.Group, clock capture.Clock) (capture.Source, error) {
	port, taps, err := g.Options([]string{"baud", "bits", "parity", "stop", "line", "check", "send", "every"}, []string{capture.OptionRate})
	if err != nil {
		return nil, err
	}
	if g.Place == "" {
		return nil, g.Fault(0, errors.New("no port is named: write it like serial:/dev/ttyUSB0"))
	}
	s := &source{
		about: capture.Description{Kind: Kind, Place: g.Place, Channels: g.Channels()},
		clock: clock, stamp: -1,
		mode: serial.Mode{
			BaudRate: port.Int("baud", 9600, 50, 4_000_000),
			DataBits: port.Int("bits", 8, 5, 8),
			Parity:   map[string]serial.Parity{"none": serial.NoParity, "odd": serial.OddParity, "even": serial.EvenParity}[port.OneOf("parity", "none", "odd", "even")],
			StopBits: map[string]serial.StopBits{"1": serial.OneStopBit, "1.5": serial.OnePointFiveStopBits, "2": serial.TwoStopBits}[port.OneOf("stop", "1", "1.5", "2")],
		},
		check: port.OneOf("check", "none", "xor", "sum", "crc16"),
		send:  strings.NewReplacer(`\r`, "\r", `\n`, "\n").Replace(port.Text("send", "")),
		every: time.Duration(port.Number("every", 0.1, 0.001, 3600) * float64(time.Second)),
	}
	s.pattern, err = parsePattern(port.Text("line", ""))
	if err = errors.Join(port.Err(), err); err != nil {
		return nil, g.Fault(0, err)
	}
	if err := g.OneEach(func(a capture.Address) string { return a.Field }); err != nil {
		return nil, err
	}
	for i, t := range g.Taps {
		if err := s.tap(t, taps[i]); err != nil {
			return nil, g.Fault(i, err)
		}
	}
	s.findStamp()
	return s, nil
}

// tap adds one sensor.
func (s *source) tap(t capture.Tap, o *capture.Options) error {
	name, said, at := t.Address.Field, "", 0
	switch {
	case s.pattern != nil:
		u, ok := s.pattern.unitOf(name)
		if !ok {
			return fmt.Errorf("field %q is not in the pattern, which has %s", name, strings.Join(s.pattern.names, ", "))
		}
		said = u
		for k, n := range s.pattern.names {
			if n == name {
				at = k
			}
		}
	case name == "":
		name = "1"
	}
	scale, err := t.Scale(o, said)
	if err != nil {
		return err
	}
	t.Rate(o)
	s.fields, s.scales, s.place = append(s.fields, name), append(s.scales, scale), append(s.place, at)
	return o.Err()
}

// findStamp looks for the device's clock.
func (s *source) findStamp() {
	if s.pattern == nil {
		for i := range s.fields {
			s.place[i] = i
		}
		return
	}
	for k, n := range s.pattern.names {
		if n != timeField {
			continue
		}
		s.stamp, s.tick = k, time.Microsecond
		if u, ok := unit.Time.Lookup(s.pattern.units[k]); ok {
			s.tick = time.Duration(u.Factor * float64(time.Second))
		}
	}
}

// Describe says what is read.
func (s *source) Describe() capture.Description { return s.about }

// Run reads lines until the context ends or the port is lost.
func (s *source) Run(ctx context.Context, emit func(capture.Batch)) error {
	mode := s.mode
	port, err := serial.Open(s.about.Place, &mode)
	if err != nil {
		return s.failed(err)
	}
	defer func() { _ = port.Close() }() // by this goroutine only: a handle closed under a read may be another's by then
	if err := port.SetReadTimeout(readTimeout); err != nil {
		return s.failed(err)
	}
	if err := port.ResetInputBuffer(); err != nil { // what lay there is old
		return s.failed(err)
	}
	r := &reader{source: s, last: s.clock.Mono()}
	buf := make([]byte, 16<<10)
	for ctx.Err() == nil {
		if err := s.ask(port, r); err != nil {
			return s.failed(err)
		}
		n, err := port.Read(buf)
		if ctx.Err() != nil {
			break
		}
		if err != nil {
			return s.failed(err)
		}
		if n == 0 { // the timeout
			continue
		}
		if b, ok := r.feed(buf[:n], s.clock.Mono()); ok {
			b.Wall = s.clock.Wall()
			emit(b)
		}
	}
	return ctx.Err()
}

// ask sends what the device wants to be asked with.
func (s *source) ask(port serial.Port, r *reader) error {
	now := s.clock.Mono()
	if s.send == "" || (r.asked > 0 && now-r.asked < s.every) {
		return nil
	}
	r.asked = now
	_, err := port.Write([]byte(s.send))
	return err
}

// failed names what an error of the port means.
func (s *source) failed(err error) error {
	cause := capture.ErrUnplugged
	if p, ok := errors.AsType[*serial.PortError](err); ok {
		switch p.Code() { //nolint:exhaustive // the rest means that the port is not there
		case serial.PortBusy:
			cause = capture.ErrTaken
		case serial.PermissionDenied:
			err = fmt.Errorf("%w: on Linux the user must be in the group that owns it, mostly dialout", err)
		}
	}
	return fault.Errorf(fault.Device, "serial port %s: %w: %w", s.about.Place, cause, err)
}

// A reader turns bytes into batches.
type reader struct {
	source *source
	rest   []byte
	device capture.DeviceClock
	last   time.Duration // time of the last sample
	asked  time.Duration
	synced bool // the first, most often cut, line has gone by
}

// feed takes bytes that came in one go at now; ok is false when no line was complete.
func (r *reader) feed(b []byte, now time.Duration) (out capture.Batch, ok bool) {
	s := r.source
	out = capture.Batch{Channels: s.about.Channels, Values: make([][]float64, len(s.fields))}
	r.rest = append(r.rest, b...)
	fields := make([]float64, max(len(s.fields), s.fieldCount()))
	for {
		end := strings.IndexAny(string(r.rest), "\r\n")
		if end < 0 {
			break
		}
		line := strings.TrimSpace(string(r.rest[:end]))
		r.rest = r.rest[end+1:]
		if line == "" {
			continue
		}
		if !s.read(line, fields) {
			if r.synced {
				out.Lost++
			}
			r.synced = true
			continue
		}
		r.synced = true
		at := now
		if s.stamp >= 0 {
			var step time.Duration
			at, step = r.device.At(time.Duration(math.Round(fields[s.stamp]*float64(s.tick))), now)
			if step != 0 {
				out.Step = step
			}
		}
		out.Times = append(out.Times, max(at, r.last))
		for i := range s.fields {
			out.Values[i] = append(out.Values[i], s.scales[i].Of(fields[s.place[i]]))
		}
		if s.stamp >= 0 {
			r.last = out.Times[len(out.Times)-1]
		}
	}
	if len(r.rest) > lineLimit {
		r.rest, out.Lost = nil, out.Lost+1
	}
	if n := len(out.Times); n > 0 && s.stamp < 0 {
		out.Times = capture.Spread(r.last, now, n, 0)
		r.last = now
	}
	return out, len(out.Times) > 0 || out.Lost > 0
}

func (s *source) fieldCount() int {
	if s.pattern == nil {
		return 0
	}
	return len(s.pattern.names)
}

// read takes the fields out of a line.
func (s *source) read(line string, into []float64) bool {
	body, ok := checked(line, s.check)
	if !ok {
		return false
	}
	if s.pattern == nil {
		return split(body, s.fields, into)
	}
	return s.pattern.read(body, into)
}
