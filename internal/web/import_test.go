package web_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io/fs"
	"mime/multipart"
	"net/http"
	"net/textproto"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"runnel/internal/web"
)

// upload is a form as a browser sends a chosen folder: files with their path in it.
func upload(t *testing.T, files map[string][]byte) *http.Request {
	t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for name, data := range files {
		h := textproto.MIMEHeader{}
		h.Set("Content-Disposition", fmt.Sprintf(`form-data; name="files"; filename=%q`, name))
		w, err := m.CreatePart(h)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(data); err != nil {
			t.Fatal(err)
		}
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	r := request(http.MethodPost, "/jobs", &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return r
}

// six is the test job as files under the folder "six".
func six(t *testing.T) map[string][]byte {
	t.Helper()
	files, root := map[string][]byte{}, os.DirFS("testdata/six")
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(root, name)
		files["six/"+name] = data
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

func zipped(t *testing.T, files map[string][]byte) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, data := range files {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(data); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func typed(path string) *http.Request {
	r := request(http.MethodPost, "/jobs", strings.NewReader(url.Values{"path": {path}}.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return r
}

func TestAFolderAZipAndAPathComeIn(t *testing.T) {
	h := newSite(t, newApp(t, instant()))
	abs, err := filepath.Abs("testdata/six")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		r    *http.Request
		did  string
	}{
		{"folder", upload(t, six(t)), "new"},
		{"zip", upload(t, map[string][]byte{"six.zip": zipped(t, six(t))}), "unchanged"},
		{"path", typed(abs), "unchanged"},
	} {
		w := ask(h, c.r)
		if got, want := w.Header().Get("Location"), "/jobs/six?did="+c.did; w.Code != http.StatusSeeOther || got != want {
			t.Fatalf("%s: %d to %q, want %q\n%s", c.name, w.Code, got, want, w.Body)
		}
	}
	if body := get(t, h, "/jobs/six?did=unchanged").Body.String(); !strings.Contains(body, "nothing changed") {
		t.Error("the page does not say what was done")
	}
}

func TestARefusedImportSaysWhereAndWhat(t *testing.T) {
	h := newSite(t, newApp(t, instant()))
	files := six(t)
	files["six/job.toml"] = bytes.Replace(files["six/job.toml"], []byte(`bore = "86 mm"`), []byte(`boar = "86 <kPa>"`), 1)
	delete(files, "six/traces/r01.csv")
	w := ask(h, upload(t, files))
	body := w.Body.String()
	before, _, _ := bytes.Cut(files["six/job.toml"], []byte("boar"))
	line := 1 + bytes.Count(before, []byte("\n"))
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(body, "Nothing was imported") {
		t.Fatalf("%d\n%s", w.Code, body)
	}
	for _, want := range []string{fmt.Sprintf("job.toml:%d:1", line), "boar", "traces/r01.csv", `role="alert"`} {
		if !strings.Contains(body, want) {
			t.Errorf("the refusal does not say %q", want)
		}
	}
	wholesome(t, "/jobs", body)
	if body := get(t, h, "/").Body.String(); !strings.Contains(body, "The book is empty") {
		t.Error("something was kept")
	}
	w = ask(h, typed("/no/such/folder<b>"))
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "There is nothing at") || !strings.Contains(w.Body.String(), `value="/no/such/folder&lt;b&gt;"`) {
		t.Errorf("a path to nothing must come back as it was typed: %d", w.Code)
	}
	for name, r := range map[string]*http.Request{
		"nothing":    upload(t, nil),
		"no job":     upload(t, map[string][]byte{"a/readme.txt": nil}),
		"broken zip": upload(t, map[string][]byte{"a.zip": []byte("PK")}),
		"leads out":  upload(t, map[string][]byte{"../../job.toml": nil}),
		"broken upload": func() *http.Request {
			r := request(http.MethodPost, "/jobs", strings.NewReader("--x\r\nContent-Disposition: form-data; name=\"files\"; filename=\"a\"\r\n\r\nabc"))
			r.Header.Set("Content-Type", "multipart/form-data; boundary=x")
			return r
		}(),
	} {
		if w := ask(h, r); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d\n%s", name, w.Code, w.Body)
		}
	}
}

func TestPathsOnlyOnThisMachine(t *testing.T) {
	h, err := web.New(newApp(t, instant()), web.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if w := ask(h, typed("testdata/six")); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "send the folder") {
		t.Errorf("%d", w.Code)
	}
	if strings.Contains(get(t, h, "/").Body.String(), `name="path"`) {
		t.Error("the field for a path is offered")
	}
}

func TestExportPutAwayBringBackGoBack(t *testing.T) {
	a := newApp(t, instant())
	importSix(t, a)
	h := newSite(t, a)
	w := get(t, h, "/jobs/six/export.zip")
	if w.Header().Get("Content-Type") != "application/zip" || !strings.Contains(w.Header().Get("Content-Disposition"), `"six.zip"`) {
		t.Errorf("%v", w.Header())
	}
	z, err := zip.NewReader(bytes.NewReader(w.Body.Bytes()), int64(w.Body.Len()))
	if err != nil || len(z.File) != len(six(t)) {
		t.Fatalf("%v, %d files", err, len(z.File))
	}
	post := func(path, form string) *http.Request {
		r := request(http.MethodPost, path, strings.NewReader(form))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		return r
	}
	if w := ask(h, post("/jobs/six/delete", "why=")); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "Write why") {
		t.Errorf("without a reason: %d", w.Code)
	}
	if w := ask(h, post("/jobs/six/delete", "why=twice+<here>")); w.Code != http.StatusSeeOther {
		t.Fatalf("put away: %d", w.Code)
	}
	if body := get(t, h, "/?did=deleted").Body.String(); !strings.Contains(body, "twice &lt;here&gt;") || !strings.Contains(body, "can be brought back") {
		t.Error("the list does not show what was put away")
	}
	if w := ask(h, post("/jobs/six/restore", "")); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/jobs/six?did=brought-back" {
		t.Fatalf("bring back: %d", w.Code)
	}
	changed := six(t)
	changed["six/job.toml"] = bytes.Replace(changed["six/job.toml"], []byte("Six-runner"), []byte("Another six-runner"), 1)
	if w := ask(h, upload(t, changed)); w.Header().Get("Location") != "/jobs/six?did=changed" {
		t.Fatalf("changed: %v", w.Header())
	}
	if body := get(t, h, "/jobs/six/record").Body.String(); !strings.Contains(body, "Go back to it") || !strings.Contains(body, "in use") {
		t.Error("the record does not list the revisions")
	}
	if w := ask(h, post("/jobs/six/back", "revision=1")); w.Code != http.StatusSeeOther {
		t.Fatalf("go back: %d", w.Code)
	}
	if body := get(t, h, "/jobs/six").Body.String(); strings.Contains(body, "Another") {
		t.Error("it did not go back")
	}
	for _, bad := range []string{"revision=0", "revision=x", "revision=77"} {
		if w := ask(h, post("/jobs/six/back", bad)); w.Code != http.StatusNotFound {
			t.Errorf("%s: %d", bad, w.Code)
		}
	}
}

func TestHandoverFiles(t *testing.T) {
	a := newApp(t, instant())
	importSix(t, a)
	h := newSite(t, a)
	for file, begins := range map[string]string{
		"handover-a4.pdf": "%PDF-", "handover-letter.pdf": "%PDF-", "handover.html": "<!", "preview.html": "<!", "assessment.json": "{",
	} {
		w := get(t, h, "/jobs/six/handover/"+file)
		if w.Code != http.StatusOK || !strings.HasPrefix(strings.ToLower(w.Body.String()[:5]), strings.ToLower(begins)) {
			t.Errorf("%s: %d, begins %q", file, w.Code, w.Body.String()[:5])
		}
		saved := strings.Contains(w.Header().Get("Content-Disposition"), `filename="six-`+file)
		if saved == (file == "preview.html") {
			t.Errorf("%s: %v", file, w.Header())
		}
	}
	if w := get(t, h, "/jobs/six/handover/other.doc"); w.Code != http.StatusNotFound {
		t.Errorf("an unknown form: %d", w.Code)
	}
}
