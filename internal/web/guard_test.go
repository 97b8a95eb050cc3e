package web_test

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
)

func request(method, path string, body io.Reader) *http.Request {
	r := httptest.NewRequest(method, path, body)
	r.Host = "127.0.0.1:8080"
	return r
}

func TestEveryAnswerIsGuarded(t *testing.T) {
	a := newApp(t, instant())
	importSix(t, a)
	h := newSite(t, a)
	for _, path := range []string{"/", "/jobs/six", "/nothing", "/healthz", "/jobs/six/export.zip", "/jobs/six/progress"} {
		hd := get(t, h, path).Header()
		csp := hd.Get("Content-Security-Policy")
		if !strings.HasPrefix(csp, "default-src 'self';") || strings.Contains(csp, "unsafe") || hd.Get("X-Frame-Options") != "DENY" ||
			hd.Get("X-Content-Type-Options") != "nosniff" || hd.Get("Referrer-Policy") == "" {
			t.Errorf("%s: %v", path, hd)
		}
	}
	hd := get(t, h, "/jobs/six/handover/preview.html").Header()
	if csp := hd.Get("Content-Security-Policy"); !strings.Contains(csp, "sandbox") || !strings.Contains(csp, "default-src 'none'") || hd.Get("X-Frame-Options") != "SAMEORIGIN" {
		t.Errorf("the preview: %v", hd)
	}
}

func TestForeignNamesAndPagesAreRefused(t *testing.T) {
	h := newSite(t, newApp(t, instant()))
	for host, want := range map[string]int{
		"127.0.0.1:80": http.StatusOK, "localhost:7117": http.StatusOK, "[::1]:7117": http.StatusOK, "LOCALHOST": http.StatusOK,
		"elsewhere.example": http.StatusMisdirectedRequest, "127.0.0.1.elsewhere.example": http.StatusMisdirectedRequest, "10.0.0.1": http.StatusMisdirectedRequest,
	} {
		r := request(http.MethodGet, "/", nil)
		r.Host = host
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != want {
			t.Errorf("asked as %s: %d, want %d", host, w.Code, want)
		}
	}
	for site, want := range map[string]int{"cross-site": http.StatusForbidden, "same-site": http.StatusForbidden, "same-origin": http.StatusSeeOther} {
		r := request(http.MethodPost, "/settings", strings.NewReader("units=us"))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Sec-Fetch-Site", site)
		w := ask(h, r)
		if w.Code != want {
			t.Errorf("a form sent %s: %d, want %d", site, w.Code, want)
		}
		if want == http.StatusForbidden && len(w.Result().Cookies()) > 0 {
			t.Errorf("a form sent %s set a cookie", site)
		}
	}
}

func TestSettingsGoBackOnlyToRunnel(t *testing.T) {
	h := newSite(t, newApp(t, instant()))
	for back, want := range map[string]string{
		"/jobs/six?round=a&did=new": "/jobs/six?round=a", "": "/", "//elsewhere.example/": "/", "https://elsewhere.example/": "/",
		`/\elsewhere.example`: "/", "jobs": "/", "/jobs/%2F%2Fx": "/jobs/%2F%2Fx",
	} {
		r := request(http.MethodPost, "/settings", strings.NewReader("theme=dark&back="+urlEncode(back)))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		w := ask(h, r)
		if got := w.Header().Get("Location"); w.Code != http.StatusSeeOther || got != want {
			t.Errorf("back %q: %d to %q, want %q", back, w.Code, got, want)
		}
		c := w.Result().Cookies()
		if len(c) != 1 || c[0].Name != "runnel_theme" || c[0].Value != "dark" || !c[0].HttpOnly || c[0].SameSite != http.SameSiteLaxMode {
			t.Errorf("cookies %v", c)
		}
	}
	r := request(http.MethodPost, "/settings", strings.NewReader("units=furlongs&theme=purple"))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	if c := ask(h, r).Result().Cookies(); len(c) != 0 {
		t.Errorf("what is not known is remembered: %v", c)
	}
}

func urlEncode(s string) string {
	return strings.NewReplacer("%", "%25", "&", "%26", "?", "%3F", "+", "%2B", `\`, "%5C").Replace(s)
}

func TestPagesComeZipped(t *testing.T) {
	a := newApp(t, instant())
	importSix(t, a)
	h := newSite(t, a)
	plain := get(t, h, "/jobs/six").Body.Bytes()
	for accept, zipped := range map[string]bool{"gzip, br": true, "br;q=1, gzip ;q=0.5": true, "gzip;q=0": false, "": false, "xgzip": false} {
		r := request(http.MethodGet, "/jobs/six", nil)
		r.Header.Set("Accept-Encoding", accept)
		w := ask(h, r)
		if got := w.Header().Get("Content-Encoding") == "gzip"; got != zipped {
			t.Errorf("accepting %q: zipped %v, want %v", accept, got, zipped)
			continue
		}
		body := w.Body.Bytes()
		if zipped {
			z, err := gzip.NewReader(bytes.NewReader(body))
			if err != nil {
				t.Fatal(err)
			}
			if body, err = io.ReadAll(z); err != nil {
				t.Fatal(err)
			}
		}
		if !bytes.Equal(body, plain) {
			t.Errorf("accepting %q: another page", accept)
		}
	}
	r := request(http.MethodGet, "/jobs/six/export.zip", nil)
	r.Header.Set("Accept-Encoding", "gzip")
	if w := ask(h, r); w.Header().Get("Content-Encoding") != "" {
		t.Error("a zip is zipped again")
	}
}

func TestAssets(t *testing.T) {
	h := newSite(t, newApp(t, instant()))
	page := get(t, h, "/").Body.String()
	found := regexp.MustCompile(`/assets/[0-9a-f]+/[a-z.-]+`).FindAllString(page, -1)
	if len(found) < 4 {
		t.Fatalf("only %v", found)
	}
	for _, path := range found {
		w := get(t, h, path)
		etag := w.Header().Get("ETag")
		if w.Code != http.StatusOK || etag == "" || !strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
			t.Errorf("%s: %d %v", path, w.Code, w.Header())
		}
		r := request(http.MethodGet, path, nil)
		r.Header.Set("If-None-Match", etag)
		if w := ask(h, r); w.Code != http.StatusNotModified || w.Body.Len() != 0 {
			t.Errorf("%s again: %d, %d bytes", path, w.Code, w.Body.Len())
		}
		old := regexp.MustCompile(`[0-9a-f]{12}`).ReplaceAllString(path, "000000000000")
		if w := get(t, h, old); w.Code != http.StatusOK || strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
			t.Errorf("%s: an address of another version must not be kept for ever: %v", old, w.Header())
		}
	}
	if w := get(t, h, "/favicon.ico"); w.Code != http.StatusFound {
		t.Errorf("favicon: %d", w.Code)
	}
	if w := get(t, h, "/healthz"); w.Code != http.StatusOK || w.Body.String() != "ok\n" {
		t.Errorf("healthz: %d %s", w.Code, w.Body)
	}
}
