package rig

import (
	"context"
	"fmt"
	"os"
	"sync/atomic"

	"runnel/internal/capture/mqtt"
)

// An MQTT publishes every sample to a broker as JSON on one topic, and each channel as a plain number on TOPIC/CHANNEL.
type MQTT struct {
	place, topic string
	client       string
	conn         *mqtt.Conn
	each         bool
}

// clients counts the rigs of a process: a broker ends the line of the older of two clients of one name.
var clients atomic.Int64

// NewMQTT publishes to the broker at host:number. each asks for the plain topics, too.
func NewMQTT(place, topic string, each bool) *MQTT {
	return &MQTT{place: place, topic: topic, client: fmt.Sprintf("runnel-rig-%d-%d", os.Getpid(), clients.Add(1)), each: each}
}

// Place is host:number.
func (m *MQTT) Place() string { return m.place }

// Plug connects.
func (m *MQTT) Plug() error {
	if m.conn != nil {
		return nil
	}
	c, err := mqtt.Dial(context.Background(), m.place, mqtt.Login{Client: m.client})
	if err != nil {
		return fmt.Errorf("broker %s: %w", m.place, err)
	}
	m.conn = c
	go func() { _ = c.Receive(func(string, []byte) {}) }() // keeps the line alive; it ends with the line
	return nil
}

// Unplug disconnects.
func (m *MQTT) Unplug() {
	if m.conn != nil {
		_ = m.conn.Close() // nothing to lose
		m.conn = nil
	}
}

// Put publishes. When the broker has gone it is looked for again at the next sample.
func (m *MQTT) Put(s Sample, garbled bool) {
	if m.conn == nil && m.Plug() != nil {
		return
	}
	b := message(s)
	if garbled {
		b = b[:len(b)/2]
	}
	err := m.conn.Publish(m.topic, b)
	for i := 0; err == nil && m.each && i < len(s.Values); i++ {
		err = m.conn.Publish(m.topic+"/"+channels[i], plain(s.Values[i]))
	}
	if err != nil {
		m.Unplug()
	}
}
