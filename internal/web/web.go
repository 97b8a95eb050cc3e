package web

import (
	"context"
	"errors"
	"html/template"
	"log/slog"
	"net"
	"net/http"
	"time"

	"runnel/internal/app"
	"runnel/unit"
)

// Options are how the pages are served.
type Options struct {
	Log   *slog.Logger // nil: silent
	Hosts []string     // names the pages may be asked for by, beside the loopback ones
	// LocalPaths lets a page import a folder of this machine by its path. Only for loopback.
	LocalPaths bool
	// Demo marks every page outside a job as part of an invented shop.
	Demo bool
}

// A server answers the pages.
type server struct {
	app    *app.App
	log    *slog.Logger
	opt    Options
	assets *assets
	pages  map[unit.System]*template.Template
}

// New returns the pages of a as a handler.
func New(a *app.App, opt Options) (http.Handler, error) {
	if opt.Log == nil {
		opt.Log = slog.New(slog.DiscardHandler)
	}
	as, err := loadAssets()
	if err != nil {
		return nil, err
	}
	pages, err := parsePages(as)
	if err != nil {
		return nil, err
	}
	s := &server{app: a, log: opt.Log, opt: opt, assets: as, pages: pages}
	return s.guard(s.routes()), nil
}

// Serve answers on ln until ctx ends, then lets what is under way finish for a moment.
func Serve(ctx context.Context, ln net.Listener, h http.Handler) error {
	srv := &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 10 * time.Second,
		IdleTimeout:       2 * time.Minute,
		BaseContext:       func(net.Listener) context.Context { return ctx }, // streams end with it
	}
	ended := make(chan error, 1)
	go func() { ended <- srv.Serve(ln) }()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	quick, cancel := context.WithTimeout(context.WithoutCancel(ctx), 3*time.Second)
	defer cancel()
	err := srv.Shutdown(quick)
	if errors.Is(err, context.DeadlineExceeded) {
		err = srv.Close()
	}
	if e := <-ended; !errors.Is(e, http.ErrServerClosed) {
		err = errors.Join(err, e)
	}
	return err
}
