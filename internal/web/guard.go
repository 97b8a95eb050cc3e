package web

import (
	"fmt"
	"net"
	"net/http"
	"runtime/debug"
	"slices"
	"strings"
)

// pagePolicy is what a page may load: its own origin and nothing inline.
const pagePolicy = "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// documentPolicy is for the handover, a file that carries its own styles and is shown in a sandboxed frame.
const documentPolicy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'self'; sandbox"

// guard stands before every route.
func (s *server) guard(next http.Handler) http.Handler {
	same := http.NewCrossOriginProtection()
	same.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.failPage(w, r, http.StatusForbidden, "That came from another page", "The request was sent by a page that is not Runnel's, so it was not carried out.", nil)
	}))
	return s.recovered(s.knownHost(secured(s.zipped(same.Handler(next)))))
}

// secured sets the headers that keep a page to itself.
func secured(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", pagePolicy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=(), payment=(), usb=()")
		next.ServeHTTP(w, r)
	})
}

// knownHost refuses requests by a foreign name: a page elsewhere may point its own name at this machine.
func (s *server) knownHost(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !s.hostKnown(r.Host) {
			http.Error(w, fmt.Sprintf("Runnel does not answer to the name %q.", r.Host), http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

func (s *server) hostKnown(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = strings.ToLower(strings.Trim(name, "[]"))
	if ip := net.ParseIP(name); ip != nil && ip.IsLoopback() {
		return true
	}
	return name == "localhost" || slices.Contains(s.opt.Hosts, name)
}

// recovered answers a programmer's fault with a page instead of a broken connection.
func (s *server) recovered(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			p := recover()
			if p == nil {
				return
			}
			if err, ok := p.(error); ok && err == http.ErrAbortHandler { //nolint:errorlint // this one value is passed on as it is
				panic(p)
			}
			s.log.Error("page", "path", r.URL.Path, "panic", p, "stack", string(debug.Stack()))
			s.failPage(w, r, http.StatusInternalServerError, "Something broke", "This is our fault, not yours. Nothing you entered was changed; the details are in the log.", nil)
		}()
		next.ServeHTTP(w, r)
	})
}
