//go:build linux

package capture_test

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"runnel/internal/capture"
	"runnel/internal/live"
	"runnel/internal/store"
	"runnel/job"
)

const (
	wideChannels = 16
	wideRate     = 1000 // [Hz]
)

// wideCard is a bench of sixteen channels.
func wideCard() (job.Bench, []string) {
	b := job.Bench{ID: "wide"}
	var names []string
	for i := range wideChannels {
		role := "air_temp" // rests: its numbers are counted up, which no life sign is to mind
		if i == 0 {
			role = "meter_dp"
		}
		name := fmt.Sprintf("c%02d", i)
		names = append(names, name)
		b.Sensors = append(b.Sensors, job.Sensor{Channel: name, Role: role, Source: "pipe:"})
	}
	return b, names
}

// count makes n samples of every channel that count up from first; they say by themselves which one is missing.
func count(first, n int, at, step time.Duration) capture.Batch {
	b := capture.Batch{Times: make([]time.Duration, n), Values: make([][]float64, wideChannels)}
	for i := range b.Times {
		b.Times[i] = at + time.Duration(i)*step
	}
	for c := range b.Values {
		b.Values[c] = make([]float64, n)
		for i := range n {
			b.Values[c][i] = float64(first+i) + float64(c)/wideChannels
		}
	}
	return b
}

// A counter is a source of sixteen channels at 1 kHz.
type counter struct {
	names []string
	clock capture.Clock
	sent  int // samples of each channel
}

func (c *counter) Describe() capture.Description {
	return capture.Description{Kind: "pipe", Channels: c.names, Rate: wideRate}
}

func (c *counter) Run(ctx context.Context, emit func(capture.Batch)) error {
	tick := time.NewTicker(10 * time.Millisecond)
	defer tick.Stop()
	start := c.clock.Mono()
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-tick.C:
		}
		due := int((c.clock.Mono() - start) / time.Millisecond)
		if n := due - c.sent; n > 0 {
			b := count(c.sent, n, start+time.Duration(c.sent)*time.Millisecond, time.Millisecond)
			b.Channels, b.Wall = c.names, c.clock.Wall()
			c.sent += n
			emit(b)
		}
	}
}

