package mqtt

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"sync"
	"time"

	"runnel/internal/capture"
	"runnel/internal/fault"
	"runnel/unit"
)

// Kind is how an address begins.
const Kind = "mqtt"

// source listens to the topics of one broker.
type source struct {
	about   capture.Description
	clock   capture.Clock
	version string
	login   Login
	secret  string // file of the password
	topics  []topic
	path    string // of the device's clock; empty: none
	tick    time.Duration
}

// A topic is the sensors that share one.
type topic struct {
	name     string
	channels []string
	paths    []string
	scales   []capture.Scale
}

// Open makes the source of the sensors on one broker. It does not connect yet.
func Open(g capture.Group, clock capture.Clock) (capture.Source, error) {
	port, taps, err := g.Options([]string{"version", "user", "password-file", "client", "clock"}, []string{capture.OptionRate})
	if err != nil {
		return nil, err
	}
	s := &source{
		about: capture.Description{Kind: Kind, Place: g.Place, Channels: g.Channels()}, clock: clock,
		version: port.OneOf("version", "5", "3.1.1"), secret: port.Text("password-file", ""),
		login: Login{User: port.Text("user", ""), Client: port.Text("client", "")},
	}
	if err := errors.Join(s.place(g.Place), s.stamps(port.Text("clock", "")), port.Err()); err != nil {
		return nil, g.Fault(0, err)
	}
	if err := g.OneEach(func(a capture.Address) string { return a.Path + "#" + a.Field }); err != nil {
		return nil, err
	}
	for i, t := range g.Taps {
		if err := s.tap(t, taps[i]); err != nil {
			return nil, g.Fault(i, err)
		}
	}
	return s, nil
}

func (s *source) place(place string) error {
	if !strings.Contains(place, ":") {
		return fmt.Errorf("broker %q has no number: write it like mqtt://%s:1883/topic", place, place)
	}
	if s.login.Client == "" {
		s.login.Client = "runnel" // made one of a kind when it connects
	}
	return nil
}

// stamps reads where the device's own clock stands in a payload.
func (s *source) stamps(text string) error {
	if text == "" {
		return nil
	}
	path, name, found := strings.Cut(text, ":")
	u, ok := unit.Time.Lookup(name)
	if !found || !ok || path == "" {
		return fmt.Errorf("clock=%s: write the path to the time and its unit, as clock=t:ms", text)
	}
	s.path, s.tick = path, time.Duration(u.Factor*float64(time.Second))
	return nil
}

func (s *source) tap(t capture.Tap, o *capture.Options) error {
	name := t.Address.Path
	switch {
	case name == "":
		return errors.New("there is no topic: write it after the host, as mqtt://localhost:1883/bench/meter_dp")
	case strings.ContainsAny(name, "#+\x00"):
		return fmt.Errorf("topic %q has a wildcard: a sensor has one topic", name)
	case len(name) > 1000:
		return errors.New("the topic is too long")
	}
	scale, err := t.Scale(o, "")
	if err != nil {
		return err
	}
	t.Rate(o)
	i := 0
	for i < len(s.topics) && s.topics[i].name != name {
		i++
	}
	if i == len(s.topics) {
		s.topics = append(s.topics, topic{name: name})
	}
	p := &s.topics[i]
	p.channels, p.paths, p.scales = append(p.channels, t.Sensor.Channel), append(p.paths, t.Address.Field), append(p.scales, scale)
	return o.Err()
}

// Describe says what is read.
func (s *source) Describe() capture.Description { return s.about }

// Run listens until the context ends or the broker is lost.
func (s *source) Run(ctx context.Context, emit func(capture.Batch)) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	login := s.login
	login.Client += fmt.Sprintf("-%d-%x", os.Getpid(), s.clock.Wall().UnixNano()&0xFFFFFF)
	if s.secret != "" {
		b, err := os.ReadFile(s.secret)
		if err != nil {
			return fault.As(fault.Invalid, err)
		}
		login.Password, _, _ = strings.Cut(strings.TrimRight(string(b), "\r\n"), "\n")
	}
	l := &listener{source: s, emit: emit, clocks: make([]capture.DeviceClock, len(s.topics))}
	run := s.run5
	if s.version == "3.1.1" {
		run = s.run311
	}
	err := run(ctx, login, l.receive)
	l.close()
	if ctx.Err() != nil {
		return ctx.Err()
	}
	cause := capture.ErrBroker
	if errors.Is(err, errRefused) {
		cause = capture.ErrNotAnswered
	}
	return fault.Errorf(fault.Device, "broker %s: %w: %w", s.about.Place, cause, err)
}

// run311 listens in version 3.1.1.
func (s *source) run311(ctx context.Context, login Login, receive func(string, []byte)) error {
	c, err := Dial(ctx, s.about.Place, login)
	if err != nil {
		return err
	}
	stop := context.AfterFunc(ctx, func() { _ = c.Close() })
	defer func() {
		if stop() {
			_ = c.Close()
		}
	}()
	if err := c.Subscribe(s.names()); err != nil {
		return err
	}
	return c.Receive(receive)
}

func (s *source) names() []string {
	out := make([]string, len(s.topics))
	for i, t := range s.topics {
		out[i] = t.name
	}
	return out
}

// A listener turns messages into batches. Libraries may call it from several goroutines.
type listener struct {
	mu     sync.Mutex
	source *source
	emit   func(capture.Batch)
	clocks []capture.DeviceClock
	last   time.Duration
	closed bool
}

// close lets nothing more through.
func (l *listener) close() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.closed = true
}

func (l *listener) receive(name string, payload []byte) {
	l.mu.Lock()
	defer l.mu.Unlock()
	s := l.source
	for i := range s.topics {
		if s.topics[i].name == name && !l.closed {
			b := s.topics[i].read(payload)
			now := s.clock.Mono()
			at := now
			if s.path != "" && len(b.Times) > 0 {
				doc, _ := document(payload, false)
				if v, ok := number(doc, s.path); ok {
					at, b.Step = l.clocks[i].At(time.Duration(math.Round(v*float64(s.tick))), now)
				}
			}
			l.last = max(l.last, at)
			if len(b.Times) > 0 {
				b.Times[0] = l.last
			}
			b.Wall = s.clock.Wall()
			l.emit(b)
			return
		}
	}
}

// read takes the numbers out of a payload; its time is still to be set.
func (t *topic) read(payload []byte) capture.Batch {
	b := capture.Batch{Channels: t.channels, Times: make([]time.Duration, 1), Values: make([][]float64, len(t.paths))}
	found := 0
	for i, path := range t.paths {
		b.Values[i] = []float64{math.NaN()}
		doc, ok := document(payload, path == "")
		if !ok {
			continue
		}
		if v, ok := number(doc, path); ok && !math.IsInf(v, 0) && !math.IsNaN(v) {
			b.Values[i][0] = t.scales[i].Of(v)
			found++
		}
	}
	if found < len(t.paths) {
		b.Lost = 1
	}
	if found == 0 {
		b.Times, b.Values = nil, make([][]float64, len(t.paths))
	}
	return b
}
