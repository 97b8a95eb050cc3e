package web

import (
	"bytes"
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

// sendHandover sends the handover as a file, or as the preview for the frame of its page.
func (s *server) sendHandover(w http.ResponseWriter, r *http.Request) {
	id, file := r.PathValue("id"), r.PathValue("file")
	form, ok := handoverForms[file]
	if !ok {
		s.notFound(w, r)
		return
	}
	form.System = systemOf(r)
	var b bytes.Buffer
	if err := s.app.Handover(r.Context(), id, form.Print, &b); err != nil {
		s.fail(w, r, err)
		return
	}
	if file != previewFile {
		s.download(w, id+"-"+file, form.mime, b.Bytes())
		return
	}
	h := w.Header()
	h.Set("Content-Type", form.mime)
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Security-Policy", documentPolicy)
	h.Set("X-Frame-Options", "SAMEORIGIN")
	if _, err := w.Write(b.Bytes()); err != nil {
		s.log.Debug("preview cut short", "error", err)
	}
}

// previewFile is the handover as it is shown inside its page.
const previewFile = "preview.html"

type handoverForm struct {
	app.Print
	mime string
}

var handoverForms = map[string]handoverForm{
	previewFile:           {app.Print{Kind: "html"}, "text/html; charset=utf-8"},
	"handover.html":       {app.Print{Kind: "html"}, "text/html; charset=utf-8"},
	"handover-a4.pdf":     {app.Print{Kind: "pdf", Paper: "a4"}, "application/pdf"},
	"handover-letter.pdf": {app.Print{Kind: "pdf", Paper: "letter"}, "application/pdf"},
	"assessment.json":     {app.Print{Kind: "json"}, "application/json"},
}
