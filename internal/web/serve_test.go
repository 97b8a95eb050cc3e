package web_test

import (
	"context"
	"io"
	"net"
	"net/http"
	"os"
	"testing"
	"time"

	"runnel/assess"
	"runnel/internal/web"
	"runnel/job"
)

// The server ends soon after its context, even while a page watches a computation that goes on.
func TestServeEnds(t *testing.T) {
	c := instant()
	c.Solve = func(ctx context.Context, _ job.Job, _ func(string, int, int)) (assess.Assessment, error) {
		<-ctx.Done()
		return assess.Assessment{}, ctx.Err()
	}
	a := newApp(t, c)
	if _, err := a.ImportFolder(t.Context(), os.DirFS("testdata/six")); err != nil {
		t.Fatal(err)
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- web.Serve(ctx, ln, newSite(t, a)) }()
	answer, err := http.Get("http://" + ln.Addr().String() + "/jobs/six/progress")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = answer.Body.Close() }()
	if _, err := io.ReadFull(answer.Body, make([]byte, 20)); err != nil {
		t.Fatal(err)
	}
	cancel()
	select {
	case err := <-ended:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(10 * time.Second):
		t.Fatal("it goes on")
	}
}
