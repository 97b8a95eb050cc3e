package web

import (
	"errors"
	"net/http"
	"net/url"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
)

// A bookInPage makes a new job.
type bookInPage struct {
	sheet
	form
	Kinds []role
	Jobs  []app.Card
	Shop  app.ShopBench
	Who   job.Shop // as the job before was signed
	Error string
}

// kindTitles are what kinds of pieces are called.
var kindTitles = map[string]string{
	"manifold": "Intake manifold", "head": "Cylinder head", "throttle_body": "Throttle body", "spacer": "Spacer", "plenum": "Plenum",
}

func (s *server) showBookIn(w http.ResponseWriter, r *http.Request) {
	s.bookInForm(w, r, http.StatusOK, form{}, "")
}

func (s *server) bookInForm(w http.ResponseWriter, r *http.Request, status int, f form, trouble string) {
	p := bookInPage{sheet: s.sheet(r, "Book a job in"), form: f, Error: trouble}
	p.Here = "/book-in"
	for _, k := range app.PieceKinds() {
		p.Kinds = append(p.Kinds, role{k, kindTitles[k]})
	}
	var err error
	if p.Jobs, err = s.app.Jobs(r.Context()); err != nil {
		s.fail(w, r, err)
		return
	}
	if p.Who, err = s.app.LastShop(r.Context()); err != nil {
		s.fail(w, r, err)
		return
	}
	if p.Shop, err = s.app.ShopBench(r.Context()); err != nil {
		p.Shop.There = false // it has to be mended first; its own page says so
	}
	s.render(w, r, status, "book_in.html", p)
}

func (s *server) bookIn(w http.ResponseWriter, r *http.Request) {
	f, ok := s.readForm(w, r)
	if !ok {
		return
	}
	f.Do = "job"
	v := f.Typed
	id, err := s.app.BookIn(r.Context(), app.NewJob{
		Title: v.Get("title"), Customer: v.Get("customer"), AskedFor: v.Get("asked_for"), Shop: v.Get("shop"), Place: v.Get("place"), Kind: v.Get("kind"), Piece: v.Get("piece"),
		Openings: v.Get("openings"), TestPressure: v.Get("test_pressure"), Entry: v.Get("entry"), BenchOf: v.Get("bench_of"), Blanked: v.Get("blanked"),
	})
	if err == nil {
		http.Redirect(w, r, "/jobs/"+url.PathEscape(id)+"?did=booked-in", http.StatusSeeOther)
		return
	}
	if ps, bad := errors.AsType[job.Problems](err); bad {
		s.bookInForm(w, r, http.StatusUnprocessableEntity, f, ps.Error())
		return
	}
	switch kind := fault.KindOf(err); {
	case s.wrongForm(&f, err):
		s.bookInForm(w, r, statusOf[kind], f, "")
	case kind == fault.Internal:
		s.fail(w, r, err)
	default:
		s.bookInForm(w, r, statusOf[kind], f, sentence(err.Error()))
	}
}
