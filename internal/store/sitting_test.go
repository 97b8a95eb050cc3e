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

// What was noted in a sitting, and what the shop's bench card was, is only added to.
func TestOnlyAddedTo(t *testing.T) {
	s, path := bench(t)
	ctx := t.Context()
	if err := s.AddFact(ctx, "s1", "air", []byte("a"), store.By{Who: "anna"}); err != nil {
		t.Fatal(err)
	}
	if err := s.AddBenchCard(ctx, []byte("id = \"b\""), store.By{Who: "anna"}); err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = db.Close() }()
	for _, q := range []string{
		`UPDATE sitting_facts SET data = x'00'`, `DELETE FROM sitting_facts`, `UPDATE bench_cards SET card = x'00'`, `DELETE FROM bench_cards`,
	} {
		if _, err := db.ExecContext(ctx, q); err == nil {
			t.Errorf("%s was let through", q)
		}
	}
}

// Every state of the shop's bench card stays, the same one twice in a row counts once.
func TestBenchCards(t *testing.T) {
	s, _ := bench(t)
	ctx := t.Context()
	if _, ok, err := s.LastBenchCard(ctx); ok || err != nil {
		t.Fatalf("there is a card before any was saved, or %v", err)
	}
	for _, card := range []string{"a", "b", "b", "a"} {
		if err := s.AddBenchCard(ctx, []byte(card), store.By{Who: "anna", What: "sensors changed", Why: "new hose"}); err != nil {
			t.Fatal(err)
		}
	}
	all, err := s.BenchCards(ctx)
	if err != nil || len(all) != 3 || string(all[0].Card)+string(all[1].Card)+string(all[2].Card) != "aba" {
		t.Errorf("%+v, %v", all, err)
	}
	last, ok, err := s.LastBenchCard(ctx)
	if err != nil || !ok || string(last.Card) != "a" || last.Who != "anna" || last.Why != "new hose" || last.At.IsZero() {
		t.Errorf("%+v, %v, %v", last, ok, err)
	}
}

// A file of an earlier version comes up to date: the tables of readings that no page filled go, everything else stays.
func TestReadingsTableGoes(t *testing.T) {
	s, path := bench(t)
	ctx := t.Context()
	if err := s.AddFact(ctx, "s1", "plan", []byte("p"), store.By{Who: "anna"}); err != nil {
		t.Fatal(err)
	}
	if err := s.DownTo(ctx, 3); err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = db.Close() }()
	tables := func() (n int) {
		if err := db.QueryRowContext(ctx, `SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name IN ('readings', 'reading_marks')`).Scan(&n); err != nil {
			t.Fatal(err)
		}
		return n
	}
	if tables() != 2 {
		t.Fatal("the earlier version has no tables of readings: the test is blind")
	}
	again, err := store.Open(ctx, path, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = again.Close() }()
	if n := tables(); n != 0 {
		t.Errorf("%d tables of readings are left", n)
	}
	if got, err := again.Facts(ctx, "s1", "plan"); err != nil || len(got) != 1 {
		t.Errorf("facts %+v, %v", got, err)
	}
	if err := again.Check(ctx); err != nil {
		t.Error(err)
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
	if err := s.Bound(ctx, 60); err != nil {
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
	if err := s.Bound(ctx, 1<<30); err != nil {
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
	if open, err := s.OpenSittings(ctx); err != nil || len(open) != 1 {
		t.Errorf("%d open, %v", len(open), err)
	}
	if err := s.CloseSitting(ctx, "s1", store.By{Who: "anna"}); err != nil {
		t.Fatal(err)
	}
	if open, err := s.OpenSittings(ctx); err != nil || len(open) != 0 {
		t.Errorf("%d open after closing, %v", len(open), err)
	}
	if err := s.CloseSitting(ctx, "none", store.By{}); fault.KindOf(err) != fault.NotFound {
		t.Errorf("closing what is not there: %v", err)
	}
}
