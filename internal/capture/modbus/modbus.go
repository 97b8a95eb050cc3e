package modbus

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/simonvetter/modbus"

	"runnel/internal/capture"
	"runnel/internal/fault"
)

// How an address begins.
const (
	KindTCP = "modbus+tcp"
	KindRTU = "modbus+rtu"
)

// source polls the registers of one line.
type source struct {
	about  capture.Description
	clock  capture.Clock
	config modbus.ClientConfiguration
	spans  []span
	every  time.Duration
}

// Open makes the source of the sensors on one line. It does not touch the line yet.
func Open(g capture.Group, clock capture.Clock) (capture.Source, error) {
	line := []string{"poll", "timeout"}
	if g.Kind == KindRTU {
		line = append(line, "server", "baud", "bits", "parity", "stop")
	}
	port, taps, err := g.Options(line, []string{"reg", "type", "order"})
	if err != nil {
		return nil, err
	}
	poll := port.Number("poll", 20, 0.001, 1000)
	s := &source{
		about: capture.Description{Kind: g.Kind, Place: g.Place, Channels: g.Channels(), Rate: poll},
		clock: clock, every: time.Duration(float64(time.Second) / poll),
		config: modbus.ClientConfiguration{
			URL:     "tcp://" + g.Place,
			Timeout: time.Duration(port.Number("timeout", 0.5, 0.01, 0.8) * float64(time.Second)),
			Logger:  log.New(io.Discard, "", 0),
		},
	}
	if g.Kind == KindRTU {
		s.rtu(g.Place, port)
	}
	if err := errors.Join(port.Err(), s.place(g)); err != nil {
		return nil, g.Fault(0, err)
	}
	if err := g.OneEach(func(a capture.Address) string { return a.Path + " " + a.Options["reg"] }); err != nil {
		return nil, err
	}
	var all []register
	for i, t := range g.Taps {
		server, err := serverOf(g.Kind, t.Address, port)
		if err != nil {
			return nil, g.Fault(i, err)
		}
		r, err := parseRegister(t, taps[i], server)
		if err != nil {
			return nil, g.Fault(i, err)
		}
		r.channel = i
		all = append(all, r)
	}
	s.spans = spansOf(all)
	return s, nil
}

func (s *source) place(g capture.Group) error {
	switch {
	case g.Place == "":
		return errors.New("the line is not named")
	case g.Kind == KindTCP && !strings.Contains(g.Place, ":"):
		return fmt.Errorf("the host has no number: write it like modbus+tcp://%s:502", g.Place)
	}
	return nil
}

func (s *source) rtu(place string, port *capture.Options) {
	s.config.URL = "rtu://" + place
	s.config.Speed = uint(port.Int("baud", 19200, 300, 4_000_000)) //nolint:gosec // limited
	s.config.DataBits = uint(port.Int("bits", 8, 7, 8))            //nolint:gosec // limited
	s.config.StopBits = uint(port.Int("stop", 1, 1, 2))            //nolint:gosec // limited
	s.config.Parity = map[string]uint{"none": modbus.PARITY_NONE, "odd": modbus.PARITY_ODD, "even": modbus.PARITY_EVEN}[port.OneOf("parity", "none", "odd", "even")]
}

// serverOf returns the number of the server a sensor belongs to.
func serverOf(kind string, a capture.Address, port *capture.Options) (int, error) {
	if kind == KindRTU {
		return port.Int("server", 1, 1, 247), port.Err()
	}
	if a.Path == "" {
		return 1, nil
	}
	n, err := strconv.Atoi(a.Path)
	if err != nil || n < 0 || n > 255 {
		return 0, fmt.Errorf("server %q: write a number from 0 to 255 after the host", a.Path)
	}
	return n, nil
}

// Describe says what is read.
func (s *source) Describe() capture.Description { return s.about }

// Run polls until the context ends or the server is lost. One request may be under way when the context ends; it has the
// timeout to come back.
func (s *source) Run(ctx context.Context, emit func(capture.Batch)) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	conf := s.config
	client, err := modbus.NewClient(&conf)
	if err != nil {
		return fault.Errorf(fault.Invalid, "modbus %s: %w", s.about.Place, err)
	}
	if err := client.Open(); err != nil {
		return s.failed(err)
	}
	defer func() { _ = client.Close() }() // it was only read
	tick := time.NewTicker(s.every)
	defer tick.Stop()
	refused := 0
	for {
		b, err := s.poll(client)
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err == nil:
			refused = 0
			emit(b)
		case passing(err) && refused < 3: // busy, or one frame spoilt: this sample is left out
			refused++
			emit(capture.Batch{Channels: s.about.Channels, Values: make([][]float64, len(s.about.Channels)), Lost: 1})
		default:
			return s.failed(err)
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-tick.C:
		}
	}
}

// poll reads every register once. The sample is timed in the middle of the requests.
func (s *source) poll(client *modbus.ModbusClient) (capture.Batch, error) {
	n := len(s.about.Channels)
	b := capture.Batch{Channels: s.about.Channels, Values: make([][]float64, n)}
	asked := s.clock.Mono()
	for _, sp := range s.spans {
		if err := client.SetUnitId(sp.server); err != nil {
			return b, err
		}
		raw, err := client.ReadRawBytes(sp.address, 2*sp.words, sp.kind)
		if err != nil {
			return b, err
		}
		for _, r := range sp.registers {
			at := 2 * int(r.address-sp.address)
			v := r.scale.Of(r.value(raw[at : at+2*int(r.words)]))
			if math.IsInf(v, 0) {
				v = math.NaN()
			}
			b.Values[r.channel] = []float64{v}
		}
	}
	b.Times = []time.Duration{(asked + s.clock.Mono()) / 2}
	b.Wall = s.clock.Wall()
	return b, nil
}

// passing reports whether the next request may well be answered.
func passing(err error) bool {
	return errors.Is(err, modbus.ErrServerDeviceBusy) || errors.Is(err, modbus.ErrBadCRC) || errors.Is(err, modbus.ErrShortFrame) || errors.Is(err, modbus.ErrAcknowledge)
}

// failed names what an error means.
func (s *source) failed(err error) error {
	cause := capture.ErrUnplugged
	switch {
	case errors.Is(err, modbus.ErrIllegalDataAddress), errors.Is(err, modbus.ErrIllegalFunction), errors.Is(err, modbus.ErrIllegalDataValue):
		cause = capture.ErrNotAnswered
		err = fmt.Errorf("%w: check the kind and the address of the registers", err)
	case errors.Is(err, modbus.ErrServerDeviceFailure), errors.Is(err, modbus.ErrGWTargetFailedToRespond), errors.Is(err, modbus.ErrGWPathUnavailable):
		cause = capture.ErrNotAnswered
	}
	return fault.Errorf(fault.Device, "modbus %s: %w: %w", s.about.Place, cause, err)
}
