package rig

import (
	"errors"
	"fmt"
	"io"
	"log"
	"math"
	"net"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/simonvetter/modbus"
)

// A Modbus is a Modbus TCP server: input registers 0 to 9 hold the five channels as float32, high word first; register 10
// counts samples.
type Modbus struct {
	place  string
	server *modbus.ModbusServer

	mu        sync.Mutex
	registers [11]uint16
}

// NewModbus is a server at host:number; the number 0 takes one that is free.
func NewModbus(place string) *Modbus { return &Modbus{place: place} }

// Place is host:number.
func (m *Modbus) Place() string { return m.place }

// Plug starts the server.
func (m *Modbus) Plug() error {
	if m.server != nil {
		return nil
	}
	if host, ok := strings.CutSuffix(m.place, ":0"); ok {
		ln, err := net.Listen("tcp", m.place) //nolint:noctx // it is closed at once
		if err != nil {
			return fmt.Errorf("modbus server at %s: %w", host, err)
		}
		m.place = ln.Addr().String()
		if err := ln.Close(); err != nil {
			return err
		}
	}
	s, err := modbus.NewServer(&modbus.ServerConfiguration{URL: "tcp://" + m.place, MaxClients: 16, Logger: log.New(io.Discard, "", 0)}, m)
	if err == nil {
		err = s.Start()
	}
	for try := 0; errors.Is(err, syscall.EADDRINUSE) && try < placeTries; try++ {
		<-time.After(placePatience / placeTries)
		err = s.Start()
	}
	if err != nil {
		return fmt.Errorf("modbus server %s: %w", m.place, err)
	}
	m.server = s
	return nil
}

// placePatience is how long Plug waits for a place in use: a program started while the server was listening holds the place of a server gone
// until that program has loaded.
const (
	placePatience = time.Second
	placeTries    = 50
)

// Unplug stops the server and closes its connections.
func (m *Modbus) Unplug() {
	if m.server != nil {
		_ = m.server.Stop() // its clients see it gone, which is what is wanted
		m.server = nil
	}
}

// Put sets the registers. A garbled sample is one that is not a number.
func (m *Modbus) Put(s Sample, garbled bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for i, v := range s.Values {
		if garbled {
			v = math.NaN()
		}
		bits := math.Float32bits(float32(v))
		m.registers[2*i], m.registers[2*i+1] = uint16(bits>>16), uint16(bits) //nolint:gosec // the two halves
	}
	m.registers[10]++
}

// HandleInputRegisters answers a client.
func (m *Modbus) HandleInputRegisters(r *modbus.InputRegistersRequest) ([]uint16, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	from, to := int(r.Addr), int(r.Addr)+int(r.Quantity)
	if to > len(m.registers) {
		return nil, modbus.ErrIllegalDataAddress
	}
	return append([]uint16(nil), m.registers[from:to]...), nil
}

// HandleHoldingRegisters refuses: a rig has none.
func (m *Modbus) HandleHoldingRegisters(*modbus.HoldingRegistersRequest) ([]uint16, error) {
	return nil, modbus.ErrIllegalFunction
}

// HandleCoils refuses: a rig has none.
func (m *Modbus) HandleCoils(*modbus.CoilsRequest) ([]bool, error) {
	return nil, modbus.ErrIllegalFunction
}

// HandleDiscreteInputs refuses: a rig has none.
func (m *Modbus) HandleDiscreteInputs(*modbus.DiscreteInputsRequest) ([]bool, error) {
	return nil, modbus.ErrIllegalFunction
}
