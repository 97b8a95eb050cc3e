package app_test

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"runnel/assess"
	"runnel/demo"
	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
)

// quick is a computation that takes no time and says nothing of flow: what is tested here is what happens round it.
func quick() app.Compute {
	return app.Compute{
		Readings: func(j job.Job) (assess.Assessment, error) { return bare(j), nil },
		Solve: func(_ context.Context, j job.Job, _ func(string, int, int)) (assess.Assessment, error) {
			a := bare(j)
			a.Pull = &assess.Pull{Assumed: []string{"everything"}}
			return a, nil
		},
	}
}

func bare(j job.Job) assess.Assessment {
	a := assess.Assessment{Job: j.ID, Title: j.Title, Invented: j.Invented}
	for _, s := range j.Sittings {
		for _, r := range s.Readings {
			a.Readings = append(a.Readings, assess.Reading{ID: r.ID, Round: r.Round, Usable: r.Void == ""})
		}
	}
	return a
}

func open(t *testing.T, path string, c app.Compute) *app.App {
	t.Helper()
	a, err := app.Open(t.Context(), app.Config{Path: path, Now: time.Now, Who: "tester", Compute: c})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := a.Close(); err != nil {
			t.Error(err)
		}
	})
	return a
}

func temp(t *testing.T, c app.Compute) *app.App {
	t.Helper()
	return open(t, filepath.Join(t.TempDir(), "runnel.db"), c)
}

// folder is the demo job as a folder that can be edited.
func folder(t *testing.T) fstest.MapFS {
	t.Helper()
	m := fstest.MapFS{}
	err := fs.WalkDir(demo.FS, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(demo.FS, name)
		m[name] = &fstest.MapFile{Data: data}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func (f edit) of(m fstest.MapFS) fstest.MapFS {
	out := maps.Clone(m)
	out[f.file] = &fstest.MapFile{Data: []byte(strings.Replace(string(m[f.file].Data), f.old, f.with, 1))}
	return out
}

type edit struct{ file, old, with string }

func TestImportTellsWhatItDid(t *testing.T) {
	a, m := temp(t, quick()), folder(t)
	changed := edit{"job.toml", `title = "`, `title = "Changed `}.of(m)
	under := fstest.MapFS{}
	for name, f := range m {
		under["up/there/"+name] = f
	}
	under[".DS_Store"], under["__MACOSX/job.toml"] = &fstest.MapFile{}, &fstest.MapFile{}
	for _, step := range []struct {
		what    string
		fsys    fs.FS
		outcome string
		rev     int
	}{
		{"first", m, "new", 1},
		{"again", m, "unchanged", 1},
		{"lower down, with litter", under, "unchanged", 1},
		{"changed", changed, "changed", 2},
		{"as it was", m, "changed", 3},
	} {
		got, err := a.ImportFolder(t.Context(), step.fsys)
		if err != nil || got.Outcome != step.outcome || got.Revision != step.rev {
			t.Errorf("%s: %+v, %v; want %s, revision %d", step.what, got, err, step.outcome, step.rev)
		}
	}
	revs, changes, err := a.History(t.Context(), "hill-climb-six")
	if err != nil || len(revs) != 3 || len(changes) != 3 || changes[0].Who != "tester" {
		t.Errorf("%+v %+v %v", revs, changes, err)
	}
	if got, err := a.GoBack(t.Context(), "hill-climb-six", 2); err != nil || got.Revision != 4 || !strings.HasPrefix(got.Title, "Changed") {
		t.Errorf("going back: %+v, %v", got, err)
	}
}

// Whatever is wrong with a folder, nothing of it is kept.
func TestBadFoldersChangeNothing(t *testing.T) {
	m := folder(t)
	two := fstest.MapFS{"a/job.toml": m["job.toml"], "b/job.toml": m["job.toml"]}
	big := maps.Clone(m)
	big["traces/big.csv"] = &fstest.MapFile{Data: make([]byte, 64<<20+1)}
	for _, c := range []struct {
		name     string
		fsys     fs.FS
		problems bool
		says     string
	}{
		{"unknown key", edit{"job.toml", "title =", "titel ="}.of(m), true, "titel"},
		{"wrong unit", edit{"job.toml", `bore = "83.8 mm"`, `bore = "83.8 kPa"`}.of(m), true, "kPa"},
		{"nothing", fstest.MapFS{"readme.txt": {}}, false, "no job.toml"},
		{"two jobs", two, false, "several"},
		{"a file too large", big, false, "64 MB"},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := temp(t, quick())
			_, err := a.ImportFolder(t.Context(), c.fsys)
			if fault.KindOf(err) != fault.Invalid || !strings.Contains(err.Error(), c.says) {
				t.Fatalf("error %v, want one of the input that says %q", err, c.says)
			}
			ps, ok := errors.AsType[job.Problems](err)
			if ok != c.problems {
				t.Errorf("problems %v, want them: %v", ps, c.problems)
			}
			if ok && (ps[0].File != "job.toml" || ps[0].Line == 0 || ps[0].Column == 0) {
				t.Errorf("the problem has no place: %+v", ps[0])
			}
			if cards, err := a.Jobs(t.Context()); err != nil || len(cards) != 0 {
				t.Errorf("%v is kept, %v", cards, err)
			}
		})
	}
}

