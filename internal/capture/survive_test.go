package capture_test

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"runnel/internal/capture"
	"runnel/internal/capture/sources"
	"runnel/internal/store"
	"runnel/job"
)

// childFile is set in the process that records and is killed.
const childFile = "RUNNEL_SURVIVE_FILE"

func TestMain(m *testing.M) {
	if path := os.Getenv(childFile); path != "" {
		if err := record(context.Background(), path, os.Stdout); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

// record is what the process does that is killed: it resumes the sitting, reads a rig at 200 Hz, accepts a reading several
// times a second into the folder of its job, as the bench page does, and says so only when it is kept.
func record(ctx context.Context, path string, out io.Writer) error {
	s, err := store.Open(ctx, path, time.Now)
	if err != nil {
		return err
	}
	open, err := s.OpenSittings(ctx)
	if err != nil || len(open) != 1 {
		return fmt.Errorf("%d sittings to resume: %w", len(open), err)
	}
	card, err := job.LoadBench("bench.toml", open[0].Bench)
	if err != nil {
		return err
	}
	spell, err := s.BeginSpell(ctx, open[0].ID)
	if err != nil {
		return err
	}
	clock := capture.NewClock(time.Now)
	srcs, err := sources.Open(card, clock)
	if err != nil {
		return err
	}
	session, err := capture.Start(ctx, capture.Config{Bench: card, Sources: srcs, Clock: clock, Keep: keepIn(s, spell)})
	if err != nil {
		return err
	}
	_, _ = fmt.Fprintf(out, "spell %d\n", spell)
	row, err := s.Job(ctx, recorded)
	if err != nil {
		return err
	}
	files, err := s.Files(ctx, recorded, row.Revision)
	if err != nil {
		return err
	}
	for i := 0; ; i++ {
		from := session.Now()
		pause := 5
		if i%4 == 3 {
			pause = 25 // long enough for samples to be kept by their own half second only
		}
		for range pause {
			time.Sleep(40 * time.Millisecond)
			_, _ = fmt.Fprintf(out, "alive %d\n", session.Now())
		}
		trace, err := session.Trace(from, session.Now())
		if err != nil {
			continue // the first samples are still to come
		}
		var csv bytes.Buffer
		if err := job.WriteTrace(&csv, trace); err != nil {
			return err
		}
		if err := session.Flush(ctx); err != nil { // as the bench page does before it keeps a reading
			return err
		}
		name := fmt.Sprintf("traces/r%05d.csv", len(files))
		files[name] = csv.Bytes()
		if row.Revision, err = s.Edit(ctx, store.Job{ID: recorded}, row.Revision, files, store.By{Who: "test", What: "reading kept"}); err != nil {
			return err
		}
		_, _ = fmt.Fprintf(out, "kept %s %d %d %d\n", name, csv.Len(), len(trace.Time), session.Now())
	}
}

// recorded is the job whose readings are taken.
const recorded = "recorded"

// keepIn writes chunks into a store.
func keepIn(s *store.Store, spell int64) func(context.Context, []capture.Chunk) error {
	return func(ctx context.Context, chunks []capture.Chunk) error {
		out := make([]store.Chunk, len(chunks))
		for i, c := range chunks {
			out[i] = store.Chunk(c)
		}
		return s.AddChunks(ctx, spell, out)
	}
}

// accepted is a reading that the process said it had kept.
type accepted struct {
	name        string
	bytes, rows int
}

// Killed at random instants while it records, Runnel has lost no reading that it said it had kept, the file is whole every
// time, the sitting is resumed, and the samples reach to within about half a second of the end. A killed process leaves what
// it wrote to the system: loss of power is another matter, which synchronous=FULL is for and no test here can show.
func TestKilledWhileRecording(t *testing.T) {
	if testing.Short() {
		t.Skip("kills a process some times over several seconds")
	}
	kills := 8
	if os.Getenv("RUNNEL_FULL") == "1" {
		kills = 200
	}
	path := filepath.Join(t.TempDir(), "runnel.db")
	begin(t, path)
	rng := rand.New(rand.NewPCG(20260307, 1))
	var told []accepted
	var worst time.Duration
	lags := 0.0
	for range kills {
		spell, kept, last := runAndKill(t, path, 300*time.Millisecond+time.Duration(rng.Int64N(int64(2200*time.Millisecond))))
		told = append(told, kept...)
		if lag := verify(t, path, spell, told, last); lag >= 0 {
			worst, lags = max(worst, lag), lags+lag.Seconds()/float64(kills)
		}
		if t.Failed() {
			t.FailNow()
		}
	}
	if len(told) < kills {
		t.Errorf("only %d readings were accepted in %d runs: the test is weak", len(told), kills)
	}
	t.Logf("%d kills: %d accepted readings, none lost; integrity check passed %d times; samples reached to %.2f s before the last sign of life on average, %.2f s at worst",
		kills, len(told), kills, lags, worst.Seconds())
	// Half a second of samples, plus writing on a busy machine.
	if worst > 1500*time.Millisecond {
		t.Errorf("samples of the last %v were lost", worst)
	}
}

func begin(t *testing.T, path string) {
	t.Helper()
	s, err := store.Open(t.Context(), path, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Close() }()
	card := rigBench(t)
	if _, _, err := s.Put(t.Context(), store.Job{ID: recorded}, store.Files{"bench.toml": card}, store.By{Who: "test"}); err != nil {
		t.Fatal(err)
	}
	if err := s.BeginSitting(t.Context(), store.Sitting{ID: "s1", Job: recorded, Bench: card}, store.By{Who: "test"}); err != nil {
		t.Fatal(err)
	}
}

// runAndKill starts the recording, kills it after a while with SIGKILL and returns what it had said: its spell, the readings
// it kept, and the time of its last sign of life.
func runAndKill(t *testing.T, path string, after time.Duration) (spell int64, kept []accepted, last time.Duration) {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), os.Args[0])
	cmd.Env = append(os.Environ(), childFile+"="+path)
	var complaints bytes.Buffer
	cmd.Stderr = &complaints
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	timer := time.AfterFunc(after, func() { _ = cmd.Process.Kill() })
	defer timer.Stop()
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		f := strings.Fields(lines.Text())
		switch {
		case len(f) == 2 && f[0] == "spell":
			spell, _ = strconv.ParseInt(f[1], 10, 64)
		case len(f) == 2 && f[0] == "alive":
			at, _ := strconv.ParseInt(f[1], 10, 64)
			last = time.Duration(at)
		case len(f) == 5 && f[0] == "kept":
			size, _ := strconv.Atoi(f[2])
			rows, _ := strconv.Atoi(f[3])
			at, _ := strconv.ParseInt(f[4], 10, 64)
			kept, last = append(kept, accepted{f[1], size, rows}), time.Duration(at)
		}
	}
	err = cmd.Wait()
	if state := cmd.ProcessState; state.Exited() {
		t.Fatalf("the recording ended by itself: %v %s", err, complaints.String())
	}
	return spell, kept, last
}

