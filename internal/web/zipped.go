package web

import (
	"compress/gzip"
	"errors"
	"net/http"
	"strings"
)

// zipped compresses what is text and long enough to be worth it.
func (s *server) zipped(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodHead || !accepts(r, "gzip") {
			next.ServeHTTP(w, r)
			return
		}
		z := &zipWriter{ResponseWriter: w}
		defer func() {
			if err := z.close(); err != nil {
				s.log.Debug("answer cut short", "path", r.URL.Path, "error", err)
			}
		}()
		next.ServeHTTP(z, r)
	})
}

func accepts(r *http.Request, coding string) bool {
	for _, line := range r.Header.Values("Accept-Encoding") {
		for part := range strings.SplitSeq(line, ",") {
			name, weight, _ := strings.Cut(strings.TrimSpace(part), ";")
			if strings.EqualFold(strings.TrimSpace(name), coding) {
				return strings.ReplaceAll(weight, " ", "") != "q=0"
			}
		}
	}
	return false
}

// A zipWriter decides at the first byte whether to compress.
type zipWriter struct {
	http.ResponseWriter
	zip   *gzip.Writer
	begun bool
}

// Unwrap lets http.ResponseController reach the writer below.
func (z *zipWriter) Unwrap() http.ResponseWriter { return z.ResponseWriter }

func (z *zipWriter) WriteHeader(status int) {
	if !z.begun {
		z.begun = true
		z.Header().Add("Vary", "Accept-Encoding")
		if status >= 200 && status != http.StatusNoContent && status != http.StatusNotModified && z.worth() {
			z.Header().Del("Content-Length")
			z.Header().Set("Content-Encoding", "gzip")
			z.zip = gzip.NewWriter(z.ResponseWriter)
		}
	}
	z.ResponseWriter.WriteHeader(status)
}

func (z *zipWriter) worth() bool {
	h := z.Header()
	if h.Get("Content-Encoding") != "" {
		return false
	}
	kind, _, _ := strings.Cut(h.Get("Content-Type"), ";")
	switch kind {
	case "text/event-stream":
		return false
	case "application/json", "image/svg+xml":
		return true
	}
	return strings.HasPrefix(kind, "text/")
}

func (z *zipWriter) Write(b []byte) (int, error) {
	if !z.begun {
		if z.Header().Get("Content-Type") == "" {
			z.Header().Set("Content-Type", http.DetectContentType(b))
		}
		z.WriteHeader(http.StatusOK)
	}
	if z.zip != nil {
		return z.zip.Write(b)
	}
	return z.ResponseWriter.Write(b)
}

// FlushError sends what is there; streams need it.
func (z *zipWriter) FlushError() error {
	if !z.begun {
		z.WriteHeader(http.StatusOK)
	}
	if z.zip != nil {
		if err := z.zip.Flush(); err != nil {
			return err
		}
	}
	return http.NewResponseController(z.ResponseWriter).Flush()
}

func (z *zipWriter) close() error {
	if z.zip == nil {
		return nil
	}
	if err := z.zip.Close(); err != nil {
		return errors.New("the connection was closed")
	}
	return nil
}
