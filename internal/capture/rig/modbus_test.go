package rig

import (
	"net"
	"testing"
	"time"
)

// A place that is in use for a moment is waited for; one that stays in use is refused.
func TestPlugWaitsForItsPlace(t *testing.T) {
	var c net.ListenConfig
	ln, err := c.Listen(t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	m := NewModbus(ln.Addr().String())
	if err := m.Plug(); err == nil {
		t.Fatal("a place in use was taken")
	}
	freed := time.AfterFunc(placePatience/10, func() { _ = ln.Close() })
	defer freed.Stop()
	if err := m.Plug(); err != nil {
		t.Fatal(err)
	}
	m.Unplug()
}
