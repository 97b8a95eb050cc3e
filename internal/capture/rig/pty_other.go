//go:build !linux

package rig

import "errors"

// A Pty is a pseudo serial port. Only Linux has one here.
type Pty struct{ link string }

// NewPty is a port that cannot be plugged in on this system.
func NewPty(link string) *Pty { return &Pty{link} }

// Place is the link.
func (p *Pty) Place() string { return p.link }

// Plug says that there is none.
func (p *Pty) Plug() error {
	return errors.New("a pseudo serial port is made on Linux only: try the rig over Modbus or MQTT")
}

// Unplug does nothing.
func (p *Pty) Unplug() {}

// Put does nothing.
func (p *Pty) Put(Sample, bool) {}

// Write does nothing.
func (p *Pty) Write([]byte) {}