// cpu is the processor time this process has used.
func cpu(t *testing.T) time.Duration {
	t.Helper()
	var u unix.Rusage
	if err := unix.Getrusage(unix.RUSAGE_SELF, &u); err != nil {
		t.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// Sixteen channels at 1 kHz with fifty looking on: no sample is lost between the source and the disk. RUNNEL_FULL=1 makes it
// ten minutes.
func TestNoSampleIsLost(t *testing.T) {
	last := 4 * time.Second
	switch {
	case os.Getenv("RUNNEL_FULL") == "1":
		last = 10 * time.Minute
	case testing.Short():
		t.Skip("records for some seconds")
	}
	s, spell := storeFor(t)
	card, names := wideCard()
	clock := capture.NewClock(time.Now)
	src := &counter{names: names, clock: clock}
	hub := live.NewHub[capture.Frame](1200)
	var faults []capture.Fault
	session, err := capture.Start(t.Context(), capture.Config{
		Bench: card, Sources: []capture.Source{src}, Clock: clock, Keep: keepIn(s, spell), Watch: hub.Publish, History: time.Minute,
		Told: func(f capture.Fault) { faults = append(faults, f) },
	})
	if err != nil {
		t.Fatal(err)
	}
	delays := watchers(t, hub, 50)
	used, from := cpu(t), clock.Mono()
	time.Sleep(last)
	used, took := cpu(t)-used, clock.Mono()-from
	if err := session.Stop(); err != nil {
		t.Fatal(err)
	}
	hub.Close()
	seen := delays()
	kept := countKept(t, s, spell, src.sent)
	t.Logf("%d channels at %d Hz for %v: %d samples sent, %d kept; %.1f %% of one core used, %.1f %% of two; 50 watchers at 20 Hz got %d frames, 95 %% within %v of the frame",
		wideChannels, wideRate, took.Round(time.Second), src.sent*wideChannels, kept, 100*used.Seconds()/took.Seconds(), 50*used.Seconds()/took.Seconds(), len(seen), seen[len(seen)*95/100])
	if kept != src.sent*wideChannels || src.sent < int(0.9*wideRate*last.Seconds()) {
		t.Errorf("%d samples kept of %d", kept, src.sent*wideChannels)
	}
	for _, f := range faults {
		if f.Kind != capture.Frozen && f.Kind != capture.WrongRate { // a busy machine may hold the source up
			t.Errorf("fault %+v", f)
		}
	}
}

// watchers lets n look on, and returns how late each frame came, once the hub is closed.
func watchers(t *testing.T, hub *live.Hub[capture.Frame], n int) func() []time.Duration {
	t.Helper()
	var wg sync.WaitGroup
	var mu sync.Mutex
	var all []time.Duration
	for range n {
		w := hub.Watch()
		wg.Go(func() {
			defer w.Close()
			for {
				news, missed, err := w.Next(t.Context())
				now := time.Now()
				if err != nil {
					return
				}
				if missed > 0 {
					t.Errorf("a watcher missed %d frames", missed)
				}
				mu.Lock()
				for _, f := range news {
					all = append(all, now.Sub(f.At))
				}
				mu.Unlock()
			}
		})
	}
	return func() []time.Duration {
		wg.Wait()
		slices.Sort(all)
		return all
	}
}

// countKept reads everything that was kept and checks that each channel counts up without a gap.
func countKept(t *testing.T, s *store.Store, spell int64, sent int) (kept int) {
	t.Helper()
	next := 0
	for from := time.Duration(0); next < sent; from += time.Second {
		chunks, err := s.Chunks(t.Context(), spell, from, from+time.Second)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range chunks {
			for i := range c.Times {
				if c.Values[0][i] < float64(next) {
					continue // of the second before
				}
				for k := range c.Values {
					if c.Values[k][i] != float64(next)+float64(k)/wideChannels {
						t.Fatalf("channel %d has %v where %d was to come", k, c.Values[k][i], next)
					}
				}
				next++
			}
		}
		if from > 20*time.Minute {
			break
		}
	}
	return next * wideChannels
}

func storeFor(t *testing.T) (*store.Store, int64) {
	t.Helper()
	s, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "runnel.db"), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	if err := s.BeginSitting(t.Context(), store.Sitting{ID: "s1"}, store.By{Who: "test"}); err != nil {
		t.Fatal(err)
	}
	spell, err := s.BeginSpell(t.Context(), "s1")
	if err != nil {
		t.Fatal(err)
	}
	return s, spell
}

// The rate at which a session takes samples in and has them on disk, beside two plain loops with the same driver, the same
// pragmas and one transaction for the same samples, in the same run: one inserts a row a sample, the other a ready blob of
// the same bytes, which is the most the file can take.
func TestIngestRate(t *testing.T) {
	if testing.Short() {
		t.Skip("measures for some seconds")
	}
	const rounds, batches, rows = 12, 50, 100 // a chunk is batches of 100 samples of sixteen channels
	s, spell := storeFor(t)
	card, names := wideCard()
	clock := capture.NewClock(time.Now)
	p := newPipe("wide", names...)
	session, err := capture.Start(t.Context(), capture.Config{Bench: card, Sources: []capture.Source{p}, Clock: clock, Keep: keepIn(s, spell), History: time.Second})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = session.Stop() }()
	plain := plainFile(t)
	made := 0
	var ours, perRow, perBlob time.Duration
	for range rounds {
		var all []capture.Batch
		for range batches {
			b := count(made, rows, time.Duration(made)*time.Millisecond, time.Millisecond)
			b.Channels, b.Wall = names, clock.Wall()
			all, made = append(all, b), made+rows
		}
		from := clock.Mono()
		for _, b := range all {
			p.in <- b
		}
		for session.State().Channels[0].Samples < int64(made) {
			time.Sleep(100 * time.Microsecond)
		}
		if err := session.Flush(t.Context()); err != nil {
			t.Fatal(err)
		}
		ours += clock.Mono() - from
		from = clock.Mono()
		insertRows(t, plain, all)
		perRow += clock.Mono() - from
		from = clock.Mono()
		insertBlobs(t, plain, all)
		perBlob += clock.Mono() - from
	}
	n := float64(made * wideChannels)
	t.Logf("samples a second on disk: session %.3g, plain loop of rows %.3g, plain loop of blobs %.3g; session over rows %.1f, over blobs %.2f",
		n/ours.Seconds(), n/perRow.Seconds(), n/perBlob.Seconds(), perRow.Seconds()/ours.Seconds(), perBlob.Seconds()/ours.Seconds())
	if ratio := perRow.Seconds() / ours.Seconds(); ratio < 0.8 {
		t.Errorf("%.2f of the rate of a plain loop of inserts, wanted 0.8", ratio)
	}
}

// plainFile is a file with the pragmas of the store.
func plainFile(t *testing.T) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+filepath.Join(t.TempDir(), "plain.db")+"?_pragma=busy_timeout(10000)&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=foreign_keys(1)&_txlock=immediate")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	db.SetMaxOpenConns(1)
	for _, q := range []string{`CREATE TABLE samples (channel INTEGER, at INTEGER, value REAL) STRICT`, `CREATE TABLE blobs (data BLOB) STRICT`} {
		if _, err := db.ExecContext(t.Context(), q); err != nil {
			t.Fatal(err)
		}
	}
	return db
}

func inTransaction(t *testing.T, db *sql.DB, query string, do func(*sql.Stmt) error) {
	t.Helper()
	tx, err := db.BeginTx(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	in, err := tx.PrepareContext(t.Context(), query)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = in.Close() }()
	if err := do(in); err != nil {
		t.Fatal(err)
	}
	if err := tx.Commit(); err != nil {
		t.Fatal(err)
	}
}

func insertRows(t *testing.T, db *sql.DB, all []capture.Batch) {
	t.Helper()
	inTransaction(t, db, `INSERT INTO samples VALUES (?,?,?)`, func(in *sql.Stmt) error {
		for _, b := range all {
			for c := range b.Values {
				for i, v := range b.Values[c] {
					if _, err := in.ExecContext(t.Context(), c, int64(b.Times[i]), v); err != nil {
						return err
					}
				}
			}
		}
		return nil
	})
}

func insertBlobs(t *testing.T, db *sql.DB, all []capture.Batch) {
	t.Helper()
	n := 0
	for _, b := range all {
		n += len(b.Times)
	}
	data := make([]byte, n*(4+8*wideChannels))
	inTransaction(t, db, `INSERT INTO blobs VALUES (?)`, func(in *sql.Stmt) error {
		_, err := in.ExecContext(t.Context(), data)
		return err
	})
}
