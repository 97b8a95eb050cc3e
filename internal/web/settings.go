package web

import (
	"net/http"
	"net/url"
	"strings"
	"time"

	"runnel/unit"
)

const (
	unitsCookie = "runnel_units"
	themeCookie = "runnel_theme"
)

func themeOf(r *http.Request) string {
	if c, err := r.Cookie(themeCookie); err == nil && (c.Value == "light" || c.Value == "dark") {
		return c.Value
	}
	return "auto"
}

// saveSettings remembers the units or the light of the pages and goes back to the page.
func (s *server) saveSettings(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 4096)
	if v := r.FormValue("units"); v != "" {
		if sys, err := unit.ParseSystem(v); err == nil {
			remember(w, unitsCookie, sys.String())
		}
	}
	switch v := r.FormValue("theme"); v {
	case "light", "dark", "auto":
		remember(w, themeCookie, v)
	}
	http.Redirect(w, r, localPath(r.FormValue("back")), http.StatusSeeOther)
}

func remember(w http.ResponseWriter, name, value string) {
	http.SetCookie(w, &http.Cookie{
		Name: name, Value: value, Path: "/", MaxAge: int(365 * 24 * time.Hour / time.Second),
		HttpOnly: true, SameSite: http.SameSiteLaxMode,
	})
}

// localPath lets a form send back only to a page of Runnel.
func localPath(back string) string {
	u, err := url.Parse(back)
	if err != nil || u.Host != "" || u.Scheme != "" || !strings.HasPrefix(u.Path, "/") || strings.HasPrefix(back, "//") || strings.ContainsRune(back, '\\') {
		return "/"
	}
	q := u.Query()
	q.Del("did") // a note is said once
	return (&url.URL{Path: u.Path, RawPath: u.RawPath, RawQuery: q.Encode()}).String()
}