// verify opens the file as a restart would and looks for everything that was promised. It returns how far before the last
// sign of life the samples end; negative when it was killed before there was one.
func verify(t *testing.T, path string, spell int64, told []accepted, last time.Duration) time.Duration {
	t.Helper()
	ctx := t.Context()
	s, err := store.Open(ctx, path, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Close() }()
	if err := s.Check(ctx); err != nil {
		t.Errorf("after a kill: %v", err)
	}
	if open, err := s.OpenSittings(ctx); err != nil || len(open) != 1 {
		t.Errorf("%d sittings to resume, %v", len(open), err)
	}
	row, err := s.Job(ctx, recorded)
	if err != nil {
		t.Fatal(err)
	}
	files, err := s.Files(ctx, recorded, row.Revision)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range told {
		csv := files[want.name]
		if len(csv) != want.bytes {
			t.Errorf("reading %s was accepted and is not there as it was", want.name)
			continue
		}
		if tr, err := job.ReadTrace(want.name, bytes.NewReader(csv)); err != nil || len(tr.Time) != want.rows {
			t.Errorf("trace of %s: %d rows of %d, %v", want.name, len(tr.Time), want.rows, err)
		}
	}
	if spell == 0 || last == 0 {
		return -1
	}
	return last - recovered(t, s, spell, last)
}

// recovered cuts the trace of a spell anew out of what was kept, checks that it has no holes, and says how far it reaches.
func recovered(t *testing.T, s *store.Store, spell int64, last time.Duration) time.Duration {
	t.Helper()
	chunks, err := s.Chunks(t.Context(), spell, 0, last)
	if err != nil {
		t.Fatal(err)
	}
	var end time.Duration
	for _, c := range chunks {
		for _, at := range c.Times {
			if gap := at - end; end > 0 && gap > 6*time.Millisecond { // 200 Hz
				t.Errorf("a hole of %v in the samples at %v", gap, at)
			}
			end = at
		}
	}
	return end
}

func rigBench(t *testing.T) []byte {
	t.Helper()
	return []byte(rigText("seed=9&hz=200"))
}
