package job_test

import (
	"math"
	"strings"
	"testing"

	"runnel/job"
)

func TestParseSpeeds(t *testing.T) {
	got, err := job.ParseSpeeds("2000:7000:500")
	if err != nil || len(got) != 11 || math.Abs(got[0]*60-2000) > 1e-9 || math.Abs(got[10]*60-7000) > 1e-9 {
		t.Errorf("got %v, %v", got, err)
	}
	if got, err = job.ParseSpeeds("2500, 3000,4200"); err != nil || len(got) != 3 || math.Abs(got[2]-70) > 1e-12 {
		t.Errorf("got %v, %v", got, err)
	}
	if got, err = job.ParseSpeeds("2000:3000:500 rpm"); err != nil || len(got) != 3 {
		t.Errorf("got %v, %v", got, err)
	}
	for bad, why := range map[string]string{"7000:2000:500": "run downwards", "0": "above zero", "2000:7000:0": "above zero", "3000,2000": "do not rise", "fast": "cannot be read"} {
		if _, err := job.ParseSpeeds(bad); err == nil || !strings.Contains(err.Error(), why) {
			t.Errorf("%q: %v, wanted %q", bad, err, why)
		}
	}
	for _, bad := range []string{"", "fast", "7000:2000:500", "0:100:0", "1:2:3:4", "3000,2000", "2000:7000:-5", "NaN"} {
		if v, err := job.ParseSpeeds(bad); err == nil || !strings.Contains(err.Error(), "2000:7000:500") {
			t.Errorf("%q: %v, %v", bad, v, err)
		}
	}
	for bad, want := range map[string]string{"2000:99000:1000": "up to 30000", "90000": "up to 30000", "1:Inf:1": "larger step"} {
		if v, err := job.ParseSpeeds(bad); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, %v", bad, v, err)
		}
	}
}
