package capturetest

import (
	"bytes"
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// Missing skips a test for the lack of a program it needs, or fails it when RUNNEL_NEED_SERVICES=1 says that there must be
// no such lack.
func Missing(t *testing.T, format string, args ...any) {
	t.Helper()
	if os.Getenv("RUNNEL_NEED_SERVICES") == "1" {
		t.Fatalf(format, args...)
	}
	t.Skipf(format, args...)
}

// Program returns the path of a program that a test needs.
func Program(t *testing.T, names ...string) string {
	t.Helper()
	for _, n := range names {
		if path, err := exec.LookPath(n); err == nil {
			return path
		}
	}
	Missing(t, "%s is not installed", names[0])
	return ""
}

// placeFirst and placeCount are the numbers FreePlace picks from: below those that systems give to callers (32768 and up on Linux).
const (
	placeFirst = 20000
	placeCount = 12000
)

// places counts the numbers looked at, so that no two tests of a process are given the same.
var places atomic.Int64

// FreePlace returns a loopback address with a number that nobody uses at the moment. It asks by calling there: to listen for a moment would
// lend the number to any program that another test starts just then, which holds what was open until it has loaded.
func FreePlace(t *testing.T) string {
	t.Helper()
	var d net.Dialer
	for range 100 {
		place := fmt.Sprintf("127.0.0.1:%d", placeFirst+(os.Getpid()*61+int(places.Add(1)))%placeCount)
		c, err := d.DialContext(t.Context(), "tcp", place)
		if err != nil { // nobody answers
			return place
		}
		_ = c.Close() // it was only to ask
	}
	t.Fatal("no free number was found on the loopback address")
	return ""
}

// A Service is a program that runs beside a test and can be ended and started again.
type Service struct {
	t     *testing.T
	args  []string
	ready func(context.Context) error

	mu  sync.Mutex
	cmd *exec.Cmd
	out bytes.Buffer
}

// Serve starts a program and waits until ready says so. It is ended with the test.
func Serve(t *testing.T, ready func(context.Context) error, args ...string) *Service {
	t.Helper()
	s := &Service{t: t, args: args, ready: ready}
	t.Cleanup(s.Stop)
	s.Start()
	return s
}

// Listening is ready when somebody listens at a place.
func Listening(place string) func(context.Context) error {
	return func(ctx context.Context) error {
		var d net.Dialer
		c, err := d.DialContext(ctx, "tcp", place)
		if err != nil {
			return err
		}
		return c.Close()
	}
}

// Start starts it, again after Stop.
func (s *Service) Start() {
	s.t.Helper()
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.cmd != nil {
		return
	}
	s.cmd = exec.Command(s.args[0], s.args[1:]...) //nolint:gosec,noctx // the test names it, and ends it itself
	s.cmd.Stdout, s.cmd.Stderr = &s.out, &s.out
	if err := s.cmd.Start(); err != nil {
		s.t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 15*time.Second)
	defer cancel()
	for {
		err := s.ready(ctx)
		if err == nil {
			return
		}
		select {
		case <-ctx.Done():
			s.t.Errorf("%s does not get ready: %v", s.args[0], err)
			return
		case <-time.After(20 * time.Millisecond):
		}
	}
}

// Stop kills it, by its own number, and waits until it is gone.
func (s *Service) Stop() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.cmd == nil {
		return
	}
	_ = s.cmd.Process.Kill()
	_ = s.cmd.Wait() // it was killed
	s.cmd = nil
}

// Once runs a program to its end.
func Once(t *testing.T, args ...string) {
	t.Helper()
	out, err := exec.CommandContext(t.Context(), args[0], args[1:]...).CombinedOutput() //nolint:gosec // the test names it
	if err != nil {
		t.Fatalf("%s: %v\n%s", args[0], err, out)
	}
}

// Broker runs Debian's MQTT broker on a free place, open to all.
func Broker(t *testing.T) (place string, s *Service) {
	t.Helper()
	program := Program(t, "mosquitto", "/usr/sbin/mosquitto") //nolint:misspell // the name of the program
	place = FreePlace(t)
	_, number, _ := strings.Cut(place, ":")
	return place, Serve(t, Listening(place), program, "-p", number)
}
