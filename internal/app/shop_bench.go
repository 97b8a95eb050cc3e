package app

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"runnel/internal/fault"
	"runnel/internal/store"
	"runnel/job"
)

// benchFile is the bench card, in the folder of a job and in that of the shop.
const benchFile = "bench.toml"

// A ShopBench is the bench card of the shop: the file bench.toml in the shop's folder. A job whose folder has no card uses it,
// and gets a copy when its first sitting is begun, so that its folder is whole by itself from then on.
type ShopBench struct {
	Path   string // of the file
	There  bool   // there is a card
	Text   string // of the card, TOML
	Tag    string // names this state of it
	Card   job.Bench
	States []BenchState // the newest first
}

// A BenchState is a state of the shop's bench card as it was saved.
type BenchState struct {
	At             time.Time
	Who, What, Why string
	Tag            string
}

// shopCard reads the shop's bench card as it is now: the file, else the state that was saved last, should the file be lost.
func (a *App) shopCard(ctx context.Context) (data []byte, ok bool, err error) {
	data, err = os.ReadFile(a.shopPath())
	if err == nil && !a.jobsFolder() {
		return data, true, nil
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, false, fault.As(fault.Invalid, fmt.Errorf("the shop's bench card: %w", err))
	}
	last, ok, err := a.store.LastBenchCard(ctx)
	return last.Card, ok, err
}

func (a *App) shopPath() string { return filepath.Join(a.shop, benchFile) }

// jobsFolder reports whether the shop's folder is that of a job: the card there is the job's.
func (a *App) jobsFolder() bool {
	_, err := os.Stat(filepath.Join(a.shop, "job.toml"))
	return err == nil
}

// ShopBench returns the shop's bench card. The error carries job.Problems when the file was changed by hand and has to be
// mended; Path, Text and States are there all the same.
func (a *App) ShopBench(ctx context.Context) (ShopBench, error) {
	s := ShopBench{Path: a.shopPath()}
	kept, err := a.store.BenchCards(ctx)
	if err != nil {
		return s, err
	}
	for _, c := range kept {
		s.States = append(s.States, BenchState{c.At, c.Who, c.What, c.Why, tagOf(c.Card)})
	}
	data, ok, err := a.shopCard(ctx)
	if err != nil || !ok {
		return s, err
	}
	s.There, s.Text, s.Tag = true, string(data), tagOf(data)
	s.Card, err = job.LoadBench(s.Path, data)
	return s, err
}

// shopTag names the state of the shop's bench card; empty when there is none.
func (a *App) shopTag(ctx context.Context) string {
	data, ok, err := a.shopCard(ctx)
	if err != nil || !ok {
		return ""
	}
	return tagOf(data)
}

// readFolder reads the folder of a job. One without a bench card is read with the shop's; shop then names that card's state.
func (a *App) readFolder(ctx context.Context, files store.Files) (j job.Job, shop string, err error) {
	if _, own := files[benchFile]; own {
		j, err = job.Load(memory{files})
		return j, "", err
	}
	data, ok, err := a.shopCard(ctx)
	if err != nil {
		return job.Job{}, "", err
	}
	if !ok {
		j, err = job.Load(memory{files})
		return j, "", noCard(err)
	}
	if _, err := job.LoadBench(a.shopPath(), data); err != nil {
		return job.Job{}, "", fmt.Errorf("the shop's bench card: %w", err)
	}
	files = maps.Clone(files)
	files[benchFile] = data
	j, err = job.Load(memory{files})
	return j, tagOf(data), err
}

// noCard adds to the problem of a missing bench card that the shop may have one.
func noCard(err error) error {
	ps, ok := errors.AsType[job.Problems](err)
	if !ok {
		return err
	}
	ps = slices.Clone(ps)
	for i, p := range ps {
		if p.File == benchFile && p.Line == 0 {
			ps[i].Write += ", or set up the bench of the shop, which jobs without a card of their own use"
		}
	}
	return fault.As(fault.Invalid, ps)
}

// copyMark begins a bench card that was copied from the shop's.
const copyMark = "# A copy of the shop's bench card"

// copyOfShop is the shop's bench card for the folder of a job, with a line that says so.
func (a *App) copyOfShop(ctx context.Context, when string) (data []byte, words string, err error) {
	card, ok, err := a.shopCard(ctx)
	switch {
	case err != nil:
		return nil, "", err
	case !ok:
		return nil, "", fault.Errorf(fault.Invalid, "the shop has no bench card yet: set up its bench first")
	}
	data, words = copied(card, when)
	return data, words, nil
}

func copied(card []byte, when string) (data []byte, words string) {
	tag := tagOf(card)
	head := fmt.Sprintf("%s, state %s, made when %s.\n", copyMark, tag, when)
	return slices.Concat([]byte(head), card), "bench card: a copy of the shop's, state " + tag
}

// Whose bench card a job is used with, in words.
const (
	ShopCard   = "the shop's bench card"
	CopiedCard = "a copy of the shop's bench card"
	OwnCard    = "the job's own bench card"
)

// cardWords says whose bench card a folder is used with, by its own card if it has one.
func cardWords(card []byte, own bool) string {
	switch {
	case !own:
		return ShopCard
	case bytes.HasPrefix(card, []byte(copyMark)):
		return CopiedCard
	}
	return OwnCard
}

// CardWords says whose bench card a job is used with: ShopCard, CopiedCard or OwnCard.
func (a *App) CardWords(ctx context.Context, id string) (string, error) {
	row, err := a.store.Job(ctx, id)
	if err != nil {
		return "", err
	}
	card, own, err := a.store.File(ctx, id, row.Revision, benchFile)
	return cardWords(card, own), err
}

// madeWhole gives a folder that has sittings and no bench card a copy of the shop's, for its readings depend on one.
func (a *App) madeWhole(ctx context.Context, files store.Files) (out store.Files, words string, err error) {
	if _, own := files[benchFile]; own || !hasSittings(files) {
		return files, "", nil
	}
	card, ok, err := a.shopCard(ctx)
	if err != nil || !ok {
		return files, "", err
	}
	files = maps.Clone(files)
	files[benchFile], words = copied(card, "the folder was opened")
	return files, words, nil
}

func hasSittings(files store.Files) bool {
	for name := range files {
		if strings.HasPrefix(name, "sittings/") {
			return true
		}
	}
	return false
}
