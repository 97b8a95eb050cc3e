//go:build unix

package engine

import (
	"syscall"
	"testing"
	"time"
)

// cpu returns the processor time this process has used. On a machine that is
// shared it says more than the wall clock.
func cpu(t testing.TB) time.Duration {
	t.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		t.Skip("no processor clock: ", err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
