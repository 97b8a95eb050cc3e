package store_test

import (
	"context"
	"errors"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"runnel/internal/fault"
	"runnel/internal/store"
)

// A clock that moves a second at each look.
func clock() func() time.Time {
	var mu sync.Mutex
	at := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	return func() time.Time {
		mu.Lock()
		defer mu.Unlock()
		at = at.Add(time.Second)
		return at
	}
}

func open(t *testing.T, path string) *store.Store {
	t.Helper()
	s, err := store.Open(t.Context(), path, clock())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func temp(t *testing.T) *store.Store {
	t.Helper()
	return open(t, filepath.Join(t.TempDir(), "jobs with space #1.db"))
}

var (
	card = store.Job{ID: "six", Title: "Six", Customer: "A. Person", Invented: true, BookedIn: time.Date(2026, 1, 2, 0, 0, 0, 0, time.UTC)}
	by   = store.By{Who: "porter", Why: "test"}
)

func folder() store.Files {
	return store.Files{"job.toml": []byte("a = 1\n"), "traces/r1.csv": []byte("time_s\n0\n"), "empty.txt": nil}
}

func put(t *testing.T, s *store.Store, f store.Files, want store.Outcome, wantRev int) {
	t.Helper()
	got, rev, err := s.Put(t.Context(), card, f, by)
	if err != nil || got != want || rev != wantRev {
		t.Fatalf("put: outcome %v revision %d, error %v; want %v, %d", got, rev, err, want, wantRev)
	}
}

func TestFolderComesBackAsItWas(t *testing.T) {
	s := temp(t)
	put(t, s, folder(), store.Created, 1)
	got, err := s.Files(t.Context(), "six", 1)
	if err != nil {
		t.Fatal(err)
	}
	want := folder()
	want["empty.txt"] = []byte{}
	if diff := cmp.Diff(want, got, cmp.Comparer(slices.Equal[[]byte])); diff != "" {
		t.Error(diff)
	}
	j, err := s.Job(t.Context(), "six")
	if err != nil || !j.Invented || j.Customer != "A. Person" || !j.BookedIn.Equal(card.BookedIn) || j.Hash != folder().Hash() {
		t.Errorf("%+v, %v", j, err)
	}
}

// One file of a folder is had without the others, as it stood at a revision.
func TestOneFileOfAFolder(t *testing.T) {
	s, changed := temp(t), folder()
	put(t, s, folder(), store.Created, 1)
	changed["job.toml"] = []byte("a = 2\n")
	put(t, s, changed, store.Revised, 2)
	for revision, want := range map[int]string{1: "a = 1\n", 2: "a = 2\n"} {
		if got, ok, err := s.File(t.Context(), "six", revision, "job.toml"); err != nil || !ok || string(got) != want {
			t.Errorf("revision %d: %q, %v, %v", revision, got, ok, err)
		}
	}
	if got, ok, err := s.File(t.Context(), "six", 2, "empty.txt"); err != nil || !ok || len(got) != 0 {
		t.Errorf("an empty file: %q, %v, %v", got, ok, err)
	}
	if _, ok, err := s.File(t.Context(), "six", 2, "bench.toml"); err != nil || ok {
		t.Errorf("a file that is not there: %v, %v", ok, err)
	}
}

func TestSameFolderAgainChangesNothing(t *testing.T) {
	s := temp(t)
	put(t, s, folder(), store.Created, 1)
	before, _ := s.Job(t.Context(), "six")
	put(t, s, folder(), store.Unchanged, 1)
	after, _ := s.Job(t.Context(), "six")
	if diff := cmp.Diff(before, after); diff != "" {
		t.Error(diff)
	}
	if c, _ := s.Changes(t.Context(), "six"); len(c) != 1 {
		t.Errorf("%d changes logged, want the first import only", len(c))
	}
}

func TestChangedFolderIsANewRevisionAndTheOldOneStays(t *testing.T) {
	s := temp(t)
	put(t, s, folder(), store.Created, 1)
	changed := folder()
	changed["job.toml"] = []byte("a = 2\n")
	delete(changed, "empty.txt")
	put(t, s, changed, store.Revised, 2)
	old, err := s.Files(t.Context(), "six", 1)
	if err != nil || string(old["job.toml"]) != "a = 1\n" || len(old) != 3 {
		t.Errorf("the first revision is %q, %v", old, err)
	}
	now, err := s.Files(t.Context(), "six", 2)
	if err != nil || string(now["job.toml"]) != "a = 2\n" || len(now) != 2 {
		t.Errorf("the second revision is %q, %v", now, err)
	}
	revs, err := s.Revisions(t.Context(), "six")
	if err != nil || len(revs) != 2 || revs[0].Number != 2 || revs[1].Hash != folder().Hash() {
		t.Errorf("%+v, %v", revs, err)
	}
	put(t, s, folder(), store.Revised, 3) // back to the first state: history goes on, it is not rewound
}

func TestDeleteAndUndo(t *testing.T) {
	s, ctx := temp(t), t.Context()
	put(t, s, folder(), store.Created, 1)
	if err := s.Delete(ctx, "six", store.By{Who: "porter"}); fault.KindOf(err) != fault.Invalid {
		t.Errorf("deleting without a reason: %v", err)
	}
	if err := s.Delete(ctx, "six", by); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Job(ctx, "six"); fault.KindOf(err) != fault.NotFound {
		t.Errorf("a deleted job is still shown: %v", err)
	}
	if all, _ := s.Jobs(ctx); len(all) != 0 {
		t.Errorf("a deleted job is still listed: %v", all)
	}
	gone, err := s.Deleted(ctx)
	if err != nil || len(gone) != 1 || gone[0].DeletedWhy != "test" || gone[0].DeletedAt.IsZero() {
		t.Errorf("%+v, %v", gone, err)
	}
	if err := s.Delete(ctx, "six", by); fault.KindOf(err) != fault.NotFound {
		t.Errorf("deleting twice: %v", err)
	}
	if err := s.Restore(ctx, "six", by); err != nil {
		t.Fatal(err)
	}
	if f, err := s.Files(ctx, "six", 1); err != nil || len(f) != 3 {
		t.Errorf("files after undo: %v, %v", f, err)
	}
	if err := s.Restore(ctx, "six", by); fault.KindOf(err) != fault.NotFound {
		t.Errorf("restoring what is there: %v", err)
	}
	changes, _ := s.Changes(ctx, "six")
	var what []string
	for _, c := range changes {
		what = append(what, c.What+" by "+c.Who)
	}
	if want := []string{"brought back by porter", "deleted by porter", "imported by porter"}; !slices.Equal(what, want) {
		t.Errorf("log %q, want %q", what, want)
	}
}

func TestImportBringsADeletedJobBack(t *testing.T) {
	s, ctx := temp(t), t.Context()
	put(t, s, folder(), store.Created, 1)
	for i, f := range []store.Files{folder(), {"job.toml": []byte("other")}} {
		if err := s.Delete(ctx, "six", by); err != nil {
			t.Fatal(err)
		}
		put(t, s, f, store.Revived, 1+i)
		if _, err := s.Job(ctx, "six"); err != nil {
			t.Error(err)
		}
	}
}

func TestNothingHalfWritten(t *testing.T) {
	s := temp(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, _, err := s.Put(ctx, card, folder(), by); !errors.Is(err, context.Canceled) {
		t.Fatalf("put with a cancelled context: %v", err)
	}
	if all, err := s.Jobs(t.Context()); err != nil || len(all) != 0 {
		t.Errorf("%v, %v", all, err)
	}
	if err := s.Check(t.Context()); err != nil {
		t.Error(err)
	}
	put(t, s, folder(), store.Created, 1) // the one writing connection is free again
}

func TestOpenedAgain(t *testing.T) {
	path := filepath.Join(t.TempDir(), "runnel.db")
	first := open(t, path)
	put(t, first, folder(), store.Created, 1)
	second := open(t, path) // a second process on the same file, so to say
	put(t, second, folder(), store.Unchanged, 1)
	if err := second.Check(t.Context()); err != nil {
		t.Error(err)
	}
}

func TestManyAtOnce(t *testing.T) {
	s := temp(t)
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			f := store.Files{"job.toml": {byte(i)}}
			if _, _, err := s.Put(t.Context(), card, f, by); err != nil {
				t.Error(err)
			}
			if _, err := s.Jobs(t.Context()); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	revs, err := s.Revisions(t.Context(), "six")
	if err != nil || len(revs) != 8 {
		t.Errorf("%d revisions of 8 different folders, %v", len(revs), err)
	}
}

func TestAssessmentCache(t *testing.T) {
	s, ctx := temp(t), t.Context()
	k := store.Key{Hash: "h", Version: 2, Options: "readings"}
	if _, ok, err := s.Assessment(ctx, k); ok || err != nil {
		t.Fatalf("an empty cache answered: %v", err)
	}
	older := k
	older.Version = 1
	for _, kk := range []store.Key{older, k, {Hash: "h", Version: 2, Options: "all"}} {
		if err := s.KeepAssessment(ctx, kk, []byte(kk.Options)); err != nil {
			t.Fatal(err)
		}
	}
	if got, ok, err := s.Assessment(ctx, k); !ok || err != nil || string(got) != "readings" {
		t.Errorf("%q %v %v", got, ok, err)
	}
	if _, ok, _ := s.Assessment(ctx, older); ok {
		t.Error("an assessment by an older version is still kept")
	}
	if err := s.ForgetAssessments(ctx); err != nil {
		t.Fatal(err)
	}
	if _, ok, _ := s.Assessment(ctx, k); ok {
		t.Error("not forgotten")
	}
}

// Folders that would run together if names and contents were simply joined.
func TestHashTellsFoldersApart(t *testing.T) {
	all := []store.Files{
		{"a": []byte("bc")}, {"ab": []byte("c")}, {"a": []byte("b"), "c": nil}, {"a": nil, "bc": nil}, {},
	}
	seen := map[string]int{}
	for i, f := range all {
		if j, dup := seen[f.Hash()]; dup {
			t.Errorf("folders %d and %d have the same hash", i, j)
		}
		seen[f.Hash()] = i
	}
}
