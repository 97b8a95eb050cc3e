package web

import (
	"net/http"

	"runnel/internal/app"
)

// A handoverPage previews what goes to the customer.
type handoverPage struct {
	sheet
	Progress app.Progress
}

func (s *server) showHandover(w http.ResponseWriter, r *http.Request) {
	a, ok := s.assessed(w, r)
	if !ok {
		return
	}
	s.render(w, r, http.StatusOK, "handover.html", handoverPage{
		sheet: s.jobSheet(r, a.Job, "handover", "Handover"), Progress: a.Progress,
	})
}

func (s *server) sendHandover(w http.ResponseWriter, r *http.Request) { s.notFound(w, r) }
