package app

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"runnel/internal/fault"
	"runnel/internal/store"
	"runnel/job"
)

// A ShopEdit is a change to the shop's bench card.
type ShopEdit struct {
	Tag string // of the card as it was seen; empty: whatever it is by now
	Why string
}

// SaveShopText replaces the shop's bench card. A card that cannot be is not kept: the error carries job.Problems.
func (a *App) SaveShopText(ctx context.Context, e ShopEdit, text string) error {
	a.shopping.Lock()
	defer a.shopping.Unlock()
	if err := a.sameCard(ctx, e.Tag); err != nil {
		return err
	}
	return a.saveShop(ctx, []byte(strings.ReplaceAll(text, "\r\n", "\n")), e.Why, "bench card written")
}

// SaveShopSensors writes the sensors into the shop's bench card; the rest of it stays. What is wrong comes back as
// FieldProblems.
func (a *App) SaveShopSensors(ctx context.Context, e ShopEdit, list []SensorTyped) error {
	a.shopping.Lock()
	defer a.shopping.Unlock()
	if err := a.sameCard(ctx, e.Tag); err != nil {
		return err
	}
	s, err := a.ShopBench(ctx)
	if err != nil {
		return err
	}
	if !s.There {
		return fault.Errorf(fault.Invalid, "the shop has no bench card yet: begin one first")
	}
	text, err := a.withSensors(s.Card, []byte(s.Text), list)
	if err != nil {
		return err
	}
	return sensorProblems(a.saveShop(ctx, text, e.Why, "sensors changed"))
}

// withSensors writes a bench card with other sensors; the comment at its head stays.
func (a *App) withSensors(card job.Bench, before []byte, list []SensorTyped) ([]byte, error) {
	t := newTypist(a.now())
	was := card.Sensors
	card.Sensors = readSensors(t, list)
	if err := t.err(); err != nil {
		return nil, err
	}
	for i, s := range card.Sensors { // what the page does not ask for stays
		if k := slices.IndexFunc(was, func(o job.Sensor) bool { return o.Channel == s.Channel }); k >= 0 {
			o := was[k]
			s.Fluid, s.FluidTemp, s.SpecificGravity, s.Gravity = o.Fluid, o.FluidTemp, o.SpecificGravity, o.Gravity
			card.Sensors[i] = s
		}
	}
	if slices.ContainsFunc(card.Sensors, func(s job.Sensor) bool { return s.Source != "" }) {
		if err := checkSources(card); err != nil {
			return nil, err
		}
	}
	out, err := writtenFiles(job.Job{Bench: card}, func(name string) bool { return name == benchFile })
	if err != nil {
		return nil, err
	}
	return append(headComment(before), out[benchFile]...), nil
}

// BeginShopBench makes the bench card of a job the shop's.
func (a *App) BeginShopBench(ctx context.Context, e ShopEdit, from string) error {
	a.shopping.Lock()
	defer a.shopping.Unlock()
	if err := a.sameCard(ctx, e.Tag); err != nil {
		return err
	}
	row, err := a.store.Job(ctx, from)
	if err != nil {
		return err
	}
	files, err := a.store.Files(ctx, from, row.Revision)
	if err != nil {
		return err
	}
	card, own := files[benchFile]
	if !own {
		return fault.Errorf(fault.Invalid, "job %q has no bench card of its own: it uses the shop's already", from)
	}
	return a.saveShop(ctx, withoutMark(card), e.Why, "taken from job "+from)
}

// BackShopBench makes a state of the shop's bench card that was kept the card again; the one it replaces stays among the states.
func (a *App) BackShopBench(ctx context.Context, e ShopEdit, state string) error {
	a.shopping.Lock()
	defer a.shopping.Unlock()
	if err := a.sameCard(ctx, e.Tag); err != nil {
		return err
	}
	kept, err := a.store.BenchCards(ctx)
	if err != nil {
		return err
	}
	for _, c := range kept {
		if tagOf(c.Card) == state {
			return a.saveShop(ctx, c.Card, e.Why, fmt.Sprintf("back to the state %s of %s", state, c.At.Format("2006-01-02 15:04")))
		}
	}
	return fault.Errorf(fault.NotFound, "the shop's bench card has no state %q", state)
}

// withoutMark is a bench card without the line that says it is a copy.
func withoutMark(card []byte) []byte {
	if rest, ok := strings.CutPrefix(string(card), copyMark); ok {
		_, rest, _ = strings.Cut(rest, "\n")
		return []byte(rest)
	}
	return card
}

// TakeShopBench replaces the bench card of a job by a copy of the shop's, as a new revision. Readings taken before are corrected by
// it from then on, so that a reason is asked for.
func (a *App) TakeShopBench(ctx context.Context, id, why string) error {
	if strings.TrimSpace(why) == "" {
		return FieldProblems{"why": "write why this job gets another bench card: all its readings are corrected by it"}.err()
	}
	card, words, err := a.copyOfShop(ctx, "it was taken over")
	if err != nil {
		return err
	}
	_, err = a.edit(ctx, edit{job: id, what: words, why: why, do: func(job.Job, store.Files) (store.Files, error) {
		return store.Files{benchFile: card}, nil
	}})
	return err
}

// sameCard refuses a change to a card that is another by now.
func (a *App) sameCard(ctx context.Context, tag string) error {
	if now := a.shopTag(ctx); tag != "" && tag != now {
		return fault.Errorf(fault.Conflict, "the shop's bench card was changed in the meantime: look at what it says now, then save again")
	}
	return nil
}

// saveShop writes the card: the states are kept first, so that none is lost should the file be.
func (a *App) saveShop(ctx context.Context, text []byte, why, what string) error {
	if a.jobsFolder() {
		return fault.Errorf(fault.Invalid, "%s holds a job, and its bench.toml is that job's: start Runnel with --shop and a folder of the shop's own", a.shop)
	}
	if _, err := job.LoadBench(benchFile, text); err != nil {
		return err
	}
	// A card that was changed by hand since is kept as it was found.
	if found, ok, err := a.shopCard(ctx); err != nil {
		return err
	} else if ok {
		if err := a.store.AddBenchCard(ctx, found, store.By{What: "found as it was changed outside Runnel"}); err != nil {
			return err
		}
	}
	if err := a.store.AddBenchCard(ctx, text, store.By{Who: a.who, What: what, Why: strings.TrimSpace(why)}); err != nil {
		return err
	}
	if err := lasting(a.shopPath(), text); err != nil {
		return fault.As(fault.Invalid, fmt.Errorf("writing the shop's bench card: %w", err))
	}
	a.log.Info("shop's bench card", "what", what)
	return nil
}

// lasting writes a file so that it is on disk when it returns; the one that was there is replaced only by the whole new one.
func lasting(name string, data []byte) error {
	tmp, err := os.CreateTemp(filepath.Dir(name), ".bench-*")
	if err != nil {
		return err
	}
	_, err = tmp.Write(data)
	err = errors.Join(err, tmp.Sync(), tmp.Chmod(0o644), tmp.Close())
	if err == nil {
		err = os.Rename(tmp.Name(), name)
	}
	if err != nil {
		_ = os.Remove(tmp.Name())
	}
	return err
}
