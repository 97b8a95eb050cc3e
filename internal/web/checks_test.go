package web_test

import (
	"bytes"
	"html"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"runnel/internal/app"
)

// sendCheck is a form of the checks as a browser sends it with a file.
func sendCheck(t *testing.T, path, name, text string, fields url.Values) *http.Request {
	t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for k := range fields {
		if err := m.WriteField(k, fields.Get(k)); err != nil {
			t.Fatal(err)
		}
	}
	w, err := m.CreateFormFile("upload", name)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Write([]byte(text)); err != nil {
		t.Fatal(err)
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	r := request(http.MethodPost, path, &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return r
}

func typeCheck(path string, fields url.Values) *http.Request {
	r := request(http.MethodPost, path, strings.NewReader(fields.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return r
}

func exampleOf(t *testing.T, name string) string {
	t.Helper()
	data, err := os.ReadFile(exampleBench + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// says checks a page of the checks: its status, what it must say and that it is whole.
func says(t *testing.T, h http.Handler, r *http.Request, status int, want ...string) string {
	t.Helper()
	w := ask(h, r)
	body := html.UnescapeString(w.Body.String())
	if w.Code != status {
		t.Errorf("%s: status %d, want %d\n%s", r.URL, w.Code, status, body)
	}
	for _, s := range want {
		if !strings.Contains(body, s) {
			t.Errorf("%s does not say %q", r.URL, s)
		}
	}
	wholesome(t, r.URL.Path, w.Body.String())
	return body
}

// The pages of the checks with nothing to show, and with the examples.
func TestChecksPages(t *testing.T) {
	h := newSite(t, newApp(t, instant()))
	for path, want := range map[string]string{
		"/bench/checks": "No calibration is kept yet", "/bench/checks/plate": "No flow of a check plate is recorded yet",
		"/bench/checks/people": "Several people flow several pieces", "/bench/checks/shops": "A plate that travelled between shops",
	} {
		says(t, h, request(http.MethodGet, path, nil), http.StatusOK, want)
	}
	says(t, h, sendCheck(t, "/bench/checks", "plates.toml", exampleOf(t, "plates.toml"), url.Values{"do": {"file"}}), http.StatusOK,
		"Worked out, and not kept yet", "Of all curves within 2 of the least this is the shortest", "1 March 2027", "None of 5 flows breaks a rule")
	says(t, h, sendCheck(t, "/bench/checks/people", "study.csv", exampleOf(t, "study.csv"), url.Values{"claim": {"2"}}), http.StatusOK,
		"5 pieces × 3 people × 2 repeats", "Of a claimed change of 2.00 % the gauge eats")
	says(t, h, sendCheck(t, "/bench/checks/shops", "shops.csv", exampleOf(t, "shops.csv"), nil), http.StatusOK,
		"The robust consensus is", "Harbour", "differs", "zeta")
	full := newApp(t, instant())
	importSix(t, full)
	says(t, newSite(t, full), request(http.MethodGet, "/bench/checks/plate", nil), http.StatusOK, "Test bench (invented)", "one value beyond 3σ", "11 March 2026")
}

// A file that cannot be read says where and what to write, and stays on the page to be mended.
func TestChecksRefuse(t *testing.T) {
	h := newSite(t, newApp(t, instant()))
	broken := strings.Replace(exampleOf(t, "plates.toml"), `known = "92.0 cfm"`, `known = "92.0"`, 1)
	body := says(t, h, sendCheck(t, "/bench/checks", "plates.toml", broken, url.Values{"do": {"file"}, "every": {"300 d"}}), http.StatusUnprocessableEntity,
		"has to be mended first", "plates.toml:16:", "has no unit", `value="300 d"`)
	if !strings.Contains(body, broken) {
		t.Error("the file is lost")
	}
	says(t, h, sendCheck(t, "/bench/checks", "two.csv", "plate,known_cfm,read_cfm\na,40,40\nb,80,81\n", url.Values{"do": {"file"}}), http.StatusUnprocessableEntity,
		"at least 3 are needed")
	says(t, h, typeCheck("/bench/checks", url.Values{"do": {"file"}}), http.StatusUnprocessableEntity, "Nothing arrived")
	says(t, h, sendCheck(t, "/bench/checks", "big.csv", strings.Repeat("x", 2<<20), url.Values{"do": {"file"}}), http.StatusUnprocessableEntity, "more than 1 MB")
	typed := url.Values{
		"do": {"typed"}, "unit": {"cfm"}, "title": {"Spring <plates>"}, "day": {"2026-05-02"}, "plate-0": {"1 in"}, "known-0": {"40,9"}, "read-0": {"40.6"}, "u_known-0": {""}, "u_read-0": {""},
	}
	says(t, h, typeCheck("/bench/checks", typed), http.StatusUnprocessableEntity, "they are marked below", `value="Spring <plates>"`, `value="40,9"`, `value="2026-05-02"`, "has a comma: write it with a point")
	typed.Set("do", "rows")
	says(t, h, typeCheck("/bench/checks", typed), http.StatusOK, `value="40,9"`, `name="known-4"`)
	body = says(t, h, sendCheck(t, "/bench/checks/people", "study.csv", exampleOf(t, "study.csv"), url.Values{"claim": {"much"}, "design": {"nested"}}), http.StatusUnprocessableEntity,
		`value="much"`, "plate 5,Cara,2,153.40", `value="nested" selected`)
	if strings.Contains(body, "The gauge is") {
		t.Error("a study with a wrong claim is answered")
	}
	says(t, h, sendCheck(t, "/bench/checks/people", "study.csv", "piece,flow_cfm\na,1\n", nil), http.StatusUnprocessableEntity, "person", "piece,flow_cfm")
	says(t, h, sendCheck(t, "/bench/checks/shops", "shops.csv", "shop,flow_cfm,u_percent\nNorth,151,0.5\nNorth,152,0.5\n", nil), http.StatusUnprocessableEntity, `Shop "North" stands twice`, "Give one result a shop")
	says(t, h, typeCheck("/bench/checks/shops", url.Values{"text": {"shop,flow_cfm\nNorth,151\n"}}), http.StatusUnprocessableEntity, "North,151")
}

// Keeping asks for a day, the card is changed only by who has seen the change, and a card that is another by now is not written over.
func TestCalibrationOntoTheShopsCard(t *testing.T) {
	a := newApp(t, instant())
	h := newSite(t, a)
	const csv = "plate,known_cfm,read_cfm,u_known_percent\n1 in,40.9,40.6,0.4\n2 in,163.5,162.1,0.4\n3 in,368,365.9,0.4\n"
	keep := url.Values{"do": {"keep"}, "text": {csv}}
	says(t, h, typeCheck("/bench/checks", keep), http.StatusUnprocessableEntity, "Write the day it was made", "Worked out, and not kept yet")
	keep.Set("day", "soon")
	says(t, h, typeCheck("/bench/checks", keep), http.StatusUnprocessableEntity, `"soon" is no day`, "Worked out, and not kept yet")
	keep.Set("day", "2026-05-02")
	keep.Set("title", "Spring plates")
	w := ask(h, typeCheck("/bench/checks", keep))
	const page = "/bench/checks/calibrations/2026-05-02-spring-plates.toml"
	if to := w.Header().Get("Location"); w.Code != http.StatusSeeOther || to != page+"?did=calibration-kept" {
		t.Fatalf("%d to %q\n%s", w.Code, to, w.Body)
	}
	says(t, h, request(http.MethodGet, page+"?did=calibration-kept", nil), http.StatusOK, "kept in the shop's folder", "no sound bench card yet", "at = 2026-05-02")
	says(t, h, request(http.MethodGet, page+"/card?meter=plate", nil), http.StatusUnprocessableEntity, "begin one first")
	says(t, h, request(http.MethodGet, "/bench/checks/calibrations/..%2Fbench.toml", nil), http.StatusNotFound, "No calibration of the shop is called")
	card, err := os.ReadFile("testdata/six/bench.toml")
	if err != nil {
		t.Fatal(err)
	}
	if err := a.SaveShopText(t.Context(), app.ShopEdit{}, string(card)); err != nil {
		t.Fatal(err)
	}
	says(t, h, request(http.MethodGet, page+"/card?meter=none", nil), http.StatusUnprocessableEntity, "choose one of its meters")
	says(t, h, request(http.MethodGet, page+"/card?meter=plate", nil), http.StatusOK, `calibration = "2026-05-02-spring-plates"`, "Put it on the card", "can be brought back")
	put := url.Values{"tag": {"another"}, "meter": {"plate"}, "why": {"spring"}}
	says(t, h, typeCheck(page+"/card", put), http.StatusConflict, "was changed in the meantime", `value="spring"`)
	s, err := a.ShopBench(t.Context())
	if err != nil || s.Text != string(card) {
		t.Fatalf("the card was changed: %v", err)
	}
	put.Set("tag", s.Tag)
	if w := ask(h, typeCheck(page+"/card", put)); w.Code != http.StatusSeeOther {
		t.Fatalf("%d\n%s", w.Code, w.Body)
	}
	says(t, h, request(http.MethodGet, page+"/card?meter=plate", nil), http.StatusOK, "nothing would change")
	says(t, h, request(http.MethodGet, "/bench/checks", nil), http.StatusOK, "2 May 2026", "Spring plates", "used by 60 mm plate")
	says(t, h, request(http.MethodGet, "/bench/card", nil), http.StatusOK, "put on the card, used by meter plate", `value="back"`)
	if w := ask(h, typeCheck("/bench/card", url.Values{"do": {"back"}, "state": {s.Tag}})); w.Code != http.StatusSeeOther {
		t.Errorf("%d\n%s", w.Code, w.Body)
	}
	if now, err := a.ShopBench(t.Context()); err != nil || now.Text != string(card) {
		t.Errorf("the card before did not come back: %v", err)
	}
}

// A study and a comparison are kept as they were sent, are listed, are put away and come back; a broken file says what is wrong.
func TestChecksAreKept(t *testing.T) {
	shop := t.TempDir()
	a, err := app.Open(t.Context(), app.Config{Path: filepath.Join(t.TempDir(), "runnel.db"), Now: time.Now, Who: "tester", Shop: shop, Compute: instant()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = a.Close() })
	h := newSite(t, a)
	today := time.Now().Format(time.DateOnly)
	for _, c := range []struct {
		path, file, drawer, name, says, row string
	}{
		{"/bench/checks/people", "study.csv", "studies", "study.csv", "The gauge is", "5 × 3 × 2"},
		{"/bench/checks/shops", "shops.csv", "comparisons", "shops.csv", "The robust consensus is", "Harbour"},
	} {
		text := exampleOf(t, c.file)
		says(t, h, sendCheck(t, c.path, c.file, text, nil), http.StatusOK, "not kept yet", `value="keep"`, "None is kept yet")
		sent := url.Values{"do": {"keep"}, "file": {c.file}, "text": {text}}
		w := ask(h, typeCheck(c.path, sent))
		one := c.path + "/" + today + "-" + c.name
		if to := w.Header().Get("Location"); w.Code != http.StatusSeeOther || to != one+"?did=check-kept" {
			t.Fatalf("%d to %q\n%s", w.Code, to, w.Body)
		}
		if data, err := os.ReadFile(filepath.Join(shop, c.drawer, today+"-"+c.name)); err != nil || string(data) != text {
			t.Errorf("%s holds %q, %v", c.drawer, data, err)
		}
		says(t, h, request(http.MethodGet, one+"?did=check-kept", nil), http.StatusOK, "It is kept in the shop's folder", c.says, c.drawer+"/"+today, "Put away")
		says(t, h, request(http.MethodGet, c.path, nil), http.StatusOK, c.row, `href="`+one+`"`)
		// Where something was typed beside, the file is written as TOML, and says the same.
		sent.Set("title", "In spring")
		sent.Set("claim", "3 %")
		titled := c.path + "/" + today + "-in-spring.toml"
		if w := ask(h, typeCheck(c.path, sent)); w.Header().Get("Location") != titled+"?did=check-kept" {
			t.Fatalf("%d to %q\n%s", w.Code, w.Header().Get("Location"), w.Body)
		}
		says(t, h, request(http.MethodGet, titled, nil), http.StatusOK, "In spring", c.says)
		// Away and back, when it is asked for.
		says(t, h, typeCheck(one, url.Values{}), http.StatusUnprocessableEntity, "Nothing was chosen")
		says(t, h, request(http.MethodGet, one, nil), http.StatusOK, c.says)
		if w := ask(h, typeCheck(one, url.Values{"do": {"away"}})); w.Header().Get("Location") != c.path+"?did=check-away" {
			t.Errorf("%d to %q", w.Code, w.Header().Get("Location"))
		}
		says(t, h, request(http.MethodGet, one, nil), http.StatusNotFound)
		says(t, h, request(http.MethodGet, c.path+"?did=check-away", nil), http.StatusOK, "Nothing is lost", "Put away (1)", today+"-"+c.name)
		if w := ask(h, typeCheck(one, url.Values{"do": {"back"}})); w.Header().Get("Location") != one+"?did=check-back" {
			t.Errorf("%d to %q", w.Code, w.Header().Get("Location"))
		}
		says(t, h, request(http.MethodGet, one+"?did=check-back", nil), http.StatusOK, "back among those that are kept", c.says)
		says(t, h, request(http.MethodGet, c.path+"/..%2Fbench.toml", nil), http.StatusNotFound, "is called")
		// A file that somebody broke by hand.
		if err := os.WriteFile(filepath.Join(shop, c.drawer, "2026-01-02-broken.csv"), []byte("piece\n1\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		says(t, h, request(http.MethodGet, c.path, nil), http.StatusOK, "has to be mended", "2 January 2026")
		says(t, h, request(http.MethodGet, c.path+"/2026-01-02-broken.csv", nil), http.StatusOK, "has to be mended before it can be shown")
	}
}
