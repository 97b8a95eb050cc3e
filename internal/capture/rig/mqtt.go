package rig

import (
	"context"
	"fmt"
	"os"

	"runnel/internal/capture/mqtt"
)

// An MQTT publishes every sample to a broker as JSON on one topic, and each channel as a plain number on TOPIC/CHANNEL.
type MQTT struct {
	place, topic string
	conn         *mqtt.Conn
	each         bool
}

// NewMQTT publishes to the broker at host:number. each asks for the plain topics, too.
func NewMQTT(place, topic string, each bool) *MQTT {
	return &MQTT{place: place, topic: topic, each: each}
}

// Place is host:number.
func (m *MQTT) Place() string { return m.place }

// Plug connects.
func (m *MQTT) Plug() error {
	if m.conn != nil {
		return nil
	}
	c, err := mqtt.Dial(context.Background(), m.place, mqtt.Login{Client: fmt.Sprintf("runnel-rig-%d", os.Getpid())})
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
