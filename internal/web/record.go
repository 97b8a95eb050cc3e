package web

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
)

// A recordPage is what happened to a job's folder.
type recordPage struct {
	sheet
	J         job.Job
	Revision  int
	Hash      string
	Revisions []app.Revision
	Changes   []app.Change
	Scans     int     // meshes, pictures and probe readings kept beside the folder
	Megabytes float64 // they take [MB]
	Error     string
}

func (s *server) showRecord(w http.ResponseWriter, r *http.Request) {
	s.record(w, r, http.StatusOK, "")
}

func (s *server) record(w http.ResponseWriter, r *http.Request, status int, trouble string) {
	a, ok := s.assessed(w, r)
	if !ok {
		return
	}
	p := recordPage{sheet: s.jobSheet(r, a.Job, "record", "Record"), J: a.Job, Revision: a.Revision, Hash: a.Hash, Error: trouble}
	p.Here = "/jobs/" + url.PathEscape(a.Job.ID) + "/record"
	var err error
	if p.Revisions, p.Changes, err = s.app.History(r.Context(), a.Job.ID); err != nil {
		s.fail(w, r, err)
		return
	}
	count, size, err := s.app.ScansSize(r.Context(), a.Job.ID)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	p.Scans, p.Megabytes = count, float64(size)/1e6
	s.render(w, r, status, "record.html", p)
}

// exportJob sends the job folder as it was imported, as a zip; scans=no leaves the meshes and pictures out.
func (s *server) exportJob(w http.ResponseWriter, r *http.Request) {
	id, revision := r.PathValue("id"), 0
	if v := r.URL.Query().Get("revision"); v != "" {
		n, err := strconv.Atoi(v)
		if err != nil || n < 1 {
			s.fail(w, r, fault.Errorf(fault.NotFound, "job %q has no revision %q", id, v))
			return
		}
		revision = n
	}
	var b bytes.Buffer
	export := s.app.ExportZip
	if r.URL.Query().Get("scans") == "no" {
		export = s.app.ExportFacts
	}
	if err := export(r.Context(), id, revision, &b); err != nil {
		s.fail(w, r, err)
		return
	}
	name := id
	if revision > 0 {
		name = fmt.Sprintf("%s-revision-%d", id, revision)
	}
	s.download(w, name+".zip", "application/zip", b.Bytes())
}

func (s *server) download(w http.ResponseWriter, name, kind string, data []byte) {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name))
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Length", strconv.Itoa(len(data)))
	if _, err := w.Write(data); err != nil {
		s.log.Debug("download cut short", "file", name, "error", err)
	}
}

func (s *server) deleteJob(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 64<<10)
	err := s.app.Delete(r.Context(), r.PathValue("id"), r.FormValue("why"))
	switch {
	case err == nil:
		http.Redirect(w, r, "/?did=deleted", http.StatusSeeOther)
	case fault.KindOf(err) == fault.Invalid:
		s.record(w, r, http.StatusUnprocessableEntity, "Write why the job is put away: the record keeps it.")
	default:
		s.fail(w, r, err)
	}
}

func (s *server) restoreJob(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	if err := s.app.Restore(r.Context(), id); err != nil {
		s.fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/jobs/"+url.PathEscape(id)+"?did=brought-back", http.StatusSeeOther)
}

func (s *server) goBack(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 4096)
	id := r.PathValue("id")
	n, err := strconv.Atoi(r.FormValue("revision"))
	if err != nil || n < 1 {
		s.fail(w, r, fault.Errorf(fault.NotFound, "job %q has no revision %q", id, r.FormValue("revision")))
		return
	}
	if _, err := s.app.GoBack(r.Context(), id, n); err != nil {
		s.fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/jobs/"+url.PathEscape(id)+"/record?did=changed", http.StatusSeeOther)
}