func TestExportIsTheFolderThatCameIn(t *testing.T) {
	a, m := temp(t, quick()), folder(t)
	m["notes/odd name é.txt"] = &fstest.MapFile{Data: []byte{0, 1, 2, 0xff}}
	m["empty"] = &fstest.MapFile{}
	if _, err := a.ImportFolder(t.Context(), m); err != nil {
		t.Fatal(err)
	}
	var first, second bytes.Buffer
	for _, w := range []io.Writer{&first, &second} {
		if err := a.ExportZip(t.Context(), "hill-climb-six", 0, w); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(first.Bytes(), second.Bytes()) {
		t.Error("two exports of one job differ")
	}
	z, err := zip.NewReader(bytes.NewReader(first.Bytes()), int64(first.Len()))
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for name, want := range m {
		got, err := fs.ReadFile(z, "hill-climb-six/"+name)
		if err != nil || !bytes.Equal(got, want.Data) {
			t.Errorf("%s came back changed: %v", name, err)
		}
		seen++
	}
	if seen != len(z.File) {
		t.Errorf("%d files in the zip, %d went in", len(z.File), seen)
	}
	again, err := a.ImportZip(t.Context(), bytes.NewReader(first.Bytes()), int64(first.Len()))
	if err != nil || again.Outcome != "unchanged" {
		t.Errorf("importing the export: %+v, %v", again, err)
	}
}

func TestUploads(t *testing.T) {
	u := app.NewUpload()
	for _, name := range []string{"../job.toml", "a/../../job.toml", "", "/", `..\job.toml`} {
		if err := u.Add(name, strings.NewReader("x")); fault.KindOf(err) != fault.Invalid || err == nil {
			t.Errorf("name %q: %v, want it refused", name, err)
		}
	}
	a := temp(t, quick())
	if _, err := a.ImportUpload(t.Context(), app.NewUpload()); fault.KindOf(err) != fault.Invalid || err == nil {
		t.Errorf("an empty upload: %v", err)
	}
	for name, f := range folder(t) {
		if err := u.Add(`six\`+strings.ReplaceAll(name, "/", `\`), bytes.NewReader(f.Data)); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := a.ImportUpload(t.Context(), u); err != nil || got.Outcome != "new" {
		t.Errorf("a folder: %+v, %v", got, err)
	}
	bad := app.NewUpload()
	if err := bad.Add("job.zip", strings.NewReader("no zip at all")); err != nil {
		t.Fatal(err)
	}
	if _, err := a.ImportUpload(t.Context(), bad); fault.KindOf(err) != fault.Invalid || !strings.Contains(err.Error(), "zip") {
		t.Errorf("a broken zip: %v", err)
	}
}

func TestImportPath(t *testing.T) {
	a, dir := temp(t, quick()), t.TempDir()
	if err := writeFolder(dir, folder(t)); err != nil {
		t.Fatal(err)
	}
	if got, err := a.ImportPath(t.Context(), " "+dir+" "); err != nil || got.Outcome != "new" {
		t.Errorf("%+v, %v", got, err)
	}
	if _, err := a.ImportPath(t.Context(), filepath.Join(dir, "gone")); fault.KindOf(err) != fault.Invalid || err == nil {
		t.Errorf("a path to nothing: %v", err)
	}
}

func TestPutAwayAndBack(t *testing.T) {
	a := temp(t, quick())
	if _, err := a.ImportFolder(t.Context(), demo.FS); err != nil {
		t.Fatal(err)
	}
	if err := a.Delete(t.Context(), "hill-climb-six", " "); fault.KindOf(err) != fault.Invalid || err == nil {
		t.Errorf("without a reason: %v", err)
	}
	if err := a.Delete(t.Context(), "hill-climb-six", "booked in twice"); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Assessment(t.Context(), "hill-climb-six"); fault.KindOf(err) != fault.NotFound {
		t.Errorf("a job that was put away still opens: %v", err)
	}
	gone, err := a.Deleted(t.Context())
	if err != nil || len(gone) != 1 || gone[0].DeletedWhy != "booked in twice" {
		t.Errorf("%+v, %v", gone, err)
	}
	if err := a.Restore(t.Context(), "hill-climb-six"); err != nil {
		t.Fatal(err)
	}
	if cards, err := a.Jobs(t.Context()); err != nil || len(cards) != 1 {
		t.Errorf("%+v, %v", cards, err)
	}
}

// listed asks for the list until no card is pending.
func listed(t *testing.T, a *app.App) []app.Card {
	t.Helper()
	for range 500 {
		cards, err := a.Jobs(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if !slices.ContainsFunc(cards, func(c app.Card) bool { return c.Pending }) {
			return cards
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatal("a card stays pending")
	return nil
}

// A job whose traces take long does not hold the list up.
func TestTheListDoesNotWait(t *testing.T) {
	let := make(chan bool)
	c := quick()
	c.Readings = func(j job.Job) (assess.Assessment, error) {
		<-let
		return bare(j), nil
	}
	a := temp(t, c)
	if _, err := a.ImportFolder(t.Context(), demo.FS); err != nil {
		t.Fatal(err)
	}
	from := time.Now()
	cards, err := a.Jobs(t.Context())
	if err != nil || len(cards) != 1 || !cards[0].Pending {
		t.Fatalf("%+v, %v", cards, err)
	}
	if took := time.Since(from); took > 2*time.Second {
		t.Errorf("the list took %v", took)
	}
	close(let)
	if cards := listed(t, a); cards[0].Summary.Readings == 0 {
		t.Errorf("%+v", cards[0])
	}
}

func TestCardsAndHeadline(t *testing.T) {
	c := quick()
	c.Readings = func(j job.Job) (assess.Assessment, error) {
		a := bare(j)
		a.Verdicts = []assess.Verdict{
			{Piece: "manifold", From: "received", To: "roughed", Word: "short"},
			{Piece: "manifold", From: "received", To: "finished", Opening: "1", Word: "one opening"},
			{Piece: "manifold", From: "received", To: "finished", Word: "refused", Refused: "unlike"},
			{Piece: "manifold", From: "received", To: "finished", Word: "the answer"},
			{Piece: "head", From: "received", To: "finished", Word: "another piece"},
		}
		return a, nil
	}
	a := temp(t, c)
	if _, err := a.ImportFolder(t.Context(), demo.FS); err != nil {
		t.Fatal(err)
	}
	cards := listed(t, a)
	if len(cards) != 1 {
		t.Fatal(cards)
	}
	s := cards[0].Summary
	if s.Headline == nil || s.Headline.Word != "the answer" {
		t.Errorf("headline %+v", s.Headline)
	}
	var rounds []string
	for _, r := range s.Rounds {
		rounds = append(rounds, r.ID)
	}
	if want := []string{"received", "roughed", "welded", "finished"}; !slices.Equal(rounds, want) {
		t.Errorf("rounds %v, want %v", rounds, want)
	}
	if s.Readings == 0 || !s.HasPull || !cards[0].Invented {
		t.Errorf("%+v", cards[0])
	}
}
