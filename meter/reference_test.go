package meter_test

import (
	"math"
	"testing"
)

// near reports a difference beyond the relative tolerance rel or the absolute one abs.
func near(t *testing.T, what string, got, want, rel, abs float64) {
	t.Helper()
	if !(math.Abs(got-want) <= max(abs, rel*math.Abs(want))) {
		t.Errorf("%s = %.15g, want %.15g (relative difference %.2g, allowed %.2g)", what, got, want, (got-want)/want, rel)
	}
}
