package app_test

import (
	"archive/zip"
	"bytes"
	"errors"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"runnel/demo"
	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
)

// shopApp is an App with a folder of the shop's own, and that folder.
func shopApp(t *testing.T) (*app.App, string) {
	t.Helper()
	dir := t.TempDir()
	a, err := app.Open(t.Context(), app.Config{Path: filepath.Join(t.TempDir(), "runnel.db"), Shop: dir, Now: time.Now, Who: "anna"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := a.Close(); err != nil {
			t.Error(err)
		}
	})
	return a, dir
}

// sixWithout is the small test job under another name, without some of its files.
func sixWithout(t *testing.T, id string, without func(name string) bool) fstest.MapFS {
	t.Helper()
	from, out := os.DirFS("../web/testdata/six"), fstest.MapFS{}
	err := fs.WalkDir(from, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || without(name) {
			return err
		}
		data, err := fs.ReadFile(from, name)
		if name == "job.toml" {
			data = []byte(strings.Replace(string(data), `id = "six"`, `id = "`+id+`"`, 1))
		}
		out[name] = &fstest.MapFile{Data: data}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func bareFolder(t *testing.T) fstest.MapFS {
	t.Helper()
	return sixWithout(t, "bare-job", func(name string) bool {
		return name == "bench.toml" || strings.HasPrefix(name, "sittings/") || strings.HasPrefix(name, "traces/")
	})
}

func title(t *testing.T, a *app.App, id string) string {
	t.Helper()
	j, err := a.Facts(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return j.Bench.Title
}

func shopText(t *testing.T, a *app.App) app.ShopBench {
	t.Helper()
	s, err := a.ShopBench(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A job without a bench card uses the shop's as it is at the moment, until its first sitting is begun: then it has a copy, which
// stays as it is, and the record says so. A card of the job's own comes first.
func TestShopBenchIsUsedThenCopied(t *testing.T) {
	a, dir := shopApp(t)
	ctx := t.Context()
	_, err := a.ImportFolder(ctx, bareFolder(t))
	ps, ok := errors.AsType[job.Problems](err)
	if !ok || !strings.Contains(ps.Error(), "set up the bench of the shop") {
		t.Fatalf("a folder without a card, in a shop without one: %v", err)
	}
	if _, err := a.ImportFolder(ctx, os.DirFS("../web/testdata/six")); err != nil {
		t.Fatal(err)
	}
	if err := a.BeginShopBench(ctx, app.ShopEdit{Why: "the bench is set up"}, "six"); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(dir, "bench.toml")); err != nil {
		t.Fatal(err)
	}
	if _, err := a.ImportFolder(ctx, bareFolder(t)); err != nil {
		t.Fatal(err)
	}
	s := shopText(t, a)
	own := title(t, a, "six")
	if title(t, a, "bare-job") != own {
		t.Error("the job does not use the shop's card")
	}
	if err := a.SaveShopText(ctx, app.ShopEdit{Tag: s.Tag, Why: "painted"}, strings.Replace(s.Text, own, "Green bench", 1)); err != nil {
		t.Fatal(err)
	}
	if title(t, a, "bare-job") != "Green bench" || title(t, a, "six") != own {
		t.Errorf("bare-job has %q, six has %q", title(t, a, "bare-job"), title(t, a, "six"))
	}
	if err := a.SaveShopText(ctx, app.ShopEdit{Tag: s.Tag}, s.Text); fault.KindOf(err) != fault.Conflict {
		t.Errorf("a change to a card that is another by now: %v", err)
	}
	if _, err := a.BeginSitting(ctx, "bare-job", app.NewSitting{ID: "first", Air: airNow()}); err != nil {
		t.Fatal(err)
	}
	green := shopText(t, a)
	_, log, err := a.History(ctx, "bare-job")
	if err != nil || !strings.Contains(log[0].What, "sitting first: begun") || !strings.Contains(log[0].What, "a copy of the shop's, state "+green.Tag) || log[0].Who != "anna" {
		t.Errorf("the record says %+v, %v", log[0], err)
	}
	if err := a.SaveShopText(ctx, app.ShopEdit{Why: "painted again"}, strings.Replace(green.Text, "Green", "Red", 1)); err != nil {
		t.Fatal(err)
	}
	if got := title(t, a, "bare-job"); got != "Green bench" {
		t.Errorf("after its first sitting the job's bench is %q", got)
	}
	if words, err := a.CardWords(ctx, "bare-job"); err != nil || words != "a copy of the shop's bench card" {
		t.Errorf("%q, %v", words, err)
	}
	if words, err := a.CardWords(ctx, "six"); err != nil || words != "the job's own bench card" {
		t.Errorf("%q, %v", words, err)
	}
	if err := a.TakeShopBench(ctx, "bare-job", ""); wrong(t, err)["why"] == "" {
		t.Error("another card was taken over without a reason")
	}
	if err := a.TakeShopBench(ctx, "bare-job", "it was flowed on the red one"); err != nil || title(t, a, "bare-job") != "Red bench" {
		t.Errorf("%q, %v", title(t, a, "bare-job"), err)
	}
	if st := shopText(t, a).States; len(st) != 3 || st[0].Why != "painted again" || st[2].What != "taken from job six" || st[0].Who != "anna" {
		t.Errorf("the states of the card: %+v", st)
	}
}

// What leaves the house is whole by itself, and a folder with sittings is made whole when it comes in.
func TestFoldersAreWhole(t *testing.T) {
	a, _ := shopApp(t)
	ctx := t.Context()
	if _, err := a.ImportFolder(ctx, os.DirFS("../web/testdata/six")); err != nil {
		t.Fatal(err)
	}
	if err := a.BeginShopBench(ctx, app.ShopEdit{}, "six"); err != nil {
		t.Fatal(err)
	}
	if _, err := a.ImportFolder(ctx, bareFolder(t)); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := a.ExportZip(ctx, "bare-job", 0, &b); err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	sub, err := fs.Sub(z, "bare-job")
	if err != nil {
		t.Fatal(err)
	}
	if j, err := job.Load(sub); err != nil || len(j.Bench.Meters) == 0 {
		t.Errorf("the exported folder: %v", err)
	}
	if err := a.BeginShopBench(ctx, app.ShopEdit{}, "bare-job"); fault.KindOf(err) != fault.Invalid {
		t.Errorf("the card of a job that has none became the shop's: %v", err)
	}
	if _, err := a.ImportFolder(ctx, sixWithout(t, "no-card", func(name string) bool { return name == "bench.toml" })); err != nil {
		t.Fatal(err)
	}
	if words, err := a.CardWords(ctx, "no-card"); err != nil || words != "a copy of the shop's bench card" {
		t.Errorf("%q, %v", words, err)
	}
	_, log, err := a.History(ctx, "no-card")
	if err != nil || !strings.Contains(log[0].Why, "a copy of the shop's") {
		t.Errorf("%+v, %v", log, err)
	}
}

// The file can be changed by hand: it counts at once, a broken one is said and loses nothing, a lost one is found again.
func TestShopBenchByHand(t *testing.T) {
	a, dir := shopApp(t)
	ctx := t.Context()
	card, err := os.ReadFile("../web/testdata/six/bench.toml")
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(dir, "bench.toml")
	write := func(text string) {
		t.Helper()
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write(string(card))
	if _, err := a.ImportFolder(ctx, bareFolder(t)); err != nil {
		t.Fatal(err)
	}
	before := title(t, a, "bare-job")
	write(strings.Replace(string(card), before, "By hand", 1))
	if got := title(t, a, "bare-job"); got != "By hand" {
		t.Errorf("changed by hand, the bench is %q", got)
	}
	list := app.TypedSensors(shopText(t, a).Card)
	list[0].U = "0.4 %"
	if err := a.SaveShopSensors(ctx, app.ShopEdit{Why: "calibrated"}, list); err != nil {
		t.Fatal(err)
	}
	s := shopText(t, a)
	if s.Card.Sensors[0].U != "0.4 %" || s.Card.Title != "By hand" || len(s.States) != 2 || !strings.Contains(s.States[1].What, "outside Runnel") {
		t.Errorf("%+v, %+v", s.Card.Sensors[0], s.States)
	}
	list[1].Unit = "mm"
	if err := a.SaveShopSensors(ctx, app.ShopEdit{}, list); wrong(t, err)["unit-1"] == "" {
		t.Errorf("a unit that does not fit: %v", err)
	}
	write("id = ")
	if _, err := a.Facts(ctx, "bare-job"); err == nil || !strings.Contains(err.Error(), "the shop's bench card") {
		t.Errorf("a broken card: %v", err)
	}
	if broken, err := a.ShopBench(ctx); err == nil || broken.Text != "id = " || len(broken.States) != 2 {
		t.Errorf("%q, %v", broken.Text, err)
	}
	if err := os.Remove(name); err != nil {
		t.Fatal(err)
	}
	if got := shopText(t, a).Card.Sensors[0].U; got != "0.4 %" {
		t.Errorf("the file is lost, and the card has %q", got)
	}
	if err := a.SaveShopText(ctx, app.ShopEdit{}, `id = "half"`); err == nil {
		t.Error("a card without meters was kept")
	}
	// The folder of a job is no folder of the shop.
	write(string(card))
	if err := os.WriteFile(filepath.Join(dir, "job.toml"), []byte(`id = "x"`), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := a.SaveShopText(ctx, app.ShopEdit{}, string(card)); fault.KindOf(err) != fault.Invalid || !strings.Contains(err.Error(), "--shop") {
		t.Errorf("the card of a job was to be overwritten: %v", err)
	}
}

// A job can be booked in with the shop's bench; in the demo it is marked as invented.
func TestBookInWithShopBench(t *testing.T) {
	for _, demo := range []bool{false, true} {
		a, err := app.Open(t.Context(), app.Config{Path: filepath.Join(t.TempDir(), "runnel.db"), Now: time.Now, Demo: demo})
		if err != nil {
			t.Fatal(err)
		}
		f := app.NewJob{Title: "Two runners", Customer: "A. Customer (invented)", Kind: "manifold", Openings: "1-2", TestPressure: "28 inH2O", Entry: "bare"}
		if _, err := a.BookIn(t.Context(), f); wrong(t, err)["bench_of"] == "" {
			t.Errorf("booked in without any bench: %v", err)
		}
		card, err := os.ReadFile("../web/testdata/six/bench.toml")
		if err != nil {
			t.Fatal(err)
		}
		if err := a.SaveShopText(t.Context(), app.ShopEdit{}, string(card)); err != nil {
			t.Fatal(err)
		}
		id, err := a.BookIn(t.Context(), f)
		if err != nil {
			t.Fatal(err)
		}
		j, err := a.Facts(t.Context(), id)
		if err != nil || j.Bench.ID != "test-bench" || j.Invented != demo {
			t.Errorf("%+v, %v", j, err)
		}
		if words, err := a.CardWords(t.Context(), id); err != nil || words != "the shop's bench card" {
			t.Errorf("%q, %v", words, err)
		}
		if err := a.Close(); err != nil {
			t.Error(err)
		}
	}
}

// Whose card a job is used with is asked at every turn of the bench's pages: the traces of the job, megabytes, are not read for it.
func TestCardWordsReadNoTraces(t *testing.T) {
	a := open(t, filepath.Join(t.TempDir(), "runnel.db"), quick())
	out, err := a.ImportFolder(t.Context(), demo.FS)
	if err != nil {
		t.Fatal(err)
	}
	few := math.Inf(1) // of several turns: what the program does besides, as after the import, is counted with each
	for range 20 {
		few = min(few, testing.AllocsPerRun(1, func() {
			if words, err := a.CardWords(t.Context(), out.ID); err != nil || words != app.OwnCard {
				t.Fatal(words, err)
			}
		}))
	}
	if folder := 3.0 * float64(len(files(t))); few > folder {
		t.Errorf("%.0f things are allocated to say whose card it is, as if all files were read", few)
	}
}

// files are the names in the demo's folder.
func files(t *testing.T) (names []string) {
	t.Helper()
	err := fs.WalkDir(demo.FS, ".", func(name string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			names = append(names, name)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}
