package web

import (
	"net/http"
	"net/http/httptest"
	"testing"

	"runnel/internal/app"
	"runnel/internal/fault"
)

// A question that a newer one overtook is not a failure: the browser would write it on its console.
func TestOvertakenQuestion(t *testing.T) {
	w := httptest.NewRecorder()
	(&server{}).failTry(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/", http.NoBody), fault.As(fault.Conflict, app.ErrSuperseded))
	if w.Code != http.StatusNoContent || w.Body.Len() != 0 {
		t.Errorf("%d, %q", w.Code, w.Body)
	}
}
