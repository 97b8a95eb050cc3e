package rig

import (
	"context"
	"encoding/json"
	"sync"
	"time"
)

// An Output is a line a rig speaks on.
type Output interface {
	// Plug opens the line; Unplug closes it, as if somebody pulled the cable. Both may be called again.
	Plug() error
	Unplug()
	// Put sends a sample. garbled asks for one that cannot be read. Errors of the far end are not its business.
	Put(s Sample, garbled bool)
	// Place is what stands in a source address after the kind: a port, a host with its number.
	Place() string
}

// A Server runs a rig in real time and speaks on its outputs. Its methods may be called from any goroutine.
type Server struct {
	mu      sync.Mutex
	rig     *Rig
	outputs []Output
	plugged bool
}

// NewServer opens the outputs.
func NewServer(r *Rig, outputs ...Output) (*Server, error) {
	s := &Server{rig: r, outputs: outputs, plugged: true}
	for i, o := range outputs {
		if err := o.Plug(); err != nil {
			for _, open := range outputs[:i] {
				open.Unplug()
			}
			return nil, err
		}
	}
	return s, nil
}

// Run lets time pass until the context ends, then closes the outputs. Samples are spaced by the rig's rate; when the machine
// is late it catches up.
func (s *Server) Run(ctx context.Context) error {
	defer s.close()
	dt := 1 / s.rig.opt.Rate
	every := time.Duration(dt * float64(time.Second))
	tick := time.NewTicker(max(every, 5*time.Millisecond))
	defer tick.Stop()
	var start time.Time
	done := 0
	for {
		select {
		case <-ctx.Done():
			return nil
		case now := <-tick.C:
			if start.IsZero() {
				start = now
			}
			due := int(now.Sub(start)/every) + 1
			if due-done > int(2*s.rig.opt.Rate)+2 { // asleep for long: do not flood
				done = due - 1
			}
			for ; done < due; done++ {
				if err := s.step(dt); err != nil {
					return err
				}
			}
		}
	}
}

func (s *Server) step(dt float64) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	sample, ok, err := s.rig.Step(dt)
	if err != nil {
		return err
	}
	s.plug(!s.rig.Failing("unplug"))
	if !ok || s.rig.Failing("silent") || !s.plugged {
		return nil
	}
	for _, o := range s.outputs {
		o.Put(sample, s.rig.Failing("garble"))
	}
	return nil
}

// plug follows the fault "unplug".
func (s *Server) plug(on bool) {
	if on == s.plugged {
		return
	}
	if !on {
		for _, o := range s.outputs {
			o.Unplug()
		}
		s.plugged = false
		return
	}
	for _, o := range s.outputs {
		if err := o.Plug(); err != nil {
			o.Unplug()
			return // tried again at the next sample
		}
	}
	s.plugged = true
}

func (s *Server) close() {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, o := range s.outputs {
		o.Unplug()
	}
}

// Do carries out a command.
func (s *Server) Do(line string) (string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if line == "truth" {
		b, err := json.Marshal(s.rig.Truth())
		return string(b), err
	}
	return s.rig.Do(line)
}

// Truth returns what the rig has on it.
func (s *Server) Truth() Truth {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.rig.Truth()
}
