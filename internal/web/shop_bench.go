package web

import (
	"errors"
	"net/http"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
)

// A shopBenchPage is the shop's bench card as a whole: where it is, what it says, and what became of it.
type shopBenchPage struct {
	sheet
	form
	Shop     app.ShopBench
	Jobs     []app.Card // whose card can be taken
	Begun    bool       // there is no card yet, and its lines are wanted in the field
	Problems job.Problems
	Error    string
}

// Text is the card as it was typed, else as it is.
func (p shopBenchPage) Text() string {
	switch {
	case p.Do == "write":
		return p.Typed.Get("text")
	case p.Begun:
		return p.Like() + "\n"
	}
	return p.Shop.Text
}

// Like shows how a card is written.
func (shopBenchPage) Like() string {
	return `id = "bench-1"
title = "My bench"

[[meters]]
id = "plate-60"
kind = "orifice_pipe"
pipe = "…"
bore = "…"
taps = "corner"

[[sensors]]
channel = "meter_dp"
role = "meter_dp"
unit = "Pa"
u = "…"

[[sensors]]
channel = "test_dp"
role = "test_dp"
unit = "inH2O"
u = "…"

[check_plate]
id = "check-plate"
effective_area = "…"
u = "…"`
}

// Why is the reason as it was typed.
func (p shopBenchPage) Why() string { return p.Typed.Get("why") }

func (s *server) showShopBench(w http.ResponseWriter, r *http.Request) {
	s.shopBench(w, r, http.StatusOK, form{}, nil)
}

// shopBench draws the page; err is what was wrong with what was sent.
func (s *server) shopBench(w http.ResponseWriter, r *http.Request, status int, f form, err error) {
	p := shopBenchPage{sheet: s.sheet(r, "The shop's bench"), form: f}
	p.Here = "/bench/card"
	shop, broken := s.app.ShopBench(r.Context())
	if broken != nil && fault.KindOf(broken) == fault.Internal {
		s.fail(w, r, broken)
		return
	}
	p.Shop, p.Begun = shop, !shop.There && r.URL.Query().Get("begin") == "lines"
	if err == nil {
		err = broken
	}
	if ps, ok := errors.AsType[job.Problems](err); ok {
		p.Error, p.Problems = "The card has to be mended first; nothing was changed.", ps
	} else if err != nil {
		p.Error = sentence(err.Error())
	}
	jobs, jobsErr := s.app.Jobs(r.Context())
	if jobsErr != nil {
		s.fail(w, r, jobsErr)
		return
	}
	p.Jobs = jobs
	if r.URL.Query().Get("did") == "card" {
		p.Note = "The shop's bench card is kept; the state before stays in the list below."
	}
	s.render(w, r, status, "shop_bench.html", p)
}

func (s *server) changeShopBench(w http.ResponseWriter, r *http.Request) {
	f, ok := s.readForm(w, r)
	if !ok {
		return
	}
	e := app.ShopEdit{Tag: f.Typed.Get("tag"), Why: f.Typed.Get("why")}
	var err error
	switch f.Do {
	case "begin":
		err = s.app.BeginShopBench(r.Context(), e, f.Typed.Get("from"))
	case "back":
		err = s.app.BackShopBench(r.Context(), e, f.Typed.Get("state"))
	default:
		f.Do = "write"
		err = s.app.SaveShopText(r.Context(), e, f.Typed.Get("text"))
	}
	if err == nil {
		http.Redirect(w, r, "/bench/card?did=card", http.StatusSeeOther)
		return
	}
	kind := fault.KindOf(err)
	if kind == fault.Internal {
		s.fail(w, r, err)
		return
	}
	s.shopBench(w, r, statusOf[kind], f, err)
}
