package web

import (
	"net/http"
	"net/url"

	"runnel/internal/app"
	"runnel/internal/fault"
)

// A checkKind is what a kind of check that is sent as a file and may be kept has of its own: studies, or comparisons between shops.
// A is its answer.
type checkKind[A any] struct {
	tab, list, title string // place among the tabs, path of the page and its title
	template         string
	drawer           app.Drawer
	command          string // that reads its files

	work func(url.Values) (A, error)      // what was sent
	keep func(url.Values) (string, error) // returns the name of the file
	one  func(name string) (app.KeptCheck[A], error)
	all  func() ([]app.KeptCheck[A], error)
	page func(checkPage[A]) any // with its pictures
}

// A checkPage is a check: one that was sent, one that is kept, or the list of those.
type checkPage[A any] struct {
	checksSheet
	Answer *A
	One    *app.KeptCheck[A] // the one that the page is about; nil: none
	Kept   []app.KeptCheck[A]
	Away   awayList

	kind *checkKind[A]
}

// Address is the page of a check that is kept.
func (p checkPage[A]) Address(name string) string { return p.kind.path(name) }

// ItsFile is the file of the check that the page is about.
func (p checkPage[A]) ItsFile() keptFile {
	return keptFile{p.kind.drawer, p.kind.command, p.One.Name, p.One.Text, p.Address(p.One.Name)}
}

func (k *checkKind[A]) path(name string) string { return k.list + "/" + url.PathEscape(name) }

// keptRoutes adds the pages of a kind of check.
func keptRoutes[A any](mux *http.ServeMux, s *server, k *checkKind[A]) {
	mux.HandleFunc("GET "+k.list, func(w http.ResponseWriter, r *http.Request) { k.show(s, w, r) })
	mux.HandleFunc("POST "+k.list, func(w http.ResponseWriter, r *http.Request) { k.try(s, w, r) })
	mux.HandleFunc("GET "+k.list+"/{name}", func(w http.ResponseWriter, r *http.Request) { k.showKept(s, w, r) })
	mux.HandleFunc("POST "+k.list+"/{name}", s.moveCheck(k.drawer, k.list, k.path))
}

func (k *checkKind[A]) sheet(s *server, r *http.Request, path string, f form) checkPage[A] {
	return checkPage[A]{checksSheet: s.checksSheet(r, k.tab, path, k.title, f), kind: k}
}

// render answers with a page under the list of what is kept.
func (k *checkKind[A]) render(s *server, w http.ResponseWriter, r *http.Request, status int, p checkPage[A]) {
	var err error
	if p.Kept, err = k.all(); err != nil && p.Error == "" {
		p.Error = sentence(err.Error())
	}
	p.Away = s.away(k.drawer, k.path)
	s.render(w, r, status, k.template, k.page(p))
}

func (k *checkKind[A]) show(s *server, w http.ResponseWriter, r *http.Request) {
	k.render(s, w, r, http.StatusOK, k.sheet(s, r, k.list, form{}))
}

func (k *checkKind[A]) showKept(s *server, w http.ResponseWriter, r *http.Request) {
	one, err := k.one(r.PathValue("name"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	p := k.sheet(s, r, k.path(one.Name), form{})
	p.One = &one
	if one.Problem == "" {
		p.Answer = &one.Answer
	}
	s.render(w, r, http.StatusOK, k.template, k.page(p))
}

// try works a check out, and keeps it when that is asked for.
func (k *checkKind[A]) try(s *server, w http.ResponseWriter, r *http.Request) {
	f, ok := s.readCheck(w, r)
	if !ok {
		return
	}
	err := nothingSent(f.Typed.Get("text"))
	if err == nil && f.Do == "keep" {
		var name string
		if name, err = k.keep(f.Typed); err == nil {
			http.Redirect(w, r, k.path(name)+"?did="+checkKept, http.StatusSeeOther)
			return
		}
	}
	f.Do = "file" // the form that what is wrong is told in
	p := k.sheet(s, r, k.list, f)
	if err == nil {
		var a A
		if a, err = k.work(f.Typed); err == nil {
			p.Answer = &a
		}
	}
	status, ours := p.refused(s, err)
	if !ours {
		s.fail(w, r, err)
		return
	}
	k.render(s, w, r, status, p)
}

// nothingSent is the failure of a form that came without any text.
func nothingSent(text string) error {
	if text == "" {
		return fault.Errorf(fault.Invalid, "nothing arrived: choose a file, or write its text into the field")
	}
	return nil
}
