package web_test

import (
	"bufio"
	"context"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
	"time"

	"runnel/assess"
	"runnel/job"
)

// The stream tells each stage and ends when the pull is there.
func TestProgressStream(t *testing.T) {
	c := instant()
	whole, steps := c.Solve, make(chan int)
	c.Solve = func(ctx context.Context, j job.Job, tell func(string, int, int)) (assess.Assessment, error) {
		for n := range steps {
			tell("speeds", n, 4)
		}
		return whole(ctx, j, tell)
	}
	a := newApp(t, c)
	if _, err := a.ImportFolder(t.Context(), os.DirFS("testdata/six")); err != nil {
		t.Fatal(err)
	}
	site := httptest.NewServer(newSite(t, a))
	defer site.Close()
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, site.URL+"/jobs/six/progress", http.NoBody)
	if err != nil {
		t.Fatal(err)
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = answer.Body.Close() }()
	if kind := answer.Header.Get("Content-Type"); kind != "text/event-stream" {
		t.Fatalf("content type %q", kind)
	}
	lines := bufio.NewScanner(answer.Body)
	next := func(want string) {
		t.Helper()
		for lines.Scan() {
			if strings.HasPrefix(lines.Text(), "data: ") && strings.Contains(lines.Text(), want) {
				return
			}
		}
		t.Fatalf("the stream ended before it said %s: %v", want, lines.Err())
	}
	for n := 1; n <= 3; n++ {
		steps <- n
		next(`"stage":"speeds","done":` + string(rune('0'+n)) + `,"total":4`)
	}
	close(steps)
	next(`"phase":"done"`)
	for lines.Scan() {
		if lines.Text() != "" {
			t.Errorf("after the end: %q", lines.Text())
		}
	}
}
