package store_test

import (
	"context"
	"database/sql"
	"errors"
	"math"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"runnel/internal/capture"
	"runnel/internal/fault"
	"runnel/internal/store"
)

// A chunk of package capture is one of package store: the two convert.
var _ = store.Chunk(capture.Chunk{})

func bench(t *testing.T) (*store.Store, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "runnel.db")
	s, err := store.Open(t.Context(), path, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	if err := s.BeginSitting(t.Context(), store.Sitting{ID: "s1", Job: "j1", Bench: []byte("id = \"b\"")}, store.By{Who: "anna"}); err != nil {
		t.Fatal(err)
	}
	return s, path
}

// What is kept comes back to the last bit, empty samples among it.
func TestChunksComeBack(t *testing.T) {
	s, _ := bench(t)
	rapid.Check(t, func(t *rapid.T) {
		spell, err := s.BeginSpell(context.Background(), "s1")
		if err != nil {
			t.Fatal(err)
		}
		n, channels := rapid.IntRange(1, 30).Draw(t, "n"), rapid.SliceOfNDistinct(rapid.StringMatching(`[a-z_]{1,8}`), 1, 4, rapid.ID).Draw(t, "channels")
		c := store.Chunk{Source: "serial:/dev/x", Channels: channels, Wall: time.Unix(0, rapid.Int64Range(0, 1<<60).Draw(t, "wall")).UTC()}
		at := time.Duration(0)
		for range n {
			at += time.Duration(rapid.Int64Range(0, 1e10).Draw(t, "step"))
			c.Times = append(c.Times, at)
		}
		for range channels {
			col := rapid.SliceOfN(rapid.Float64(), n, n).Draw(t, "values")
			col[0] = math.NaN()
			c.Values = append(c.Values, col)
		}
		if err := s.AddChunks(context.Background(), spell, []store.Chunk{c}); err != nil {
			t.Fatal(err)
		}
		got, err := s.Chunks(context.Background(), spell, 0, at)
		if err != nil || len(got) != 1 {
			t.Fatalf("%d chunks, %v", len(got), err)
		}
		g := got[0]
		if g.Source != c.Source || !slices.Equal(g.Channels, c.Channels) || !slices.Equal(g.Times, c.Times) || !g.Wall.Equal(c.Wall) {
			t.Fatalf("got %+v, kept %+v", g, c)
		}
		for k := range c.Values {
			for i := range c.Values[k] {
				if math.Float64bits(g.Values[k][i]) != math.Float64bits(c.Values[k][i]) {
					t.Fatalf("sample %d of %s: %v, kept %v", i, channels[k], g.Values[k][i], c.Values[k][i])
				}
			}
		}
	})
}

func TestReadingIsNeverOverwritten(t *testing.T) {
	s, path := bench(t)
	ctx := t.Context()
	g, err := s.KeepReading(ctx, store.Reading{Sitting: "s1", Facts: []byte("opening = 1"), Trace: []byte("time_s\n")}, store.By{Who: "anna"})
	if err != nil || g.Name != "r001" {
		t.Fatalf("kept %+v, %v", g, err)
	}
	if _, err := s.KeepReading(ctx, store.Reading{Sitting: "s1", Name: "r001"}, store.By{}); fault.KindOf(err) != fault.Conflict {
		t.Errorf("the same name again: %v", err)
	}
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = db.Close() }()
	for _, q := range []string{
		`UPDATE readings SET facts = x'00'`, `DELETE FROM readings`, `UPDATE reading_marks SET what = 'kept'`,
		`DELETE FROM reading_marks`, `UPDATE sitting_facts SET data = x'00'`, `DELETE FROM sitting_facts`,
	} {
		if err := s.AddFact(ctx, "s1", "air", []byte("a"), store.By{Who: "anna"}); err != nil {
			t.Fatal(err)
		}
		if _, err := db.ExecContext(ctx, q); err == nil {
			t.Errorf("%s was let through", q)
		}
	}
}

