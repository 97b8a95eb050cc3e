package app

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"sync"
	"time"

	"runnel/internal/store"
)

// A Config is what an App is opened with.
type Config struct {
	Path    string           // of the one file everything is kept in
	Now     func() time.Time // the clock
	Log     *slog.Logger     // nil: silent
	Who     string           // who works here, for the log of changes
	Compute Compute          // zero: package assess
	Shop    string           // the shop's folder, where its bench.toml is; empty: the folder of Path
	Bound   int              // most pages of 4 KiB the file may have; 0: what the disk takes
	Demo    bool             // everything in it is invented, and what is booked in is marked so
}

// An App is Runnel at work on one file.
type App struct {
	store     *store.Store
	now       func() time.Time
	log       *slog.Logger
	who       string
	compute   Compute
	shop      string
	demo      bool
	shopping  sync.Mutex // one change to the shop's bench card at a time
	loaded    *shelf
	past      *pastReadings
	solving   *solving
	summaries *summaries
	bench     *benchRoom
	trials    *trials
	checks    *checkShelf
}

// Open opens the file, making it as needed. Close the App when done.
func Open(ctx context.Context, c Config) (*App, error) {
	s, err := store.Open(ctx, c.Path, c.Now)
	if err != nil {
		return nil, fmt.Errorf("opening Runnel's file: %w", err)
	}
	if c.Bound > 0 {
		if err := s.Bound(ctx, c.Bound); err != nil {
			return nil, errors.Join(err, s.Close())
		}
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	if c.Shop == "" {
		c.Shop = filepath.Dir(c.Path)
	}
	return &App{
		store: s, now: c.Now, log: c.Log, who: c.Who, compute: c.Compute.orAssess(), shop: c.Shop, demo: c.Demo,
		loaded: newShelf(), past: newPastReadings(), solving: newSolving(), summaries: newSummaries(), bench: &benchRoom{}, trials: newTrials(),
		checks: newCheckShelf(),
	}, nil
}

// Healthy reports whether the file answers.
func (a *App) Healthy(ctx context.Context) error {
	_, err := a.store.Jobs(ctx)
	return err
}

// Close stops what is being computed and closes the file.
func (a *App) Close() error {
	a.trials.close()
	a.solving.close()
	return errors.Join(a.endBench(), a.store.Close())
}
