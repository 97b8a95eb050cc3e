package web

import (
	"net/http"

	"runnel/job"
)

// A sittingsPage shows the bench at each spell of work.
type sittingsPage struct {
	sheet
	Bench    job.Bench
	Sittings []sittingLine
	Names    names
}

func (s *server) showSittings(w http.ResponseWriter, r *http.Request) {
	a, ok := s.assessed(w, r)
	if !ok {
		return
	}
	s.render(w, r, http.StatusOK, "sittings.html", sittingsPage{
		sheet: s.jobSheet(r, a.Job, "sittings", "Sittings"), Bench: a.Job.Bench,
		Sittings: sittingLines(a.Job, a.Assessment), Names: namesOf(a.Job),
	})
}