func TestUndoDeleteRestore(t *testing.T) {
	s, _ := bench(t)
	ctx := t.Context()
	var ids []int64
	for range 3 {
		g, err := s.KeepReading(ctx, store.Reading{Sitting: "s1"}, store.By{Who: "anna"})
		if err != nil {
			t.Fatal(err)
		}
		ids = append(ids, g.ID)
	}
	for _, want := range []string{"r003", "r002"} {
		if g, err := s.UndoReading(ctx, "s1", store.By{Who: "ben"}); err != nil || g.Name != want {
			t.Fatalf("undid %s, %v, wanted %s", g.Name, err, want)
		}
	}
	if err := s.DeleteReading(ctx, ids[0], store.By{Who: "ben"}); fault.KindOf(err) != fault.Invalid {
		t.Errorf("deleting without a reason: %v", err)
	}
	if err := s.DeleteReading(ctx, ids[0], store.By{Who: "ben", Why: "hose off"}); err != nil {
		t.Fatal(err)
	}
	if err := s.DeleteReading(ctx, ids[0], store.By{Who: "ben", Why: "again"}); fault.KindOf(err) != fault.Conflict {
		t.Errorf("deleting twice: %v", err)
	}
	if _, err := s.UndoReading(ctx, "s1", store.By{}); fault.KindOf(err) != fault.NotFound {
		t.Errorf("undo with nothing left: %v", err)
	}
	if err := s.RestoreReading(ctx, ids[1], store.By{Who: "anna"}); err != nil {
		t.Fatal(err)
	}
	all, err := s.Readings(ctx, "s1")
	if err != nil || len(all) != 3 {
		t.Fatalf("%d readings, %v", len(all), err)
	}
	for i, want := range []string{"deleted", "brought back", "undone"} {
		if all[i].Mark.What != want || all[i].Mark.Counts() != (want == "brought back") {
			t.Errorf("reading %d is %q", i, all[i].Mark.What)
		}
	}
	if all[0].Mark.Why != "hose off" || all[0].Mark.Who != "ben" {
		t.Errorf("mark %+v", all[0].Mark)
	}
	marks, err := s.Marks(ctx, ids[1])
	if err != nil || len(marks) != 3 {
		t.Errorf("%d marks, %v", len(marks), err)
	}
	log, err := s.Changes(ctx, "j1")
	if err != nil || len(log) != 8 || log[1].Why != "hose off" || log[1].Who != "ben" {
		t.Errorf("%d changes, %v: %+v", len(log), err, log)
	}
	g, err := s.KeepReading(ctx, store.Reading{Sitting: "s1"}, store.By{})
	if err != nil || g.Name != "r004" {
		t.Errorf("after an undo the next is %s, %v", g.Name, err)
	}
}

// A disk without room is told by its error, and nothing of the write is left.
func TestDiskFull(t *testing.T) {
	s, _ := bench(t)
	ctx := t.Context()
	spell, err := s.BeginSpell(ctx, "s1")
	if err != nil {
		t.Fatal(err)
	}
	if err := s.LimitPages(ctx, 60); err != nil {
		t.Fatal(err)
	}
	big := store.Chunk{Source: "x", Channels: []string{"a"}, Times: make([]time.Duration, 200_000), Values: [][]float64{make([]float64, 200_000)}}
	err = s.AddChunks(ctx, spell, []store.Chunk{big})
	var full interface{ DiskFull() bool }
	if !errors.As(err, &full) || !full.DiskFull() {
		t.Fatalf("a full disk: %v", err)
	}
	if _, _, ok, err := s.Extent(ctx, spell); ok || err != nil {
		t.Errorf("something was kept, or %v", err)
	}
	if err := s.LimitPages(ctx, 1<<30); err != nil {
		t.Fatal(err)
	}
	if err := s.AddChunks(ctx, spell, []store.Chunk{big}); err != nil {
		t.Errorf("with room again: %v", err)
	}
}

func TestSittings(t *testing.T) {
	s, _ := bench(t)
	ctx := t.Context()
	if err := s.BeginSitting(ctx, store.Sitting{ID: "s1"}, store.By{}); fault.KindOf(err) != fault.Conflict {
		t.Errorf("the same sitting again: %v", err)
	}
	spell, err := s.BeginSpell(ctx, "s1")
	if err != nil {
		t.Fatal(err)
	}
	f := store.BenchFault{Kind: "frozen", Channel: "meter_dp", Since: time.Unix(5, 0).UTC()}
	if err := s.AddFault(ctx, spell, f); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Faults(ctx, "s1"); err != nil || len(got) != 1 || got[0] != f {
		t.Errorf("faults %+v, %v", got, err)
	}
	for _, v := range []string{"1", "2"} {
		if err := s.AddFact(ctx, "s1", "air", []byte(v), store.By{Who: "anna", Why: "w"}); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := s.Facts(ctx, "s1", "air"); err != nil || len(got) != 2 || string(got[1].Data) != "2" || got[1].Who != "anna" {
		t.Errorf("facts %+v, %v", got, err)
	}
	for i := range 4 {
		c := store.Chunk{Source: "x", Channels: []string{"a"}, Times: []time.Duration{time.Duration(i) * time.Second}, Values: [][]float64{{1}}}
		if err := s.AddChunks(ctx, spell, []store.Chunk{c}); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := s.KeepReading(ctx, store.Reading{Sitting: "s1", Spell: spell, From: time.Second, To: 2 * time.Second}, store.By{}); err != nil {
		t.Fatal(err)
	}
	if n, err := s.ThinSamples(ctx, "s1", store.By{}); n != 0 || err != nil {
		t.Errorf("thinned an open sitting: %d, %v", n, err)
	}
	if open, err := s.OpenSittings(ctx); err != nil || len(open) != 1 {
		t.Errorf("%d open, %v", len(open), err)
	}
	if err := s.CloseSitting(ctx, "s1", store.By{Who: "anna"}); err != nil {
		t.Fatal(err)
	}
	if n, err := s.ThinSamples(ctx, "s1", store.By{}); n != 2 || err != nil {
		t.Errorf("thinned %d chunks, %v, wanted the 2 outside the reading", n, err)
	}
	if open, err := s.OpenSittings(ctx); err != nil || len(open) != 0 {
		t.Errorf("%d open after closing, %v", len(open), err)
	}
	if err := s.CloseSitting(ctx, "none", store.By{}); fault.KindOf(err) != fault.NotFound {
		t.Errorf("closing what is not there: %v", err)
	}
}
