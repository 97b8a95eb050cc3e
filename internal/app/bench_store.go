package app

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"runnel/internal/capture"
	"runnel/internal/store"
	"runnel/job"
)

// What the store keeps of the live bench beside the samples, as kinds of facts. The last one counts.
const (
	factPlan   = "plan"
	factTaking = "taking"
)

// benchKept is where the store keeps the live bench of a sitting.
type benchKept struct {
	id    string // of the store's sitting
	spell int64
}

// A takingFact notes that a trace was begun, so that a restart can say so. A Task of "" is its end.
type takingFact struct {
	Task string    `json:"task"`
	Item BenchItem `json:"item"`
	From int64     `json:"from_ns"` // time of the spell
	At   time.Time `json:"at"`
}

// keptBench finds the open bench of a sitting in the store, or begins one, and begins to read.
func (a *App) keptBench(ctx context.Context, j job.Job, sitting, whose string) (benchKept, []store.Spell, error) {
	all, err := a.store.Sittings(ctx, j.ID)
	if err != nil {
		return benchKept{}, nil, err
	}
	k := benchKept{}
	for _, s := range all {
		if s.Title == sitting && s.ClosedAt.IsZero() {
			k.id = s.ID
		}
	}
	var before []store.Spell
	if k.id != "" {
		if before, err = a.store.Spells(ctx, k.id); err != nil {
			return benchKept{}, nil, err
		}
	} else {
		files, err := writtenFiles(j, func(name string) bool { return name == "bench.toml" })
		if err != nil {
			return benchKept{}, nil, err
		}
		k.id = strings.Join([]string{j.ID, sitting, strconv.Itoa(len(all) + 1)}, "/")
		by := store.By{Who: a.who, What: "live bench opened on sitting " + sitting + " with " + whose}
		if err := a.store.BeginSitting(ctx, store.Sitting{ID: k.id, Job: j.ID, Title: sitting, Bench: files["bench.toml"]}, by); err != nil {
			return benchKept{}, nil, err
		}
	}
	k.spell, err = a.store.BeginSpell(ctx, k.id)
	return k, before, err
}

// keepSamples hands samples to the store.
func (a *App) keepSamples(k benchKept) func(context.Context, []capture.Chunk) error {
	return func(ctx context.Context, chunks []capture.Chunk) error {
		out := make([]store.Chunk, len(chunks))
		for i, c := range chunks {
			out[i] = store.Chunk(c)
		}
		return a.store.AddChunks(ctx, k.spell, out)
	}
}

// note keeps a fact of the live bench.
func (d *desk) note(ctx context.Context, kind string, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return d.app.store.AddFact(ctx, d.at.id, kind, b, store.By{Who: d.app.who})
}

// last reads the last fact of a kind; ok is false when there is none.
func (d *desk) last(ctx context.Context, kind string, into any) (ok bool, err error) {
	all, err := d.app.store.Facts(ctx, d.at.id, kind)
	if err != nil || len(all) == 0 {
		return false, err
	}
	return true, json.Unmarshal(all[len(all)-1].Data, into)
}

// resume takes up what the store knows of the sitting: the plan, and what was on its way when Runnel ended.
func (d *desk) resume(ctx context.Context, before []store.Spell) error {
	var p BenchPlan
	ok, err := d.last(ctx, factPlan, &p)
	if err != nil {
		return err
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if ok {
		d.plan = p
		if s, err := sittingOf(d.facts, d.sitting); err == nil {
			d.chosen = next(p.queue(s), 0)
		}
	}
	if len(before) == 0 {
		return nil
	}
	d.message = "the sitting goes on where it was"
	var t takingFact
	if ok, err = d.last(ctx, factTaking, &t); err != nil || !ok || t.Task == "" {
		return err
	}
	return d.interrupted(ctx, t, before[len(before)-1])
}

// interrupted says how much of a trace was kept that was on its way, and goes back to it.
func (d *desk) interrupted(ctx context.Context, t takingFact, spell store.Spell) error {
	_, to, ok, err := d.app.store.Extent(ctx, spell.ID)
	if err != nil || !ok {
		return err
	}
	d.task = t.Task
	for i, it := range d.plan.Order {
		if it == t.Item {
			d.chosen = i
		}
	}
	d.message = fmt.Sprintf("Runnel was started again while this was being taken; %.1f s of its trace are kept. Take it again", max(0, (to-time.Duration(t.From)).Seconds()))
	return nil
}

// told keeps the faults of the bench as they begin and end. It must not block.
func (d *desk) told(f capture.Fault) {
	select {
	case d.news <- f:
	default:
		d.app.log.Warn("live bench: faults come too fast to be kept", "kind", string(f.Kind))
	}
}

// keepFaults writes faults down until the bench is closed. What finds no room on the disk waits until there is some.
func (d *desk) keepFaults(ctx context.Context) {
	var wait []capture.Fault
	tick := time.NewTicker(time.Second)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			for len(d.news) > 0 {
				wait = append(wait, <-d.news)
			}
			d.writeFaults(context.WithoutCancel(ctx), wait)
			return
		case f := <-d.news:
			wait = d.writeFaults(ctx, append(wait, f))
		case <-tick.C:
			wait = d.writeFaults(ctx, wait)
		}
	}
}

// mostFaults is how many faults may wait for a disk that is full; the oldest go first.
const mostFaults = 10_000

// writeFaults writes faults down in their order and returns those that could not be.
func (d *desk) writeFaults(ctx context.Context, all []capture.Fault) []capture.Fault {
	for i, f := range all {
		err := d.app.store.AddFault(ctx, d.at.spell, store.BenchFault{
			Kind: string(f.Kind), Channel: f.Channel, Source: f.Source, Text: f.Text, Since: f.Since, Until: f.Until,
		})
		if err != nil {
			d.app.log.Warn("live bench: a fault is not kept yet", "kind", string(f.Kind), "error", err)
			return all[max(i, len(all)-mostFaults):]
		}
	}
	return nil
}

// A BenchFault is a fault of the live bench as it was recorded.
type BenchFault struct {
	Kind, Channel, Text string
	Since               time.Time
	Until               time.Time // zero: its end was not recorded
}

// Lasted is how long the fault lasted [s].
func (f BenchFault) Lasted() float64 { return f.Until.Sub(f.Since).Seconds() }

// BenchFaults lists what went wrong with the live bench in a sitting, in the order it began.
func (a *App) BenchFaults(ctx context.Context, id, sitting string) ([]BenchFault, error) {
	all, err := a.store.Sittings(ctx, id)
	if err != nil {
		return nil, err
	}
	var out []BenchFault
	for _, s := range slices.Backward(all) {
		if s.Title != sitting {
			continue
		}
		told, err := a.store.Faults(ctx, s.ID)
		if err != nil {
			return nil, err
		}
		for _, f := range told {
			one := BenchFault{f.Kind, f.Channel, f.Text, f.Since, f.Until}
			begun := slices.IndexFunc(out, func(o BenchFault) bool {
				return o.Kind == f.Kind && o.Channel == f.Channel && o.Since.Equal(f.Since) && o.Until.IsZero()
			})
			if begun >= 0 && !f.Until.IsZero() {
				out[begun].Until = f.Until
				continue
			}
			out = append(out, one)
		}
	}
	return out, nil
}
