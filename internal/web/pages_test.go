package web_test

import (
	"net/http"
	"testing"
)

func TestPagesOfAJob(t *testing.T) {
	a := newApp(t, instant())
	h := newSite(t, a)
	importSix(t, a)
	for _, p := range []string{"/", "/jobs/six", "/jobs/six/readings", "/jobs/six/readings/r01", "/jobs/six/readings/r08", "/jobs/six/sittings", "/jobs/six/engine", "/jobs/six/engine/pull", "/jobs/six/handover", "/jobs/six/record"} {
		if w := get(t, h, p); w.Code != http.StatusOK {
			t.Errorf("%s: %d\n%s", p, w.Code, w.Body)
		}
	}
}
