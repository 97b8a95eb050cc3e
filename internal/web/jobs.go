package web

import (
	"errors"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
)

// A jobsPage is the list of jobs and the place to open one.
type jobsPage struct {
	sheet
	Cards      []app.Card
	Deleted    []app.Card
	LocalPaths bool
	Typed      string // the path as it was typed
	Error      string // why an import was refused
	Problems   job.Problems
}

func (s *server) showJobs(w http.ResponseWriter, r *http.Request) {
	p, ok := s.jobsPage(w, r)
	if ok {
		s.render(w, r, http.StatusOK, "jobs.html", p)
	}
}

func (s *server) jobsPage(w http.ResponseWriter, r *http.Request) (jobsPage, bool) {
	p := jobsPage{sheet: s.sheet(r, "Jobs"), LocalPaths: s.opt.LocalPaths}
	if r.Method != http.MethodGet {
		p.Here = "/"
	}
	var err error
	if p.Cards, err = s.app.Jobs(r.Context()); err != nil {
		s.fail(w, r, err)
		return p, false
	}
	if p.Deleted, err = s.app.Deleted(r.Context()); err != nil {
		s.fail(w, r, err)
		return p, false
	}
	return p, true
}

// maxUpload is the most that is taken in one import [bytes].
const maxUpload = 600 << 20

// importJob takes a job folder or its zip, sent as files or named by a path of this machine.
func (s *server) importJob(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, maxUpload)
	var done app.Imported
	typed, up, err := readUpload(r)
	switch {
	case err != nil:
	case typed != "" && up.Empty():
		if !s.opt.LocalPaths {
			err = fault.Errorf(fault.Invalid, "a path can only be opened on the machine Runnel runs on: send the folder or its zip")
			break
		}
		done, err = s.app.ImportPath(r.Context(), typed)
	default:
		done, err = s.app.ImportUpload(r.Context(), up)
	}
	if err != nil {
		s.refuseImport(w, r, typed, err)
		return
	}
	did := strings.ReplaceAll(done.Outcome, " ", "-")
	http.Redirect(w, r, "/jobs/"+url.PathEscape(done.ID)+"?did="+did, http.StatusSeeOther)
}

// refuseImport shows the list again with what is wrong with the folder.
func (s *server) refuseImport(w http.ResponseWriter, r *http.Request, typed string, err error) {
	if big, ok := errors.AsType[*http.MaxBytesError](err); ok {
		err = fault.Errorf(fault.Invalid, "that is more than %d MB: is it a job folder?", big.Limit>>20)
	}
	if fault.KindOf(err) == fault.Internal {
		s.fail(w, r, err)
		return
	}
	p, ok := s.jobsPage(w, r)
	if !ok {
		return
	}
	p.Typed, p.Error = typed, sentence(err.Error())
	if ps, ok := errors.AsType[job.Problems](err); ok {
		p.Problems = ps
		p.Error = fmt.Sprintf("Nothing was imported: %d things have to be mended first.", len(ps))
		if len(ps) == 1 {
			p.Error = "Nothing was imported: one thing has to be mended first."
		}
	}
	s.render(w, r, statusOf[fault.KindOf(err)], "jobs.html", p)
}

// readUpload reads the form: files under "files", a typed path under "path".
func readUpload(r *http.Request) (typed string, up *app.Upload, err error) {
	up = app.NewUpload()
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if err != nil || kind != "multipart/form-data" {
		return strings.TrimSpace(r.FormValue("path")), up, nil
	}
	parts, err := r.MultipartReader()
	if err != nil {
		return "", up, fault.As(fault.Invalid, err)
	}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return typed, up, nil
		}
		if err != nil {
			return typed, up, fault.As(fault.Invalid, fmt.Errorf("the upload broke off: %w", err))
		}
		switch part.FormName() {
		case "path":
			b, err := io.ReadAll(io.LimitReader(part, 4096))
			if err != nil {
				return typed, up, fault.As(fault.Invalid, err)
			}
			typed = strings.TrimSpace(string(b))
		case "files":
			if name := fileName(part); name != "" {
				if err := up.Add(name, part); err != nil {
					return typed, up, err
				}
			}
		}
	}
}

// fileName is the name of an uploaded file with its folders, which mime/multipart would cut off.
func fileName(p *multipart.Part) string {
	_, params, err := mime.ParseMediaType(p.Header.Get("Content-Disposition"))
	if err != nil {
		return ""
	}
	return params["filename"]
}
